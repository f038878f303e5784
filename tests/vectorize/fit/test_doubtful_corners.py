"""Where the ink at a corner agrees with no way of the line, the part says so; a pen's loose ends are no such place."""

from __future__ import annotations

import math

import pytest

from tests.vectorize.fit.test_loose_corners import GUSSET, HABITS, sides
from tests.vectorize.inked_lines import Sheet, circle_points
from vectorize.basics.notes import Note
from vectorize.faces.part_pick import PartPick
from vectorize.scale.fit_scale import fit_scale
from vectorize.trace.trace_page import TracedPart, trace_picks

PLATE = [(10.0, 8.0), (52.0, 8.0), (52.0, 32.0), (10.0, 32.0)]


def traced(sheet: Sheet) -> tuple[TracedPart, list[Note]]:
    page = sheet.page(seed=1)
    trace = trace_picks(page, fit_scale(page, sheet.known()), [PartPick("plate", (sheet.pick(25, 20),))])
    return trace.parts[0], [note for note in trace.notes if note.code == "doubtful-corner"]


def plate() -> Sheet:
    return Sheet(66, 40, dpi=200, pen_mm=0.4).shape(PLATE)


@pytest.mark.parametrize("at", [(52.5, 32.5), (51.5, 31.5)])
def test_a_blot_on_a_corner_leaves_it_open_at_its_place_and_the_edge_less_sure(at: tuple[float, float]) -> None:
    sheet = plate()
    sheet.filled(circle_points(*at, 0.8, 40))
    part, (note,) = traced(sheet)
    assert note.state == "open"
    assert note.part == "plate"
    assert note.at is not None
    # Within 3 mm of the blot, at 200 dpi.
    assert math.dist(note.at, sheet.pick(*at)) < 3.0 * 200 / 25.4
    clean, notes = traced(plate())
    assert notes == []
    assert part.sigma_edge_mm > 0.2 > 10 * clean.sigma_edge_mm


@pytest.mark.parametrize("habit", HABITS)
def test_sides_that_run_on_or_fall_short_leave_no_doubt(habit: str) -> None:
    sheet = Sheet(66, 40, dpi=250, pen_mm=0.5)
    for line in sides(GUSSET, HABITS[habit]):
        sheet.line(line)
    part, notes = traced(sheet)
    assert notes == []
    assert part.sigma_edge_mm < 0.03
