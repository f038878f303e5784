"""Letters inside a part are no holes; slots in a row are."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from tests.vectorize.inked_lines import Sheet, circle_points
from vectorize.faces.cutouts import LEAST_OTHER_MM
from vectorize.faces.words import Words
from vectorize.page import Page
from vectorize.scale.fit_scale import fit_scale
from vectorize.shapes.segment import Line
from vectorize.shapes.stroke import Stroke
from vectorize.trace.trace_page import PartPick, Trace, trace_picks

PLATE = [(12, 12), (74, 12), (74, 48), (12, 48)]


def box(x: float, y: float, width: float, height: float) -> list[tuple[float, float]]:
    return [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]


def traced(sheet: Sheet) -> Trace:
    page = sheet.page(seed=3)
    return trace_picks(page, fit_scale(page, sheet.known()), [PartPick("plate", (sheet.pick(15, 15),))])


@pytest.mark.parametrize("dpi", [150, 300])
@pytest.mark.parametrize("size_mm", [(6.0, 2.0), (2.0, 6.0), (4.5, 3.0)])
def test_slots_in_a_row_are_cut_out(size_mm: tuple[float, float], dpi: float) -> None:
    sheet = Sheet(dpi=dpi).shape(PLATE, *(box(20 + k * (size_mm[0] + 4), 25, *size_mm) for k in range(4)))
    assert len(traced(sheet).parts[0].outline.cutouts) == 4


def test_holes_in_a_row_are_cut_out_with_the_crosses_on_their_middles() -> None:
    sheet = Sheet().shape(PLATE, *(circle_points(25 + 9 * k, 30, 1.6) for k in range(4)))
    for x in (25, 34, 43, 52):
        sheet.line([(x - 2.6, 30), (x + 2.6, 30)], pen_mm=0.25).line([(x, 27.4), (x, 32.6)], pen_mm=0.25)
    assert len(traced(sheet).parts[0].outline.cutouts) == 4


@pytest.mark.parametrize("height_mm", [3.0, 7.0])
@pytest.mark.parametrize("text", ["2 OFF", "DOOR 8A", "RIB D4", "BOOP 08"])
def test_letters_are_no_holes_and_a_note_says_where_they_stand(text: str, height_mm: float) -> None:
    sheet = Sheet(dpi=300).shape(PLATE, circle_points(20, 20, 1.6), box(28, 18, 6, 2)).text(28, 32, text, height_mm)
    trace = traced(sheet)
    assert len(trace.parts[0].outline.cutouts) == 2
    left = [note for note in trace.notes if note.code == "no-cutout" and "lettering" in note.text]
    assert bool(left) == (height_mm > LEAST_OTHER_MM)
    assert all(note.at is not None for note in left)


def test_a_true_circle_as_a_letter_is_no_hole_but_one_beside_the_word_is() -> None:
    """An O that is drawn as a circle of 4 mm between a 2 and two F, as compasses do."""
    sheet = Sheet().shape(PLATE, circle_points(42, 30, 2.0), circle_points(42, 40, 2.0))
    sheet.line([(34, 31), (34.5, 32), (36, 32), (36.5, 31), (34, 28), (36.8, 28)])
    for x in (46, 50):
        sheet.line([(x, 28), (x, 32), (x + 2.6, 32)]).line([(x, 30.2), (x + 2, 30.2)])
    (hole,) = traced(sheet).parts[0].outline.cutouts
    ((x, y), radius) = hole.as_circle() or ((0.0, 0.0), 0.0)
    assert radius == pytest.approx(2.0, abs=0.05)
    assert y == pytest.approx(40, abs=1)


def drawn(*rings: list[tuple[float, float]], lines: tuple[list[tuple[float, float]], ...] = ()) -> Page:
    strokes = [
        Stroke(
            tuple(Line(a, b) for a, b in itertools.pairwise([*ring, ring[0]] if closed else ring)),
            closed,
            "outline",
            0.4,
            False,
        )
        for closed, some in ((True, rings), (False, lines))
        for ring in some
    ]
    return Page("drawn", 1, 1, None, tuple(strokes), 100, 60, is_y_up=True, stated_px_per_mm=(1.0, 1.0))


def test_a_drawings_slots_in_a_row_are_cut_out_and_its_letters_are_not() -> None:
    """A row of slots of 6 x 2 mm, also one beside lettering; the word is F O F with an O of 4.2 x 5 mm."""
    letter_o = [(46 + 2.1 * np.cos(t), 32.5 + 2.5 * np.sin(t)) for t in np.linspace(0, 2 * np.pi, 24, endpoint=False)]
    word = [
        line for x in (40.0, 50.0) for line in ([(x, 30.0), (x, 35.0), (x + 3, 35.0)], [(x, 32.6), (x + 2.4, 32.6)])
    ]
    page = drawn(PLATE, *(box(20 + 10 * k, 18, 6, 2) for k in range(4)), letter_o, lines=tuple(word))
    scale = fit_scale(page, accepts_stated_size=True)
    trace = trace_picks(page, scale, [PartPick("plate", ((15.0, 15.0),))])
    assert len(trace.parts[0].outline.cutouts) == 4
    assert [note.code for note in trace.notes].count("no-cutout") == 1


@pytest.mark.parametrize("text", ["INBOARD", "HARDWOOD"])
def test_a_letter_that_stands_in_line_with_others_leaves_no_doubt(text: str) -> None:
    sheet = Sheet(dpi=200).shape(PLATE, circle_points(20, 20, 1.6)).line([(20, 40), (60, 40)], pen_mm=0.2)
    (part,) = traced(sheet.text(24, 28, text, 4.6)).parts
    assert len(part.outline.cutouts) == 1
    assert part.sure >= 0.9


def test_what_stands_in_line_with_two_strokes_is_spelled_and_what_does_not_is_no_letter_beyond_doubt() -> None:
    corners = np.array([[[0.0, 0.0], [200.0, 0.0], [200.0, 40.0], [0.0, 40.0]]])
    words = Words(corners, (np.array([[0.25, 0.75], [0.25, 0.5], [0.5, 0.75]]),))
    letter = np.array([[50.0, 10.0], [62.0, 10.0], [62.0, 30.0], [50.0, 30.0]])
    assert words.hold(letter)
    assert words.spell(letter)
    lower = letter + np.array([0.0, 4.0])
    assert words.hold(lower)
    assert not words.spell(lower)
    alone = Words(corners, (np.array([[0.25, 0.75], [0.25, 0.5]]),))
    assert not alone.spell(letter)
