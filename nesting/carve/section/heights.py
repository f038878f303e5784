"""What a section is: heights over the chord, and what follows from them.

A section is given for a chord of one: x from 0 (nose) to 1 (trailing edge), heights in chords above
the chord line. Integrals run over the angle b of x = (1 - cos b) / 2, in which the round nose is smooth.
"""

from __future__ import annotations

import itertools
import math
from abc import ABC, abstractmethod
from collections.abc import Callable
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from vectorize.shapes.outline import Ring
from vectorize.shapes.segment import Cubic, Line, Point, Segment

Floats = NDArray[np.float64]

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(64)
_ANGLES = math.pi * (_NODES + 1) / 2
_PIECES = 40


class Section(ABC):
    """A section of unit chord. Two sections of the same parameters are equal."""

    name: str

    @abstractmethod
    def heights(self, x: Floats) -> tuple[Floats, Floats]:
        """Return (upper, lower) surface heights at the shares of chord `x`, in chords."""

    @abstractmethod
    def resized(self, *, thickness: float | None = None, trailing: float | None = None) -> Section:
        """Return the section with another greatest thickness or trailing thickness, both in chords."""

    @property
    @abstractmethod
    def nose_radius(self) -> float:
        """Return the radius of the nose, in chords."""

    @property
    def trailing_thickness(self) -> float:
        """Return the thickness at the trailing edge, in chords."""
        upper, lower = self.heights(np.array([1.0]))
        return float(upper[0] - lower[0])

    @cached_property
    def greatest_thickness(self) -> tuple[float, float]:
        """Return (thickness, share of chord) where the section is thickest."""
        return _greatest(lambda x: np.subtract(*self.heights(x)))

    @cached_property
    def high_point(self) -> float:
        """Return the share of chord at which the upper surface is highest."""
        return _greatest(lambda x: self.heights(x)[0])[1]

    @property
    def area(self) -> float:
        """Return the area enclosed, in square chords, with the trailing edge closed by a straight line."""
        return self._integral(lambda upper, lower, x: upper - lower)

    @property
    def centroid(self) -> Point:
        """Return the centre of the area, in chords."""
        area = self.area
        along = self._integral(lambda upper, lower, x: x * (upper - lower))
        above = self._integral(lambda upper, lower, x: (upper**2 - lower**2) / 2)
        return (along / area, above / area)

    @property
    def bending_inertia(self) -> float:
        """Return the second moment of area about the line through the centroid parallel to the chord, in chords^4."""
        about_chord = self._integral(lambda upper, lower, x: (upper**3 - lower**3) / 3)
        return about_chord - self.area * self.centroid[1] ** 2

    def _integral(self, of: Callable[[Floats, Floats, Floats], Floats]) -> float:
        x = (1 - np.cos(_ANGLES)) / 2
        upper, lower = self.heights(x)
        return float(np.sum(_WEIGHTS * math.pi / 2 * np.sin(_ANGLES) / 2 * of(upper, lower, x)))

    def curves(self, s: Floats) -> tuple[Floats, Floats]:
        """Return the (N, 2) points of the upper and lower surface at x = s²: round at the nose, even behind it."""
        x = s**2
        upper, lower = self.heights(x)
        return np.column_stack([x, upper]), np.column_stack([x, lower])

    def ring(self, *, chord_mm: float) -> Ring:
        """Return the section as a closed curve of cubics, nose at the origin, chord along x.

        The cubics touch the section at 41 places a side, with its slopes there; they stay within 1e-5 chords.
        """
        upper = _surface(lambda s: self.curves(s)[0], chord_mm)
        lower = _surface(lambda s: self.curves(s)[1], chord_mm)
        segments: list[Segment] = [piece.reversed() for piece in reversed(upper)]
        if math.dist(segments[-1].end, lower[0].start) > 1e-9:
            segments.append(Line(segments[-1].end, lower[0].start))
        segments.extend(lower)
        if math.dist(segments[-1].end, segments[0].start) > 1e-9:
            segments.append(Line(segments[-1].end, segments[0].start))
        return Ring(tuple(segments))


def _greatest(of: Callable[[Floats], Floats]) -> tuple[float, float]:
    """Return (greatest value, where) by a search on a finer and finer grid."""
    low, high = 0.0, 1.0
    for _ in range(5):
        x = np.linspace(low, high, 101)
        best = int(np.argmax(of(x)))
        low, high = float(x[max(best - 1, 0)]), float(x[min(best + 1, 100)])
    at = (low + high) / 2
    return float(of(np.array([at]))[0]), at


def _surface(curve: Callable[[Floats], Floats], chord_mm: float) -> list[Cubic]:
    """Return Hermite cubics in s from nose to trailing edge; slopes by differences, to 1e-9."""
    s = np.linspace(0.0, 1.0, _PIECES + 1)
    step = 1e-5
    points = chord_mm * curve(s)
    inner = np.clip(s, step, 1.0 - step)
    handles = chord_mm * (curve(inner + step) - curve(inner - step)) / (2 * step) / _PIECES / 3
    return [
        Cubic(_point(points[i]), _point(points[i] + handles[i]), _point(points[j] - handles[j]), _point(points[j]))
        for i, j in itertools.pairwise(range(_PIECES + 1))
    ]


def _point(pair: Floats) -> Point:
    return (float(pair[0]), float(pair[1]))
