"""What a plan page is to the rest of the tracer."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from vectorize.basics.errors import ScanError
from vectorize.basics.notes import Note
from vectorize.shapes.stroke import Stroke

Grey: TypeAlias = NDArray[np.uint8]
Kind: TypeAlias = Literal["picture", "drawing", "mixed"]

LARGEST_MEGAPIXELS = 500.0
"""Largest page that is read without being asked for: a sheet of 36 by 72 in at 400 dpi has 415."""

PICTURE_MARKS = (b"\x89PNG", b"\xff\xd8\xff", b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
"""How PNG, JPEG and TIFF files begin (the last two are TIFF with 64-bit offsets)."""


@dataclass(frozen=True, slots=True, eq=False)
class Page:
    """One page of a plan file.

    `grey` is indexed [row, column], 0 black to 255 white, the way up that a viewer shows it; None for
    a page that is wholly a drawing. `strokes` are the exact curves of a drawing. Both use the
    coordinates of the original: pixels with centres at whole numbers and y down, for DXF drawing
    units and y up (`is_y_up`). `stated_px_per_mm` is what the file claims along x and y: a hint, never
    a measurement.
    """

    name: str
    number: int
    count: int
    grey: Grey | None
    strokes: tuple[Stroke, ...]
    width: float
    height: float
    is_y_up: bool = False
    stated_px_per_mm: tuple[float, float] | None = None
    notes: tuple[Note, ...] = ()

    @property
    def stated_size_mm(self) -> tuple[float, float] | None:
        """Return width and height in mm as the file states them, or None where it does not."""
        if self.stated_px_per_mm is None:
            return None
        return self.width / self.stated_px_per_mm[0], self.height / self.stated_px_per_mm[1]


NAME_THE_UNIT = "name its unit (--unit mm, unit = 'mm' in its table of job.toml) or give a known dimension"

UNITS_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}
"""Units that a drawing may be said to be in, and their lengths in mm."""


def drawn_in(page: Page, unit: str) -> Page:
    """Return a drawing whose own units are of the length named, one of `UNITS_MM`, whatever its file says of them.

    Raises:
        ScanError: A picture, or a page that states its size in other ways, as a PDF does.
    """
    if page.grey is not None or (page.stated_px_per_mm is not None and not page.is_y_up):
        what = "is a picture" if page.grey is not None else "states its size itself"
        raise ScanError(
            f"{page.name} {what}, so it is not drawn in {unit}; leave the unit away and give a known dimension, or "
            "accept the size that it states."
        )
    per_mm = 1.0 / UNITS_MM[unit]
    return replace(page, stated_px_per_mm=(per_mm, per_mm))


@dataclass(frozen=True, slots=True)
class PageInfo:
    """What is known of a page before it is read: its kind, its extent and, where stated, its size in mm."""

    number: int
    kind: Kind
    width: float
    height: float
    size_mm: tuple[float, float] | None
    layers: tuple[str, ...] = ()

    def __str__(self) -> str:
        """Return a line for a list of pages."""
        size = "size not stated" if self.size_mm is None else f"{self.size_mm[0]:.0f} x {self.size_mm[1]:.0f} mm"
        return f"page {self.number}: {self.kind}, {self.width:.0f} x {self.height:.0f}, {size}"


def check_page_number(name: str, number: int, count: int) -> None:
    """Do nothing if page `number` exists.

    Raises:
        ScanError: It does not; the message says how many there are.
    """
    if not 1 <= number <= count:
        pages = "1 page" if count == 1 else f"{count} pages"
        raise ScanError(f"{name} has {pages}; page {number} does not exist. Give a page from 1 to {count}.")


def check_size(name: str, width: float, height: float, largest_megapixels: float, size_mm: str = "") -> None:
    """Do nothing if a picture of this many pixels is small enough to be read.

    Raises:
        ScanError: It is larger; the message says the limit, the memory and how to raise the limit.
    """
    megapixels = width * height / 1e6
    if megapixels > largest_megapixels:
        needed = math.ceil(megapixels)
        raise ScanError(
            f"{name} is {width:.0f} x {height:.0f} pixels{size_mm}, {megapixels:.0f} million; the limit is "
            f"{largest_megapixels:.0f} million. Scan it coarser, or raise the limit (it takes about "
            f"{megapixels * 16 / 1000:.1f} GB): largest_megapixels = {needed} in its table, --largest-megapixels "
            f"{needed} for a file on its own."
        )
