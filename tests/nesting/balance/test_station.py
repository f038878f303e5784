import dataclasses

import pytest

from nesting.balance.station import Datum, Seat, locate
from nesting.wood.part import Part
from vectorize.basics.errors import JobError
from vectorize.shapes.outline import Outline

#  side view, nose at the left:        wing half drawn elsewhere, root at the bottom:
#      datum o---------> aft                 +-----+
#                                            |     |   anchor = root leading edge (lower left)
PART = Part("wing", Outline.rectangle(1000, 500, 1060, 800), "balsa", 3.0)
DATUM = Datum((100.0, 50.0))


def test_a_part_drawn_in_place_has_its_station_from_the_drawing():
    assert locate(PART, 1, Seat(), DATUM).station_mm == pytest.approx(1030 - 100)


def test_a_nose_that_points_right_counts_the_other_way():
    assert locate(PART, 1, Seat(), Datum((2000.0, 50.0), aft_deg=180.0)).station_mm == pytest.approx(970)


def test_a_tilted_side_view_counts_along_its_own_line():
    datum = Datum((0.0, 0.0), aft_deg=30.0)
    assert datum.station_mm((3**0.5 / 2 * 100, 50.0)) == pytest.approx(100.0)
    assert datum.across_mm((-50.0, 3**0.5 / 2 * 100)) == pytest.approx(100.0)


def test_a_seated_part_comes_to_its_anchor():
    seat = Seat(anchor=(1000.0, 500.0), at=(180.0, 60.0))
    assert locate(PART, 1, seat, DATUM).station_mm == pytest.approx(80 + 30)


def test_turning_the_seat_turns_the_part_about_its_anchor():
    # A quarter turn brings the part's span of 300 along the fuselage, towards the nose.
    seat = Seat(anchor=(1000.0, 500.0), at=(180.0, 60.0), angle_deg=90.0)
    assert locate(PART, 1, seat, DATUM).station_mm == pytest.approx(80 - 150)


def test_wing_halves_reach_to_either_side():
    pair = dataclasses.replace(PART, hand="pair")
    seat = Seat(anchor=(1000.0, 500.0), at=(180.0, 60.0), lateral_mm=5.0, is_from_above=True)
    right, left = (locate(pair, copy, seat, DATUM) for copy in (1, 2))
    assert (right.lateral_mm, left.lateral_mm) == (pytest.approx(155.0), pytest.approx(-155.0))
    assert right.station_mm == left.station_mm
    own_left = dataclasses.replace(PART, hand="left")
    assert (
        locate(own_left, 1, Seat(anchor=(1000.0, 500.0), at=(180.0, 60.0), is_from_above=True), DATUM).lateral_mm
        == -150.0
    )


#  seen from above, nose at the left:   the right half reaches up the paper, the left half down
@pytest.mark.parametrize(("aft_deg", "turn"), [(0.0, 0.0), (180.0, 180.0), (30.0, 30.0)])
def test_the_seat_shows_on_which_side_a_half_lies(aft_deg, turn):
    # Facing forward, against aft, right is a quarter turn clockwise from forward: aft turned counter-clockwise.
    datum = Datum((0.0, 0.0), aft_deg=aft_deg)
    upper = Part("half", Outline.rectangle(0, 0, 60, 300), "balsa", 3.0)
    lower = Part("half", Outline.rectangle(0, -300, 60, 0), "balsa", 3.0)
    seat = Seat(anchor=(0.0, 0.0), at=(10.0, 0.0), angle_deg=turn, is_from_above=True)
    assert locate(upper, 1, seat, datum).lateral_mm == pytest.approx(150.0)
    assert locate(lower, 1, seat, datum).lateral_mm == pytest.approx(-150.0)
    # The other one of a pair lies opposite, and so does every second copy that may be turned over.
    pair, two = dataclasses.replace(lower, hand="pair"), dataclasses.replace(lower, count=2)
    for part in (pair, two):
        assert [locate(part, copy, seat, datum).lateral_mm for copy in (1, 2)] == pytest.approx([-150.0, 150.0])
    # What is said outright goes before what is seen.
    assert locate(dataclasses.replace(lower, hand="right"), 1, seat, datum).lateral_mm == pytest.approx(150.0)


def test_a_given_station_needs_no_datum_and_a_drawn_one_does():
    assert locate(PART, 1, Seat(station_mm=77.0, lateral_mm=-3.0), None).station_mm == 77.0
    with pytest.raises(JobError, match="there is no datum"):
        locate(PART, 1, Seat(), None)


def test_a_carved_part_has_its_mass_where_the_carving_leaves_it():
    carved = dataclasses.replace(PART, finished_centroid=(1020.0, 600.0))
    assert locate(carved, 1, Seat(), DATUM).station_mm == pytest.approx(920)


@pytest.mark.parametrize(
    "seat", [{"anchor": (0, 0)}, {"at": (0, 0)}, {"station_mm": 1, "anchor": (0, 0), "at": (0, 0)}]
)
def test_half_a_seat_is_refused(seat):
    with pytest.raises(JobError):
        Seat(**seat)
