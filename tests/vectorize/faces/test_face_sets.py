import itertools
from dataclasses import replace

import numpy as np
import pytest

from tests.vectorize.faces.line_nets import PER_MM, divided_page, grid
from vectorize.faces.face_sets import Evidence, Reading, cost_of, evidence_of, explained
from vectorize.faces.regions import Regions
from vectorize.faces.together import SHEET_COST, read_together, without_ground

LEAST_PX = 10.0


def _at(regions: Regions, column: int, row: int = 0) -> int:
    face = regions.at((50.0 + 60 * column, 50.0 + 60 * row))
    assert face is not None
    return face


def test_a_line_that_is_no_outline_is_read_across() -> None:
    nodes, pairs = grid(2, 1)
    regions, runs = divided_page(nodes, pairs)
    odds = np.where([pair == (1, 4) for pair in pairs], -4.0, 4.0)
    evidence = evidence_of(regions, runs, odds, px_per_mm=PER_MM)
    first, second = explained(
        regions, evidence, frozenset({_at(regions, 0)}), px_per_mm=PER_MM, count=2, least_px=LEAST_PX
    )
    assert first.faces == {_at(regions, 0), _at(regions, 1)}
    assert second.faces == {_at(regions, 0)}
    assert second.cost - first.cost == pytest.approx(4.0 * np.sqrt(15.0), abs=0.01)


@pytest.mark.parametrize("seed", range(25))
def test_the_cheapest_readings_are_those_of_trying_all(seed: int) -> None:
    """Against all 2 ** 8 sets of faces, each priced by the plain sum that `cost_of` makes."""
    regions, runs = divided_page(*grid(3, 3))
    odds = np.random.default_rng(seed).normal(0.0, 3.0, len(regions.work.edges))
    evidence = evidence_of(regions, runs, odds, px_per_mm=PER_MM)
    picked = _at(regions, 1, 1)
    others = [face for face in range(2, len(regions.area_px)) if face != picked]
    sets = (frozenset({picked, *some}) for k in range(9) for some in itertools.combinations(others, k))
    costs = sorted(
        (cost_of(regions, evidence, faces), faces) for faces in sets if _is_in_one_piece(regions, faces, picked)
    )
    readings = explained(regions, evidence, frozenset({picked}), px_per_mm=PER_MM, count=2, least_px=LEAST_PX)
    for reading, (cost, _) in zip(readings, costs, strict=False):
        assert cost_of(regions, evidence, reading.faces) == pytest.approx(cost, abs=0.02)


def _is_in_one_piece(regions: Regions, faces: frozenset[int], picked: int) -> bool:
    seen, queue = {picked}, [picked]
    while queue:
        for _, other in regions.neighbours()[queue.pop()]:
            if other in faces and other not in seen:
                seen.add(other)
                queue.append(other)
    return seen == faces


def test_a_boundary_does_not_turn_where_two_outlines_cross() -> None:
    """Two bars drawn over one another, picked where only one of them lies: the whole of it is the part.

        1   2
    8---+---+---9
    10--+---+---11
        5   6
    """
    regions, runs = divided_page(*grid(3, 3))
    work = regions.work
    is_bar = np.array([_in_bar(work.nodes[[e.start, e.end]]) for e in work.edges])
    evidence = evidence_of(regions, runs, np.where(is_bar, 5.0, -5.0), px_per_mm=PER_MM)
    (reading,) = explained(regions, evidence, frozenset({_at(regions, 0, 1)}), px_per_mm=PER_MM)
    assert reading.faces == {_at(regions, column, 1) for column in range(3)}


def _in_bar(ends: np.ndarray) -> bool:
    """Whether an edge of a 3 by 3 grid lies on the middle row's or the middle column's outline."""
    (x0, y0), (x1, y1) = np.round((ends - 20) / 60)
    if y0 == y1:
        return y0 in (1, 2) or {x0, x1} == {1, 2}
    return x0 in (1, 2) or {y0, y1} == {1, 2}


def test_two_parts_never_hold_each_other() -> None:
    nodes, pairs = grid(2, 1)
    regions, runs = divided_page(nodes, pairs)
    odds = np.where([pair == (1, 4) for pair in pairs], -4.0, 4.0)
    evidence: Evidence = evidence_of(regions, runs, odds, px_per_mm=PER_MM)
    picks = [frozenset({_at(regions, 0)}), frozenset({_at(regions, 1)})]
    one, other = read_together(regions, [evidence] * 2, picks, px_per_mm=PER_MM, least_px=LEAST_PX)
    assert [one.readings[0].faces, other.readings[0].faces] == picks


FRAMED = [(10, 10), (390, 10), (390, 390), (10, 390)] + [
    (x + dx, 150 + dy) for x in (60, 240) for dx, dy in ((0, 0), (90, 0), (90, 90), (0, 90))
]
"""A frame round the page with two squares in it."""


def test_what_goes_round_most_of_the_page_and_other_parts_is_read_as_ground() -> None:
    rings = [(k, k + 1 - 4 * (k % 4 == 3)) for k in range(12)]
    regions, _ = divided_page(FRAMED, rings)
    ground, one, other = (regions.at(at) for at in ((30.0, 30.0), (100.0, 200.0), (280.0, 200.0)))
    sheet, part = Reading(frozenset({ground, one}), 0.0), Reading(frozenset({one}), SHEET_COST - 1.0)
    assert without_ground(regions, [sheet, part], frozenset({other})) == [part]
    # With no other pick in it, or where nothing else is plausible, it may be a plate or a ring.
    assert without_ground(regions, [sheet, part], frozenset()) == [sheet, part]
    assert without_ground(regions, [sheet], frozenset({other})) == [sheet]
    dear = replace(part, cost=SHEET_COST + 1.0)
    assert without_ground(regions, [sheet, dear], frozenset({other})) == [sheet, dear]
