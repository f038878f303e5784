"""Doubtful places of a fitted ring settled by the ink: is it a corner, a blunt end, or a smooth bend?

Where a line turns within a pen width, or another line crosses it, its measured middle no longer tells what was drawn.
The ink still does: each way in which the line may run through such a place is drawn with the measured pen and held
against the picture, and the way that leaves least unexplained is taken.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from vectorize.fit.ink_view import InkView, Pen, measured_pen
from vectorize.fit.joint_hypotheses import JointHypothesis, Side
from vectorize.fit.place_by_ink import PLAIN_SHARE, flattened, sharp_ends, turn_deg
from vectorize.fit.way_by_ink import DoubtfulCorner, best_way
from vectorize.shapes.outline import Ring
from vectorize.shapes.primitives import Shape
from vectorize.shapes.segment import Arc, Points, Segment

SHORT_MM = 1.6
SHORT_PENS = 2.2
"""Pieces shorter than both are judged together with the joints at their ends."""

DISTURBED_TIMES = 4.0
"""A piece so many times longer than `SHORT_PENS` was not made by what disturbs a line at one place.

Pieces of 1.5 to 4.2 mm along disturbed points led to corners up to 0.6 mm off on drawn sheets of 150 to 300 dpi; below
200 dpi a whole thin line may look disturbed and is right.
"""

CARRIED_MM, CARRIED_SHARE = 0.1, 0.4
"""Undisturbed points so near (twice the noise of a worn scan), over such a share of its length, carry a piece."""

ROUND_MM = 1.2
"""A tighter arc may stand for the corners of a blunt end."""

LEAST_TURN_DEG = 12.0
"""A place that turns by less at each joint is smooth already."""

SLIVER_MM = 0.03

PLAIN_DEG = (50.0, 130.0)
"""Where a line turns by so much, what its sides lack of the corner shows as a notch in the ink."""


def resolve_corners_by_ink(
    ring: Ring, sight: InkView, *, pen_mm: float, seen: Points | None = None, shapes: Sequence[Shape | None] = ()
) -> tuple[Ring, tuple[DoubtfulCorner, ...]]:
    """Return the ring with every doubtful place as the ink shows it, and the places that stay in doubt.

    A place that the ink does not tell stays as it was fitted.

    `seen` are the measured points, (N, 2) in mm, that nothing disturbed: only what they carry leads up to a place.
    `shapes` are what each segment was fitted as; without them that is told from the segments, whose ends may have been
    moved to meet.
    """
    if ring.as_circle() is not None:
        return ring, ()
    pen = measured_pen(ring, sight, pen_mm)
    places = _places(ring.segments, pen_mm, seen, sight.step_mm)
    if pen is None or not places:
        return ring, ()
    now = list(ring.segments)
    lines = {k: flattened([segment]) for k, segment in enumerate(now)}
    between: dict[int, tuple[Segment, ...]] = {}
    doubts: list[DoubtfulCorner] = []
    shortest_mm = _shortest_end(ring, places, sight, pen, pen_mm, shapes)
    for first, last in places:
        inner = [now[k % len(now)] for k in range(first + 1, last)]
        here = {k % len(now) for k in range(first, last + 1)}
        arms = (
            Side.of(now[first], pen_mm, shapes[first] if shapes else None),
            Side.of(now[last % len(now)], pen_mm, shapes[last % len(now)] if shapes else None, is_after=True),
        )
        rest = [line for k, line in lines.items() if k not in here]
        rest += [flattened(way) for way in between.values() if way]
        fitted = JointHypothesis(now[first], tuple(inner), now[last % len(now)])
        way, doubt = best_way(fitted, arms, rest, sight, pen, shortest_mm=shortest_mm)
        doubts += [] if doubt is None else [doubt]
        now[first], between[first], now[last % len(now)] = way.before, way.between, way.after
        lines.update((k, flattened([now[k]])) for k in (first, last % len(now)))
        for k in range(first + 1, last):
            del lines[k % len(now)]
    return Ring(_without_slivers(_put_together(now, places, between))), tuple(doubts)


def _shortest_end(
    ring: Ring,
    places: Sequence[tuple[int, int]],
    sight: InkView,
    pen: Pen,
    pen_mm: float,
    shapes: Sequence[Shape | None],
) -> float | None:
    """Return by how much the sides of a ring fall short of its plain corners at most (negative), None if nothing tells.

    A pen is lifted at an acute tip as at the other corners: there it shows.
    """
    segments, short = ring.segments, []
    # Where a side falls short by more than the pen a gap was bridged: here its bare paper is what tells.
    bare = replace(sight, gaps=())
    for first, last in places:
        if last != first + 1:
            continue
        before, after = segments[first], segments[last % len(segments)]
        if not PLAIN_DEG[0] <= turn_deg(before, after) <= PLAIN_DEG[1]:
            continue
        arms = (
            Side.of(before, pen_mm, shapes[first] if shapes else None),
            Side.of(after, pen_mm, shapes[last % len(segments)] if shapes else None, is_after=True),
        )
        rest = [flattened([s]) for k, s in enumerate(segments) if k not in (first, last % len(segments))]
        ended = sharp_ends(JointHypothesis(before, (), after), arms, rest, bare, pen)
        if ended is not None:
            short.append(min(0.0, *ended.ends_mm) if ended.exact - ended.seen.left > PLAIN_SHARE else 0.0)
    return min(short) - 0.1 if short else None


def _without_slivers(segments: Sequence[Segment]) -> tuple[Segment, ...]:
    """Return the closed row of segments without pieces that are shorter than anything drawn."""
    kept = [segment for segment in segments if segment.length >= SLIVER_MM]
    if len(kept) < 3:
        return tuple(segments)
    return tuple(
        segment if segment.start == before.end else replace(segment, start=before.end)
        for before, segment in zip((kept[-1], *kept[:-1]), kept, strict=True)
    )


def _put_together(
    now: Sequence[Segment], places: Sequence[tuple[int, int]], between: dict[int, tuple[Segment, ...]]
) -> tuple[Segment, ...]:
    replaced = {k % len(now) for first, last in places for k in range(first + 1, last)}
    found: list[Segment] = []
    for k, segment in enumerate(now):
        if k not in replaced:
            found += [segment, *between.get(k, ())]
    return tuple(found)


def _places(segments: Sequence[Segment], pen_mm: float, seen: Points | None, step_mm: float) -> list[tuple[int, int]]:
    """Return (index of the long piece before, of the one after) of each doubtful place; the second may pass the end."""
    count = len(segments)
    least = max(SHORT_MM, SHORT_PENS * pen_mm)
    long = [k for k in range(count) if segments[k].length >= least and not _is_round_end(segments[k])]
    if seen is not None:
        sure = DISTURBED_TIMES * least
        long = [k for k in long if segments[k].length >= sure or _is_carried(segments[k], seen, step_mm)]
    if len(long) < 2:
        return []
    found = []
    for first, last in zip(long, [*long[1:], long[0] + count], strict=True):
        turns = [turn_deg(segments[k % count], segments[(k + 1) % count]) for k in range(first, last)]
        if last > first + 1 or max(turns) >= LEAST_TURN_DEG:
            found.append((first, last))
    return found


def _is_carried(segment: Segment, seen: Points, step_mm: float) -> bool:
    """Whether undisturbed points, `step_mm` apart, lie along enough of a piece to say where it runs."""
    line = shapely.LineString(flattened([segment]))
    near = np.count_nonzero(shapely.dwithin(shapely.points(seen), line, CARRIED_MM))
    return bool(near * step_mm >= CARRIED_SHARE * segment.length)


def _is_round_end(segment: Segment) -> bool:
    """Whether a piece is so tight an arc that it may stand for the two corners of a blunt end."""
    return isinstance(segment, Arc) and segment.radius < ROUND_MM and segment.length < math.pi * ROUND_MM
