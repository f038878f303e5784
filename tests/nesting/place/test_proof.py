"""The proof is tried on layouts with faults planted by hand; 0.01 mm must be found."""

import math

import pytest

from nesting.place.layout import BoardLayout, Placement, Unplaced
from nesting.place.layout_rules import NestRules
from nesting.place.proof import prove_layout
from nesting.wood.board import Blemish, Board
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline, Pose, Ring

FAULT_MM = 0.01  # the smallest fault that the proof promises to find
PART = Part("plate", Outline.rectangle(0, 0, 40, 20), "balsa", 3.0, count=2)
BOARD = Board("B1", "balsa", 3.0, 200.0, 100.0)
RULES = NestRules("saw", kerf_mm=0.5, clearance_mm=1.5, ends_mm=6.0, edges_mm=1.0)


def prove(*poses, part=PART, board=BOARD, rules=RULES, others=(), unplaced=()):
    placements = tuple(Placement(part.name, k, pose) for k, pose in enumerate(poses, 1))
    placements += tuple(Placement(p.name, 1, pose) for p, pose in others)
    parts = [part, *(p for p, _ in others)]
    return prove_layout([BoardLayout(board.name, placements, 0.0, 0.0)], parts, [board], rules, unplaced=unplaced)


def test_a_sound_layout_is_proved_and_its_least_gap_told():
    proof = prove(Pose(6, 1), Pose(6, 23))
    assert proof.is_proved
    assert proof.least_gap_mm == pytest.approx(2.0, abs=1e-9)


@pytest.mark.parametrize(
    ("second", "said"),
    [
        (Pose(6, 23 - FAULT_MM), "apart"),
        (Pose(6 - FAULT_MM, 23), "from the end"),
        (Pose(200 - 40 - 6 + FAULT_MM, 23), "from the end"),
        (Pose(6, 100 - 20 - 1 + FAULT_MM), "from the edge"),
        (Pose(200 - 40 + FAULT_MM, 50), "past the edge"),
        (Pose(6, 21 - FAULT_MM), "overlap"),
        (Pose(60, 50, 3.01), "grain"),
        (Pose(60, 50, 90), "grain"),
    ],
)
def test_a_planted_fault_is_found(second, said):
    faults = prove(Pose(6, 1), second).faults
    assert any(said in fault for fault in faults), faults


def test_grain_within_its_tolerance_and_a_half_turn_are_allowed():
    assert prove(Pose(6, 1), Pose(60, 30, 2.99)).is_proved
    assert prove(Pose(6, 1), Pose(100, 60, 180)).is_proved


def test_a_missing_a_doubled_and_an_unknown_copy_are_found():
    assert any("0 times" in fault for fault in prove(Pose(6, 1)).faults)
    assert prove(Pose(6, 1), unplaced=[Unplaced("plate", 2, "no room")]).is_proved
    assert any("never asked" in fault for fault in prove(Pose(6, 1), Pose(6, 23), Pose(6, 45)).faults)


def test_a_left_hand_part_may_not_be_turned_over():
    left = Part("wing", Outline.rectangle(0, 0, 40, 20), "balsa", 3.0, hand="left")
    assert prove(Pose(6, 1), part=left).is_proved
    assert any("turned over" in fault for fault in prove(Pose(60, 1, 0, True), part=left).faults)


def test_the_other_copy_of_a_pair_must_be_turned_over():
    pair = Part("wing", Outline.rectangle(0, 0, 40, 20), "balsa", 3.0, hand="pair")
    assert prove(Pose(6, 1), Pose(100, 1, 0, True), part=pair).is_proved
    assert not prove(Pose(6, 1), Pose(100, 1), part=pair).is_proved


def test_wrong_thickness_material_and_board_are_found():
    for board in (
        Board("B1", "balsa", 2.5, 200, 100),
        Board("B1", "spruce", 3.0, 200, 100),
    ):
        assert any("lies on board" in fault for fault in prove(Pose(6, 1), Pose(6, 23), board=board).faults)
    tied = Part("plate", PART.outline, "balsa", 3.0, board="B2")
    assert any("tied" in fault for fault in prove(Pose(6, 1), part=tied).faults)
    some = Part("plate", PART.outline, "balsa", 3.0, boards=("B2", "B3"))
    assert any("may come from B2 or B3" in fault for fault in prove(Pose(6, 1), part=some).faults)


def test_a_blemish_is_kept_clear_of_but_a_soft_one_may_be_allowed():
    for is_soft in (False, True):
        flaw = Blemish(Outline.rectangle(46 - FAULT_MM, 0, 80, 100), is_soft=is_soft, text="knot")
        board = Board("B1", "balsa", 3.0, 200, 100, blemishes=(flaw,))
        assert any("blemish" in fault for fault in prove(Pose(6, 1), Pose(100, 1), board=board).faults)
        allowed = NestRules(on_soft_patches=("plate",))
        assert prove(Pose(6, 1), Pose(100, 1), board=board, rules=allowed).is_proved == is_soft


def test_a_part_in_a_cutout_needs_room_for_the_entry_hole_of_a_saw():
    frame = Part("frame", Outline(Ring.rectangle(0, 0, 60, 60), (Ring.rectangle(10, 10, 50, 50),)), "balsa", 3.0)
    loose = Part("gusset", Outline.rectangle(0, 0, 20, 20), "balsa", 3.0)
    tight = Part("gusset", Outline.rectangle(0, 0, 36, 36), "balsa", 3.0)
    at = Pose(18, 13)
    assert prove(Pose(6, 1), part=frame, others=[(loose, at)]).is_proved
    faults = prove(Pose(6, 1), part=frame, others=[(tight, at)], rules=NestRules(entry_hole_mm=3.0)).faults
    assert any("entry hole" in fault for fault in faults)
    knife = NestRules.for_tool("knife")
    assert prove(Pose(6, 1), part=frame, others=[(tight, at)], rules=knife).is_proved
    no_guests = NestRules(allows_part_in_cutout=False)
    assert not prove(Pose(6, 1), part=frame, others=[(loose, at)], rules=no_guests).is_proved


def test_a_couple_must_lie_side_by_side():
    left, right = (Part(name, Outline.rectangle(0, 0, 40, 20), "balsa", 3.0) for name in ("left", "right"))
    rules = NestRules(side_by_side=(("left", "right"),))
    assert prove(Pose(6, 1), part=left, others=[(right, Pose(6, 23))], rules=rules).is_proved
    faults = prove(Pose(6, 1), part=left, others=[(right, Pose(6, 26.01))], rules=rules).faults
    assert any("side by side" in fault for fault in faults)


def test_touching_round_parts_do_not_overlap_but_a_hundredth_deeper_they_do():
    disc = Part("disc", Outline(Ring.circle((0, 0), 10)), "balsa", 3.0, count=2)
    rules = NestRules("knife", 0.0, 0.0, 0.0, 0.0)
    assert prove(Pose(20, 20), Pose(40, 20), part=disc, rules=rules).is_proved
    assert not prove(Pose(20, 20), Pose(40 - FAULT_MM, 20), part=disc, rules=rules).is_proved


def test_a_lone_part_has_no_gap():
    assert math.isinf(prove(Pose(6, 1), unplaced=[Unplaced("plate", 2, "")]).least_gap_mm)
