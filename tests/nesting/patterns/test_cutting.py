from __future__ import annotations

import math

import pytest
from shapely.geometry import Point, Polygon

from nesting.patterns.compose import board_pieces
from nesting.patterns.cutting import ENTRY_CLEAR_MM, plan_cutting
from nesting.patterns.pattern_settings import PatternSettings
from nesting.place.layout import BoardLayout, Placement
from nesting.wood.board import Board
from nesting.wood.part import Part
from tests.nesting.patterns.pattern_shapes import letter_f, long_part, rounded
from vectorize.shapes.outline import Outline, Pose, Ring
from vectorize.shapes.segment import Arc, Line

GUSSET = Part("gusset", Outline.from_points([(0, 0), (30, 0), (0, 18)]), "balsa", 3.0, count=3)


def plan(placements, parts, *, thickness_mm=3.0, length_mm=900.0, **settings):
    board = Board("B1", "balsa", thickness_mm, length_mm, 80.0)
    layout = BoardLayout("B1", tuple(placements), 0.5, length_mm)
    pieces = board_pieces(layout, parts, weights={}, marks={})
    return plan_cutting(pieces, board, settings=PatternSettings(**settings))


def busy_plan(**settings):
    placements = [
        Placement("fuselage", 1, Pose(5, 5)),
        Placement("rounded", 1, Pose(720, 5)),
        Placement("gusset", 1, Pose(820, 5)),
        Placement("gusset", 2, Pose(860, 5)),
        Placement("gusset", 3, Pose(820, 40)),
    ]
    return plan(placements, [long_part(), rounded(), GUSSET], **settings)


def test_everything_inside_the_parts_is_done_before_any_outline_frees_one():
    steps = [step.action for step in busy_plan().steps]
    assert steps == ["drill", "drill", "entry", "opening"] + ["outline"] * 5


def test_small_parts_come_before_large_ones():
    outlines = [step.piece for step in busy_plan().steps if step.action == "outline"]
    assert outlines[:3] == ["gusset 1", "gusset 3", "gusset 2"]
    assert outlines[3:] == ["fuselage", "rounded"]


def test_pieces_carry_the_number_under_which_they_are_cut():
    made = busy_plan()
    outlines = [step.piece for step in made.steps if step.action == "outline"]
    assert [piece.key for piece in sorted(made.pieces, key=lambda piece: piece.number)] == outlines


def test_a_small_part_on_a_short_board_is_to_be_taped_to_scrap():
    (step,) = plan([Placement("gusset", 1, Pose(5, 5))], [GUSSET], length_mm=90.0).steps
    assert "tape it to scrap" in step.text


def test_the_blade_enters_in_the_waste_beside_a_corner_and_clear_of_the_line():
    made = busy_plan()
    (entry,) = made.entries
    fuselage = next(piece for piece in made.pieces if piece.key == "fuselage")
    seat = Polygon(fuselage.outline.cutouts[1].flattened())
    spot = Point(entry.at)
    assert seat.contains(spot)
    assert seat.exterior.distance(spot) >= entry.drill_mm / 2 + ENTRY_CLEAR_MM - 0.01
    corner = min(math.dist(entry.at, vertex) for vertex in seat.exterior.coords)
    assert corner < 2 * (entry.drill_mm / 2 + ENTRY_CLEAR_MM)


def test_a_part_in_a_cutout_is_freed_before_the_cutout_falls_out_with_it():
    frame = Part("frame", Outline(Ring.rectangle(0, 0, 200, 70), (Ring.rectangle(20, 10, 180, 60),)), "ply", 3.0)
    plate = Part("plate", Outline(Ring.rectangle(0, 0, 80, 30), (Ring.rectangle(20, 10, 50, 20),)), "ply", 3.0)
    made = plan([Placement("frame", 1, Pose(5, 5)), Placement("plate", 1, Pose(60, 25))], [frame, plate])
    assert [(step.action, step.piece) for step in made.steps] == [
        ("entry", "plate"),
        ("entry", "frame"),
        ("opening", "plate"),
        ("outline", "plate"),
        ("opening", "frame"),
        ("outline", "frame"),
    ]
    held = Polygon(made.pieces[0].outline.exterior.flattened())
    assert all(not held.contains(Point(entry.at)) for entry in made.entries[1:])


def test_a_slit_too_narrow_for_a_blade_is_left_to_the_knife():
    slit = Part("tab", Outline(Ring.rectangle(0, 0, 80, 30), (Ring.rectangle(10, 10, 40, 11),)), "balsa", 3.0)
    made = plan([Placement("tab", 1, Pose(5, 5))], [slit])
    assert [step.action for step in made.steps] == ["opening", "outline"]
    assert "knife" in made.steps[0].text


# Round holes up to 12 mm are drilled (common practice, no source: the rule of this project).
@pytest.mark.parametrize(("diameter_mm", "action"), [(12.0, "drill"), (12.2, "entry")])
def test_round_holes_are_drilled_up_to_12_mm(diameter_mm, action):
    part = Part("plate", Outline(Ring.rectangle(0, 0, 90, 40), (Ring.circle((40, 20), diameter_mm / 2),)), "ply", 3.0)
    assert plan([Placement("plate", 1, Pose(5, 5))], [part]).steps[0].action == action


def test_inside_corners_get_relief_cuts_through_waste_only():
    made = plan([Placement("F", 1, Pose(5, 5))], [letter_f()])
    corners = {(x - 5, y - 5) for _, (x, y) in made.reliefs}
    assert corners == {(12, 20), (12, 32), (12, 48)}  # the three inside corners of the letter
    solid = made.pieces[0].outline.to_polygon()
    for begin, corner in made.reliefs:
        assert not solid.contains(Point((begin[0] + corner[0]) / 2, (begin[1] + corner[1]) / 2))


def test_a_curve_tighter_than_the_blade_turns_is_pointed_out():
    # A notch of 0.3 mm radius: every common blade needs more.
    ring = Ring(
        (
            Line((0, 0), (80, 0)), Line((80, 0), (80, 30)), Line((80, 30), (40.3, 30)), Line((40.3, 30), (40.3, 20)),
            Arc((40.3, 20), (39.7, 20), -1.0), Line((39.7, 20), (39.7, 30)), Line((39.7, 30), (0, 30)),
            Line((0, 30), (0, 0)),
        )
    )  # fmt: skip
    made = plan([Placement("clip", 1, Pose(5, 5))], [Part("clip", Outline(ring), "balsa", 3.0)])
    assert len(made.tight) == 1
    assert math.dist(made.tight[0], (45, 24.7)) < 0.5


def test_equal_parts_are_stacked_up_to_12_mm():
    remarks = " ".join(busy_plan().remarks)
    assert "gusset: 3 alike" in remarks
    assert "stack 3" in remarks
    assert "9.0 mm in all" in remarks


def test_a_pair_is_stacked_with_every_other_blank_turned_over():
    made = plan([Placement("F", 1, Pose(5, 5)), Placement("F", 2, Pose(95, 5, 0, True))], [letter_f(hand="pair")])
    assert any("turned over" in remark for remark in made.remarks)


def test_a_knife_needs_no_blade_and_no_entry_hole():
    made = busy_plan(tool="knife")
    assert made.blade is None
    assert made.entries == ()
    assert "entry" not in {step.action for step in made.steps}


def test_the_list_is_numbered_from_one():
    lines = busy_plan().lines
    assert [int(line.split(".")[0]) for line in lines] == list(range(1, len(lines) + 1))
