from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon
from shapely.ops import unary_union

from nesting.patterns.compose import board_pieces, draw_pieces, text_box
from nesting.patterns.cutting import plan_cutting
from nesting.patterns.drawing import Layer, Recorder, Stroke, Text, moved_element
from nesting.patterns.part_marks import PartMark
from nesting.patterns.pattern_settings import ALL_MARKS, PatternSettings
from nesting.patterns.typeface import missing_characters, printable, text_width_mm, wrapped
from nesting.place.layout import BoardLayout, Placement
from nesting.wood.board import Board
from nesting.wood.part import Part
from tests.nesting.patterns.pattern_shapes import letter_f, long_part, pdf_pages, rounded
from vectorize.shapes.affine import Affine
from vectorize.shapes.outline import Outline, Pose
from vectorize.shapes.segment import Arc


def drawn(placements, parts, *, lines=None, **settings):
    board = Board("B1", "balsa", 3.0, 900.0, 100.0)
    made = PatternSettings(**settings)
    pieces = board_pieces(
        BoardLayout("B1", tuple(placements), 0.5, 900.0), parts, weights={("F", 1): 1.25}, marks=lines or {}
    )
    recorder = Recorder()
    plan = plan_cutting(pieces, board, settings=made)
    draw_pieces(recorder, pieces, board, settings=made, cuts=[[piece.outline] for piece in pieces], plan=plan)
    return recorder


SPLINTER = Part("splinter", Outline.from_points([(0, 0), (14, 0), (0, 3)]), "balsa", 3.0, count=3)
CROWD = [
    Placement("fuselage", 1, Pose(6, 5)),
    Placement("F", 1, Pose(715, 5)),
    Placement("rounded", 1, Pose(770, 5)),
    Placement("splinter", 1, Pose(770, 60)),
    Placement("splinter", 2, Pose(770, 64)),
    Placement("splinter", 3, Pose(790, 60, 20)),
]
LINES = {
    "fuselage": (
        PartMark("datum", ((10.0, 20.0), (10.0, 46.0))),
        PartMark("centre line", ((0.0, 32.0), (690.0, 28.0))),
        PartMark("doubler", ((20.0, 25.0), (140.0, 15.0), (140.0, 50.0), (60.0, 52.0), (20.0, 45.0))),
        PartMark("balance", ((300.0, 30.0),), "balance 300 mm"),
    )
}
PARTS = [long_part(), letter_f(), rounded(count=3), SPLINTER]


@pytest.mark.parametrize("units", ["mm", "in"])
def test_no_text_lies_on_a_cut_line_on_another_text_or_off_the_board(units):
    recorder = drawn(CROWD, PARTS, units=units, lines=LINES)
    apart = (Layer.OUTLINE, Layer.OPENING, Layer.DRILL, Layer.MARK, Layer.HELP)
    cuts = [e for e in recorder.elements if isinstance(e, Stroke) and e.layer in apart]
    lines = unary_union([LineString([p for s in e.segments for p in [*s.flattened(0.05), s.end]]) for e in cuts])
    boxes = [text_box(e) for e in recorder.elements if isinstance(e, Text)]
    assert len(boxes) >= 6
    for i, words in enumerate(boxes):
        assert words.distance(lines) > 0.2
        assert all(words.buffer(-0.3).disjoint(other) for other in boxes[:i])
        x0, y0, x1, y1 = words.bounds
        assert 0 < x0 < x1 < 900
        assert 0 < y0 < y1 < 100


def test_every_piece_can_be_told_by_its_number_or_name():
    texts = drawn(CROWD, PARTS).texts
    for number in range(1, 7):
        assert any(text.split()[0] == str(number) for text in texts), f"piece {number} has no number"


def test_a_part_that_is_too_small_for_words_gets_them_beside_it_with_a_leader():
    recorder = drawn(CROWD, PARTS)
    leaders = [e for e in recorder.on(Layer.WORDS) if isinstance(e, Stroke)]
    assert {leader.part.split()[0] for leader in leaders} <= {"splinter"}


def test_marks_can_be_switched_off_one_by_one():
    everything = drawn(CROWD, PARTS)
    assert everything.on(Layer.GRAIN)
    for mark, words in (
        ("name", "fuselage"),
        ("stock", "balsa"),
        ("weight", "1.2 g"),
        ("count", "of 3"),
        ("holes", "Ø"),
    ):
        assert any(words in text for text in everything.texts)
        fewer = drawn(CROWD, PARTS, marks=ALL_MARKS - {mark})
        assert not any(words in text for text in fewer.texts)
    bare = drawn(CROWD, PARTS, marks=frozenset())
    assert bare.texts == []
    assert not bare.on(Layer.GRAIN)


