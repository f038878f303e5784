"""PDF pages: exact strokes of drawings, pictures as the page shows at 300 dpi, or both.

Coordinates are pixels of the page as any viewer shows it (turned and cropped) at 300 dpi:
px = pt·300/72 - 0.5, y down.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from vectorize.basics.errors import ScanError
from vectorize.basics.notes import Note
from vectorize.basics.units import MM_PER_INCH
from vectorize.basics.wording import reason_of
from vectorize.page.plan_page import Grey, Kind, Page, PageInfo, check_page_number, check_size
from vectorize.page.strokes import chosen_layers, cleaned, layers_of, refuse_far
from vectorize.shapes.affine import Affine

if TYPE_CHECKING:
    import pypdfium2

SHOWN_DPI = 300.0
_POINTS_PER_INCH = 72.0
_PX_PER_MM = SHOWN_DPI / MM_PER_INCH

LEAST_SIDE_MM, LARGEST_SIDE_MM = 1.0, 100_000.0
"""A page with a side below or above was written with a wrong size: one picture of it is a dot, or never ends."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """How a page is shown: the map from its own units to shown pixels, and the extent in pixels.

    `box` is the shown part (left, bottom, right, top) in the page's own units, `turns` the quarter turns
    clockwise, `user_unit` how many points one unit is.
    """

    box: tuple[float, float, float, float]
    turns: int
    user_unit: float

    @property
    def px_per_unit(self) -> float:
        """Return shown pixels per unit of the page."""
        return self.user_unit * SHOWN_DPI / _POINTS_PER_INCH

    @property
    def size_px(self) -> tuple[float, float]:
        """Return width and height as shown, in pixels, not rounded."""
        x0, y0, x1, y1 = self.box
        k = self.px_per_unit
        return ((y1 - y0) * k, (x1 - x0) * k) if self.turns % 2 else ((x1 - x0) * k, (y1 - y0) * k)

    @property
    def to_pixels(self) -> Affine:
        """Return the map from page units (y up) to shown pixels (y down, centres at whole numbers)."""
        x0, y0, x1, y1 = self.box
        upright = (
            Affine(1, 0, 0, -1, -x0, y1),
            Affine(0, 1, 1, 0, -y0, -x0),
            Affine(-1, 0, 0, 1, x1, -y0),
            Affine(0, -1, -1, 0, y1, x1),
        )[self.turns]
        k = self.px_per_unit
        return upright.then(Affine(k, 0, 0, k, -0.5, -0.5))


def read(
    name: str,
    data: bytes,
    *,
    page: int,
    layers: tuple[str, ...] | None,
    largest_megapixels: float,
    password: str | None,
) -> Page:
    """Return a page of a PDF given as bytes.

    Raises:
        ScanError: Damaged, locked, no such page or layer, empty, or too large.
    """
    from vectorize.page.pdf_objects import has_pictures, strokes_of

    with _opened(name, data, password) as document:
        check_page_number(name, page, len(document))
        entries = _checked_entries(name, data, page, password)
        leaf = document[page - 1]
        sheet = _sheet(name, page, leaf, entries.user_unit)
        width, height = sheet.size_px
        shown = cleaned(strokes_of(leaf, sheet.to_pixels, hidden=entries.hidden_layers))
        refuse_far(f"{name}: page {page}", shown)
        is_picture = has_pictures(leaf)
        if not shown and not is_picture:
            raise ScanError(f"{name}: page {page} holds neither lines nor pictures; choose another page.")
        strokes = chosen_layers(name, shown, layers) if shown else ()
        grey = None
        notes = [_kind_note(name, page, _kind(bool(strokes), is_picture), sheet)]
        if is_picture:
            size = f" ({width / _PX_PER_MM:.0f} x {height / _PX_PER_MM:.0f} mm at {SHOWN_DPI:.0f} dpi)"
            check_size(name, width, height, largest_megapixels, size)
            grey, more = _rendered(name, leaf, sheet)
            notes.extend(more)
            height, width = grey.shape
        count = len(document)
    if count > 1:
        notes.append(Note("page-of-many", f"{name} has {count} pages; page {page} is read."))
    return Page(name, page, count, grey, strokes, width, height, False, (_PX_PER_MM, _PX_PER_MM), tuple(notes))


def list_pages(name: str, data: bytes, *, password: str | None = None) -> tuple[PageInfo, ...]:
    """Return every page of a PDF with its kind and the size at which it is shown.

    Raises:
        ScanError: Damaged or locked.
    """
    from vectorize.page.pdf_objects import has_pictures, strokes_of

    infos = []
    with _opened(name, data, password) as document:
        for number in range(1, len(document) + 1):
            entries = _checked_entries(name, data, number, password)
            leaf = document[number - 1]
            sheet = _sheet(name, number, leaf, entries.user_unit)
            strokes = cleaned(strokes_of(leaf, sheet.to_pixels, hidden=entries.hidden_layers))
            kind = _kind(bool(strokes), has_pictures(leaf))
            width, height = sheet.size_px
            size = (width / _PX_PER_MM, height / _PX_PER_MM)
            infos.append(PageInfo(number, kind, width, height, size, layers_of(strokes)))
    return tuple(infos)


@contextmanager
def _opened(name: str, data: bytes, password: str | None) -> Iterator[pypdfium2.PdfDocument]:
    """Open with pdfium, which also opens files that only their owner's password locks."""
    import pypdfium2

    try:
        document = pypdfium2.PdfDocument(data, password=password)
    except pypdfium2.PdfiumError as error:
        if "assword" in str(error) and password is not None:
            raise ScanError(f"{name} does not open with that password; give the right one.") from error
        if "assword" in str(error) or "security" in str(error):
            raise ScanError(
                f"{name} is locked: it needs a password or a key to be opened. Open it in a viewer, save or print it "
                "as a PDF without one, and give that copy."
            ) from error
        raise ScanError(f"{name} is damaged or not a PDF{reason_of(error)}; export or scan it again.") from error
    try:
        yield document
    except pypdfium2.PdfiumError as error:
        raise ScanError(f"{name} is damaged{reason_of(error)}; export or scan it again.") from error
    finally:
        document.close()


