"""Pick edges of an outline: the runs between corners that lie nearest to given points."""

from __future__ import annotations

import math

from vectorize.basics.errors import PartError
from vectorize.shapes.outline import Ring
from vectorize.shapes.ring_crossings import corner_indices, distance_to, nearest_share, points_with_shares
from vectorize.shapes.segment import Point, Segment
from vectorize.shapes.segment_parts import part_of

REACH_MM = 25.0
"""A picked point farther than this from every edge was hardly meant."""


def picked_edges(
    ring: Ring, near: tuple[Point, ...], *, ends: tuple[Point, ...] = (), part: str
) -> tuple[Ring, frozenset[int]]:
    """Return the ring, cut at `ends`, and the indices of its pieces that make up the edges nearest to `near`.

    An edge runs from one corner of more than 20 degrees, or one of `ends`, to the next.

    Args:
        ring: The exterior of a part.
        near: A point on or near each edge that is meant.
        ends: Points on or near the ring at which edges end though there is no corner.
        part: Its name, for the message.

    Raises:
        PartError: A point lies farther than 25 mm from every edge.
    """
    pieces = list(ring.segments)
    corners = {_key(pieces[i].start) for i in corner_indices(ring)}
    for end in ends:
        pieces, at = _split_nearest(pieces, end)
        corners.add(_key(at))
    starts = [i for i, piece in enumerate(pieces) if _key(piece.start) in corners] or [0]
    runs = [_run(begin, end, len(pieces)) for begin, end in zip(starts, [*starts[1:], starts[0]], strict=True)]
    picked: set[int] = set()
    for point in near:
        away = [distance_to([pieces[i] for i in run], point) for run in runs]
        least = min(away)
        if least > REACH_MM:
            raise PartError(
                f"part {part}: the point ({point[0]:.1f}, {point[1]:.1f}) mm picks an edge, but the nearest one is "
                f"{least:.1f} mm away; pick within {REACH_MM:g} mm."
            )
        picked |= set(runs[away.index(least)])
    return Ring(tuple(pieces)), frozenset(picked)


def nearest_on(pieces: tuple[Segment, ...] | list[Segment], point: Point) -> tuple[int, float]:
    """Return (index, parameter) of the place on the pieces that is nearest to `point`."""
    best: tuple[float, int, float] = (math.inf, 0, 0.0)
    for index, segment in enumerate(pieces):
        points, shares = points_with_shares(segment, 0.05)
        rough = min(zip(points, shares, strict=True), key=lambda pair: math.dist(pair[0], point))[1]
        share = nearest_share(segment, point, float(rough))
        best = min(best, (math.dist(segment.point_at(share), point), index, share))
    return best[1], best[2]


def _split_nearest(pieces: list[Segment], point: Point) -> tuple[list[Segment], Point]:
    index, share = nearest_on(pieces, point)
    segment = pieces[index]
    if share < 1e-6 or share > 1 - 1e-6:
        return pieces, segment.start if share < 0.5 else segment.end
    first, second = part_of(segment, 0.0, share), part_of(segment, share, 1.0)
    return [*pieces[:index], first, second, *pieces[index + 1 :]], second.start


def _run(begin: int, end: int, count: int) -> tuple[int, ...]:
    length = (end - begin) % count or count
    return tuple((begin + i) % count for i in range(length))


def _key(point: Point) -> tuple[int, int]:
    return (round(point[0] * 1e6), round(point[1] * 1e6))
