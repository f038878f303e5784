import math

import pytest
from shapely.geometry import LineString

from nesting.alter.axis import Axis
from nesting.alter.frame import PlanFrame
from nesting.alter.openings import BearerSlot, BoltPattern, Opening, RoundHole, WingSeat
from nesting.alter.step import Setting
from nesting.carve.section import naca4
from nesting.carve.section.section_key import HighPointTable, SectionKey
from nesting.wood.part import Part
from tests.nesting.alter.part_shapes import FUSELAGE
from vectorize.basics.errors import PartError
from vectorize.shapes.outline import check_outline
from vectorize.shapes.segment import Arc

HERE = Setting()
BODY = Part("fuselage", FUSELAGE, "balsa", 10.0)
FLAT = HighPointTable.model_validate({"nose": "0.9 mm", "trailing": "0.9 mm", "bottom": "flat"})
SHEET = HighPointTable.model_validate({"nose": "1.136 mm", "trailing": "1.42 mm"})


def test_bolt_patterns_at_two_stations_have_the_pitch_asked_for() -> None:
    step = BoltPattern(((30.0, 20.0), (80.0, 20.0)), (14.0, 20.0), 3.2)
    (part,) = step.applied(BODY, HERE).parts
    circles = [ring.as_circle() for ring in part.outline.cutouts]
    assert len(circles) == 8
    centres = sorted(circle[0] for circle in circles if circle is not None)
    assert centres[0] == pytest.approx((23.0, 10.0))
    assert centres[-1] == pytest.approx((87.0, 30.0))
    assert all(circle is not None and circle[1] == pytest.approx(1.6) for circle in circles)


def test_a_bearer_slot_is_as_wide_and_deep_as_asked_with_round_inner_corners() -> None:
    (part,) = BearerSlot((0.0, 20.0), width_mm=12.0, depth_mm=35.0, corner_mm=2.5).applied(BODY, HERE).parts
    check_outline(part.outline)
    shape = part.outline.to_polygon()
    across = shape.intersection(LineString([(20, -50), (20, 80)]))
    lower, upper = sorted(across.geoms, key=lambda line: line.bounds[1])
    assert upper.bounds[1] - lower.bounds[3] == pytest.approx(12.0, abs=1e-6)
    along = shape.intersection(LineString([(-10, 20), (100, 20)]))
    assert along.bounds[0] == pytest.approx(35.0, abs=1e-6)
    corners = [s for s in part.outline.exterior.segments if isinstance(s, Arc)]
    assert [arc.radius for arc in corners] == [pytest.approx(2.5)] * 2


def test_depth_counts_from_the_nose_on_the_centre_line() -> None:
    low = Setting(PlanFrame(axis=Axis((0.0, 0.0), 0.0)))
    (part,) = BearerSlot((10.0, 5.0), width_mm=4.0, depth_mm=20.0, corner_mm=1.0).applied(BODY, low).parts
    nose = FUSELAGE.to_polygon().intersection(LineString([(-10, 5), (100, 5)])).bounds[0]
    floor = part.outline.to_polygon().intersection(LineString([(-10, 5), (100, 5)])).bounds[0]
    assert floor - nose == pytest.approx(20.0, abs=0.002)


def test_a_wing_slot_is_the_section_at_its_incidence() -> None:
    seat = WingSeat((80.0, 22.0), 100.0, "NACA 2412", incidence_deg=2.0)
    (part,) = seat.applied(BODY, HERE).parts
    (slot,) = part.outline.cutouts
    # NACA 2412: area of the section, at a chord of 100 mm.
    assert abs(slot.signed_area_mm2) == pytest.approx(naca4("2412").area * 1e4, rel=1e-4)
    tail = max(slot.flattened(), key=lambda p: p[0])
    # Nose up: the tail lies below the nose by 100 sin 2°.
    assert tail[1] - 22.0 == pytest.approx(-100 * math.sin(math.radians(2.0)), abs=0.3)  # half the open tail


@pytest.mark.parametrize("opens", ["up", "down"])
def test_an_open_seat_takes_the_wing_in_from_one_side(opens: str) -> None:
    seat = WingSeat((80.0, 25.0), 90.0, FLAT, 9.0, opens=opens)  # type: ignore[arg-type]
    (part,) = seat.applied(BODY, HERE).parts
    check_outline(part.outline)
    assert not part.outline.cutouts
    at_the_high_point = LineString([(107, -50), (107, 80)])
    wood = part.outline.to_polygon().intersection(at_the_high_point)
    edge = wood.bounds[3] if opens == "up" else wood.bounds[1]
    assert edge == pytest.approx(25.0 if opens == "up" else 25.0 + 9.0, abs=0.01)


def test_an_allowance_widens_the_slot_all_round() -> None:
    tight, loose = (
        WingSeat((80.0, 22.0), 100.0, "NACA 0012", allowance_mm=room).shape(naca4("0012"), HERE.frame).to_polygon()
        for room in (0.0, 0.5)
    )
    assert loose.contains(tight)
    assert loose.exterior.distance(tight.exterior) == pytest.approx(0.5, abs=0.01)


@pytest.mark.parametrize(("section", "thickness_mm"), [("NACA 0012", None), ("NACA 2412", None), (SHEET, 8.0)])
def test_a_slot_with_allowance_is_a_simple_shape_to_its_tail(section: SectionKey, thickness_mm: float | None) -> None:
    (part,) = WingSeat((80.0, 22.0), 142.0, section, thickness_mm, allowance_mm=0.1).applied(BODY, HERE).parts
    check_outline(part.outline)


def test_openings_have_round_corners_and_lie_along_the_axis() -> None:
    (part,) = Opening((150.0, 22.0), 40.0, 10.0, corner_mm=3.0).applied(BODY, HERE).parts
    (ring,) = part.outline.cutouts
    assert abs(ring.signed_area_mm2) == pytest.approx(400 - (4 - math.pi) * 9)


@pytest.mark.parametrize(
    ("step", "words"),
    [
        (
            RoundHole(((50.0, 20.0), (53.0, 20.0)), 4.0),
            "overlaps the 4 mm hole at station 50.0, .* 3.0 mm apart",
        ),
        (RoundHole(((0.0, 20.0),), 6.0), r"does not lie inside the part; 50 % of it is over the edge"),
        (RoundHole(((50.0, 20.0),), 0.0), "0 mm cannot be made"),
        (BearerSlot((0.0, 20.0), 60.0, 400.0), "nothing is left after the bearer slot"),
        (BearerSlot((0.0, 20.0), 8.0, 400.0), r"leaves 2 pieces \(\d+ mm² and \d+ mm²\)"),
        (BearerSlot((0.0, 90.0), 8.0, 30.0), "height 90.0 mm misses the part, which lies between"),
        (Opening((150.0, 22.0), 40.0, 10.0, corner_mm=6.0), "at most 5 mm does"),
        (Opening((600.0, 22.0), 40.0, 10.0, is_open=True), "misses the part"),
        (BoltPattern(((50.0, 20.0),), (0.0, 10.0), 3.0), "pitch of a bolt pattern of 0 mm"),
    ],
)
def test_what_cannot_be_cut_is_refused_with_the_numbers(step: RoundHole, words: str) -> None:
    with pytest.raises(PartError, match=words):
        step.applied(BODY, HERE)


def test_a_hole_over_an_existing_one_is_refused() -> None:
    (drilled,) = RoundHole(((50.0, 20.0),), 4.0).applied(BODY, HERE).parts
    with pytest.raises(PartError, match="overlaps a cut-out that is there already"):
        RoundHole(((51.0, 20.0),), 4.0).applied(drilled, HERE)
