"""Dimension lines between witness lines, drawn where they are known to be, and the scale that they share."""

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from tests.vectorize.marks.lettering.lettered_pages import FONT, PX_PER_MM
from vectorize.marks.dimensions import agreed
from vectorize.marks.lettering import Reading, Text, read_lettering
from vectorize.marks.spans import Span, find_spans

TIP_TOL_PX = 1.0
SCALE_TOL = 0.002  # half a pixel at both ends of the shortest dimension

#        60 mm                 ┬
#   |<---------->|             │ 40 mm, upright
DRAWN = (  # start x, start y, length and its text; upright ones are drawn downwards
    (20.0, 30.0, 60.0, "60 mm", False),
    (20.0, 60.0, 110.0, "110 mm", False),
    (150.0, 20.0, 80.0, "80 mm", True),
    (170.0, 20.0, 50.0, "50 mm", True),
)


def sheet(drawn, *, shown=None):
    """Return a page with the dimensions on it; `shown` are other texts than the true ones."""
    picture = Image.new("L", (round(190 * PX_PER_MM), round(130 * PX_PER_MM)), 250)
    pen = ImageDraw.Draw(picture)
    font = ImageFont.truetype(FONT, round(4 * PX_PER_MM))
    for k, (x, y, length, text, is_upright) in enumerate(drawn):
        text = (shown or {}).get(k, text)
        ends = [(x, y), (x, y + length) if is_upright else (x + length, y)]
        (x0, y0), (x1, y1) = ((a * PX_PER_MM, b * PX_PER_MM) for a, b in ends)
        pen.line((x0, y0, x1, y1), fill=20, width=3)
        out = 4 * PX_PER_MM
        for a, b in ((x0, y0), (x1, y1)):
            pen.line((a - out, b, a + out, b) if is_upright else (a, b - out, a, b + out), fill=20, width=3)
        label = Image.new("L", (round(pen.textlength(text, font=font)) + 4, round(5 * PX_PER_MM)), 250)
        ImageDraw.Draw(label).text((2, 0), text, fill=20, font=font)
        label = label.rotate(90, expand=True) if is_upright else label
        at = (
            (x0 - label.width - 6, (y0 + y1 - label.height) / 2)
            if is_upright
            else ((x0 + x1 - label.width) / 2, y0 - label.height - 4)
        )
        picture.paste(label, tuple(round(value) for value in at))
    return np.asarray(picture)


def dimensions(grey):
    texts = read_lettering(grey, px_per_mm=PX_PER_MM)
    return texts, *agreed(texts, find_spans(grey, texts, px_per_mm=PX_PER_MM))


def true_ends(k):
    x, y, length, _, is_upright = DRAWN[k]
    other = (x, y + length) if is_upright else (x + length, y)
    return np.array([(x, y), other]) * PX_PER_MM


def misplaced(found, truth):
    ends = np.array([found.start, found.end])
    return min(float(np.abs(ends - truth).max()), float(np.abs(ends[::-1] - truth).max()))


def test_every_dimension_runs_between_its_witness_lines_and_all_share_the_scale():
    _, found, scale = dimensions(sheet(DRAWN))
    assert sorted(d.length_mm for d in found if d.agrees) == [50.0, 60.0, 80.0, 110.0]
    for dimension in found:
        k = [length for _, _, length, _, _ in DRAWN].index(dimension.length_mm)
        assert misplaced(dimension, true_ends(k)) < TIP_TOL_PX
    assert scale.used == 4
    assert scale.px_per_mm == pytest.approx((PX_PER_MM, PX_PER_MM), rel=SCALE_TOL)


def test_a_sheet_that_lies_crooked_gives_the_same():
    grey = sheet(DRAWN)
    rows, columns = grey.shape
    turn = cv2.getRotationMatrix2D((columns / 2, rows / 2), 1.2, 1.0)
    crooked = cv2.warpAffine(grey, turn, (columns, rows), flags=cv2.INTER_CUBIC, borderValue=250)
    _, found, scale = dimensions(np.asarray(crooked))
    assert scale.px_per_mm == pytest.approx((PX_PER_MM, PX_PER_MM), rel=SCALE_TOL)
    for dimension in found:
        k = [length for _, _, length, _, _ in DRAWN].index(dimension.length_mm)
        assert misplaced(dimension, true_ends(k) @ turn[:, :2].T + turn[:, 2]) < 2 * TIP_TOL_PX


def test_a_figure_that_is_wrong_does_not_agree_and_moves_nothing():
    _, found, scale = dimensions(sheet(DRAWN, shown={0: "75 mm"}))
    assert [d.length_mm for d in found if not d.agrees] == [75.0]
    assert scale.used == 3
    assert scale.px_per_mm == pytest.approx((PX_PER_MM, PX_PER_MM), rel=SCALE_TOL)


def test_fewer_than_three_that_agree_propose_no_scale():
    _, found, scale = dimensions(sheet(DRAWN[:2]))
    assert scale is None
    assert len(found) == 2
    assert not any(d.agrees for d in found)


