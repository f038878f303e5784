"""The ends of a line that thinning has eaten into are taken back to where its ink ends."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest

from vectorize.lines.free_ends import with_whole_ends
from vectorize.lines.graph import LineWork, prune_spurs
from vectorize.lines.skeleton import skeleton_graph
from vectorize.lines.thinning import thinned

PEN_PX = 5.0


def lines_of(mask: np.ndarray) -> tuple[LineWork, LineWork, np.ndarray]:
    """The lines of a mask as thinning leaves them, and with whole ends, and the skeleton then."""
    skeleton = thinned(mask)
    work = prune_spurs(skeleton_graph(skeleton), spur_px=1.2 * PEN_PX)
    return work, *with_whole_ends(work, mask, skeleton, pen_px=PEN_PX)


def band() -> np.ndarray:
    """A line at 45 degrees with a round end at (37, 32), as a scan showed it: thinning walks along it from there."""
    mask = np.zeros((200, 200), np.uint8)
    for row, (first, end) in enumerate([(36, 38), (35, 40), (35, 41), (35, 42), (35, 43)]):
        mask[30 + row, first:end] = 1
    for row in range(5, 40):
        mask[30 + row, 31 + row : 39 + row] = 1
    return mask


def test_a_diagonal_line_reaches_as_far_as_its_ink() -> None:
    before, after, skeleton = lines_of(band())
    eaten, left = (min(math.dist(node, (36.5, 30.0)) for node in work.nodes) for work in (before, after))
    assert eaten > 3 * PEN_PX
    assert left < PEN_PX
    longest = max(after.edges, key=lambda edge: len(edge.points))
    columns, rows = longest.points.astype(int).T
    assert skeleton[rows, columns].all()
    steps = np.hypot(*np.diff(longest.points, axis=0).T)
    assert steps.min() > 0.5
    assert steps.max() < 1.5


@pytest.mark.parametrize("away", [0, 3, 6])
def test_an_end_whose_ink_leads_to_another_line_stays_where_it_is(away: int) -> None:
    mask = band()
    _, whole, _ = lines_of(mask)
    work, skeleton = prune_spurs(skeleton_graph(thinned(mask)), spur_px=1.2 * PEN_PX), thinned(mask)
    # Another line lies across the way to where the ink ends.
    at = min(work.nodes.tolist(), key=lambda node: math.dist(node, (36.5, 30.0)))
    x, y = round(at[0]) - 3 - away, round(at[1]) - 3 - away
    skeleton[y - 4 : y + 5, x] = True
    after, _ = with_whole_ends(work, mask, skeleton, pen_px=PEN_PX)
    assert not np.array_equal(whole.nodes, work.nodes)
    assert np.array_equal(after.nodes, work.nodes)


@pytest.mark.parametrize("angle_deg", [0.0, 20.0, 45.0, 70.0])
def test_what_was_thinned_well_is_left_alone(angle_deg: float) -> None:
    mask = np.zeros((200, 200), np.uint8)
    turn = np.array([math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))])
    one, other = (np.round(100 + far * turn).astype(int).tolist() for far in (-60, 60))
    cv2.line(mask, one, other, 1, 5)
    before, after, _ = lines_of(mask)
    assert np.array_equal(before.nodes, after.nodes)
