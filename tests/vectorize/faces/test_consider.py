import json
from pathlib import Path

import numpy as np
import pytest

from fixtures.hands import draw_file
from fixtures.training.examples import example, opened
from tests.vectorize.inked_lines import Sheet, circle_points
from vectorize.basics.errors import PickError
from vectorize.faces.consider import Considered
from vectorize.faces.doubts import DOUBTS
from vectorize.faces.outline_odds import shipped_judge
from vectorize.faces.sheet import read_drawing
from vectorize.scale.fit_scale import fit_scale
from vectorize.shapes.alternative import Alternative
from vectorize.trace.rings import InkRings
from vectorize.trace.trace_page import PartPick, Trace, TraceSettings, trace_picks
from vectorize.trace.trace_sheet import picked_part, trace_one

UNSEEN = range(9_000_000, 9_000_003)
"""Sheets that no network was trained on."""

LEAST_AREA_UNDER_CURVE = 0.93
"""Measured on plans of other hands: 0.94 to 1.00, except in faint pencil."""


def _divided(with_line_pen_mm: float = 0.5) -> Sheet:
    sheet = Sheet(dpi=200).shape([(15, 15), (85, 15), (85, 45), (15, 45)])
    return sheet.line([(50, 15), (50, 45)], pen_mm=with_line_pen_mm)


def _traced(sheet: Sheet, *picks: PartPick, sure: float = 0.9) -> Trace:
    page = sheet.page(seed=3)
    return trace_picks(page, fit_scale(page, sheet.known()), picks, TraceSettings(sure=sure))


def test_another_reading_is_taken_by_adding_its_points() -> None:
    sheet = _divided()
    pick = PartPick("plate", (sheet.pick(30, 30),))
    (first,) = _traced(sheet, pick).parts
    other = max(first.alternatives, key=lambda other: other.sure)
    chosen = PartPick("plate", (*pick.inside, *other.inside), cutouts=other.cutouts)
    (second,) = _traced(sheet, chosen).parts
    assert second.outline.area_mm2 == pytest.approx(other.outline.area_mm2, rel=1e-6)
    assert second.outline.area_mm2 != pytest.approx(first.outline.area_mm2, rel=0.1)


def test_two_halves_that_are_both_picked_are_two_parts() -> None:
    sheet = _divided()
    parts = _traced(sheet, PartPick("left", (sheet.pick(30, 30),)), PartPick("right", (sheet.pick(70, 30),))).parts
    assert [part.outline.area_mm2 for part in parts] == pytest.approx([35 * 30, 35 * 30], rel=0.01)


def test_rings_one_in_the_other_are_rings() -> None:
    sheet = Sheet(dpi=200).shape(*(circle_points(50, 30, radius) for radius in (9, 14, 20)))
    picks = [PartPick(f"ring {x}", (sheet.pick(50 + x, 30),)) for x in (4, 12, 17)]
    found = [part.outline.area_mm2 for part in _traced(sheet, *picks).parts]
    assert found == pytest.approx([np.pi * a for a in (81, 196 - 81, 400 - 196)], rel=0.01)


def test_a_part_that_is_drawn_over_another_is_no_hole_in_it_and_the_other_way_is_told() -> None:
    sheet = Sheet(dpi=200).shape([(10, 12), (90, 12), (90, 48), (10, 48)], [(40, 20), (60, 20), (60, 35), (40, 35)])
    picks = [PartPick("side", (sheet.pick(20, 40),)), PartPick("former", (sheet.pick(50, 28),))]
    side, former = _traced(sheet, *picks).parts
    assert [side.outline.area_mm2, former.outline.area_mm2] == pytest.approx([80 * 36, 300], rel=0.01)
    assert [other.outline.area_mm2 for other in side.alternatives] == pytest.approx([80 * 36 - 300], rel=0.01)


def test_a_part_that_is_less_sure_than_asked_for_is_left_open_with_its_place() -> None:
    sheet = _divided()
    trace = _traced(sheet, PartPick("plate", (sheet.pick(30, 30),)), sure=1.0)
    (note,) = (note for note in trace.notes if note.code == "doubtful")
    assert note.state == "open"
    assert note.part == "plate"
    assert note.at is not None
    assert "% sure" in note.text
    assert not [
        n for n in _traced(sheet, PartPick("plate", (sheet.pick(30, 30),)), sure=0.0).notes if n.state == "open"
    ]


