"""Where lettering stands."""

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.vectorize.marks.lettering.lettered_pages import PX_PER_MM, Word, lined_page, page
from vectorize.marks.lettering import TextBox, detect, find_lettering

WORDS = (
    Word("RUDDER", (20, 20)),
    Word("TAILPLANE", (90, 18), 6.0),
    Word("3 mm ply", (30, 60)),
    Word("make two", (100, 80), 3.0),
)
COVERED = 0.9  # of a word's own extent: the box may be a little tight, but no letter may stand outside


def covered(box, bounds):
    left, top, right, bottom = (round(value) for value in bounds)
    inside = np.zeros((bottom - top, right - left), np.uint8)
    cv2.fillPoly(inside, [np.int32(np.round(box.points - (left, top)))], 1)
    return inside.mean()


def test_every_word_on_a_drawn_part_lies_in_a_box_of_its_own():
    grey, words = lined_page(WORDS)
    boxes = find_lettering(grey, px_per_mm=PX_PER_MM)
    for bounds in words:
        assert sum(covered(box, bounds) > COVERED for box in boxes) == 1


def test_a_box_is_hardly_larger_than_its_word():
    grey, words = lined_page(WORDS)
    boxes = find_lettering(grey, px_per_mm=PX_PER_MM)
    for left, top, right, bottom in words:
        box = max(boxes, key=lambda box: covered(box, (left, top, right, bottom)))
        assert box.width_px < right - left + 4 * PX_PER_MM
        assert box.height_px < bottom - top + 4 * PX_PER_MM


def test_light_lettering_on_a_dark_sheet_is_found_in_the_same_places():
    grey = lined_page(WORDS)[0].copy()
    for row in range(300, 480, 20):
        grey[row : row + 3, 200:1200] = 0  # line work by which the sheet is known for a dark one
    dark = np.where(grey < 128, 235, 60).astype(np.uint8)
    light = np.where(grey < 128, 20, 195).astype(np.uint8)
    one, other = (find_lettering(sheet, px_per_mm=PX_PER_MM) for sheet in (dark, light))
    assert [np.round(box.points).tolist() for box in one] == [np.round(box.points).tolist() for box in other]
    assert len(one) >= len(WORDS)


def test_the_same_page_gives_the_same_boxes_and_is_not_changed():
    grey, _ = lined_page(WORDS)
    before = grey.copy()
    assert find_lettering(grey, px_per_mm=PX_PER_MM) == find_lettering(grey, px_per_mm=PX_PER_MM)
    assert np.array_equal(grey, before)


@pytest.mark.parametrize("zoom", [0.5, 1.0, 2.0])
def test_without_a_known_resolution_it_is_guessed_by_the_pen(zoom):
    grey, words = lined_page(WORDS)
    size = (round(grey.shape[1] * zoom), round(grey.shape[0] * zoom))
    boxes = find_lettering(np.asarray(cv2.resize(grey, size, interpolation=cv2.INTER_AREA)))
    for bounds in words:
        assert any(covered(box, [value * zoom for value in bounds]) > COVERED for box in boxes)


def test_a_page_looked_at_in_squares_has_the_same_boxes(monkeypatch):
    grey, words = lined_page(WORDS)
    monkeypatch.setattr(detect, "TILE_PX", 320)
    boxes = find_lettering(grey, px_per_mm=PX_PER_MM)
    for bounds in words:
        assert any(covered(box, bounds) > COVERED for box in boxes)


def test_blank_paper_has_no_lettering():
    assert find_lettering(np.full((800, 1000), 245, np.uint8), px_per_mm=PX_PER_MM) == ()


@settings(max_examples=15, deadline=None)
@given(rows=st.integers(0, 90), columns=st.integers(0, 90), seed=st.integers(0, 9), is_flat=st.booleans())
def test_pictures_of_any_size_and_noise_are_looked_at_without_a_fault(rows, columns, seed, is_flat):
    grey = np.random.default_rng(seed).integers(0, 256, (rows, columns), np.uint8)
    grey = np.full_like(grey, 17 * seed) if is_flat else grey
    for box in find_lettering(grey):
        assert 0 <= box.sure <= 1
        assert np.isfinite(box.points).all()


def test_a_page_very_unlike_its_stated_resolution_is_looked_at_without_a_fault():
    grey, _ = page(WORDS)
    for px_per_mm in (0.5, 400.0):
        find_lettering(grey, px_per_mm=px_per_mm)


def test_a_box_turned_by_quarters_goes_round_and_keeps_its_place():
    #  a───b      turned once, its upper edge runs d → a: the text reads upwards
    #  d───c
    box = TextBox(((0.0, 0.0), (10.0, 0.0), (10.0, 4.0), (0.0, 4.0)), 0.9)
    once = box.turned(1)
    assert once.corners_px == ((0.0, 4.0), (0.0, 0.0), (10.0, 0.0), (10.0, 4.0))
    assert (box.turn_deg, once.turn_deg, box.turned(2).turn_deg, box.turned(3).turn_deg) == (0, 90, 180, -90)
    assert (once.width_px, once.height_px) == (4, 10)
    assert once.turned(3) == box
    assert once.bounds_px() == (0, 0, 10, 4)
