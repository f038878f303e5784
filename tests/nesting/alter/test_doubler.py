import math

import pytest
from shapely.geometry import LineString, Point, Polygon

from nesting.alter.axis import Axis
from nesting.alter.doubler import Doubler
from nesting.alter.frame import PlanFrame
from nesting.alter.notches import open_notches
from nesting.alter.openings import BearerSlot, WingSeat
from nesting.alter.step import Setting
from nesting.wood.part import Part
from tests.nesting.alter.part_shapes import FUSELAGE
from vectorize.basics.errors import PartError
from vectorize.shapes.boolean import cut
from vectorize.shapes.outline import Outline, Ring
from vectorize.shapes.segment import Line

HERE = Setting()
ANGLE_TOL_DEG = 0.01
CHORD_TOL_MM = 0.002  # two curves, each flattened to 0.001 mm


def _part(outline: Outline = FUSELAGE) -> Part:
    return Part("doubler", outline, "birch ply", 0.8)


def _end_angles(outline: Outline, parent: Outline) -> list[float]:
    """Return for each straight end that is no edge of the parent how far it is from square to x, in degrees."""
    rim = Polygon(parent.exterior.flattened()).exterior
    angles = []
    for segment in outline.exterior.segments:
        if isinstance(segment, Line) and segment.length > 3.0 and rim.distance(Point(segment.point_at(0.5))) > 0.5:
            dx, dy = segment.end[0] - segment.start[0], segment.end[1] - segment.start[1]
            angles.append(abs(90.0 - math.degrees(math.atan2(abs(dy), abs(dx)))))
    return angles


def test_left_and_right_have_raked_ends_ten_mm_apart() -> None:
    #   ____________                      ____________
    #  /            /   left             /           /    right, 10 mm shorter
    # (____________/                    (___________/
    change = Doubler((-10, 150)).applied(_part(), HERE)
    left, right = change.parts
    assert (left.name, right.name) == ("doubler left", "doubler right")
    for part in (left, right):
        assert _end_angles(part.outline, FUSELAGE) == [pytest.approx(45.0, abs=ANGLE_TOL_DEG)]
    for part, station in ((left, 150.0), (right, 140.0)):
        section = FUSELAGE.to_polygon().intersection(LineString([(station, -50), (station, 80)]))
        middle = Point(station, (section.bounds[1] + section.bounds[3]) / 2)
        assert part.outline.to_polygon().exterior.distance(middle) < CHORD_TOL_MM


@pytest.mark.parametrize("margin", [0.0, 1.5, 4.0])
@pytest.mark.parametrize("rake", [30.0, 45.0, 60.0])
def test_it_lies_inside_by_the_margin_and_no_end_is_squarer_than_asked(margin: float, rake: float) -> None:
    change = Doubler((40, 150), margin_mm=margin, rake_deg=rake).applied(_part(), HERE)
    rim = FUSELAGE.to_polygon()
    for part in change.parts:
        shape = part.outline.to_polygon()
        assert rim.buffer(CHORD_TOL_MM).contains(shape)
        assert rim.exterior.distance(shape.exterior) >= margin - CHORD_TOL_MM
        angles = _end_angles(part.outline, FUSELAGE)
        assert len(angles) == 2
        assert min(angles) >= rake - ANGLE_TOL_DEG


def test_an_end_a_hair_off_the_nose_follows_the_nose() -> None:
    exact, traced = (Doubler((begin, 150), sides="left").applied(_part(), HERE).parts[0] for begin in (-5, 0.3))
    assert traced.outline.area_mm2 == pytest.approx(exact.outline.area_mm2)


def test_holes_are_carried_through_at_their_size() -> None:
    parent = Outline(FUSELAGE.exterior, (Ring.circle((60, 20), 4),))
    (part, _) = Doubler((-5, 150), margin_mm=2).applied(_part(parent), HERE).parts
    (hole,) = part.outline.cutouts
    circle = hole.as_circle()
    assert circle is not None
    assert circle[1] == pytest.approx(4.0)


