"""PNG, JPEG and TIFF pictures as pages."""

from __future__ import annotations

import io
import os
import struct
import sys
import threading
import warnings
import zlib
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageOps, UnidentifiedImageError

from vectorize.basics.errors import ScanError
from vectorize.basics.notes import Note
from vectorize.basics.wording import reason_of
from vectorize.page.colour import to_grey
from vectorize.page.plan_page import (
    LARGEST_MEGAPIXELS,
    PICTURE_MARKS,
    Grey,
    Page,
    PageInfo,
    check_page_number,
    check_size,
)
from vectorize.page.resolution import weigh_dpi

_FORMATS = ("PNG", "JPEG", "TIFF")
_ORIENTATION = 0x0112
_SUBFILE_TYPE = 254
_WHITE_LEVELS = (255, 1023, 4095, 16383, 65535)
_DAMAGE = (OSError, ValueError, SyntaxError, TypeError, KeyError, IndexError, EOFError, struct.error, zlib.error)
_DAMAGE_TOO = (MemoryError, OverflowError, ZeroDivisionError, AttributeError, RuntimeError, NotImplementedError)
_limit_lock = threading.Lock()
_STDERR = 2


@dataclass(frozen=True, slots=True)
class _Frame:
    """One page inside the file: its index there, its shown extent and its stated resolution."""

    index: int
    width: int
    height: int
    dpi: tuple[float, float] | None


def read(name: str, data: bytes, *, page: int, largest_megapixels: float) -> Page:
    """Return a page of a PNG, JPEG or TIFF file given as bytes.

    Raises:
        ScanError: Not a picture, damaged, no such page, or too large.
    """
    with _opened(name, data) as picture:
        frames = _frames(picture)
        check_page_number(name, page, len(frames))
        frame = frames[page - 1]
        check_size(name, frame.width, frame.height, largest_megapixels, _size_text(frame))
        picture.seek(frame.index)
        grey, notes = _grey(name, _upright(picture))
    height, width = grey.shape
    stated, note = weigh_dpi(name, frame.dpi, width, height)
    if len(frames) > 1:
        others = Note("page-of-many", f"{name} has {len(frames)} pages; page {page} is read.")
        notes = (others, *notes)
    return Page(name, page, len(frames), grey, (), width, height, False, stated, (note, *notes))


def list_pages(name: str, data: bytes) -> tuple[PageInfo, ...]:
    """Return the pages of a PNG, JPEG or TIFF file given as bytes; thumbnails are left out.

    Raises:
        ScanError: Not a picture, or damaged.
    """
    with _opened(name, data) as picture:
        infos = []
        for number, frame in enumerate(_frames(picture), start=1):
            stated, _ = weigh_dpi(name, frame.dpi, frame.width, frame.height)
            size = None if stated is None else (frame.width / stated[0], frame.height / stated[1])
            infos.append(PageInfo(number, "picture", frame.width, frame.height, size))
    return tuple(infos)


@contextmanager
def _opened(name: str, data: bytes) -> Iterator[Image.Image]:
    """Open without Pillow's own size limit (ours is checked instead); its failures become one sentence."""
    with _limit_lock, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        limit, Image.MAX_IMAGE_PIXELS = Image.MAX_IMAGE_PIXELS, None
        try:
            with Image.open(io.BytesIO(data), formats=_FORMATS) as picture:
                yield picture
        except ScanError:
            raise
        except UnidentifiedImageError as error:
            raise ScanError(_unknown(name, data)) from error
        except (*_DAMAGE, *_DAMAGE_TOO) as error:
            raise ScanError(
                f"{name} is damaged or cut short{reason_of(error)}; copy or scan it again, or save it as PNG."
            ) from error
        finally:
            Image.MAX_IMAGE_PIXELS = limit


_SAVE_PICTURE = "save it as PNG or JPEG"
_OTHERS = (
    (b"GIF8", 0, "a GIF picture", _SAVE_PICTURE),
    (b"BM", 0, "a BMP picture", _SAVE_PICTURE),
    (b"WEBP", 8, "a WebP picture", _SAVE_PICTURE),
    (b"ftypavif", 4, "an AVIF picture", _SAVE_PICTURE),
    (b"ftyphei", 4, "an HEIF picture, as telephones take", _SAVE_PICTURE),
    (b"ftypmif1", 4, "an HEIF picture, as telephones take", _SAVE_PICTURE),
    (b"AC10", 0, "a DWG drawing", "export it as DXF"),
    (b"PK\x03\x04", 0, "a ZIP archive", "unpack it and give the plan that is in it"),
    (b"\x1f\x8b", 0, "compressed with gzip", "unpack it, or save it as plain SVG"),
)
"""Files that people have instead: how they begin and where, what they are, and what to do."""

_EXPECTED = "expected a PNG, JPEG, TIFF, PDF, SVG or DXF file."


