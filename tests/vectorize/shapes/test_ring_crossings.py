"""Pieces that run out and back on themselves go; what only comes near stays."""

from __future__ import annotations

import math

import pytest

from vectorize.shapes.outline import Ring
from vectorize.shapes.ring_crossings import without_spikes
from vectorize.shapes.segment import Arc, Cubic, Line, Segment
from vectorize.shapes.segment_parts import part_of

TOP = Cubic((40.0, 20.0), (30.0, 26.0), (10.0, 24.0), (0.0, 20.0))


def ring_with(spike: Segment, back: Segment) -> tuple[Segment, ...]:
    """A panel with a curved top; a spike goes out from its upper right corner and comes back."""
    return (Line((0.0, 0.0), (40.0, 0.0)), Line((40.0, 0.0), spike.start), spike, back, Line(TOP.end, (0.0, 0.0)))


def longer(by: float) -> Cubic:
    """The top's curve, begun a little before it, as the curve of a tip from which a strip was cut goes on."""
    dx, dy = TOP.first[0] - TOP.start[0], TOP.first[1] - TOP.start[1]
    size = math.hypot(dx, dy)
    start = (TOP.start[0] - by * dx / size, TOP.start[1] - by * dy / size)
    return Cubic(start, TOP.first, TOP.second, TOP.end)


def test_a_curved_hairline_goes_and_the_rest_stays() -> None:
    whole = longer(0.45)
    spike = part_of(whole, 0.012, 0.0)
    found = without_spikes(ring_with(spike, whole))
    assert len(found) == 4
    assert Ring(found).perimeter_mm == pytest.approx(
        Ring(ring_with(spike, whole)).perimeter_mm - 2 * spike.length, abs=0.01
    )


def test_a_straight_hairline_goes_too() -> None:
    square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (12.0, 10.0), (9.0, 10.0), (0.0, 10.0)]
    lines = tuple(Line(a, b) for a, b in zip(square, [*square[1:], square[0]], strict=True))
    assert max(x for x, _ in Ring(without_spikes(lines)).flattened(0.01).tolist()) == pytest.approx(10.0)


def test_a_thin_but_real_point_stays() -> None:
    wedge = (Line((0.0, 0.0), (30.0, 0.0)), Arc((30.0, 0.0), (0.0, 0.6), 0.02), Line((0.0, 0.6), (0.0, 0.0)))
    assert without_spikes((*wedge[:2], Line((0.0, 0.6), (0.0, 0.3)), Line((0.0, 0.3), (0.0, 0.0)))) == (
        *wedge[:2],
        Line((0.0, 0.6), (0.0, 0.3)),
        Line((0.0, 0.3), (0.0, 0.0)),
    )
