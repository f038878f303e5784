"""What is known of a plan's size: lengths between two points, places of points on the sheet, the sheet itself."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from vectorize.basics.errors import ScaleError, UnitError
from vectorize.basics.units import MM_PER_INCH, parse_length
from vectorize.basics.wording import shown
from vectorize.shapes.segment import Point, Points

Axes = Literal["auto", "separate"]


AXES_LIMIT = 0.015
"""Scanner axes differ by less than this; more means that a known dimension is wrong."""


TAG_LIMIT = 0.01
"""A dpi tag that is farther off than this is mentioned."""

PICK_SIGMA_PX = 0.3
"""How well a person places each end of a known dimension on an enlarged picture (common practice, no source)."""


DRAWN_PICK_SIGMA = 0.01
"""The same in a drawing's own units: the ends of its strokes are numbers that a viewer shows to two decimals."""


@dataclass(frozen=True, slots=True)
class KnownDimension:
    """Two points of the page, in original pixels, and their true distance.

    `files` are the numbers of the scans that the two ends lie on, from 1, for a sheet scanned in pieces.

    Raises:
        ScaleError: The points coincide, or the length is not above zero.
    """

    start: Point
    end: Point
    length_mm: float
    name: str = "known dimension"
    files: tuple[int, int] = (1, 1)

    def __post_init__(self) -> None:
        if not all(map(math.isfinite, (*self.start, *self.end, self.length_mm))):
            raise ScaleError(f"{self.name}: a coordinate or the length is not a finite number.")
        if self.length_mm <= 0:
            raise ScaleError(f"{self.name}: the length is {self.length_mm:g} mm; give the true length, above zero.")
        if self.files[0] == self.files[1] and math.dist(self.start, self.end) < 1e-6:
            raise ScaleError(
                f"{self.name}: both ends are at ({self.start[0]:g}, {self.start[1]:g}); give two different points."
            )


@dataclass(frozen=True, slots=True)
class KnownPoint:
    """A point of a photo, in original pixels, and its true place on the sheet in mm, y up.

    Raises:
        ScaleError: A coordinate is not a finite number.
    """

    at: Point
    mm: Point
    name: str = "point"

    def __post_init__(self) -> None:
        if not all(map(math.isfinite, (*self.at, *self.mm))):
            raise ScaleError(f"{self.name}: a coordinate is not a finite number.")


SHEETS_MM = {
    "A0": (1189.0, 841.0),
    "A1": (841.0, 594.0),
    "A2": (594.0, 420.0),
    "A3": (420.0, 297.0),
    "A4": (297.0, 210.0),
}
"""ISO 216 trimmed sizes, the longer side first."""

SHEETS_IN = {"Letter": (11.0, 8.5), "Legal": (14.0, 8.5), "Tabloid": (17.0, 11.0)}
"""ANSI/ASME Y14.1 A and B and the usual office sizes, in inches."""


def parse_sheet(text: str) -> tuple[float, float]:
    """Return the (longer, shorter) side in mm of `A3`, `Letter` or `420 x 297 mm`.

    Raises:
        UnitError: Neither a known name nor two lengths.
    """
    plain = text.strip()
    named = {name.lower(): size for name, size in SHEETS_MM.items()}
    named |= {name.lower(): (a * MM_PER_INCH, b * MM_PER_INCH) for name, (a, b) in SHEETS_IN.items()}
    if plain.lower() in named:
        return named[plain.lower()]
    first, cross, second = plain.replace("×", "x").partition("x")
    if not cross:
        names = ", ".join([*SHEETS_MM, *SHEETS_IN])
        raise UnitError(f"sheet is {shown(text)}; write one of {names}, or two lengths like '420 x 297 mm'.")
    unit = second.strip().lstrip("0123456789.,/ ")
    sides = [parse_length(side, default_unit=unit or None, what="sheet") for side in (first, second)]
    return max(sides), min(sides)


def odd_one_out(known: Sequence[KnownDimension], spans: Points, lengths: Points) -> str:
    """Name the dimension without which the rest agrees best; of two, name both with what each implies."""
    each = lengths / np.hypot(*spans.T)
    if len(known) == 2:
        first, second = known
        return (
            f"{first.name} ({first.length_mm:g} mm) says {each[0]:.5f} mm per pixel and {second.name} "
            f"({second.length_mm:g} mm) says {each[1]:.5f}: they differ by {100 * abs(each[0] / each[1] - 1):.1f} %. "
            "Check both, or set axes = 'separate' if the picture really is stretched."
        )
    spreads = [float(np.ptp(np.delete(each, i)) / np.mean(each)) for i in range(len(known))]
    odd = int(np.argmin(spreads))
    others = float(np.median(np.delete(each, odd)))
    return (
        f"{known[odd].name} is stated as {known[odd].length_mm:g} mm, but by the other known dimensions it measures "
        f"{others * float(np.hypot(*spans[odd])):.2f} mm. Correct it, or set axes = 'separate' if the picture "
        "really is stretched."
    )
