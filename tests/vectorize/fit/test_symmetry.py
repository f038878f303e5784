"""A ring fitted through a half and its image is made exactly symmetrical, of the pieces of one half."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.vectorize.fit.test_halves import AXIS, STEP_MM, walked
from vectorize.fit import FitSettings, fit_ring
from vectorize.fit.halves import Axis, completed
from vectorize.fit.symmetry import symmetrical
from vectorize.shapes.outline import Ring
from vectorize.shapes.segment import Arc, Line, Segment
from vectorize.shapes.segment_parts import direction_at

MIDDLE = float(AXIS[0, 0])
LINE = Axis((MIDDLE, 0.0), (0.0, 1.0))
NONE = np.empty((0, 2))


def fitted_whole(half: np.ndarray) -> tuple[Ring, Ring]:
    """The ring that is fitted through a half and its image, and the symmetrical one made of it."""
    whole = completed(half, np.ones(len(half), bool), AXIS)
    settings = FitSettings(pen_mm=0.5, step_mm=STEP_MM)
    ring = fit_ring(whole.points, whole.is_clean, settings=settings, corners=whole.corners).ring
    return ring, symmetrical(ring, whole.axis, whole.points[list(whole.corners)], within_mm=0.04)


def is_own_image(ring: Ring) -> bool:
    """Whether a ring is made of the same pieces as its mirror image."""
    image = ring.mapped(lambda p: (2 * MIDDLE - p[0], p[1]), mirrors=True).reversed()
    mine, theirs = (sorted(map(described, one.segments)) for one in (ring, image))
    return [kind for kind, _ in mine] == [kind for kind, _ in theirs] and all(
        np.allclose(a, b, atol=1e-5) for (_, a), (_, b) in zip(mine, theirs, strict=True)
    )


def described(segment: Segment) -> tuple[str, tuple[float, ...]]:
    """The kind of a piece and five points along it, to a millionth for sorting."""
    points = [segment.point_at(share) for share in (0.0, 0.25, 0.5, 0.75, 1.0)]
    return type(segment).__name__, tuple(round(value, 6) for point in points for value in point)


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
    assert not is_own_image(fitted)
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
        assert ax * bx + ay * by > 0


def test_a_ring_that_is_not_symmetrical_stays_as_it_is() -> None:
    ring = Ring.from_points([(0, 0), (30, 0), (30, 20), (0, 12)])
    assert symmetrical(ring, LINE, NONE, within_mm=0.04) is ring


def test_a_flat_bottom_under_a_round_top_crosses_the_centre_line_as_one_line() -> None:
    former = Ring((Line((-10.0, 0.0), (30.0, 0.004)), Arc((30.0, 0.004), (-10.0, 0.0), 1.0)))
    whole = symmetrical(former, LINE, NONE, within_mm=0.04)
    assert [type(piece) for piece in whole.segments] in ([Line, Arc], [Arc, Line])
    assert is_own_image(whole)


def test_a_lens_with_its_points_on_the_centre_line_is_made_symmetrical() -> None:
    lens = Ring((Arc((10.0, -20.0), (10.01, 20.0), 0.5), Arc((10.01, 20.0), (10.0, -20.0), 0.501)))
    whole = symmetrical(lens, LINE, np.array([(10.0, -20.0), (10.0, 20.0)]), within_mm=0.04)
    assert len(whole.segments) == 2
    assert is_own_image(whole)
    assert not is_own_image(lens)
