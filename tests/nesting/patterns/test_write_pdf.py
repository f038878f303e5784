"""Print, measure, join: what comes out of the printer, seen by another library, measured by the page's own pixels."""

from __future__ import annotations

import io
import itertools

import cv2
import numpy as np
import pytest
from PIL import Image
from shapely import affinity
from shapely.geometry import Polygon

from nesting.desk.job_edits import remeasured_bars_mm
from nesting.patterns.drawing import Recorder
from nesting.patterns.page_joints import draw_quartered
from nesting.patterns.papers import Paper
from nesting.patterns.pattern_settings import ALL_MARKS, PatternSettings
from nesting.patterns.sheets import part_pattern
from nesting.patterns.write_pdf import Page, Sheet, pdf_bytes
from tests.nesting.patterns.pattern_shapes import (
    F_POINTS,
    best_match,
    edge_distance,
    letter_f,
    long_part,
    pdf_pages,
    rounded,
    white_regions,
)
from tests.nesting.patterns.test_pages import PEN_MM, bar_lengths_mm

# What a builder accepts between pattern and part; a pixel at 300 dpi is 0.085 mm.
PRINT_TOL_MM = 0.2
A4_MM = (210.0, 297.0)
NO_CROSS = ALL_MARKS - {"holes"}  # a cross would divide the white inside a hole
DPI = 300


def pages_of(part, dpi=DPI, **settings):
    settings.setdefault("marks", NO_CROSS)
    made = part_pattern(part, settings=PatternSettings(**settings), formats=("pdf",))
    return pdf_pages(next(iter(made.values())), dpi)


def mm_per_px(page, size_mm=A4_MM):
    return size_mm[0] / page.shape[1], size_mm[1] / page.shape[0]


def ring_polygons(part):
    return [Polygon(ring.flattened(0.01)) for ring in part.outline.rings]


@pytest.mark.parametrize("dpi", [300, 600])
def test_each_edge_traced_from_the_printed_page_lies_on_the_outline(dpi):
    (page,) = pages_of(rounded(), dpi)
    regions = white_regions(page, mm_per_px(page))
    for wanted in ring_polygons(rounded()):
        distance, _ = best_match(regions, wanted)
        assert distance < PRINT_TOL_MM


def test_the_printed_f_is_neither_mirrored_nor_turned_over():
    (page,) = pages_of(letter_f())
    regions = white_regions(page, mm_per_px(page))
    upright = Polygon(F_POINTS)
    mirrored = affinity.scale(upright, -1, 1)
    shapes = {"as drawn": upright, "turned": affinity.rotate(upright, 90)}
    assert min(best_match(regions, shape)[0] for shape in shapes.values()) < PRINT_TOL_MM
    for angle_deg in (0, 90, 180, 270):
        assert best_match(regions, affinity.rotate(mirrored, angle_deg))[0] > 1.0


def test_the_preview_shows_the_f_the_right_way_round_and_states_its_resolution():
    png = part_pattern(letter_f(), settings=PatternSettings(marks=NO_CROSS), formats=("png",))["part-F.png"]
    with Image.open(io.BytesIO(png)) as picture:
        dpi = picture.info["dpi"]
        page = np.asarray(picture.convert("L"))
    regions = white_regions(page, (25.4 / dpi[0], 25.4 / dpi[1]))
    upright = Polygon(F_POINTS)
    assert best_match(regions, upright)[0] < 2 * PRINT_TOL_MM  # a preview has half the pixels of a print
    assert best_match(regions, affinity.scale(upright, -1, 1))[0] > 1.0


def test_a_print_for_iron_on_transfer_is_mirrored_words_and_all():
    (plain,), (mirrored,) = pages_of(letter_f()), pages_of(letter_f(), is_mirrored=True)
    regions = white_regions(np.fliplr(mirrored), mm_per_px(mirrored))
    assert best_match(regions, Polygon(F_POINTS))[0] < PRINT_TOL_MM
    # The ink inside the F (its words and arrow) is the plain print's, seen in a mirror.
    wanted = best_match(white_regions(plain, mm_per_px(plain)), Polygon(F_POINTS))[1]
    seen = best_match(regions, Polygon(F_POINTS))[1]
    assert np.mean(ink_inside(plain, wanted) ^ ink_inside(np.fliplr(mirrored), seen)) < 0.01


def ink_inside(page, region):
    x, y = mm_per_px(page)
    left, low, right, top = region.buffer(-1.5).bounds
    part = page[round(page.shape[0] - top / y) : round(page.shape[0] - low / y), round(left / x) : round(right / x)]
    return cv2.resize(part, (360, 560), interpolation=cv2.INTER_AREA) < 128


def test_a_pair_is_printed_in_both_hands():
    (page,) = pages_of(letter_f(hand="pair"))
    regions = white_regions(page, mm_per_px(page))
    upright = Polygon(F_POINTS)
    mirrored = affinity.scale(upright, -1, 1)
    for shape in (upright, mirrored):
        assert min(best_match(regions, affinity.rotate(shape, angle))[0] for angle in (0, 90)) < PRINT_TOL_MM


