"""From probabilities to readings."""

from collections import defaultdict
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vectorize.marks.lettering.decode import page_characters, readings

CHARACTERS = ("", "a", "b", "c")
SUM_TOL = 1e-9


def steps_of(rows):
    return [tuple(enumerate(row)) for row in rows]


def spelt(path):
    """Return what a path of outputs spells, by the definition: drop repeats, then drop what is nothing."""
    kept = [index for k, index in enumerate(path) if k == 0 or index != path[k - 1]]
    return "".join(CHARACTERS[index] for index in kept)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000), st.integers(1, 4))
def test_a_readings_probability_is_the_sum_over_all_paths_that_spell_it(seed, length):
    rows = np.random.default_rng(seed).dirichlet([0.4] * len(CHARACTERS), length).tolist()
    sums = defaultdict(float)
    for path in product(range(len(CHARACTERS)), repeat=length):
        sums[spelt(path)] += float(np.prod([row[index] for row, index in zip(rows, path, strict=True)]))
    sums.pop("", None)
    found = readings(steps_of(rows), CHARACTERS)
    if length <= 2:  # so few prefixes that none is dropped
        best = sorted(sums.values(), reverse=True)[: len(found)]
        assert [reading.sure for reading in found] == pytest.approx(best, abs=SUM_TOL)
    for reading in found:
        assert reading.sure <= sums[reading.text] + SUM_TOL
        assert reading.sure >= 0.5 * sums[reading.text]


def test_a_letter_is_doubled_only_where_nothing_stands_between():
    a, none = (0.0, 1.0, 0.0, 0.0), (1.0, 0.0, 0.0, 0.0)
    assert readings(steps_of([a, a]), CHARACTERS)[0].text == "a"
    assert readings(steps_of([a, none, a]), CHARACTERS)[0].text == "aa"


def test_nothing_seen_is_no_reading():
    assert readings(steps_of([(1.0, 0.0, 0.0, 0.0)] * 3), CHARACTERS) == ()
    assert readings([], CHARACTERS) == ()


def test_a_doubtful_letter_gives_both_readings():
    found = readings(steps_of([(0.0, 0.6, 0.4, 0.0)]), CHARACTERS)
    assert [(reading.text, reading.sure) for reading in found] == [("a", 0.6), ("b", 0.4)]


WIDE = ("", "1", "翼", "リ", "ブ")


def line(*letters, sure=0.95):
    rows = []
    for letter in letters:
        row = [0.0] * len(WIDE)
        row[WIDE.index(letter)] = sure
        row[1 if letter != "1" else 2] += 1 - sure
        rows += [tuple(enumerate(row)), ((0, 1.0),)]
    return rows


def test_single_wide_letters_are_taken_for_line_work():
    assert page_characters([line("翼")] * 20, WIDE) == ("", "1", "", "", "")


def test_a_page_with_several_words_of_wide_letters_is_lettered_so():
    assert page_characters([line("リ", "ブ"), line("翼", "リ"), line("ブ", "翼")], WIDE) == WIDE


def test_words_of_wide_letters_that_read_badly_do_not_count():
    assert page_characters([line("リ", "ブ", sure=0.5)] * 9, WIDE)[2:] == ("", "", "")


def test_signs_that_a_pen_does_not_tell_apart_are_one_reading():
    signs = page_characters([], ("", '"', "″", "∪", "Ø", "½"))
    assert signs == ("", '"', '"', "", "Ø", "½")
    found = readings([((1, 0.4), (2, 0.5), (3, 0.1))], signs)
    assert [(reading.text, reading.sure) for reading in found] == [('"', pytest.approx(0.9))]
