"""Mean chord of a wing from its sections.

The mean aerodynamic chord is the integral of chord squared over the integral of chord; for a straight
taper (2/3) cr (1 + L + L^2) / (1 + L), at (s/3) (1 + 2L) / (1 + L) from the root, L = ct/cr (aircraft
design texts). Several panels are integrated one by one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from vectorize.basics.errors import JobError


@dataclass(frozen=True, slots=True)
class Section:
    """One chord of the wing: distance from the root, chord, and station of its leading edge, in mm."""

    span_mm: float
    chord_mm: float
    leading_edge_mm: float


@dataclass(frozen=True, slots=True)
class MeanChord:
    """Length, distance from the root and station of the leading edge of the mean chord, and half the wing's area."""

    length_mm: float
    span_mm: float
    leading_edge_mm: float
    half_area_mm2: float

    def station_mm(self, share: float) -> float:
        """Return the station at a share of the mean chord (0.25 is a quarter behind its leading edge)."""
        return self.leading_edge_mm + share * self.length_mm

    def share(self, station_mm: float) -> float:
        """Return a station as a share of the mean chord behind its leading edge."""
        return (station_mm - self.leading_edge_mm) / self.length_mm


def mean_chord(sections: Sequence[Section]) -> MeanChord:
    """Return the mean chord of a wing half with straight edges between its sections.

    Raises:
        JobError: Fewer than two sections, sections out of order, a negative chord, no area.
    """
    if len(sections) < 2:
        raise JobError(f"a wing needs at least its root and its tip section; {len(sections)} given.")
    for section in sections:
        if not (math.isfinite(section.chord_mm) and section.chord_mm >= 0):
            raise JobError(f"a wing section has a chord of {section.chord_mm:g} mm; it must be zero or more.")
    if any(after.span_mm <= before.span_mm for before, after in pairwise(sections)):
        raise JobError("the wing's sections must follow each other from root to tip, each farther out than the last.")
    area = _integral(sections, lambda s: s.chord_mm)
    if not area > 0:
        raise JobError("the wing's sections enclose no area.")
    return MeanChord(
        length_mm=_integral(sections, lambda s: s.chord_mm**2) / area,
        span_mm=_integral(sections, lambda s: s.chord_mm * s.span_mm) / area,
        leading_edge_mm=_integral(sections, lambda s: s.chord_mm * s.leading_edge_mm) / area,
        half_area_mm2=area,
    )


def _integral(sections: Sequence[Section], quantity: Callable[[Section], float]) -> float:
    """Integrate over span by Simpson's rule, exact here: everything is a product of two linear functions."""
    return math.fsum(
        (outer.span_mm - inner.span_mm) / 6 * (quantity(inner) + 4 * quantity(_middle(inner, outer)) + quantity(outer))
        for inner, outer in pairwise(sections)
    )


def _middle(inner: Section, outer: Section) -> Section:
    return Section(
        (inner.span_mm + outer.span_mm) / 2,
        (inner.chord_mm + outer.chord_mm) / 2,
        (inner.leading_edge_mm + outer.leading_edge_mm) / 2,
    )