# A printer that makes 100 mm into 99.2 mm across and 100.4 mm up.
BARS_MM = (99.2, 100.4)


def printed_badly(page):
    """The page as that printer prints it, on the same paper: scaled about its middle."""
    rows, columns = page.shape
    across, up = BARS_MM[0] / 100, BARS_MM[1] / 100
    move = np.array([[across, 0, columns / 2 * (1 - across)], [0, up, rows / 2 * (1 - up)]])
    return cv2.warpAffine(page, move, (columns, rows), flags=cv2.INTER_LINEAR, borderValue=255)


def test_a_print_corrected_for_the_printer_comes_out_true():
    (page,) = pages_of(rounded(), 600, printer_bars_mm=BARS_MM)
    printed = printed_badly(page)
    bars = bar_lengths_mm(printed, A4_MM)
    assert bars["across mm"] - PEN_MM == pytest.approx(100.0, abs=0.15)
    assert bars["up mm"] - PEN_MM == pytest.approx(100.0, abs=0.15)
    regions = white_regions(printed, mm_per_px(printed))
    for wanted in ring_polygons(rounded()):
        assert best_match(regions, wanted)[0] < PRINT_TOL_MM


def test_without_the_correction_the_same_printer_spoils_the_part():
    (page,) = pages_of(rounded(), 600)
    regions = white_regions(printed_badly(page), mm_per_px(page))
    assert best_match(regions, ring_polygons(rounded())[0])[0] > PRINT_TOL_MM


def test_measuring_a_corrected_print_again_refines_the_correction():
    assert remeasured_bars_mm((99.2, 100.4), (100.0, 100.0), bar_mm=100.0) == (99.2, 100.4)
    assert remeasured_bars_mm((99.2, 100.0), (100.5, 100.0), bar_mm=100.0) == pytest.approx((99.696, 100.0))


def joining_mark(dpi):
    """The quartered disc as it looks in print."""
    recorder = Recorder()
    draw_quartered(recorder, (5.0, 5.0))
    sheet = Sheet(tuple(recorder.elements))
    return pdf_pages(pdf_bytes([Page(Paper("", 10.0, 10.0), (sheet,))], title="mark"), dpi)[0][12:-12, 12:-12]


def marks_on(page):
    """(N, 2) pixels (x, y) of the centres of the joining marks, found by their looks."""
    template = joining_mark(DPI)
    score = cv2.matchTemplate(page, template, cv2.TM_CCOEFF_NORMED)
    centres = []
    while (peak := float(score.max())) > 0.8:
        row, column = np.unravel_index(int(np.argmax(score)), score.shape)
        assert peak > 0.8
        centres.append((column + (template.shape[1] - 1) / 2, row + (template.shape[0] - 1) / 2))
        score[max(0, row - 40) : row + 40, max(0, column - 40) : column + 40] = -1
    return np.array(sorted(centres, key=lambda c: (round(c[1] / 50), c[0])))


def test_a_part_of_700_mm_joined_from_its_tiles_is_true_everywhere():
    _, *tiles = pages_of(long_part(), paper="A4")
    assert len(tiles) == 3
    joined = tiles[0][: round(marks_on(tiles[0])[-1][1])]
    shift = np.zeros(2)
    for above, below in itertools.pairwise(tiles):
        low, high = marks_on(above)[-2:], marks_on(below)[:2]
        # The discs of a joint lie equally far apart on both pages: no page is turned or scaled against the other.
        assert np.abs((low[1] - low[0]) - (high[1] - high[0])).max() <= 1.0
        shift = shift + (low - high).mean(axis=0)
        begin = round(high[:, 1].mean())
        later = marks_on(below)[2:]
        end = round(later[:, 1].mean()) if len(later) else below.shape[0]
        strip = np.full((end - begin, below.shape[1]), 255, dtype=np.uint8)
        dx = round(shift[0])
        strip[:, max(0, dx) : below.shape[1] + min(0, dx)] = below[begin:end, max(0, -dx) : below.shape[1] - max(0, dx)]
        joined = np.vstack([joined, strip])
    regions = white_regions(joined, mm_per_px(tiles[0]))
    outline, hole, seat = (affinity.rotate(ring, -90, origin=(0, 0)) for ring in ring_polygons(long_part()))
    for wanted in (outline, hole, seat):
        distance, _ = best_match(regions, wanted)
        assert distance < PRINT_TOL_MM


def test_the_edge_comparison_sees_a_shift_of_a_corner():
    square = Polygon([(0, 0), (50, 0), (50, 50), (0, 50)])
    assert edge_distance(square, Polygon([(0, 0), (50, 0), (50, 50), (0, 49)])) == pytest.approx(1.0, abs=0.3)