@pytest.mark.parametrize("apart", [0.0, 60.0])
def test_figures_on_one_line_or_on_the_rulings_of_a_table_are_one_witness(apart):
    box = ((0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (0.0, 10.0))
    texts = [Text("41", box, 0.0, 1.0, (Reading("41", 1.0),))] * 4
    spans = [Span(k, (10.0, 5.0 + apart * k), (410.0, 5.0 + apart * k), False) for k in range(4)]
    found, scale = agreed(texts, spans)
    assert scale is None
    assert not any(one.agrees for one in found)


def test_lengths_that_begin_as_far_from_the_edge_as_they_are_long_are_witnesses_of_their_own():
    box = ((0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (0.0, 10.0))
    lengths = (40, 50, 60)
    texts = [Text(f"{mm} mm", box, 0.0, 1.0, (Reading(f"{mm} mm", 1.0),)) for mm in lengths]
    px = [mm * PX_PER_MM for mm in lengths]
    spans = [Span(k, (far, 50.0 * k), (2 * far, 50.0 * k), False) for k, far in enumerate(px)]
    found, scale = agreed(texts, spans)
    assert scale.used == 3
    assert all(one.agrees for one in found)


def stretched(mm_across, mm_up, *, stretch=1.008, up_sure=1.0):
    """Return the scale of a sheet whose y is longer than its x by a factor."""
    box = ((0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (0.0, 10.0))
    lengths = [*mm_across, *mm_up]
    sures = [1.0] * len(mm_across) + [up_sure] * len(mm_up)
    texts = [Text(f"{mm} mm", box, 0.0, p, (Reading(f"{mm} mm", p),)) for mm, p in zip(lengths, sures, strict=True)]
    spans = [
        Span(k, (50.0 * k, 9.0), (50.0 * k + mm * PX_PER_MM, 9.0), False)
        if k < len(mm_across)
        else Span(k, (9.0, 50.0 * k), (9.0, 50.0 * k + mm * PX_PER_MM * stretch), True)
        for k, mm in enumerate(lengths)
    ]
    return agreed(texts, spans)[1]


def test_a_round_length_along_an_axis_of_its_own_tells_that_the_sheet_is_stretched():
    scale = stretched((284, 117, 103), (90,))
    assert scale.px_per_mm[0] == pytest.approx(PX_PER_MM, rel=0.0005)
    assert scale.px_per_mm[1] == pytest.approx(1.008 * PX_PER_MM, rel=0.001)


@pytest.mark.parametrize(("mm_up", "up_sure"), [((90,), 0.6), ((37,), 1.0)], ids=["doubtful", "no round one"])
def test_a_single_length_that_is_doubtful_or_coarse_stretches_nothing(mm_up, up_sure):
    scale = stretched((284, 117, 103), mm_up, up_sure=up_sure)
    assert scale.px_per_mm[1] == pytest.approx(PX_PER_MM, rel=0.002)
    assert scale.sigma_share >= 0.005


BOX = ((0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (0.0, 10.0))


def test_a_dimension_line_that_is_torn_to_pieces_is_followed_to_its_witness_lines():
    """As of a soft pencil or a worn fold: a third of the line is gone, at places of up to 4 mm."""
    grey = sheet(DRAWN).copy()
    for x, y, length, _, is_upright in DRAWN:
        for off in np.arange(4.0, length - 5.0, 10.0):
            stop = off + (4.0 if off % 20 == 4.0 else 2.5)
            low, high = (
                ((x - 0.6, y + off), (x + 0.6, y + stop)) if is_upright else ((x + off, y - 0.6), (x + stop, y + 0.6))
            )
            (left, top), (right, bottom) = np.rint(np.array([low, high]) * PX_PER_MM).astype(int)
            grey[top:bottom, left:right] = 250
    _, found, scale = dimensions(grey)
    assert scale.used == 4
    for dimension in (one for one in found if one.agrees):
        k = [length for _, _, length, _, _ in DRAWN].index(dimension.length_mm)
        assert misplaced(dimension, true_ends(k)) < TIP_TOL_PX


def written(figures, mm):
    """Return what agrees of figures beside lines that are so long."""
    texts = [Text(figure, BOX, 0.0, 1.0, (Reading(figure, 1.0),)) for figure in figures]
    spans = [Span(k, (0.0, 90.0 * k), (one * PX_PER_MM, 90.0 * k), False) for k, one in enumerate(mm)]
    return [one.agrees for one in agreed(texts, spans)[0]]


def test_a_fraction_in_lowest_terms_is_as_exact_as_the_finest_of_the_sheet():
    """1-3/8 is 1-12/32 where others are written in 32nds (common practice, no source)."""
    lines = (83.3, 61.1, 52.4, 34.9)  # 3-9/32, 2-13/32, 2-1/16 and 1-3/8 inches, to a tenth
    assert written(('3-9/32"', '2-13/32"', '2-1/16"', '1-3/8"'), lines) == [True] * 4
    assert written(('3-9/32"', '2-13/32"', '2-1/16"', '1-3/8"'), (*lines[:3], 36.3))[3] is False  # a 16th too long


def test_of_many_lines_about_a_text_one_that_fits_a_far_fetched_reading_does_not_agree():
    mm = (60.0, 80.0, 110.0)
    texts = [Text(f"{one:.0f} mm", BOX, 0.0, 1.0, (Reading(f"{one:.0f} mm", 1.0),)) for one in mm]
    spans = [Span(k, (0.0, 90.0 * k), (one * PX_PER_MM, 90.0 * k), False) for k, one in enumerate(mm)]
    doubtful = Text("1", BOX, 0.0, 1.0, (Reading("1", 0.97), Reading("63 mm", 0.03)))
    for count, agrees in ((1, True), (12, False)):
        beside = [Span(3, (0.0, 500.0), ((63.0 + 7 * k) * PX_PER_MM, 500.0), False) for k in range(count)]
        found, _ = agreed([*texts, doubtful], [*spans, *beside])
        assert found[-1].agrees is agrees


def test_a_page_without_dimensions_has_none():
    noise = np.random.default_rng(1).integers(0, 256, (300, 400), np.uint8)
    for grey in (noise, np.full((300, 400), 250, np.uint8)):
        assert dimensions(grey)[1:] == ((), None)
