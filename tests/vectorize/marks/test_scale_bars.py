"""Scale bars with several figures, drawn where they are known to be."""

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw

from tests.vectorize.marks.lettering.lettered_pages import PX_PER_MM
from vectorize.marks.dimensions import agreed
from vectorize.marks.lettering import Reading, Text
from vectorize.marks.scale_bars import find_bars
from vectorize.marks.spans import find_spans

END_TOL_PX = 1.5  # half a pen line
LEFT_MM, TOP_MM = 30.0, 40.0
LEVEL = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])


def bar(draw, cells, cell_mm):
    """Draw a bar of black and white blocks: ███░░░███░░░"""
    x, y = LEFT_MM * PX_PER_MM, TOP_MM * PX_PER_MM
    high = 2.5 * PX_PER_MM
    far = x + cells * cell_mm * PX_PER_MM
    draw.line([(x, y), (far, y), (far, y + high), (x, y + high), (x, y)], fill=0, width=3)
    for n in range(0, cells, 2):
        draw.rectangle((x + n * cell_mm * PX_PER_MM, y, x + (n + 1) * cell_mm * PX_PER_MM, y + high), fill=0)


def ruled(draw, cells, cell_mm):
    """Draw a line with ticks: |__|__|__|"""
    x, y = LEFT_MM * PX_PER_MM, TOP_MM * PX_PER_MM
    draw.line((x, y, x + cells * cell_mm * PX_PER_MM, y), fill=0, width=3)
    for n in range(cells + 1):
        draw.line((x + n * cell_mm * PX_PER_MM, y - 2 * PX_PER_MM, x + n * cell_mm * PX_PER_MM, y), fill=0, width=3)


def text(said, x_mm, y_mm=TOP_MM + 5.5, sure=0.97):
    x, y = x_mm * PX_PER_MM, y_mm * PX_PER_MM
    wide, high = 1.2 * len(said) * PX_PER_MM, 1.6 * PX_PER_MM
    box = ((x - wide, y - high), (x + wide, y - high), (x + wide, y + high), (x - wide, y + high))
    return Text(said, box, 0.0, sure, (Reading(said, sure),))


def page(drawer=bar, cells=10, cell_mm=10.0):
    picture = Image.new("L", (round(190 * PX_PER_MM), round(90 * PX_PER_MM)), 250)
    drawer(ImageDraw.Draw(picture), cells, cell_mm)
    return np.asarray(picture)


def bars(grey, texts):
    return find_bars((grey < 128).astype(np.uint8), texts, matrix=LEVEL, px_per_mm=PX_PER_MM)


FIGURES = (text("0", LEFT_MM), text("50", LEFT_MM + 50), text("100 MM", LEFT_MM + 101))


@pytest.mark.parametrize("drawer", [bar, ruled])
def test_a_bar_runs_from_nought_to_its_last_figure(drawer):
    (found,) = bars(page(drawer), FIGURES)
    assert found.text == 2
    ends = np.array([found.start[0], found.end[0]]) / PX_PER_MM
    assert ends == pytest.approx([LEFT_MM, LEFT_MM + 100], abs=END_TOL_PX / PX_PER_MM)


def test_a_bar_that_begins_left_of_its_nought_is_measured_from_nought():
    figures = (text("10", LEFT_MM), text("0", LEFT_MM + 10), text("50", LEFT_MM + 60), text("90 mm", LEFT_MM + 101))
    assert bars(page(), figures) == ()  # the 10 on the other side of nought is of no even step
    (found,) = bars(page(), figures[1:])
    assert found.start[0] / PX_PER_MM == pytest.approx(LEFT_MM + 10, abs=END_TOL_PX / PX_PER_MM)


@pytest.mark.parametrize(
    "figures",
    [
        (FIGURES[0], text("60", LEFT_MM + 55), FIGURES[2]),  # stands where 55 would
        (FIGURES[0], text("50", LEFT_MM + 50, TOP_MM + 25), text("100 MM", LEFT_MM + 101, TOP_MM + 25)),
        (FIGURES[2],),
        (text("0", LEFT_MM), text("50", LEFT_MM + 50), text("50", LEFT_MM + 100)),
        (text("0", LEFT_MM), text("0", LEFT_MM + 100)),
    ],
    ids=["uneven", "not beside the bar", "alone", "twice the same", "nothing but noughts"],
)
def test_figures_that_do_not_fit_a_bar_measure_nothing(figures):
    assert bars(page(), figures) == ()


def test_a_bar_on_a_sheet_that_lies_crooked_bears_out_two_other_dimensions():
    picture = Image.fromarray(page())
    pen = ImageDraw.Draw(picture)
    texts = list(FIGURES)
    for y, length in ((15.0, 60.0), (25.0, 80.0)):
        x0, x1, row = LEFT_MM * PX_PER_MM, (LEFT_MM + length) * PX_PER_MM, y * PX_PER_MM
        pen.line((x0, row, x1, row), fill=0, width=3)
        for x in (x0, x1):
            pen.line((x, row - 4 * PX_PER_MM, x, row + 4 * PX_PER_MM), fill=0, width=3)
        texts.append(text(f"{length:g} MM", LEFT_MM + length / 2, y - 2.5))
    grey = np.asarray(picture)
    matrix = cv2.getRotationMatrix2D((grey.shape[1] / 2, grey.shape[0] / 2), 1.2, 1.0)
    crooked = cv2.warpAffine(grey, matrix, grey.shape[::-1], borderValue=250, flags=cv2.INTER_AREA)
    turned = []
    for one in texts:
        corners = np.array(one.box_px) @ matrix[:, :2].T + matrix[:, 2]
        turned.append(Text(one.text, tuple(map(tuple, corners.tolist())), 1.2, one.sure, one.readings))
    dimensions, scale = agreed(turned, find_spans(crooked, turned, px_per_mm=PX_PER_MM))
    by_text = {turned[one.text].text: one for one in dimensions}
    assert by_text["100 MM"].agrees
    assert scale is not None
    assert scale.px_per_mm[0] == pytest.approx(PX_PER_MM, rel=0.002)