def test_the_grain_arrow_turns_with_the_part_and_is_left_out_where_grain_is_free():
    def arrow_deg(pose):
        recorder = drawn([Placement("rounded", 1, pose)], [rounded(grain_deg=10.0)], marks=frozenset({"grain"}))
        (shaft,) = [element for element in recorder.on(Layer.GRAIN) if isinstance(element, Stroke)]
        (x0, y0), (x1, y1) = shaft.segments[0].start, shaft.segments[0].end
        return math.degrees(math.atan2(y1 - y0, x1 - x0)) % 180

    assert arrow_deg(Pose(50, 20)) == pytest.approx(10)
    assert arrow_deg(Pose(150, 60, 180)) == pytest.approx(10)
    assert arrow_deg(Pose(150, 20, 0, True)) == pytest.approx(170)
    free = drawn([Placement("rounded", 1, Pose(9, 9))], [rounded(grain_tolerance_deg=90.0)])
    assert not [e for e in free.on(Layer.GRAIN) if isinstance(e, Stroke) and e.segments[0].length > 10]


def test_builders_marks_follow_the_part():
    lines = {
        "F": (
            PartMark("datum", ((0.0, 6.0), (12.0, 6.0)), "datum"),
            PartMark("balance", ((6.0, 40.0),), "balance 40 mm"),
            PartMark("doubler", ((1.0, 10.0), (11.0, 10.0), (11.0, 30.0), (1.0, 30.0))),
        )
    }
    recorder = drawn([Placement("F", 1, Pose(100, 5, 0, True))], [letter_f()], lines=lines)
    strokes = [e for e in recorder.on(Layer.MARK) if isinstance(e, Stroke)]
    assert strokes[0].segments[0].start == pytest.approx((100, 11))
    assert strokes[0].segments[0].end == pytest.approx((88, 11))
    assert len(strokes[1].segments) == 4, "the doubler's edge is closed"
    assert "balance 40 mm" in recorder.texts
    without = drawn([Placement("F", 1, Pose(100, 5))], [letter_f()], lines=lines, marks=ALL_MARKS - {"datum"})
    assert "datum" not in without.texts


def move_of(angle, x, y, is_mirrored):
    turn = Affine(math.cos(angle), math.sin(angle), -math.sin(angle), math.cos(angle))
    return Affine.shift(x, y).then(turn).then(Affine(a=-1.0 if is_mirrored else 1.0))


moves = st.builds(move_of, st.floats(-3, 3), st.floats(-50, 50), st.floats(-50, 50), st.booleans())


@given(move=moves, angle_deg=st.floats(-90, 90), align=st.sampled_from(["start", "middle", "end"]))
def test_a_moved_text_covers_the_moved_place_and_is_never_upside_down(move, angle_deg, align):
    text = Text("Flügel ½", (3.0, 4.0), 3.0, angle_deg, align)
    moved = moved_element(text, move)
    wanted = Polygon([move(corner) for corner in text_box(text).exterior.coords])
    assert text_box(moved).buffer(1e-6).intersection(wanted).area > 0.7 * wanted.area
    assert -91 < moved.angle_deg < 91


@given(first=moves, second=moves, x=st.floats(-9, 9), y=st.floats(-9, 9))
def test_maps_one_after_the_other_are_one_map(first, second, x, y):
    assert first.then(second)((x, y)) == pytest.approx(second(first((x, y))))


def test_an_arc_stays_an_arc_under_a_turn_and_becomes_cubics_under_a_stretch():
    arc = Arc((1.0, 0.0), (0.0, 1.0), math.tan(math.pi / 8))
    (turned,) = Affine(0.0, 1.0, -1.0, 0.0).segments([arc])
    assert turned.radius == pytest.approx(1.0)
    stretched = Affine(a=1.01).segments([arc])
    assert not any(isinstance(piece, Arc) for piece in stretched)
    for piece in stretched:
        x, y = piece.point_at(0.5)
        assert math.hypot(x / 1.01, y) == pytest.approx(1.0, abs=1e-6)


def test_letters_with_accents_fractions_and_other_alphabets_have_a_picture():
    assert missing_characters("Höhenleitwerk Ø3 ½ ⅛ Крыло łódź – 3/32″ → ×") == ()
    assert missing_characters("翼 wing 翼") == ("翼",)
    assert printable("翼 1") == "□ 1"


def test_text_is_as_wide_on_the_page_as_was_reckoned():
    from nesting.patterns.papers import Paper
    from nesting.patterns.write_pdf import Page, Sheet, pdf_bytes

    text = Text("HHHHHHHHHH", (10.0, 10.0), 5.0, align="start", layer=Layer.PAGE)
    (page,) = pdf_pages(pdf_bytes([Page(Paper("", 100.0, 30.0), (Sheet((text,)),))], title="t"), 300)
    inked = np.flatnonzero((page < 128).any(axis=0))
    tall = np.flatnonzero((page < 128).any(axis=1))
    # The last H keeps its side bearing of about a tenth of its width on both sides.
    assert (inked[-1] - inked[0]) / 300 * 25.4 == pytest.approx(text_width_mm(text.text, 5.0), abs=1.5)
    assert (tall[-1] - tall[0] + 1) / 300 * 25.4 == pytest.approx(5.0, abs=0.1)


def test_lines_are_wrapped_at_the_width():
    lines = wrapped("one two three four five six seven eight nine ten", 2.5, 30.0)
    assert " ".join(lines).split() == ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"]
    assert all(text_width_mm(line, 2.5) <= 30.0 for line in lines)
