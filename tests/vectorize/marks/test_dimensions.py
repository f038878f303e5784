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


def test_a_page_without_dimensions_has_none():
    noise = np.random.default_rng(1).integers(0, 256, (300, 400), np.uint8)
    for grey in (noise, np.full((300, 400), 250, np.uint8)):
        assert dimensions(grey)[1:] == ((), None)