def _unknown(name: str, data: bytes) -> str:
    """Return what a file is that is no picture that can be read, as far as its first bytes tell."""
    if data.startswith(PICTURE_MARKS):
        return f"{name} is damaged or cut short; copy or scan it again."
    for mark, at, what, instead in _OTHERS:
        if data[at : at + len(mark)] == mark:
            return f"{name} is {what}, which is not read; {instead}."
    is_text = all(byte >= 32 or byte in b"\t\r\n\f" for byte in data[:512])
    what = ": it holds text" if is_text else ""
    return f"{name} is not a plan that can be read{what}; {_EXPECTED}"


def _frames(picture: Image.Image) -> tuple[_Frame, ...]:
    """All pages; in a TIFF those that are not a reduced copy of another, in other formats the first only."""
    if picture.format != "TIFF":
        return (_frame(picture, 0),)
    frames: list[_Frame] = []
    reduced: list[_Frame] = []
    for index in range(getattr(picture, "n_frames", 1)):
        picture.seek(index)
        is_reduced = bool(int(picture.tag_v2.get(_SUBFILE_TYPE, 0)) & 1)  # type: ignore[attr-defined]
        (reduced if is_reduced else frames).append(_frame(picture, index))
    return tuple(frames or reduced)


def _frame(picture: Image.Image, index: int) -> _Frame:
    width, height = picture.size
    dpi = _stated_dpi(picture)
    is_turned = _orientation(picture) in (5, 6, 7, 8)
    if is_turned:
        # Pillow swaps the size of a TIFF when it opens it, that of other formats when it turns them.
        if picture.format != "TIFF":
            width, height = height, width
        dpi = None if dpi is None else (dpi[1], dpi[0])
    return _Frame(index, width, height, dpi)


def _orientation(picture: Image.Image) -> int:
    """Return the orientation tag; that of a PNG may stand behind the picture, which is not decoded if it is huge."""
    is_huge = picture.width * picture.height > LARGEST_MEGAPIXELS * 1e6
    if picture.format == "PNG" and is_huge and "exif" not in picture.info:
        return 1
    return int(picture.getexif().get(_ORIENTATION, 1))


def _stated_dpi(picture: Image.Image) -> tuple[float, float] | None:
    try:
        x, y = picture.info["dpi"]
        return float(x), float(y)
    except (KeyError, TypeError, ValueError, ZeroDivisionError):
        return None


def _size_text(frame: _Frame) -> str:
    stated, _ = weigh_dpi("", frame.dpi, frame.width, frame.height)
    return "" if stated is None else f" ({frame.width / stated[0]:.0f} x {frame.height / stated[1]:.0f} mm)"


def _upright(picture: Image.Image) -> Image.Image:
    """Apply the orientation once: Pillow turns TIFF as it loads and then drops the tag."""
    with _silent_decoder() if picture.format == "TIFF" else nullcontext():
        picture.load()
    return ImageOps.exif_transpose(picture)


@contextmanager
def _silent_decoder() -> Iterator[None]:
    """Keep what libtiff writes to the terminal by itself from it: Pillow raises, and the error is said in our words.

    It writes to the file descriptor, which the whole process shares: what another thread says meanwhile is lost too.
    A plan is read by one thread of a command or of a worker, which says nothing else until it is read.
    """
    try:
        kept = os.dup(_STDERR)
    except OSError:  # a program without a terminal has none
        yield
        return
    if sys.stderr is not None:
        sys.stderr.flush()
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, _STDERR)
        yield
    finally:
        os.dup2(kept, _STDERR)
        os.close(nowhere)
        os.close(kept)


def _grey(name: str, picture: Image.Image) -> tuple[Grey, tuple[Note, ...]]:
    if picture.mode in ("1", "L"):
        return np.asarray(picture.convert("L")), ()
    if picture.mode.startswith(("I", "F")):
        return _scaled(np.asarray(picture)), ()
    if picture.has_transparency_data:
        layer = picture.convert("RGBA")
        paper = Image.new("RGBA", layer.size, "white")
        picture = Image.alpha_composite(paper, layer)
    if picture.mode == "LA":
        return np.asarray(picture.convert("L")), ()
    grey, weights = to_grey(picture.convert("RGB"))
    shares = ", ".join(f"{w:.0%} {c}" for w, c in zip(weights, ("red", "green", "blue"), strict=True))
    return np.asarray(grey), (Note("colour-to-grey", f"{name} is in colour; its lines are read from {shares}."),)


def _scaled(levels: NDArray[Any]) -> Grey:
    """Return 16-bit, 32-bit or floating grey as 8 bits: white is the least usual white level not exceeded."""
    finite = np.nan_to_num(levels.astype(np.float32), nan=0.0, posinf=0.0, neginf=0.0)
    brightest = float(finite.max(initial=0.0))
    if levels.dtype.kind == "f" and brightest <= 1.0:
        white = 1.0
    else:
        white = next((float(level) for level in _WHITE_LEVELS if brightest <= level), brightest)
    finite *= 255.0 / white
    np.rint(finite, out=finite)
    return np.clip(finite, 0, 255).astype(np.uint8)
