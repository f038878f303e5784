"""Sections from coordinate files."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

import numpy as np

from nesting.carve.section.coordinates import read_coordinates
from nesting.carve.section.heights import Floats, Section
from vectorize.basics.errors import PartError
from vectorize.basics.notes import Note
from vectorize.shapes.segment import Point

_LEAST_STEP = 1e-9
"""In chords: points that are nearer are one point to the spline through them."""

_LEAST_REACH = 0.75
"""A surface that ends before this share of the chord is refused; one that ends later is carried on. Chosen."""

_HAIR = 0.02
"""The nose of a section in chords lies this near the origin: its foremost point need not be on the chord line. Chosen;
the farthest of 20 published files is 0.9 % above it."""

_GUESSED_REACH = 0.98
"""Where more than the rest is missing the end of a surface is a guess, for a person to look at. Chosen."""


@dataclass(frozen=True)
class Tabulated(Section):
    """A section through coordinates: tables of `upper` and `lower` points from nose to trailing edge, in chords.

    Between the points heights follow an Akima spline in b (x = (1 - cos b) / 2), which hardly ripples
    where points are uneven. `notes` tell what of a file was left out or added.
    """

    name: str
    upper: tuple[Point, ...]
    lower: tuple[Point, ...]
    scale: float = 1.0
    trailing: float | None = None
    notes: tuple[Note, ...] = ()

    @cached_property
    def _tables(self) -> tuple[Callable[[Floats], Floats], Callable[[Floats], Floats]]:
        from scipy.interpolate import Akima1DInterpolator

        curves = []
        for points in (self.upper, self.lower):
            x, y = np.array(points).T
            curves.append(Akima1DInterpolator(np.arccos(np.clip(1 - 2 * x, -1, 1)), y))
        return curves[0], curves[1]

    def heights(self, x: Floats) -> tuple[Floats, Floats]:
        """Return (upper, lower) heights."""
        x = np.asarray(x, dtype=np.float64)
        b = np.arccos(np.clip(1 - 2 * x, -1, 1))
        upper, lower = (self.scale * np.asarray(table(b)) for table in self._tables)
        if self.trailing is None:
            return upper, lower
        own = self.scale * (self.upper[-1][1] - self.lower[-1][1])
        wedge = (self.trailing - own) / 2 * x
        return upper + wedge, lower - wedge

    @property
    def nose_radius(self) -> float:
        """Return the radius of the circle through the nose and the points 0.5 % of chord aft on both sides."""
        (upper,), (lower,) = self.heights(np.array([0.005]))
        half = (upper - lower) / 2
        return float((half**2 + 0.005**2) / (2 * 0.005))

    def resized(self, *, thickness: float | None = None, trailing: float | None = None) -> Tabulated:
        """Return the section with all heights scaled to another thickness, or another trailing thickness."""
        scale = self.scale if thickness is None else self.scale * thickness / self.greatest_thickness[0]
        return replace(self, scale=scale, trailing=self.trailing if trailing is None else trailing)


def section_from_coordinates(text: str) -> Tabulated:
    """Return the section of a coordinate file.

    Read are a name on the first line, then x and y a line, once round from the trailing edge over the nose and back,
    or one surface after the other. Where that is not so already, the chord is scaled to 1 and the nose moved to the
    origin. What is left out of the
    file, and what is added to it, stands in the section's `notes`.

    Raises:
        PartError: Fewer than five points a side, a line that is not two numbers, or no nose in it.
    """
    read = read_coordinates(text)
    one, other, notes = _sides(read.points)
    upper, lower = (one, other) if _mean_y(one) >= _mean_y(other) else (other, one)
    tables, more = _normalised(upper, lower)
    return Tabulated(read.name, *tables, notes=(*read.notes, *notes, *more))


def _sides(points: Sequence[Point]) -> tuple[list[Point], list[Point], list[Note]]:
    """Return both surfaces from the nose on, with what was done to points at the nose and at the trailing edge."""
    least = min(x for x, _ in points)
    at_nose = [i for i, (x, _) in enumerate(points) if x == least]
    first, last = at_nose[0], at_nose[-1]
    nose, notes = points[first], []
    if points[first][1] != points[last][1]:
        nose = _between(points, first, last)
        text = f"{last - first + 1} points at x = {least:g} make the nose; it was put between them, at x = {nose[0]:g}."
        notes.append(Note("section-nose", text))
        first, last = first + 1, last - 1
    one, other = [nose, *points[:first][::-1]], [nose, *points[last + 1 :]]
    for side in (one, other):
        closing = _without_closing(side)
        if closing:
            x, y = closing[-1]
            text = f"the point ({x:g}, {y:g}) only closes the blunt trailing edge and was left out."
            notes.append(Note("section-left-out", text))
    return one, other, notes


def _between(points: Sequence[Point], first: int, last: int) -> Point:
    """Return the tip of the parabola, round about the chord, through the points at the nose and those behind them."""
    (x, y0), (_, y1) = points[first], points[last]
    middle, half = (y0 + y1) / 2, (y0 - y1) / 2
    behind = [points[i] for i in (first - 1, last + 1) if 0 <= i < len(points)]
    bends = [(px - x) / ((py - middle) ** 2 - half**2) for px, py in behind if abs(py - middle) > abs(half)]
    return (x - (sum(bends) / len(bends) * half**2 if bends else half**2), middle)


def _without_closing(side: list[Point]) -> list[Point]:
    """Take the points off the end of a surface that lie straight below or above the one before; return them."""
    taken = []
    while len(side) > 2 and side[-1][0] == side[-2][0]:
        taken.append(side.pop())
    return taken


def _mean_y(points: list[Point]) -> float:
    return sum(y for _, y in points) / len(points)


def _normalised(
    upper: list[Point], lower: list[Point]
) -> tuple[tuple[tuple[Point, ...], tuple[Point, ...]], list[Note]]:
    """Return both surfaces for a chord of one, from the nose to the trailing edge, and what was added at their ends."""
    x0, y0 = upper[0]
    chord = max(upper[-1][0], lower[-1][0]) - x0
    if not 0 < chord < math.inf:
        raise PartError("section file: its x do not run from a nose to a trailing edge.")
    notes = []
    if _is_in_chords(upper[0], chord):
        y0 = 0.0  # heights stay above the chord line of the file
    else:
        text = f"the chord of {chord:.6g} was scaled to 1, and the nose moved from ({x0:.6g}, {y0:.6g}) to the origin."
        notes.append(Note("section-scaled", text))
    sides = [[((x - x0) / chord, (y - y0) / chord) for x, y in side] for side in (upper, lower)]
    for what, side in zip(("upper", "lower"), sides, strict=True):
        _check(what, side, x0, chord)
    ends = [side[-1] for side in sides]
    for what, side, beyond in zip(("upper", "lower"), sides, reversed(ends), strict=True):
        reach = side[-1][0]
        if reach == 1.0:
            continue
        side.append(_trailing_edge(side, beyond))
        state: Literal["fixed", "open"] = "fixed" if reach >= _GUESSED_REACH else "open"
        text = (
            f"the {what} surface ends at {100 * reach:.6g} % of chord; it was carried on to the trailing edge, to "
            f"(1, {side[-1][1]:.4g})."
        )
        notes.append(Note("section-end", text, state))
    return (tuple(sides[0]), tuple(sides[1])), notes


def _is_in_chords(nose: Point, chord: float) -> bool:
    """Return whether a file is in chords already: its nose at the origin and its trailing edge at 1, but for a hair."""
    return max(map(abs, (*nose, chord - 1.0))) < _HAIR


def _check(what: str, side: Sequence[Point], x0: float, chord: float) -> None:
    """Do nothing if a surface, in chords, can be one.

    Raises:
        PartError: It has too few points, does not run aft all the way, is too high, or ends early.
    """
    if len(side) < 5:
        raise PartError(f"section file: the {what} surface has {len(side)} points; give at least five.")
    for before, after in itertools.pairwise(side):
        if after[0] <= before[0] + _LEAST_STEP:
            says = "turns back" if after[0] < before[0] - _LEAST_STEP else "has two points"
            raise PartError(
                f"section file: the {what} surface {says} at x = {x0 + chord * after[0]:.4f}; "
                "x must grow from the nose to the trailing edge."
            )
    highest = max((y for _, y in side), key=abs)
    if abs(highest) > 1:
        raise PartError(
            f"section file: the {what} surface lies {highest:.3g} chords off the nose; no section is as thick as "
            "it is long."
        )
    if side[-1][0] < _LEAST_REACH:
        raise PartError(f"section file: the {what} surface ends at {100 * side[-1][0]:.1f} % of chord; give all.")


def _trailing_edge(side: Sequence[Point], beyond: Point) -> Point:
    """Return where a surface that ends early reaches the trailing edge, `beyond` being the end of the other one.

    Over a short way it goes straight on; where more is missing, the trailing edge is taken for sharp.
    """
    (xa, ya), (xb, yb) = side[-2], side[-1]
    if xb < _GUESSED_REACH:
        return (1.0, beyond[1])
    return (1.0, yb + (1.0 - xb) * (yb - ya) / (xb - xa))
