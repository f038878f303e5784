from __future__ import annotations

import math

import pytest

from nesting.patterns.papers import PAPERS, find_paper
from nesting.patterns.pattern_settings import PatternSettings
from vectorize.basics.errors import InputError


@pytest.mark.parametrize("name", ["A4", "a4", "ISO A4", "iso_a4"])
def test_papers_are_found_however_they_are_written(name):
    assert find_paper(name).name == "A4"


@pytest.mark.parametrize(
    ("name", "known"), [("ANSI A", "Letter"), ("ansi b", "Tabloid"), ("Ledger", "Tabloid"), ("both", "A4 and Letter")]
)
def test_other_names_of_the_same_sheet(name, known):
    assert find_paper(name).name == known


def test_an_unknown_paper_is_named_with_the_nearest_and_the_list():
    with pytest.raises(InputError, match=r"'Leter'.*Did you mean 'Letter'\?.*A4") as told:
        PatternSettings(paper="Leter")
    assert told.value.exit_code == 3


def test_what_fits_both_a4_and_letter_lies_within_both():
    both, a4, letter = find_paper("A4 and Letter"), find_paper("A4"), find_paper("Letter")
    assert both.width_mm <= min(a4.width_mm, letter.width_mm)
    assert both.height_mm <= min(a4.height_mm, letter.height_mm)
    # 190 × 259 mm are left by margins of 10 mm.
    assert both.width_mm - 20 == pytest.approx(190)
    assert both.height_mm - 20 == pytest.approx(259.4)


@pytest.mark.parametrize("paper", [paper.name for paper in PAPERS])
def test_every_paper_takes_the_usual_margins(paper):
    assert PatternSettings(paper=paper).page.width_mm > 0


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"margin_mm": 3}, "margin is 3 mm"),
        ({"margin_mm": 30}, "leave 150 mm of the width of A4"),
        ({"overlap_mm": 2}, "overlap is 2 mm"),
        ({"printer_bars_mm": (100, 94)}, "bar up is 94 mm"),
        ({"printer_bars_mm": (math.nan, 100)}, "bar across"),
        ({"marks": frozenset({"nome"})}, "'nome'"),
        ({"kerf_mm": -1}, "kerf is -1 mm"),
        ({"most_pages": 0}, "limit of pages is 0"),
        ({"blades": ()}, "no blade"),
    ],
)
def test_what_cannot_be_is_told_in_a_sentence(wrong, words):
    with pytest.raises(InputError, match=words):
        PatternSettings(**wrong)


def test_a_saw_and_a_knife_keep_to_the_line_and_machines_allow_for_their_cut():
    assert PatternSettings(tool="saw", kerf_mm=0.5).path_kerf_mm == 0
    assert PatternSettings(tool="knife").path_kerf_mm == 0
    assert PatternSettings(tool="laser").path_kerf_mm > 0
    assert PatternSettings(tool="router", kerf_mm=1.5).path_kerf_mm == 1.5
