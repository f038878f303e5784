"""A picture on which lines cannot be told from paper is refused, not guessed at."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.vectorize.inked_lines import Sheet
from vectorize.basics.errors import ScanError
from vectorize.lines.ink import find_ink
from vectorize.page import Page
from vectorize.scale.fit_scale import fit_scale
from vectorize.shapes.outline import Outline
from vectorize.trace.trace_page import PartPick, find_candidates, trace_picks

SHEET = Sheet(60, 40, dpi=150, pen_mm=0.5).shape([(10, 10), (40, 10), (40, 30), (10, 30)])
AREA_MM2 = 30.0 * 20.0


def seen(*, paper: float, ink: float, noise: float = 1.5) -> Page:
    """The sheet with lines of brightness `ink` on paper of brightness `paper`, of 255, with the noise of a sensor."""
    page = SHEET.page()
    assert page.grey is not None
    random = np.random.default_rng(5)
    grey = ink + (paper - ink) * (page.grey / 255.0) + random.normal(0, noise, page.grey.shape)
    return replace(page, grey=np.clip(grey, 0, 255).astype(np.uint8))


def traced(page: Page) -> Outline:
    (part,) = trace_picks(page, fit_scale(page, SHEET.known()), [PartPick("plate", (SHEET.pick(20, 20),))]).parts
    return part.outline


@pytest.mark.parametrize(("paper", "ink"), [(240, 180), (40, 10), (215, 160)])
def test_faint_and_dim_pictures_are_read_as_long_as_lines_stand_out(paper: float, ink: float) -> None:
    assert traced(seen(paper=paper, ink=ink)).area_mm2 == pytest.approx(AREA_MM2, rel=0.005)


def test_a_picture_that_is_nearly_black_is_refused_with_its_brightness() -> None:
    page = seen(paper=9, ink=2)
    with pytest.raises(ScanError, match=r"sheet\.png is too dark to trust: its paper has a brightness of [89] of 255"):
        find_candidates(page, fit_scale(page, SHEET.known()))


def test_a_picture_without_contrast_is_refused_with_what_it_has() -> None:
    page = seen(paper=240, ink=215)
    with pytest.raises(ScanError, match=r"too faint to trust: its darkest marks are \d+ % darker .* must be 16 %"):
        find_candidates(page, fit_scale(page, SHEET.known()))


@pytest.mark.parametrize("is_negative", [False, True])
def test_light_lines_that_stand_close_are_lines_and_not_the_paper_between_them(is_negative: bool) -> None:
    sheet = Sheet(60, 40, dpi=150, pen_mm=0.3)
    # Hatching: the paper between its lines is about as narrow as they are.
    for k in range(40):
        sheet = sheet.line([(4 + 1.3 * k, 4), (4 + 1.3 * k, 36)])
    grey = sheet.grey()
    if is_negative:
        grey = 255 - 0.8 * grey
    ink = find_ink(grey.astype(np.uint8), px_per_mm=150 / 25.4)
    assert ink.is_negative == is_negative
    assert 0.1 < float(ink.mask.mean()) < 0.3  # 40 lines of 32 x 0.3 mm on 60 x 40 mm cover 16 %


def pressed(page: Page, *, lightest: float, darkest: float, noise: float = 2.0) -> Page:
    """A page with its lines drawn in pencil: `darkest` and `lightest` as shares of the paper, along the sheet."""
    assert page.grey is not None
    rows, columns = page.grey.shape
    wave = 0.5 + 0.5 * np.sin(np.arange(columns) / 25.0)[None, :] * np.cos(np.arange(rows) / 18.0)[:, None]
    depth = lightest + (darkest - lightest) * wave
    random = np.random.default_rng(5)
    grey = 230.0 * (1 - depth * (1 - page.grey / 255.0)) + random.normal(0, noise, page.grey.shape)
    return replace(page, grey=np.clip(grey, 0, 255).astype(np.uint8))


def test_a_sheet_that_is_faint_all_over_is_read_where_the_pencil_was_lifted_too() -> None:
    page = pressed(SHEET.page(), lightest=0.13, darkest=0.26)
    trace = trace_picks(page, fit_scale(page, SHEET.known()), [PartPick("plate", (SHEET.pick(20, 20),))])
    assert [note.code for note in trace.notes] == []
    assert trace.parts[0].outline.area_mm2 == pytest.approx(AREA_MM2, rel=0.005)


def test_beside_dark_lines_a_faint_one_is_a_fold() -> None:
    sheet = Sheet(60, 40, dpi=150, pen_mm=0.5).shape([(10, 10), (40, 10), (40, 30), (10, 30)])
    lines = sheet.page().grey
    both = sheet.line([(25, 4), (25, 36)]).page().grey
    assert lines is not None
    assert both is not None
    fold = np.where(lines < 128, lines, 255 - 0.13 * (255 - both.astype(float))).astype(np.uint8)
    ink = find_ink(fold, px_per_mm=150 / 25.4)
    alone = find_ink(lines, px_per_mm=150 / 25.4)
    assert np.count_nonzero(ink.mask) == pytest.approx(np.count_nonzero(alone.mask), rel=0.02)
