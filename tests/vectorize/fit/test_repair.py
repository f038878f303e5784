"""What crosses a line hides some of it; the line goes on under it as its sides do, and a corner stays a corner."""

from __future__ import annotations

import numpy as np

from vectorize.fit.repair import repaired

STEP_MM, PEN_MM = 0.1, 0.45
HIDDEN_MM = 0.06
"""Half of what is allowed anywhere on a clean scan."""


def closed(corner_deg: float) -> tuple[np.ndarray, int]:
    """A round of 4 mm that runs into a straight side, turned by `corner_deg` where they meet; and the index there."""
    angle = np.arange(0, 120, np.degrees(STEP_MM / 4)) * np.pi / 180
    nose = np.column_stack([4 * np.sin(angle), -4 * np.cos(angle)])
    heading = angle[-1] + np.radians(corner_deg)
    along = np.arange(1, 160)[:, None] * STEP_MM
    side = nose[-1] + along * [np.cos(heading), np.sin(heading)]
    back = np.linspace(side[-1], nose[0], 300)[1:-1]
    return np.vstack([nose, side, back]), len(nose)


def hidden(corner_deg: float) -> float:
    """Return how far the repaired line lies from the true one where 1.6 mm about the joint are hidden and disturbed."""
    true, at = closed(corner_deg)
    seen, is_clean = true.copy(), np.ones(len(true), bool)
    window = slice(at - 8, at + 8)
    seen[window] += [0.15, 0.1]
    is_clean[window] = False
    fixed, _ = repaired(seen, is_clean, pen_mm=PEN_MM, step_mm=STEP_MM)
    return float(np.max(np.hypot(*(fixed - true)[window].T)))


def test_a_bend_that_ends_under_a_crossing_line_goes_on_as_it_was_drawn() -> None:
    assert hidden(0.0) < HIDDEN_MM


def test_a_corner_under_a_crossing_line_is_not_smoothed_over() -> None:
    # Left as it was seen, for the corner to be found later.
    assert hidden(60.0) > 0.15