def _sheet(name: str, number: int, leaf: Any, user_unit: float) -> Sheet:
    """Return how pdfium page `leaf` is shown: its crop box within its media box, turned.

    Raises:
        ScanError: It is shown so small or so large that it is no sheet.
    """
    media, crop = _ordered(leaf.get_mediabox()), _ordered(leaf.get_cropbox())
    low = (max(media[0], crop[0]), max(media[1], crop[1]))
    high = (min(media[2], crop[2]), min(media[3], crop[3]))
    box = (*low, *high) if high[0] > low[0] and high[1] > low[1] else media
    sheet = Sheet(box, int(leaf.get_rotation()) // 90 % 4, user_unit)
    width, height = (side / _PX_PER_MM for side in sheet.size_px)
    if not (min(width, height) >= LEAST_SIDE_MM and max(width, height) <= LARGEST_SIDE_MM):
        raise ScanError(
            f"{name}: page {number} states a size of {width:.4g} x {height:.4g} mm, which is no sheet; print or "
            "export it again with the size of the paper."
        )
    return sheet


def _ordered(box: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = box
    return min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)


@dataclass(frozen=True, slots=True)
class _Entries:
    """What pdfium does not tell of a page: how many points a unit is (ISO 32000, UserUnit), which layers are off."""

    user_unit: float = 1.0
    hidden_layers: frozenset[str] = frozenset()


def _checked_entries(name: str, data: bytes, number: int, password: str | None) -> _Entries:
    """Return what pdfium does not tell of a page.

    Raises:
        ScanError: The page draws without end, so that pdfium must not be given it; or it is damaged, so that nobody can
            tell whether it does, nor how large its units are.
    """
    import pikepdf

    from vectorize.page.pdf_content import hidden_layers, refuse_endless, user_unit

    try:
        with pikepdf.open(io.BytesIO(data), password=password or "") as document:
            page = document.pages[number - 1]
            refuse_endless(f"{name}: page {number}", page)
            return _Entries(user_unit(page), hidden_layers(document))
    except (pikepdf.PdfError, IndexError) as error:
        # The library puts the name of what it read before its reason: here the address of some bytes.
        reason = str(error).rpartition(": ")[2] or f"page {number} is not in its list of pages"
        raise ScanError(f"{name} is damaged ({reason}); open it in a viewer and print it as a new PDF.") from error


def _kind(has_strokes: bool, is_picture: bool) -> Kind:
    if has_strokes and is_picture:
        return "mixed"
    return "picture" if is_picture else "drawing"


_KIND_TEXT = {
    "drawing": "is a drawing; its curves are read exactly",
    "picture": "is a picture; it is read as the page shows it at 300 dpi",
    "mixed": "holds both a drawing and pictures; parts are traced from the whole as it shows at 300 dpi",
}


def _kind_note(name: str, number: int, kind: Kind, sheet: Sheet) -> Note:
    width, height = (v / _PX_PER_MM for v in sheet.size_px)
    return Note("page-kind", f"{name}: page {number}, {width:.0f} x {height:.0f} mm, {_KIND_TEXT[kind]}.")


def _rendered(name: str, leaf: Any, sheet: Sheet) -> tuple[Grey, tuple[Note, ...]]:
    """Return the page drawn on white at exactly 300 dpi, in grey; the last row and column may lie half off it."""
    import pypdfium2.raw as pdfium
    from PIL import Image

    from vectorize.page.colour import to_grey

    width, height = (max(1, math.ceil(v - 1e-6)) for v in sheet.size_px)
    k = sheet.px_per_unit
    pixels = np.full((height, width, 4), 255, np.uint8)
    bitmap = pdfium.FPDFBitmap_CreateEx(width, height, pdfium.FPDFBitmap_BGRx, pixels.ctypes.data, width * 4)
    matrix = pdfium.FS_MATRIX(k, 0, 0, k, 0, 0)
    clip = pdfium.FS_RECTF(0, 0, width, height)
    flags = pdfium.FPDF_REVERSE_BYTE_ORDER | pdfium.FPDF_ANNOT
    pdfium.FPDF_RenderPageBitmapWithMatrix(bitmap, leaf, matrix, clip, flags)
    pdfium.FPDFBitmap_Destroy(bitmap)
    picture = Image.frombuffer("RGBX", (width, height), pixels, "raw", "RGBX", 0, 1).convert("RGB")
    del pixels
    grey, weights = to_grey(picture)
    shares = ", ".join(f"{w:.0%} {c}" for w, c in zip(weights, ("red", "green", "blue"), strict=True))
    is_plain = max(abs(w - luma) for w, luma in zip(weights, (0.299, 0.587, 0.114), strict=True)) < 0.02
    notes = () if is_plain else (Note("colour-to-grey", f"{name} is in colour; its lines are read from {shares}."),)
    return np.asarray(grey), notes
