"""Bent wire against closed forms and against a path that is bent, sampled and measured."""

import math

import numpy as np
import pytest

from nesting.wood.bent_wire import BentWire
from vectorize.basics.errors import JobError

LENGTH_TOL_MM = 0.1


def test_a_right_angle_is_two_legs_less_their_tangents_and_a_quarter_of_a_circle():
    """Middle radius 5 + 1 mm: tangents of 6 mm, an arc of 6 pi / 2."""
    wire = BentWire("leg", 2.0, 5.0, ((0, 0, 0), (100, 0, 0), (100, 0, -60)))
    assert wire.straights_mm == pytest.approx((94.0, 54.0))
    (bend,) = wire.bends
    assert (bend.angle_deg, bend.arc_mm, bend.turned_deg) == pytest.approx((90.0, 3 * math.pi, 0.0))
    assert wire.length_mm == pytest.approx(148.0 + 3 * math.pi)
    assert wire.mass_g == pytest.approx(math.pi * wire.length_mm * 7.85e-3)


def sampled(corners, radius):
    """Walk along the bent middle line: each corner is cut by an arc in its own plane, placed by its bisector."""
    points = [np.array(corners[0], float)]
    for before, at, behind in zip(corners, corners[1:], corners[2:], strict=False):
        before, at, behind = (np.array(p, float) for p in (before, at, behind))
        u, v = (before - at) / np.linalg.norm(before - at), (behind - at) / np.linalg.norm(behind - at)
        bisector = (u + v) / np.linalg.norm(u + v)
        half = math.acos(float(u @ bisector))
        centre = at + bisector * radius / math.sin(half)
        start, end = at + u * radius / math.tan(half), at + v * radius / math.tan(half)
        a, b = start - centre, end - centre
        whole = math.acos(float(a @ b) / radius**2)
        points += [
            centre + (math.sin((1 - t) * whole) * a + math.sin(t * whole) * b) / math.sin(whole)
            for t in np.linspace(0, 1, 2000)
        ]
    points.append(np.array(corners[-1], float))
    return np.array(points)


def lengths(path):
    return np.linalg.norm(np.diff(path, axis=0), axis=1)


@pytest.mark.parametrize("seed", range(6))
def test_the_developed_length_is_that_of_the_bent_path(seed):
    draw = np.random.default_rng(seed)
    corners = [(0.0, 0.0, 0.0)]
    for number in range(4):
        step = np.array((40.0, 30.0, -35.0) if number % 2 else (5.0, 30.0, 20.0))
        corners.append(tuple(np.array(corners[-1]) + step + draw.uniform(-15, 15, 3)))
    wire = BentWire("gear", 2.5, 3.0, tuple(corners))
    path = sampled(corners, 4.25)
    assert wire.length_mm == pytest.approx(lengths(path).sum(), abs=LENGTH_TOL_MM)
    centroid = np.average((path[1:] + path[:-1]) / 2, axis=0, weights=lengths(path))
    assert wire.centroid_mm == pytest.approx(tuple(centroid), abs=1e-3)


def test_the_mass_of_a_wire_acts_at_its_middle_where_it_is_straight():
    assert BentWire("rod", 2.0, 5.0, ((0, 0, 0), (30, 0, 0), (90, 0, 12))).centroid_mm[1] == 0.0
    straight = BentWire("rod", 2.0, 5.0, ((10, 4, 0), (30, 4, 0), (90, 4, 0)))
    assert straight.centroid_mm == pytest.approx((50.0, 4.0, 0.0))


def test_an_undercarriage_turns_its_planes_as_it_is_drawn():
    """Across the fuselage, down a leg at right angles, out along the axle: a flat staple has no turn; a Z has 180."""
    staple = BentWire("staple", 2.0, 3.0, ((0, 0, 0), (0, 0, 50), (0, 60, 50), (0, 60, 0)))
    assert [bend.turned_deg for bend in staple.bends] == pytest.approx([0.0, 0.0])
    zed = BentWire("zed", 2.0, 3.0, ((0, 0, 0), (0, 0, 50), (0, 60, 50), (0, 60, 100)))
    assert abs(zed.bends[1].turned_deg) == pytest.approx(180.0)
    corner = BentWire("corner", 2.0, 3.0, ((0, 0, 0), (0, 0, 50), (0, 60, 50), (40, 60, 50)))
    assert abs(corner.bends[1].turned_deg) == pytest.approx(90.0)


@pytest.mark.parametrize(
    ("corners", "more", "said"),
    [
        (((0, 0, 0), (1, 0, 0)), {}, "has 2 points"),
        (((0, 0, 0), (0, 0, 0), (9, 0, 0)), {}, "are one"),
        (((0, 0, 0), (50, 0, 0), (0, 1, 0)), {}, "would lie on itself"),
        (((0, 0, 0), (50, 0, 0), (50, 5, 0)), {}, "from its point 2 to 3 is 1.0 mm too short"),
        (((0, 0, 0), (50, 0, 0), (50, 50, 0)), {"diameter_mm": 0.0}, "above zero"),
    ],
)
def test_wires_that_cannot_be_bent_are_refused(corners, more, said):
    with pytest.raises(JobError, match=said):
        BentWire(**{"name": "leg", "diameter_mm": 2.0, "radius_mm": 5.0, "corners": corners} | more)
