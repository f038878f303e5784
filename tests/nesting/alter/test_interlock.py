import math

import pytest
from shapely.geometry import LineString

from nesting.alter.interlock import HalfLap, Slot, Tab
from nesting.alter.step import Setting
from nesting.wood.board import Board
from nesting.wood.part import Part
from tests.nesting.alter.part_shapes import BODY
from vectorize.basics.errors import PartError
from vectorize.shapes.outline import Outline

RIB = Part("rib", Outline.rectangle(0, 0, 120, 24), "balsa", 2.0)
SPAR = Part("spar", Outline.rectangle(0, 0, 300, 20), "balsa", 3.0)
BOARDS = (
    Board("B1", "balsa", 3.0, 915, 100, measured_thickness_mm=3.12),
    Board("B2", "balsa", 3.0, 915, 100, measured_thickness_mm=2.94),
    Board("B3", "balsa", 2.0, 915, 100, measured_thickness_mm=1.95),
)
HERE = Setting(boards=BOARDS, parts={"rib": RIB, "spar": SPAR})


def test_a_slot_is_a_tenth_wider_than_the_thickest_board_measured() -> None:
    change = Slot((60.0, 12.0), "spar", 10.0).applied(RIB, HERE)
    (ring,) = change.parts[0].outline.cutouts
    x0, y0, x1, y1 = Outline(ring).bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((10.1, 3.12 + 0.1))
    assert "3.22 mm wide" in change.notes[0].text
    assert "measured on board B1" in change.notes[0].text


def test_a_mate_tied_to_a_board_is_as_thick_as_that_board() -> None:
    tied = Setting(boards=BOARDS, parts={"spar": Part("spar", SPAR.outline, "balsa", 3.0, board="B2")})
    (ring,) = Slot((60.0, 12.0), "spar", 10.0).applied(RIB, tied).parts[0].outline.cutouts
    assert Outline(ring).size_mm[1] == pytest.approx(3.04)


def test_without_a_measurement_the_nominal_thickness_is_used_and_said() -> None:
    change = Slot((60.0, 12.0), "spar", 10.0).applied(RIB, Setting(parts=HERE.parts))
    assert "3.10 mm wide: 3.00 mm, nominal" in change.notes[0].text


def test_a_tab_stands_out_by_the_mates_thickness_and_fits_its_slot() -> None:
    (tabbed,) = Tab((150.0, -2.0), "rib", 10.0).applied(SPAR, HERE).parts
    assert tabbed.outline.bounds[1] == pytest.approx(-1.95)
    assert tabbed.outline.area_mm2 == pytest.approx(300 * 20 + 10 * 1.95)


def test_a_tab_on_a_bent_edge_has_no_gap_under_it() -> None:
    part = Part("tip", BODY, "balsa", 2.0)
    (tabbed,) = Tab((120.0, 20.0), "rib", 8.0).applied(part, HERE).parts
    assert len(tabbed.outline.cutouts) == len(BODY.cutouts)
    assert tabbed.outline.bounds[2] == pytest.approx(120 + 1.95)


def test_two_half_laps_meet_with_room_for_the_sheet() -> None:
    (down,) = HalfLap((60.0, 0.0), "spar", "up").applied(RIB, HERE).parts
    wood = down.outline.to_polygon().intersection(LineString([(60, -1), (60, 30)]))
    assert wood.bounds[3] == pytest.approx(12 - 0.025)
    across = down.outline.to_polygon().intersection(LineString([(0, 20), (120, 20)]))
    gaps = sorted(line.bounds for line in across.geoms)
    assert gaps[1][0] - gaps[0][2] == pytest.approx(3.22)


@pytest.mark.parametrize(
    ("step", "words"),
    [
        (Slot((60.0, 12.0), "keel", 10.0), "to fit part 'keel', which is not there; parts: rib, spar"),
        (HalfLap((400.0, 0.0), "spar", "up"), "half lap at station 400.0 mm is off the part"),
        (Slot((60.0, 23.5), "spar", 10.0), "is over the edge"),
    ],
)
def test_what_cannot_fit_is_refused(step: Slot, words: str) -> None:
    with pytest.raises(PartError, match=words):
        step.applied(RIB, HERE)


def test_slots_can_be_turned() -> None:
    (part,) = Slot((60.0, 12.0), "spar", 10.0, angle_deg=90.0).applied(RIB, HERE).parts
    assert Outline(part.outline.cutouts[0]).size_mm == pytest.approx((3.22, 10.1))
    assert math.isclose(part.outline.area_mm2, 120 * 24 - 3.22 * 10.1)
