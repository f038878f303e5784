"""A part stands where the balance counts it: the centre of its body is its station and lateral arm."""

import dataclasses

import numpy as np
import pytest

from nesting.balance.stance import stance_of
from nesting.balance.station import Datum, Seat, locate
from nesting.wood.part import Part
from vectorize.shapes.mesh import extruded
from vectorize.shapes.outline import Outline

# A half that is wider at its root, its leading edge at the left, drawn with its span up the paper.
HALF = Part("half", Outline.from_points([(0, 0), (60, 0), (50, 300), (20, 300)]), "balsa", 3.0)
SIDE = Part("side", Outline.from_points([(0, 0), (200, 10), (200, 30), (0, 40)]), "balsa", 6.0)
LEFT_NOSE, RIGHT_NOSE, TILTED = Datum((10.0, 20.0)), Datum((500.0, 20.0), 180.0), Datum((10.0, 20.0), 25.0)
SEATS = {
    "in place": (SIDE, Seat()),
    "brought there": (SIDE, Seat(anchor=(0, 0), at=(70, 30), angle_deg=10.0, lateral_mm=8.0)),
    "from above": (HALF, Seat(anchor=(0, 0), at=(70, 30), lateral_mm=4.0, is_from_above=True)),
    "from above, in place": (HALF, Seat(is_from_above=True)),
    "turned by a quarter": (HALF, Seat(anchor=(0, 0), at=(70, 30), angle_deg=90.0)),
}


@pytest.mark.parametrize("datum", [LEFT_NOSE, RIGHT_NOSE, TILTED], ids=["nose left", "nose right", "tilted"])
@pytest.mark.parametrize("hand", ["either", "pair", "left"])
@pytest.mark.parametrize("seat", SEATS.values(), ids=SEATS.keys())
def test_the_centre_of_the_body_is_where_the_balance_counts_it(seat, hand, datum):
    part, seat = dataclasses.replace(seat[0], hand=hand, count=2), seat[1]
    for copy in range(1, part.copies + 1):
        stance = stance_of(part, copy, seat, datum, thickness_mm=part.thickness_mm)
        body = stance.placed(extruded(part.outline, part.thickness_mm))
        where = locate(part, copy, seat, datum)
        assert body.centroid[:2] == pytest.approx([where.station_mm, where.lateral_mm], abs=1e-6)
        assert body.volume_mm3 == pytest.approx(part.outline.area_mm2 * part.thickness_mm)


def test_up_is_up_with_the_nose_at_either_side():
    """The fin of a side view is drawn above the fuselage, wherever its nose is."""
    fin = Part("fin", Outline.from_points([(100, 50), (140, 50), (140, 90)]), "balsa", 2.0)
    for datum in (LEFT_NOSE, RIGHT_NOSE):
        body = stance_of(fin, 1, Seat(), datum, thickness_mm=2.0).placed(extruded(fin.outline, 2.0))
        assert body.points[:, 2].min() == pytest.approx(30.0)
        assert body.points[:, 2].max() == pytest.approx(70.0)


def test_a_panel_under_dihedral_rises_to_its_tip_about_its_root():
    """sin and cos of the angle over its span of 300 mm, from the height of its seat; both sides rise."""
    seat = Seat(anchor=(0, 0), at=(70, 30), is_from_above=True)
    pair = dataclasses.replace(HALF, hand="pair")
    for copy, side in ((1, 1), (2, -1)):
        stance = stance_of(pair, copy, seat, LEFT_NOSE, thickness_mm=3.0, dihedral_deg=6.0)
        tip = stance.turn @ np.array([20.0, 300.0, 1.5]) + stance.shift
        root = stance.turn @ np.array([0.0, 0.0, 1.5]) + stance.shift
        assert root == pytest.approx([60.0, 0.0, 10.0])
        assert tip[1:] == pytest.approx([side * 300 * np.cos(np.radians(6)), 10.0 + 300 * np.sin(np.radians(6))])
        along = stance.direction(90.0)
        assert along == pytest.approx([0.0, side * np.cos(np.radians(6)), np.sin(np.radians(6))], abs=1e-12)


def test_a_station_alone_is_no_place():
    assert stance_of(HALF, 1, Seat(station_mm=77.0), LEFT_NOSE, thickness_mm=3.0) is None