#    ___________
#   |     __\___/__        What is cut into the edge stays as wide and as deep as it is, and open;
#   |____|   seat  |       the edge itself is set back by the margin.
#   |____  slot    |
@pytest.mark.parametrize(
    "cut_in",
    [BearerSlot((10, 20), 14.0, 40.0), WingSeat((80, 38), 100.0, "NACA 0012", opens="up"), None],
    ids=["engine slot", "wing seat", "drawn notch"],
)
def test_slots_and_seats_that_are_open_keep_their_size_and_stay_open(cut_in) -> None:
    notch = Outline.rectangle(60, -20, 75, 12)
    plain = _part()
    slotted = cut_in.applied(plain, HERE).parts[0] if cut_in else _part(cut(FUSELAGE, notch)[0])
    taken = FUSELAGE.to_polygon().difference(slotted.outline.to_polygon())
    doubler = Doubler((-5, 250), margin_mm=2.0, sides="left", rake_deg=0)
    made, whole = (doubler.applied(part, HERE).parts[0].outline.to_polygon() for part in (slotted, plain))
    # Of the doubler of the whole fuselage the very same wood is missing. Beside the pointed tail of a seat the edge
    # goes on straight where the fuselage bends, which takes a feather of less than the margin squared.
    feather = 2.0**2 if isinstance(cut_in, WingSeat) else 0.0
    assert made.intersection(taken).area < CHORD_TOL_MM * whole.length
    assert made.symmetric_difference(whole.difference(taken)).area < CHORD_TOL_MM * whole.length + feather


def test_a_hollow_between_two_things_that_stand_out_is_no_notch() -> None:
    #   /|      |\
    #  / |______| \
    # /____________\
    hollow = Ring.from_points([(0, 0), (100, 0), (70, 60), (65, 20), (35, 20), (30, 60)])
    assert open_notches(hollow) == ()
    assert open_notches(Outline.rectangle(0, 0, 10, 10).exterior) == ()


def test_inside_a_picked_line_it_is_what_both_share() -> None:
    corners = ((20, -50), (90, -50), (90, 60), (20, 60))
    line = Outline.from_points(corners)
    (part,) = Doubler(within=corners).applied(_part(), HERE).parts
    assert part.count == 2
    assert part.outline.area_mm2 == pytest.approx(FUSELAGE.to_polygon().intersection(line.to_polygon()).area, rel=1e-4)


def test_it_follows_an_axis_that_points_the_other_way() -> None:
    aft_is_left = Axis((300.0, 20.0), 180.0)
    (part,) = Doubler((-1, 120), sides="left").applied(_part(), Setting(PlanFrame(axis=aft_is_left))).parts
    x0, _, x1, _ = part.outline.bounds
    assert x1 == pytest.approx(300.0)
    assert 150 < x0 < 180


@pytest.mark.parametrize(
    ("doubler", "words"),
    [
        (Doubler((0, 150), margin_mm=40), r"margin of 40 mm eats the doubler; its parent is \d+\.\d mm wide at most"),
        (Doubler((400, 500)), "from station 400.0 to 500.0 mm misses its parent, which runs from 0.0 to 300.0 mm"),
        (Doubler((100, 115)), "15.0 mm cannot have its ends drawn in by 10 mm"),
    ],
)
def test_what_cannot_be_made_is_refused_with_the_numbers(doubler: Doubler, words: str) -> None:
    with pytest.raises(PartError, match=words):
        doubler.applied(_part(), HERE)


def test_neither_stations_nor_a_line_is_refused() -> None:
    with pytest.raises(PartError, match="either the stations"):
        Doubler().check("doubler", HERE)
    with pytest.raises(PartError, match="raked by 80 deg"):
        Doubler((0, 1), rake_deg=80).check("doubler", HERE)
