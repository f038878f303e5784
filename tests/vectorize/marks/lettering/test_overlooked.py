"""Lettering that only a second look finds."""

import numpy as np

from tests.vectorize.marks.lettering.lettered_pages import PX_PER_MM, Word, page
from vectorize.marks.lettering import TextBox, find_lettering, find_overlooked, read_lettering

WORDS = (Word("RUDDER", (20, 20)), Word("SHEET BALSA", (30, 60)), Word("R7", (110, 75), 6.0))


def test_a_second_look_gives_what_the_first_left_out_and_nothing_twice():
    grey, words = page(WORDS)
    boxes = find_lettering(grey, px_per_mm=PX_PER_MM)
    assert len(boxes) == len(words)
    assert find_overlooked(grey, boxes, px_per_mm=PX_PER_MM) == ()
    for k, box in enumerate(boxes):
        (found,) = find_overlooked(grey, [*boxes[:k], *boxes[k + 1 :]], px_per_mm=PX_PER_MM)
        assert np.abs(found.points - box.points).max() < 1.5 * PX_PER_MM


def test_a_single_sign_that_only_the_second_look_saw_is_left_out():
    grey, words = page([Word("R7", (20, 20), 6.0), Word("R", (90, 20), 6.0)])
    boxes = [
        TextBox.of([(x0 - 9, y0 - 9), (x1 + 9, y0 - 9), (x1 + 9, y1 + 9), (x0 - 9, y1 + 9)], 1.0)
        for x0, y0, x1, y1 in words
    ]
    assert [text.text for text in read_lettering(grey, boxes=boxes)] == ["R7", "R"]
    assert [text.text for text in read_lettering(grey, boxes=(), overlooked=boxes)] == ["R7"]
