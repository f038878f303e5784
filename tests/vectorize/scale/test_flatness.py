"""The frame of a sheet that did not lie flat bends, and the edges of its parts are stated the less sure."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.vectorize.inked_lines import Sheet
from vectorize.basics.notes import Note
from vectorize.faces.part_pick import PartPick
from vectorize.fit.edge_uncertainty import uncertainty
from vectorize.page import Page
from vectorize.scale.fit_scale import fit_scale
from vectorize.scale.flatness import wave_mm
from vectorize.scale.plan_scale import PlanScale
from vectorize.shapes.outline import Outline
from vectorize.trace.trace_page import TracedPart, trace_picks

WIDTH, HEIGHT = 280.0, 190.0
CORNERS = [(0.0, HEIGHT), (WIDTH, HEIGHT), (WIDTH, 0.0), (0.0, 0.0)]


def frame(wave: float, margin: float = 6.0) -> list[NDArray[np.float64]]:
    """Return the four lines of a frame, each a wave and a half of that height in mm."""
    share = np.linspace(0.0, 1.0, 200)
    bent = wave * np.sin(3 * np.pi * share)
    x, y = margin + share * (WIDTH - 2 * margin), margin + share * (HEIGHT - 2 * margin)
    return [
        np.column_stack([x, margin + bent]),
        np.column_stack([x, HEIGHT - margin + bent]),
        np.column_stack([margin + bent, y]),
        np.column_stack([WIDTH - margin + bent, y]),
    ]


def test_a_wave_is_told_by_its_root_mean_square() -> None:
    """Of a sine, its height over the root of two; a wave and a half also leans, which is taken out."""
    assert wave_mm(frame(0.0)) == pytest.approx(0.0, abs=1e-9)
    assert wave_mm(frame(1.0)) == pytest.approx(1.0 / np.sqrt(2.0), rel=0.1)


def test_curves_inside_the_sheet_tell_nothing() -> None:
    share = np.linspace(0.0, 1.0, 100)
    side = np.column_stack([20 + 120 * share, 50 + 3 * np.sin(np.pi * share)])
    assert wave_mm([*frame(0.0), side]) == pytest.approx(0.0, abs=1e-9)
    assert wave_mm([]) == 0.0


def photo(wave: float) -> tuple[Page, PlanScale, Sheet]:
    sheet = Sheet(WIDTH, HEIGHT, dpi=130, pen_mm=0.5)
    for line in frame(wave):
        sheet.line(line)
    sheet.shape([(40, 40), (110, 40), (110, 75), (40, 75)])
    page = sheet.page(seed=1)
    corners = [sheet.pick(*corner) for corner in CORNERS]
    return page, fit_scale(page, sheet_mm=(WIDTH, HEIGHT), corners=corners), sheet


def part_of(wave: float) -> tuple[TracedPart, list[Note]]:
    page, scale, sheet = photo(wave)
    trace = trace_picks(page, scale, [PartPick("plate", (sheet.pick(70, 60),))])
    return trace.parts[0], [note for note in trace.notes if note.code == "not-flat"]


def test_a_part_on_a_sheet_with_waves_is_stated_as_unsure_and_left_open() -> None:
    part, (note,) = part_of(0.8)
    assert note.state == "open"
    assert note.part == "plate"
    assert "press it flat" in note.text
    assert part.sigma_edge_mm > 0.3


def test_a_part_on_a_flat_sheet_is_not() -> None:
    part, notes = part_of(0.0)
    assert notes == []
    assert part.sigma_edge_mm < 0.1


def test_waves_add_to_both_sigmas_as_independent_errors_do() -> None:
    _, scale, _ = photo(0.0)
    outline = Outline.rectangle(0, 0, 60, 20)
    flat, waved = (uncertainty(outline, replace(scale, wave_mm=wave), spread_mm=0.02) for wave in (0.0, 0.3))
    assert waved[0] ** 2 - flat[0] ** 2 == pytest.approx(0.3**2)
    assert waved[1] ** 2 - flat[1] ** 2 == pytest.approx((0.3 * 20) ** 2)
