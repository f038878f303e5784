"""Which lines go on in which where they meet."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from vectorize.lines.graph import Edge, LineWork
from vectorize.lines.runs import found_runs

PEN_PX = 7.0
PX_PER_MM = 12.0


def drawn(*ends: tuple[float, float]) -> np.ndarray:
    """Return points about a pixel apart along straight lines from one end to the next."""
    legs = [np.linspace(a, b, 2 + round(np.hypot(*np.subtract(b, a)))) for a, b in itertools.pairwise(ends)]
    return np.vstack([legs[0], *(leg[1:] for leg in legs[1:])])


@pytest.mark.parametrize(("hatching", "is_outline_whole"), [(1.7, True), (3.9, False)])
def test_of_three_lines_that_meet_the_two_of_one_pen_go_on_in_each_other(
    hatching: float, is_outline_whole: bool
) -> None:
    #  corner __--- a
    #       |/  <- a hatching line goes on almost as the upper side does, whose own corner is a pen width away
    #       b
    a, b, corner = (34.0, 14.0), (22.0, 25.0), (22.0, 17.0)
    work = LineWork(
        np.array([(120.0, -6.0), a, b, (22.0, 110.0)]),
        (
            Edge(0, 1, drawn((120.0, -6.0), a)),
            Edge(1, 2, drawn(a, corner, b)),
            Edge(1, 2, drawn(a, b)),
            Edge(2, 3, drawn(b, (22.0, 110.0))),
        ),
    )
    runs = found_runs(work, np.array([3.9, 4.0, hatching, 3.8]), px_per_mm=PX_PER_MM, pen_px=PEN_PX)
    upper, round_corner, thin, side = runs.of_edge
    assert (upper == round_corner == side) == is_outline_whole
    assert (thin not in {upper, side}) == is_outline_whole
