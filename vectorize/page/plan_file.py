"""Open a plan file of any supported kind, told by its content and not by its name."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Literal

from vectorize.basics.errors import ScanError
from vectorize.basics.plain_file import read_plain
from vectorize.page.plan_page import LARGEST_MEGAPIXELS, PICTURE_MARKS, Page, PageInfo


def read_page(
    path: Path | str,
    *,
    page: int = 1,
    layers: tuple[str, ...] | None = None,
    largest_megapixels: float = LARGEST_MEGAPIXELS,
    password: str | None = None,
) -> Page:
    """Return page number `page` (from 1) of a plan file: PNG, JPEG, TIFF, PDF, SVG or DXF.

    A picture comes the right way up, in 8-bit grey, anything transparent on white. Colour becomes grey
    by the channels in which the ink stands out most; whether ink is dark or light is not decided here.
    A drawing comes as exact strokes; a PDF page that holds pictures as well comes as both.

    Args:
        path: The file. Its content decides how it is read; the suffix is only mentioned in messages.
        page: Which page of a file that has several.
        layers: Names of the layers to read, for drawings; None reads all that are shown.
        largest_megapixels: Largest picture to read, in million pixels.
        password: For a PDF that is locked for reading; it is used once and kept nowhere.

    Raises:
        ScanError: The file is missing, empty, damaged, locked, not a plan, or too large; there is no such
            page or layer.
    """
    file, data = _opened(path)
    match _kind(file, data):
        case "pdf":
            from vectorize.page import read_pdf

            return read_pdf.read(
                file.name,
                data,
                page=page,
                layers=layers,
                largest_megapixels=largest_megapixels,
                password=password,
            )
        case "svg":
            from vectorize.page import read_svg

            return read_svg.read(file.name, data, page=page, layers=layers)
        case "dxf":
            from vectorize.page import read_dxf

            return read_dxf.read(file.name, data, page=page, layers=layers)
        case _:
            from vectorize.page import read_raster

            return read_raster.read(file.name, data, page=page, largest_megapixels=largest_megapixels)


def read_drawing(name: str, data: bytes) -> Page:
    """Return an SVG or DXF given as bytes as a page of strokes; `name` tells a DXF by its suffix, and is for messages.

    Raises:
        ScanError: It is of another kind, damaged, or nothing is drawn in it.
    """
    match _kind(Path(name), data):
        case "svg":
            from vectorize.page import read_svg

            return read_svg.read(name, data, page=1, layers=None)
        case "dxf":
            from vectorize.page import read_dxf

            return read_dxf.read(name, data, page=1, layers=None)
        case _:
            raise ScanError(f"{name} is neither an SVG nor a DXF drawing; export it as one of these.")


def list_pages(path: Path | str, *, password: str | None = None) -> tuple[PageInfo, ...]:
    """Return every page of a plan file with its extent and, where stated, its size; no picture is decoded.

    Raises:
        ScanError: The file is missing, empty, damaged, locked or not a plan.
    """
    file, data = _opened(path)
    match _kind(file, data):
        case "pdf":
            from vectorize.page import read_pdf

            return read_pdf.list_pages(file.name, data, password=password)
        case "svg":
            from vectorize.page import read_svg

            return read_svg.list_pages(file.name, data)
        case "dxf":
            from vectorize.page import read_dxf

            return read_dxf.list_pages(file.name, data)
        case _:
            from vectorize.page import read_raster

            return read_raster.list_pages(file.name, data)


def _kind(file: Path, data: bytes) -> Literal["picture", "pdf", "svg", "dxf"]:
    """Tell the kind by the first bytes, and a DXF, which has none of its own, also by its suffix."""
    start = data[:65536]
    if start.startswith((*PICTURE_MARKS, *_FOREIGN_MARKS)):
        return "picture"
    # ISO 32000 lets a PDF header stand anywhere in the first 1024 bytes.
    if b"%PDF-" in start[:1024]:
        return "pdf"
    if _DXF_START.match(start) or start.startswith(_DXF_BINARY) or file.suffix.lower() == ".dxf":
        return "dxf"
    if b"<svg" in start or file.suffix.lower() == ".svg":
        return "svg"
    return "picture"


_FOREIGN_MARKS = (b"AC10", b"PK\x03\x04", b"\x1f\x8b")  # whatever their suffix: the picture reader tells what they are
_DXF_START = re.compile(rb"^\s*(?:999\r?\n[^\n]*\n\s*)*0\r?\n\s*SECTION\b")
_DXF_BINARY = b"AutoCAD Binary DXF"  # the sentinel that the DXF Reference prescribes


def _opened(path: Path | str) -> tuple[Path, bytes]:
    file = Path(path)
    try:
        data = read_plain(file)
    except FileNotFoundError as error:
        raise ScanError(f"plan file {file} does not exist; check the name and the folder.") from error
    except IsADirectoryError as error:
        raise ScanError(f"{file} is a folder; give the plan file in it.") from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise ScanError(f"plan file {file} cannot be opened: {reason}.") from error
    if not data:
        raise ScanError(f"plan file {file} is empty (0 bytes); scan or copy it again.")
    return file, data
