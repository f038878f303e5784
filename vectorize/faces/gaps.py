"""What speaks for an outline that goes on over a wide gap: nearness, good continuation, likeness, and its two lines.

The cues add up as log-odds, each with its own weight (Elder & Goldberg 2002, doi:10.1167/2.4.5).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from vectorize.lines.graph import LineWork, WideGap

Floats = NDArray[np.float64]

GAP_CUES = (
    "bias",
    "log of mm",
    "bend",
    "unlikeness",
    "corner",
    "less likely line",
    "likelier line",
)

GAP_WEIGHTS = (0.3, -0.8, -0.9, -0.6, -0.85, 0.36, 0.27)
"""From `fixtures.training.gap_worth`: 159 gaps on 36 sheets of as many hands, 113 in outlines, told with an area
under the curve of 0.89 on sheets left out. Two weights are not as fitted (1.62 and 0.2): stretches of 2 to 6 mm were
rubbed out of those sheets, as many of every length. Of the gaps that are laid over a sheet one in five is taken to be
an outline's, and of those three times as many to be 2 mm as 6 mm. Both are chosen, not measured."""

MOST_LINE_ODDS = 4.0
"""A line tells of a gap at its end up to these log-odds."""


def gap_cues(gap: WideGap, line_odds: Floats) -> Floats:
    """Return the cues of a gap, as `GAP_CUES` names them; `line_odds` are those at its two ends."""
    low, high = np.sort(np.clip(line_odds, -MOST_LINE_ODDS, MOST_LINE_ODDS))
    return np.array(
        [
            1.0,
            np.log(max(gap.length_mm, 0.1)),
            gap.bend_deg / 30.0,
            1.0 - gap.likeness,
            float(gap.is_corner),
            low,
            high,
        ]
    )


def odds_at_ends(work: LineWork, odds: Floats) -> dict[WideGap, Floats]:
    """Return for each wide gap the log-odds of the likeliest line at either end; `odds`, (E,), are of all edges."""
    at_nodes = work.at_nodes()
    gaps = dict.fromkeys(edge.wide for edge in work.edges if edge.wide is not None)
    return {gap: np.array([max(odds[k] for k in at_nodes[node]) for node in gap.ends]) for gap in gaps}


def with_gap_odds(work: LineWork, odds: Floats) -> Floats:
    """Return log-odds by several networks, (N, E), with those of edges over wide gaps told by their cues."""
    spans = [(k, edge.wide) for k, edge in enumerate(work.edges) if edge.wide is not None]
    told = odds.copy()
    for row, of_lines in zip(told, odds, strict=True):
        ends = odds_at_ends(work, of_lines)
        for k, gap in spans:
            row[k] = float(gap_cues(gap, ends[gap]) @ np.array(GAP_WEIGHTS))
    return told
