"""Lines that two parts share are cut once: what a later part would repeat is left out of machine files."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from shapely import STRtree
from shapely.geometry import LineString

from nesting.patterns.drawing import Element, Layer, Stroke
from vectorize.shapes.segment import Line, Point, Segment

SAME_LINE_MM = 0.01
"""Lines no farther apart than this are one cut."""
LEAST_SHARED_MM = 0.1


def without_shared_lines(elements: Sequence[Element]) -> list[Element]:
    """Return the elements, with straight stretches of an outline that an earlier part has already left out.

    The outline concerned becomes one or more open lines; all others stay closed. Shared arcs and splines
    are not looked for: parts touch along straight edges.
    """
    cuts = [(i, e) for i, e in enumerate(elements) if isinstance(e, Stroke) and e.layer is Layer.OUTLINE]
    lines = [(i, stroke.part, s) for i, stroke in cuts for s in stroke.segments if isinstance(s, Line)]
    tree = STRtree([LineString([line.start, line.end]) for _, _, line in lines])
    result: list[Element] = []
    for i, element in enumerate(elements):
        if not isinstance(element, Stroke) or element.layer is not Layer.OUTLINE:
            result.append(element)
            continue
        gaps = {}
        for place, segment in enumerate(element.segments):
            if isinstance(segment, Line):
                near = tree.query(LineString([segment.start, segment.end]).buffer(SAME_LINE_MM))
                others = [lines[k][2] for k in sorted(near) if lines[k][0] < i and lines[k][1] != element.part]
                shared = [span for other in others if (span := _shared_span(segment, other)) is not None]
                if shared:
                    gaps[place] = shared
        result.extend(_opened(element, gaps) if gaps else [element])
    return result


def _shared_span(line: Line, other: Line) -> tuple[float, float] | None:
    """The stretch of `line`, as shares of its length, along which `other` runs; None if they only meet or cross."""
    length = line.length
    ux, uy = (line.end[0] - line.start[0]) / length, (line.end[1] - line.start[1]) / length

    def along_and_off(point: Point) -> tuple[float, float]:
        dx, dy = point[0] - line.start[0], point[1] - line.start[1]
        return ux * dx + uy * dy, abs(ux * dy - uy * dx)

    (t0, off0), (t1, off1) = along_and_off(other.start), along_and_off(other.end)
    low, high = max(0.0, min(t0, t1)), min(length, max(t0, t1))
    if max(off0, off1) > SAME_LINE_MM or high - low < LEAST_SHARED_MM:
        return None
    return low / length, high / length


def _opened(stroke: Stroke, gaps: dict[int, list[tuple[float, float]]]) -> Iterator[Stroke]:
    """The stroke as open chains, without the gaps."""
    chains: list[list[Segment]] = [[]]
    for place, segment in enumerate(stroke.segments):
        if place not in gaps:
            chains[-1].append(segment)
            continue
        at = 0.0
        for low, high in sorted(gaps[place]):
            if low > at and _is_long(segment, at, low):
                chains[-1].append(Line(segment.point_at(at), segment.point_at(low)))
            chains.append([])
            at = max(at, high)
        if at < 1.0 and _is_long(segment, at, 1.0):
            chains[-1].append(Line(segment.point_at(at), segment.end))
    if (
        len(chains) > 1
        and chains[0]
        and chains[-1]
        and math.dist(chains[-1][-1].end, chains[0][0].start) < SAME_LINE_MM
    ):
        chains[0] = [*chains.pop(), *chains[0]]
    for chain in chains:
        if chain:
            yield replace(stroke, segments=tuple(chain), is_closed=False)


def _is_long(segment: Segment, low: float, high: float) -> bool:
    return segment.length * (high - low) > SAME_LINE_MM