def test_probabilities_of_all_readings_add_up_to_one_at_most() -> None:
    sheet = _divided()
    (part,) = _traced(sheet, PartPick("plate", (sheet.pick(30, 30),))).parts
    shares = [part.sure, *(other.sure for other in part.alternatives)]
    assert all(0.0 <= share <= 1.0 for share in shares)
    assert sum(shares) <= 1.0 + 1e-9
    assert shares[1:] == sorted(shares[1:], reverse=True)


def test_a_part_of_which_no_reading_was_found_is_the_grown_one_and_left_open(monkeypatch) -> None:
    monkeypatch.setattr("vectorize.faces.together.explained", lambda *given, **how: [])
    sheet = _divided()
    trace = _traced(sheet, PartPick("plate", (sheet.pick(30, 30),)))
    assert [part.outline.area_mm2 for part in trace.parts] == pytest.approx([35 * 30], rel=0.01)
    assert [note.code for note in trace.notes if note.state == "open"] == ["doubtful"]


def test_the_note_of_a_doubtful_part_gives_the_points_of_the_likeliest_other_reading() -> None:
    sheet = _divided()
    trace = _traced(sheet, PartPick("plate", (sheet.pick(30, 30),)), sure=1.0)
    (note,) = (note for note in trace.notes if note.code == "doubtful")
    other = trace.parts[0].alternatives[0]
    for x, y in [*other.inside, *other.cutouts][:2]:
        assert f"({x:.0f}, {y:.0f})" in note.text.split("add to its table")[1]


def test_the_shipped_weights_weigh_as_many_doubts_as_there_are() -> None:
    assert shipped_judge().sure_weights.shape == (DOUBTS,)


def test_another_reading_comes_back_from_its_json() -> None:
    sheet = _divided()
    (part,) = _traced(sheet, PartPick("plate", (sheet.pick(30, 30),))).parts
    for other in part.alternatives:
        again = Alternative.from_json(json.loads(json.dumps(other.as_json())))
        assert again.outline == other.outline
        assert np.allclose(again.at, other.at, atol=0.01)
        assert (again.sure, again.why) == (other.sure, other.why)


@pytest.mark.slow
@pytest.mark.parametrize("seed", UNSEEN)
def test_outlines_are_told_from_other_lines_on_a_sheet_in_an_unseen_hand(seed: int, tmp_path: Path) -> None:
    data, truth = draw_file(seed)
    drawing, scale = opened(data, truth, tmp_path)
    sheet = example(str(seed), drawing, scale, truth)
    odds = shipped_judge().odds(sheet.features).mean(axis=0)
    is_outline = sheet.is_outline > 0.5
    weight = np.sqrt(sheet.length_mm)
    above = odds[is_outline][:, None] > odds[~is_outline][None, :]
    pairs = weight[is_outline][:, None] * weight[~is_outline][None, :]
    assert np.sum(above * pairs) / np.sum(pairs) > LEAST_AREA_UNDER_CURVE


def test_a_reading_that_gives_no_outline_makes_room_for_the_next_and_the_part_stays_open() -> None:
    sheet = Sheet(dpi=200).shape([(10, 15), (40, 15), (40, 45), (10, 45)], [(55, 15), (85, 15), (85, 45), (55, 45)])
    page = sheet.page(seed=3)
    scale = fit_scale(page, sheet.known())
    rings = InkRings(read_drawing(page, scale, gap_mm=2.0))
    picked = picked_part(rings, scale, PartPick("plate", (sheet.pick(25, 30),)))
    apart = picked.regions | picked_part(rings, scale, PartPick("other", (sheet.pick(70, 30),))).regions
    considered = Considered((apart, picked.regions), (0.95, 0.05), (0.0,) * DOUBTS)
    part, notes = trace_one(rings, scale, picked, considered, TraceSettings())
    assert part.outline.area_mm2 == pytest.approx(30 * 30, rel=0.01)
    assert part.sure == pytest.approx(0.05)
    assert [note.code for note in notes if note.state == "open"] == ["doubtful"]
    with pytest.raises(PickError):
        trace_one(rings, scale, picked, Considered((apart,), (0.95,), (0.0,) * DOUBTS), TraceSettings())
