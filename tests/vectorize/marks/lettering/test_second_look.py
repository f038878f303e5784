"""Boxes drawn anew round the letters in them, and what is read at a second look."""

import numpy as np
import pytest
from PIL import Image, ImageDraw

from tests.vectorize.marks.lettering.lettered_pages import PX_PER_MM, Word, page
from vectorize.marks.lettering import Reading, read_lettering
from vectorize.marks.lettering.second_look import ReadLine, looked_at_again
from vectorize.marks.lettering.text_box import TextBox
from vectorize.marks.lettering.tight_boxes import tight_box

MARGIN_TOL = 0.15  # of a letter's height


def box(left, top, right, bottom):
    return TextBox.of(np.array([(left, top), (right, top), (right, bottom), (left, bottom)], float), 0.9)


def ringed_page(*, text="R4", ring_mm=5.0, gap_mm=2.0, high_mm=5.0):
    """Return a page with a hole beside a mark, ( ) R4, a box round both, and the mark's own box."""
    grey, ((left, top, right, bottom),) = page((Word(text, (60, 40), high_mm),))
    picture = Image.fromarray(grey)
    size, middle = ring_mm * PX_PER_MM, (top + bottom) / 2
    x1 = left - gap_mm * PX_PER_MM
    ring = (x1 - size, middle - size / 2, x1, middle + size / 2)
    ImageDraw.Draw(picture).ellipse(ring, outline=0, width=4)
    both = box(ring[0] - 6, min(top, ring[1]) - 6, right + 6, max(bottom, ring[3]) + 6)
    return np.asarray(picture), both, (left, top, right, bottom)


def test_a_box_is_drawn_round_the_letters_and_leaves_the_ring_of_a_hole_out():
    grey, both, (left, top, right, bottom) = ringed_page()
    found = tight_box(grey, both)
    assert found.drops_ring
    low, high = found.box.points.min(axis=0), found.box.points.max(axis=0)
    margin = 0.25 * (bottom - top)
    tol = (bottom - top) * MARGIN_TOL
    assert low == pytest.approx([left - margin, top - margin], abs=tol)
    assert high == pytest.approx([right + margin, bottom + margin], abs=tol)


def test_a_mark_beside_a_hole_is_read_without_it():
    grey, _, _ = ringed_page(text="R4", gap_mm=1.5)
    assert "R4" in {text.text for text in read_lettering(grey, px_per_mm=PX_PER_MM)}


def test_a_box_that_fits_its_letters_stays():
    grey, ((left, top, right, bottom),) = page((Word("RUDDER", (40, 40), 5.0),))
    margin = 0.25 * (bottom - top)
    assert tight_box(grey, box(left - margin, top - margin, right + margin, bottom + margin)) is None


def test_figures_of_a_fraction_are_not_cut_off():
    #  1
    #  -- PLY: neither figure stands in the row
    #  8
    words = (Word("1", (40, 38), 3.0), Word("8", (40, 43), 3.0), Word("PLY", (44, 40), 5.0))
    grey, boxes = page(words)
    left, top = np.min([b[:2] for b in boxes], axis=0)
    right, bottom = np.max([b[2:] for b in boxes], axis=0)
    assert tight_box(grey, box(left - 8, top - 8, right + 8, bottom + 8)) is None


def test_paper_without_letters_gives_no_box():
    assert tight_box(np.full((200, 300), 250, np.uint8), box(20, 20, 220, 80)) is None
    assert tight_box(np.full((200, 300), 250, np.uint8), box(20, 20, 22, 21)) is None


def line(*readings):
    return ReadLine(box(0, 0, 200, 30), tuple(Reading(text, sure) for text, sure in readings), readings[0][1])


def looked(first, *others):
    """Return the line that comes of a first look and of those further ones that find something."""
    grey = np.full((100, 300), 250, np.uint8)
    told = iter(others)
    return looked_at_again(grey, {0: first}, lambda boxes, _: [next(told, None) for _ in boxes])[0]


def test_what_reads_well_is_not_looked_at_again():
    first = line(("SHEET BALSA", 0.6), ("SHEETBALSA", 0.35))
    assert looked(first) == first


def test_a_clear_look_outweighs_one_at_which_nothing_is_clear():
    told = looked(line(("BLSA", 0.04), ("BASA", 0.03)), line(("BALSA", 0.9)))
    assert told.readings[0].text == "BALSA"
    assert told.readings[0].sure == pytest.approx((0.9 * 0.9 + 0.0) / 0.97)


def test_a_second_look_that_says_otherwise_leaves_doubt():
    told = looked(line(("R7", 0.8)), line(("R1", 0.8)))
    assert told.readings[0].sure == pytest.approx(0.4)


def test_a_word_between_hatching_whose_box_is_too_high_is_read_in_a_lower_one():
    grey, ((left, top, right, bottom),) = page((Word("FUSELAGE", (40, 40), 5.0),))
    picture = Image.fromarray(grey)
    for x in np.arange(left - 300, right + 300, 30):
        for upper, lower in ((top - 120, top - 6), (bottom + 6, bottom + 120)):
            ImageDraw.Draw(picture).line((x, upper, x + lower - upper, lower), fill=0, width=3)
    high = box(left - 12, top - 36, right + 12, bottom + 36)
    (text,) = read_lettering(np.asarray(picture), boxes=[high])
    assert text.text.replace("\u00c9", "E") == "FUSELAGE"  # a stroke of the hatching may pass for an accent
