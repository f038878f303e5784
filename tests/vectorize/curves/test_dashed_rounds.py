"""A dashed outline turns in its spaces as it does along its dashes."""

from __future__ import annotations

from pathlib import Path

import pytest

from fixtures.cases import case
from fixtures.compare import aligning_pose, compare
from fixtures.opening import opened
from vectorize.trace import trace_picks

EDGE_MM = 0.12  # what is aimed at on a clean scan


@pytest.mark.slow
def test_a_space_between_a_round_and_a_corner_close_by_follows_the_round(tmp_path: Path) -> None:
    plan = opened(sample := case("doublers").make(tmp_path, 635))
    found = {part.name: part.outline for part in trace_picks(plan.page, plan.scale, plan.picks, plan.settings).parts}
    plate = found["plate"].placed(aligning_pose(found, sample.truth.outlines))
    assert compare(plate, sample.truth.outlines["plate"]).worst_mm < EDGE_MM
