"""Fractions with one figure above the other."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFont

from tests.vectorize.marks.lettering.lettered_pages import FONT, PX_PER_MM, Word, page
from vectorize.marks.lettering import read_lettering
from vectorize.marks.lettering.decode import Reading
from vectorize.marks.lettering.fractions import DENOMINATORS, StackReadings

FIGURE_MM = 2.4


def stacked(before, above, below, after, *, at_mm=(30.0, 30.0), high_mm=4.0):
    """Return a page with a line of lettering whose fraction stands on a bar."""
    picture = Image.new("L", (round(120 * PX_PER_MM), round(70 * PX_PER_MM)), 255)
    pen = ImageDraw.Draw(picture)
    whole, small = (ImageFont.truetype(FONT, round(mm * PX_PER_MM)) for mm in (high_mm, FIGURE_MM))
    x, middle = (value * PX_PER_MM for value in at_mm)
    pen.text((x, middle), before, fill=0, font=whole, anchor="lm")
    x += pen.textlength(before, font=whole) + 5
    wide = max(pen.textlength(figure, font=small) for figure in (above, below)) + 4
    pen.text((x + wide / 2, middle - 4), above, fill=0, font=small, anchor="mb")
    pen.text((x + wide / 2, middle + 4), below, fill=0, font=small, anchor="mt")
    pen.line((x, middle, x + wide, middle), fill=0, width=2)
    pen.text((x + wide + 5, middle), after, fill=0, font=whole, anchor="lm")
    return np.asarray(picture)


@pytest.mark.parametrize(
    ("before", "above", "below", "after", "text"),
    [
        ("4", "27", "32", '" SPAN', '4 27/32" SPAN'),
        ("", "1", "16", '" SHEET BALSA', '1/16" SHEET BALSA'),
        ("DRILL", "3", "32", '" DEEP', 'DRILL 3/32" DEEP'),
        ("7", "5", "8", '" LONG', '7 5/8" LONG'),
    ],
)
def test_figures_over_and_under_a_bar_are_read_into_the_line(before, above, below, after, text):
    read = read_lettering(stacked(before, above, below, after), px_per_mm=PX_PER_MM)
    assert text.replace(" ", "") in {one.text.replace(" ", "") for one in read}


def test_a_line_without_a_fraction_gets_none():
    read = read_lettering(stacked("THREE FEET", "", "", ""), px_per_mm=PX_PER_MM)
    assert not any("/" in reading.text for one in read for reading in one.readings)


def test_a_line_with_a_slash_in_its_fraction_is_not_looked_at_for_bars(monkeypatch):
    looked_at = []
    monkeypatch.setattr(
        "vectorize.marks.lettering.letter_reader.find_stacks", lambda _, box: looked_at.append(box) or ()
    )
    grey, _ = page([Word('FIN - 1/8" balsa', (20, 20))])
    assert [text.text.replace(" ", "") for text in read_lettering(grey, px_per_mm=PX_PER_MM)] == ['FIN-1/8"balsa']
    assert [box for box in looked_at if box.quarters == 0] == []


figures = st.builds(Reading, st.text("0123456789", min_size=1, max_size=3), st.floats(0.01, 1.0))
lines = st.lists(figures, max_size=4).map(tuple)


@given(above=lines, below=lines, before=lines, after=lines)
def test_only_proper_fractions_of_an_inch_come_out(above, below, before, after):
    stack = StackReadings(above, below, before, after)
    for text, share in stack.fractions():
        numerator, denominator = map(int, text.split("/"))
        assert denominator in DENOMINATORS
        assert numerator % 2 == 1
        assert numerator < denominator
        assert 0 < share <= 1
    shares = [reading.sure for reading in stack.lines()]
    assert shares == sorted(shares, reverse=True)


def test_an_inch_mark_that_reads_like_a_letter_is_one():
    one = (Reading("1", 1.0),)
    stack = StackReadings(one, (Reading("4", 1.0),), (Reading("3", 1.0),), (Reading("n", 0.7),))
    assert stack.lines()[0].text == '3 1/4"'
