"""Open a plan file of any supported kind, told by its content and not by its name."""

from __future__ import annotations

from pathlib import Path

from vectorize.errors import ScanError
from vectorize.scan.page import LARGEST_MEGAPIXELS, Page, PageInfo


def read_page(
    path: Path | str,
    *,
    page: int = 1,
    layers: tuple[str, ...] | None = None,
    largest_megapixels: float = LARGEST_MEGAPIXELS,
) -> Page:
    """Return page number `page` (from 1) of a plan file: PNG, JPEG or TIFF.

    A picture comes the right way up, in 8-bit grey, anything transparent on white. Colour becomes grey
    by the channels in which the ink stands out most; whether ink is dark or light is not decided here.

    Args:
        path: The file. Its content decides how it is read; the suffix is only mentioned in messages.
        page: Which page of a file that has several.
        layers: Names of the layers to read, for drawings; None reads all.
        largest_megapixels: Largest picture to read, in million pixels.

    Raises:
        ScanError: The file is missing, empty, damaged, not a plan, or too large; there is no such page
            or layer.
    """
    file, data = _opened(path)
    from vectorize.scan import raster

    return raster.read(file.name, data, page=page, largest_megapixels=largest_megapixels)


def list_pages(path: Path | str) -> tuple[PageInfo, ...]:
    """Return every page of a plan file with its extent and, where stated, its size; nothing is decoded.

    Raises:
        ScanError: The file is missing, empty, damaged or not a plan.
    """
    file, data = _opened(path)
    from vectorize.scan import raster

    return raster.list_pages(file.name, data)


def _opened(path: Path | str) -> tuple[Path, bytes]:
    file = Path(path)
    try:
        data = file.read_bytes()
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
