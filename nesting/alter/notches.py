"""Slots and seats that are open to the edge of a part, found by the way the edge goes round them."""

from __future__ import annotations

import itertools
import math

import numpy as np

from vectorize.shapes.outline import Ring
from vectorize.shapes.segment import Cubic, Line, Segment
from vectorize.shapes.segment_parts import direction_at

MOUTH_DEG = 40.0
"""An edge that turns by this or more goes round a corner at the mouth of a notch."""
ALONG_DEG = 35.0
"""Where a notch is cut into an edge, the edge before it, its mouth and the edge after it lie in line within this."""
BACK_DEG = 45.0
"""A notch turns the edge by half a turn, within this: it leads out again the way it led in."""


def open_notches(ring: Ring) -> tuple[tuple[int, ...], ...]:
    """Return the pieces of each slot, seat or notch that is cut into a counter-clockwise `ring`, as runs of indices.

    That is a run between two outside corners in which the edge turns back by about half a turn, and over whose mouth
    the edges on either side go on in line: an engine slot in a nose, a seat in a fuselage's top, a spar's notch in a
    rib. A hollow between two things that stand out is none.
    """
    count = len(ring.segments)
    corners = [i for i in range(count) if _turn_deg(ring.segments[i - 1], ring.segments[i]) >= MOUTH_DEG]
    found: list[tuple[int, ...]] = []
    for first in corners:
        for last in sorted((c - first) % count for c in corners if c != first):
            run = tuple((first + k) % count for k in range(last))
            if _is_notch(ring, run):
                found.append(run)
                break
    return tuple(run for run in found if not any(set(run) < set(other) for other in found))


def _is_notch(ring: Ring, run: tuple[int, ...]) -> bool:
    pieces = [ring.segments[i] for i in run]
    turns = [_own_turn_deg(piece) for piece in pieces]
    turns += [_turn_deg(before, after) for before, after in itertools.pairwise(pieces)]
    if abs(sum(turns) + 180.0) > BACK_DEG:
        return False
    before, after = ring.segments[run[0] - 1], ring.segments[(run[-1] + 1) % len(ring.segments)]
    mouth = Line(pieces[0].start, pieces[-1].end)
    return mouth.length > 0 and abs(_turn_deg(before, mouth)) < ALONG_DEG > abs(_turn_deg(mouth, after))


def _turn_deg(before: Segment, after: Segment) -> float:
    """Return by how much the way turns to the left from the end of one piece to the beginning of another."""
    (ax, ay), (bx, by) = direction_at(before, 1.0), direction_at(after, 0.0)
    return math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by))


def _own_turn_deg(piece: Segment) -> float:
    """Return by how much a piece turns to the left from its beginning to its end."""
    if isinstance(piece, Line):
        return 0.0
    if not isinstance(piece, Cubic):
        return math.degrees(piece.sweep)
    ways = [direction_at(piece, share) for share in np.linspace(0.0, 1.0, 17)]
    angles = np.unwrap([math.atan2(y, x) for x, y in ways])
    return float(np.degrees(angles[-1] - angles[0]))
