"""Chains of dimensions and the overall length that they add up to."""

import pytest

from tests.vectorize.marks.lettering.lettered_pages import PX_PER_MM
from vectorize.marks.dimension_chains import Chain, Link, add_up, find_chains
from vectorize.marks.dimensions import agreed
from vectorize.marks.lettering import Reading, Text
from vectorize.marks.spans import Span

INCH = 25.4


def link(start, end, *, y=100.0, mm=None, others=(), is_upright=False):
    ends = [(PX_PER_MM * start, y), (PX_PER_MM * end, y)]
    if is_upright:
        ends = [(v, u) for u, v in ends]
    return Link(*ends, end - start if mm is None else mm, others)


#   |<-- 40 -->|<----- 70 ----->|
#   |<---------- 110 ---------->|
@pytest.mark.parametrize("is_upright", [False, True])
def test_a_chain_is_the_links_of_one_line_under_the_length_that_spans_them(is_upright):
    links = [link(0, 110, y=300, is_upright=is_upright)]
    links += [link(a, b, is_upright=is_upright) for a, b in ((40, 110), (0, 40))]
    assert find_chains(links) == (Chain((2, 1), 0),)
    assert add_up(links) == (110, 70, 40)


def test_links_of_different_lines_or_with_a_gap_are_no_chain():
    overall = link(0, 110, y=300)
    assert find_chains([overall, link(0, 40), link(40, 110, y=160)]) == ()
    assert find_chains([overall, link(0, 40), link(45, 110)]) == ()


def test_the_one_reading_that_makes_a_chain_add_up_is_taken():
    links = [link(0, 110, y=300), link(0, 40), link(40, 110, mm=71.0, others=(70.0, 78.0))]
    assert add_up(links) == (110, 40, 70)


def test_a_chain_that_two_readings_would_mend_stays_as_it_is():
    links = [link(0, 110, y=300), link(0, 40, mm=41.0, others=(40.0,)), link(40, 110, mm=70.0, others=(69.0,))]
    assert add_up(links) == (110, 41, 70)


# 10 1/8 in for 10 1/16 in agrees with the scale: eighths are coarse. The overall length tells them apart.
def test_an_overall_length_decides_between_fractions_that_the_scale_cannot_tell_apart():
    said = {0: ("10 1/8 in", "10 1/16 in"), 1: ("2 3/16 in",), 2: ("12 1/4 in",), 3: ("14 3/16 in",)}
    true = {0: (0, 161 / 16), 1: (161 / 16, 196 / 16), 2: (0, 196 / 16), 3: (0, 227 / 16)}
    rows = {0: 100.0, 1: 100.0, 2: 200.0, 3: 300.0}
    px = PX_PER_MM * INCH
    spans = [Span(k, (px * a, rows[k]), (px * b, rows[k]), False) for k, (a, b) in true.items()]
    box = ((0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0))
    texts = [
        Text(words[0], box, 0.0, 0.9, tuple(Reading(word, 0.9 - 0.6 * n) for n, word in enumerate(words)))
        for words in said.values()
    ]
    dimensions, _ = agreed(texts, spans)
    assert [one.length_mm / INCH for one in dimensions] == pytest.approx([161 / 16, 35 / 16, 196 / 16, 227 / 16])
    assert all(one.agrees for one in dimensions)
