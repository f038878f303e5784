"""What must hold for any parts; the effort is small because properties do not depend on it."""

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from nesting.place.layout_rules import NestRules
from nesting.place.nest_parts import nest_parts
from nesting.place.proof import prove_layout
from nesting.wood.board import Blemish, Board
from nesting.wood.part import Part
from tests.nesting.place.strategies import eighth, part_lists
from vectorize.shapes.outline import Outline, Pose

BOARD = Board("B1", "balsa", 3.0, 400.0, 100.0)
RULES = NestRules("saw", 0.5, 0.5, 6.0, 1.0)
LENGTH_TOL_MM = 1e-6  # moves by eighths are exact, so equal searches give equal lengths

few = settings(
    max_examples=4, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True,
    phases=(Phase.explicit, Phase.generate),  # shrinking a search takes minutes and says little
)  # fmt: skip


def nest(parts, boards=(BOARD,), sweeps=8, **options):
    return nest_parts(parts, boards, rules=RULES, max_sweeps=sweeps, time_limit_s=None, **options)


def wood(layout):
    return len(layout.unplaced), len(layout.boards), sum(b.used_length_mm for b in layout.boards)


@few
@given(part_lists(), st.integers(0, 10))
def test_every_layout_passes_the_proof(parts, seed):
    flawed = replace(BOARD, blemishes=(Blemish(Outline.rectangle(60, 30, 90, 70)),))
    layout = nest(parts, (flawed, replace(BOARD, name="B2")), seed=seed)
    assert layout.proof.is_proved, layout.proof.faults
    assert sum(len(b.placements) for b in layout.boards) == sum(part.copies for part in parts)


@few
@given(part_lists(), st.integers(-2000, 2000), st.integers(-2000, 2000))
def test_where_parts_lie_on_the_plan_does_not_matter(parts, dx, dy):
    shifted = [replace(part, outline=part.outline.placed(Pose(dx, dy))) for part in parts]
    assert wood(nest(shifted)) == pytest.approx(wood(nest(parts)), abs=LENGTH_TOL_MM)


@few
@given(part_lists(), st.sampled_from([90.0, 180.0, 270.0]))
def test_how_parts_are_turned_on_the_plan_does_not_matter(parts, turn):
    turned = [
        replace(p, outline=p.outline.placed(Pose(0, 0, turn)), grain_deg=(p.grain_deg + turn) % 180) for p in parts
    ]
    first, second = nest(turned, sweeps=0), nest(parts, sweeps=0)
    assert first.proof.is_proved
    assert len(first.unplaced) == len(second.unplaced)


@few
@given(part_lists())
def test_names_do_not_matter(parts):
    renamed = [replace(part, name=f"zz{9 - k}") for k, part in enumerate(parts)]
    assert wood(nest(renamed)) == pytest.approx(wood(nest(parts)), abs=LENGTH_TOL_MM)


@few
@given(part_lists(), st.floats(0, 300), st.floats(0, 60))
def test_a_layout_proves_on_any_larger_board(parts, longer, wider):
    layout = nest(parts)
    larger = replace(BOARD, length_mm=BOARD.length_mm + longer, width_mm=BOARD.width_mm + wider)
    assert prove_layout(layout.boards, parts, [larger], RULES, unplaced=layout.unplaced).is_proved


@few
@given(part_lists(), st.integers(0, 5))
def test_a_warm_start_is_never_worse(parts, seed):
    first = nest(parts, sweeps=20)
    again = nest(parts, sweeps=6, seed=seed, start=first)
    assert again.proof.is_proved
    one, other = wood(again), wood(first)
    assert one[:2] <= other[:2]
    assert one[2] <= other[2] + LENGTH_TOL_MM


@few
@given(st.integers(40, 4000), st.integers(40, 4000))
def test_a_part_equal_to_its_board_fits(length, width):
    part = Part("all", Outline.rectangle(7, 9, 7 + length / 8, 9 + width / 8), "balsa", 3.0)
    board = Board("B", "balsa", 3.0, eighth(length / 8), eighth(width / 8))
    layout = nest_parts([part], [board], rules=NestRules("knife", 0, 0, 0, 0), max_sweeps=4, time_limit_s=None)
    assert layout.proof.is_proved
    assert not layout.unplaced
