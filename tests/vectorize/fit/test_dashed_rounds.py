"""A dashed outline turns in its spaces as it does along its dashes."""

from __future__ import annotations

from pathlib import Path

import pytest

from fixtures.cases import case
from fixtures.opening import worst_of

EDGE_MM = 0.12  # what is aimed at on a clean scan


@pytest.mark.slow
def test_a_space_between_a_round_and_a_corner_close_by_follows_the_round(tmp_path: Path) -> None:
    assert worst_of(case("doublers").make(tmp_path, 635), "plate") < EDGE_MM
