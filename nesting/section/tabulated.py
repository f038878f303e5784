"""Sections from coordinate files."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from nesting.section.base import Floats, Section
from vectorize.curve import Point
from vectorize.errors import PartError
from vectorize.wording import shown

_LEAST_STEP = 1e-9
"""In chords: points that are nearer are one point to the spline through them."""


@dataclass(frozen=True)
class Tabulated(Section):
    """A section through coordinates: tables of `upper` and `lower` points from nose to trailing edge, in chords.

    Between the points heights follow an Akima spline in b (x = (1 - cos b) / 2), which hardly ripples
    where points are uneven.
    """

    name: str
    upper: tuple[Point, ...]
    lower: tuple[Point, ...]
    scale: float = 1.0
    trailing: float | None = None

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

    Read are a name on the first line, then x and y a line, either once round from the trailing edge over
    the nose and back, or the upper and then the lower surface, each from the nose. The chord is scaled to 1
    and the nose moved to the origin.

    Raises:
        PartError: Fewer than five points a side, a line that is not two numbers, or no nose in it.
    """
    lines = [line.strip() for line in text.splitlines()]
    numbered = [(number, line) for number, line in enumerate(lines, start=1) if line]
    name, rows = _name_and_rows(numbered)
    points = [_row(number, line) for number, line in rows]
    if points and sum(points[0]) == len(points) - 1:
        points = points[1:]  # not a point: how many points follow for each side
    if len(points) < 10:
        raise PartError(f"section file: {len(points)} points found; give at least five a side.")
    upper, lower = _sides(points)
    return Tabulated(name, *_normalised(upper, lower))


def _name_and_rows(numbered: list[tuple[int, str]]) -> tuple[str, list[tuple[int, str]]]:
    if not numbered:
        raise PartError("section file: it is empty; give a name and then x and y a line.")
    first = numbered[0][1]
    try:
        _row(*numbered[0])
    except PartError:
        return first, numbered[1:]
    return "section from a file", numbered


def _row(number: int, line: str) -> Point:
    words = line.replace(",", " ").split()
    try:
        x, y = (float(word) for word in words)
    except ValueError:
        raise PartError(f"section file: line {number} is {shown(line)}; it must be two numbers, x and y.") from None
    if not (math.isfinite(x) and math.isfinite(y)):
        raise PartError(f"section file: line {number} is {shown(line)}; its numbers must be finite.")
    return (x, y)


def _sides(points: list[Point]) -> tuple[list[Point], list[Point]]:
    xs = [x for x, _ in points]
    nose = xs.index(min(xs))
    if nose == 0:
        # Two lists, each from the nose: the second begins where x falls back.
        second = next((i for i in range(1, len(xs)) if xs[i] < xs[i - 1] - 0.5 * (max(xs) - min(xs))), None)
        if second is None:
            raise PartError("section file: only one surface was found; give both, or once round.")
        return points[:second], points[second:]
    upper, lower = points[: nose + 1][::-1], points[nose:]
    return (upper, lower) if _mean_y(upper) >= _mean_y(lower) else (lower, upper)


def _mean_y(points: list[Point]) -> float:
    return sum(y for _, y in points) / len(points)


def _normalised(upper: list[Point], lower: list[Point]) -> tuple[tuple[Point, ...], tuple[Point, ...]]:
    x0, y0 = upper[0]
    chord = max(upper[-1][0], lower[-1][0]) - x0
    if not 0 < chord < math.inf:
        raise PartError("section file: its x do not run from a nose to a trailing edge.")
    sides = []
    for what, side in (("upper", upper), ("lower", lower)):
        scaled = [((x - x0) / chord, (y - y0) / chord) for x, y in side]
        if len(scaled) < 5:
            raise PartError(f"section file: the {what} surface has {len(scaled)} points; give at least five.")
        for before, after in itertools.pairwise(scaled):
            if after[0] <= before[0] + _LEAST_STEP:
                raise PartError(
                    f"section file: the {what} surface turns back at x = {after[0]:.4f}; "
                    "x must grow from the nose to the trailing edge."
                )
        highest = max((y for _, y in scaled), key=abs)
        if abs(highest) > 1:
            raise PartError(
                f"section file: the {what} surface lies {highest:.3g} chords off the nose; no section is as thick as "
                "it is long."
            )
        if scaled[-1][0] < 0.98:
            raise PartError(f"section file: the {what} surface ends at {100 * scaled[-1][0]:.1f} % of chord; give all.")
        sides.append((*scaled[:-1], (1.0, scaled[-1][1])))
    return tuple(sides[0]), tuple(sides[1])
