"""Half a boundary is made whole, with a corner on the centre line where its edge comes there at a slant."""

from __future__ import annotations

import math

import numpy as np
import pytest

from vectorize.curve_parts import direction_at
from vectorize.curves import FitSettings, fit_ring
from vectorize.curves.halves import Axis, completed
from vectorize.curves.symmetry import symmetrical
from vectorize.errors import PickError
from vectorize.outline import Ring

STEP_MM = 0.1
AXIS = np.array([(10.0, -50.0), (10.0, 50.0)])


def walked(corners: list[tuple[float, float]]) -> np.ndarray:
    """Points once round a polygon, a tenth of a millimetre apart and a hundredth unsure."""
    random = np.random.default_rng(4)
    sides = zip(corners, [*corners[1:], corners[0]], strict=True)
    points = [np.linspace(a, b, round(math.dist(a, b) / STEP_MM), endpoint=False) for a, b in sides]
    walk = np.vstack(points)
    return walk + random.normal(0, 0.01, walk.shape)


def whole_of(half: np.ndarray) -> tuple[float, tuple[int, ...], np.ndarray]:
    """The area of the whole that is fitted, its known corners, and its points."""
    whole = completed(half, np.ones(len(half), bool), AXIS)
    settings = FitSettings(pen_mm=0.5, step_mm=STEP_MM)
    fit = fit_ring(whole.points, whole.is_clean, settings=settings, corners=whole.corners)
    return abs(fit.ring.signed_area_mm2), whole.corners, whole.points


@pytest.mark.parametrize("slant_deg", [3.0, 5.0, 12.0])
def test_an_edge_that_comes_to_the_centre_line_at_a_slant_has_a_corner_on_it(slant_deg: float) -> None:
    #   axis
    #    |\_________       the whole has a blunt peak of 180 - 2 * slant degrees
    #    |          |
    #    +----------+
    rise = 40.0 * math.tan(math.radians(slant_deg))
    half = walked([(10, 0), (50, 0), (50, 20), (10, 20 + rise)])
    area, corners, points = whole_of(half)
    (peak,) = points[list(corners)]
    assert tuple(peak) == pytest.approx((10.0, 20 + rise), abs=0.03)
    assert area == pytest.approx(2 * 40 * (20 + rise / 2), rel=2e-4)


def test_an_edge_that_crosses_the_centre_line_squarely_has_no_corner_there() -> None:
    area, corners, _ = whole_of(walked([(10, 0), (50, 0), (50, 20), (10, 20)]))
    assert corners == ()
    assert area == pytest.approx(2 * 40 * 20, rel=2e-4)


def test_a_round_nose_on_the_centre_line_has_no_corner() -> None:
    angles = np.radians(np.arange(-90, 90, 0.25))
    nose = np.column_stack([10 + 30 * np.cos(angles), 30 * np.sin(angles)])
    half = np.vstack([nose, np.column_stack([np.full(300, 10.0), np.linspace(30, -30, 300)])])
    area, corners, _ = whole_of(half + np.random.default_rng(2).normal(0, 0.01, half.shape))
    assert corners == ()
    assert area == pytest.approx(math.pi * 30**2, rel=5e-4)


def test_a_half_away_from_its_centre_line_is_refused() -> None:
    with pytest.raises(PickError, match="check the two points of the mirror"):
        completed(walked([(-20, 0), (50, 0), (50, 20), (-20, 20)]), np.ones(1800, bool), AXIS)


def fitted_whole(half: np.ndarray) -> tuple[Ring, Ring]:
    """The ring that is fitted through a half and its image, and the symmetrical one made of it."""
    whole = completed(half, np.ones(len(half), bool), AXIS)
    settings = FitSettings(pen_mm=0.5, step_mm=STEP_MM)
    ring = fit_ring(whole.points, whole.is_clean, settings=settings, corners=whole.corners).ring
    return ring, symmetrical(ring, whole.axis, within_mm=0.1)


def is_own_image(ring: Ring) -> bool:
    """Whether the ends of a ring's pieces are their own image about the axis, each of the same kind as that."""
    middle = float(AXIS[0, 0])
    pieces = sorted((type(s).__name__, *sorted([s.start, s.end])) for s in ring.segments)
    images = sorted(
        (type(s).__name__, *sorted((2 * middle - x, y) for x, y in (s.start, s.end))) for s in ring.segments
    )
    flat = [[kind for kind, *_ in both] for both in (pieces, images)]
    return flat[0] == flat[1] and np.allclose([p[1:] for p in pieces], [p[1:] for p in images], atol=1e-6)


def wavy() -> np.ndarray:
    """Half a tail with a free curve for its tip, a slanted leading edge and a square trailing one."""
    tip = np.array([(50 + 14 * math.sin(a) ** 0.8, 10 - 10 * math.cos(a)) for a in np.radians(np.arange(0, 180, 0.5))])
    edges = [(np.linspace(10, 50, 400), np.zeros(400)), (np.linspace(50, 10, 400), np.linspace(20, 26, 400))]
    axis = np.column_stack([np.full(260, 10.0), np.linspace(26, 0, 260)])
    half = np.vstack([np.column_stack(edges[0]), tip, np.column_stack(edges[1]), axis])
    return half + np.random.default_rng(7).normal(0, 0.02, half.shape)


ROUND = np.vstack(
    [
        [(10 + 30 * math.cos(a), 22 * math.sin(a)) for a in np.radians(np.arange(-90, 90, 0.25))],
        np.column_stack([np.full(300, 10.0), np.linspace(22, -22, 300)]),
    ]
)


@pytest.mark.parametrize(
    "half",
    [
        walked([(10, 0), (50, 0), (50, 20), (10, 20)]),
        walked([(10, 0), (50, 2), (44, 20), (30, 23), (10, 26)]),
        wavy(),
        ROUND + np.random.default_rng(2).normal(0, 0.01, ROUND.shape),
    ],
    ids=["square", "slanted", "free curve", "ellipse"],
)
def test_both_halves_are_made_of_the_same_pieces(half: np.ndarray) -> None:
    fitted, whole = fitted_whole(half)
    assert is_own_image(whole)
    assert len(whole.segments) <= len(fitted.segments) + 2
    assert abs(whole.signed_area_mm2) == pytest.approx(abs(fitted.signed_area_mm2), rel=1e-3)


def test_a_curve_that_crosses_the_centre_line_squarely_does_so_without_a_seam() -> None:
    _, whole = fitted_whole(ROUND + np.random.default_rng(2).normal(0, 0.01, ROUND.shape))
    ends = [(a, b) for a, b in zip(whole.segments, (*whole.segments[1:], whole.segments[0]), strict=True)]
    on_axis = [(a, b) for a, b in ends if abs(a.end[0] - 10.0) < 1e-6]
    assert on_axis
    for before, after in on_axis:
        (ax, ay), (bx, by) = direction_at(before, 1.0), direction_at(after, 0.0)
        assert ax * by - ay * bx == pytest.approx(0.0, abs=1e-9)


def test_a_ring_that_is_not_symmetrical_stays_as_it_is() -> None:
    ring = Ring.from_points([(0, 0), (30, 0), (30, 20), (0, 12)])
    assert symmetrical(ring, Axis((10.0, 0.0), (0.0, 1.0)), within_mm=0.1) is ring
