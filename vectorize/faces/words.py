"""Where lettering stands: text boxes that hold strokes with open ends, as letters have and cut-outs in a row have not.

The detector of lettering also marks slots, bolt holes and their centre crosses. The shares below are chosen, on sheets
of three hands; on 24 sheets of eight hands two true round holes of 3 and 5 mm were taken for letters, both in parts
that were left open.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from vectorize.faces.regions import Regions
from vectorize.lines.runs import Runs
from vectorize.marks.lettering import TextBox
from vectorize.shapes.segment import Points

LEAST_STROKE = 0.2
"""Such a stroke is at least this long against the height of its box: the leg of a P, half as high as the letter, and no
overshoot at the corner of a slot."""

LEAST_OPEN = 0.3
"""The ends of a free stroke lie this share of its length apart, or it is a slot with a gap."""

HELD_SHARE = 0.9
"""A loop is in a box with this share of its points: a hole is seldom cut by the box round a word."""

LEAST_HEIGHT, MOST_HEIGHT = 0.15, 0.85
"""A box is about twice as high as its capitals; so high against it are the loops of its letters."""

OFF_MIDDLE = 0.25
"""And no farther than this from its middle line, against its height."""

MOST_LENGTH = 2.0
"""Letters that run into each other make loops of up to so many heights of the box."""


OFF_LINE = 0.12
"""Letters stand on one line and reach up to one: their ends are no farther off it than this, against their height.
Chosen on the trainer demo; measured on 24 sheets in eight hands afterwards."""


@dataclass(frozen=True, slots=True, eq=False)
class Words:
    """The boxes of a sheet's words, (M, 4, 2), in pixels as `TextBox` orders its corners.

    `reaches` holds for each box how far its free strokes reach, (K, 2): top and bottom in shares of its height.
    """

    corners_px: Points
    reaches: tuple[Points, ...]

    @classmethod
    def among(cls, boxes: Sequence[TextBox], regions: Regions, runs: Runs) -> Words:
        """Return those text boxes that hold a letter's stroke."""
        strokes = _open_strokes(regions, runs)
        corners = np.array([box.corners_px for box in boxes]).reshape(-1, 4, 2)
        held = [[stroke for stroke in strokes if _is_stroke_in(box, stroke)] for box in corners]
        words = [(box, _reaches(box, inside)) for box, inside in zip(corners, held, strict=True) if inside]
        return cls(np.array([box for box, _ in words]).reshape(-1, 4, 2), tuple(reach for _, reach in words))

    def hold(self, loop_px: Points) -> bool:
        """Return whether a closed line, (N, 2), is a letter's, or runs through letters."""
        return any(_is_letter_of(box, loop_px) for box in self.corners_px)

    def spell(self, loop_px: Points) -> bool:
        """Return whether a closed line, (N, 2), is a letter's beyond doubt: it stands and ends where others do."""
        return any(
            _is_letter_of(box, loop_px) and _is_in_line(box, reach, loop_px)
            for box, reach in zip(self.corners_px, self.reaches, strict=True)
        )


def _open_strokes(regions: Regions, runs: Runs) -> list[Points]:
    """Return the lines that end openly and bound no face.

    One that goes on through a crossing is left out: a hole's centre cross, in it or through its edge.
    """
    work, degrees = regions.work, regions.work.degrees()
    found = []
    for k, node in work.open_ends():
        edge = work.edges[k]
        other, side = (edge.end, 1) if edge.start == node else (edge.start, 0)
        goes_on = (k, side) in runs.partner and degrees[other] > 3
        if regions.left[k] == regions.right[k] and not (edge.is_bridge or edge.is_dashed or goes_on):
            is_free = degrees[other] == 1
            if not is_free or math.dist(edge.points[0], edge.points[-1]) > LEAST_OPEN * edge.length:
                found.append(edge.points)
    return found


def _is_stroke_in(box: Points, stroke: Points) -> bool:
    """Return whether a stroke lies in a box and is long enough for a letter's."""
    low, high = stroke.min(axis=0), stroke.max(axis=0)
    if np.any(low > box.max(axis=0)) or np.any(high < box.min(axis=0)):
        return False
    is_in = np.all(np.abs(_places(box, stroke[[0, len(stroke) // 2, -1]]) - 0.5) <= 0.5)
    return bool(is_in and max(high - low) >= LEAST_STROKE * math.dist(box[1], box[2]))


def _reaches(box: Points, strokes: list[Points]) -> Points:
    """Return the top and bottom of each stroke, (K, 2), in shares of the height of its box."""
    heights = [_places(box, stroke)[:, 1] for stroke in strokes]
    return np.array([(height.min(), height.max()) for height in heights])


def _is_in_line(box: Points, reaches: Points, loop: Points) -> bool:
    """Return whether two strokes at least end where a loop stands, and one where it ends above."""
    heights = _places(box, loop)[:, 1]
    near = np.abs(reaches - [heights.min(), heights.max()]) <= OFF_LINE * np.ptp(heights)
    return bool(near[:, 1].sum() >= 2 and near[:, 0].any())


def _places(box: Points, points: Points) -> Points:
    """Return points in shares of a box's length from its left and of its height from above."""
    a, b, _, d = box
    return np.asarray(np.linalg.solve(np.column_stack([b - a, d - a]), (points - a).T).T)


def _is_letter_of(box: Points, loop: Points) -> bool:
    places = _places(box, loop)
    if np.mean(np.all(np.abs(places - 0.5) <= 0.5, axis=1)) < HELD_SHARE:
        return False
    low, high = places.min(axis=0), places.max(axis=0)
    heights = float(np.hypot(*(box[1] - box[0])) / max(np.hypot(*(box[3] - box[0])), 1e-9))
    is_high = LEAST_HEIGHT <= high[1] - low[1] <= MOST_HEIGHT
    is_between = abs((low[1] + high[1]) / 2 - 0.5) <= OFF_MIDDLE
    return bool(is_high and is_between and (high[0] - low[0]) * heights <= MOST_LENGTH)
