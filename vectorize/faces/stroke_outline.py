"""From the loops of a drawing to exact rings: the pieces of strokes become whole curves again."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence

from vectorize.basics.errors import PickError
from vectorize.faces.regions import Loop
from vectorize.faces.stroke_graph import Graph, Step
from vectorize.lines.split_strokes import Piece, Pieces, between, pinned
from vectorize.shapes.affine import Affine
from vectorize.shapes.outline import Ring
from vectorize.shapes.segment import Point, Segment


def steps_along(graph: Graph, loop: Loop) -> list[Step]:
    """Return the pieces along a loop."""
    return [
        step for k, forwards in zip(loop.ids, loop.forwards, strict=True) for step in _turned(graph.steps[k], forwards)
    ]


def _turned(steps: Sequence[Step], forwards: bool) -> Iterator[Step]:
    if forwards:
        return iter(steps)
    return ((n, not ahead) for n, ahead in reversed(steps))


def curves_along(work: Pieces, steps: Sequence[Step], *, is_closed: bool = True) -> list[Segment]:
    """Return the curves along steps; pieces of one segment that follow each other become one again."""
    turn = next((i for i in range(len(steps)) if not _continues(work, steps[i - 1], steps[i])), 0) if is_closed else 0
    runs: list[list[Step]] = []
    for step in (*steps[turn:], *steps[:turn]):
        if runs and _continues(work, runs[-1][-1], step):
            runs[-1].append(step)
        else:
            runs.append([step])
    return [_whole(work, run) for run in runs]


def _whole(work: Pieces, run: Sequence[Step]) -> Segment:
    first, last = (run[0], run[-1]) if run[0][1] else (run[-1], run[0])
    low, high = work.pieces[first[0]], work.pieces[last[0]]
    whole = between(work.strokes[low.stroke].segments[low.index], low.low, high.high)
    body = pinned(whole, low.segment.start, high.segment.end)
    return body if run[0][1] else body.reversed()


def _continues(work: Pieces, before: Step, after: Step) -> bool:
    a, b = work.pieces[before[0]], work.pieces[after[0]]
    if before == after or before[1] != after[1] or (a.stroke, a.index) != (b.stroke, b.index):
        return False
    return math.isclose(a.high, b.low) if before[1] else math.isclose(a.low, b.high)


def mirrored(
    work: Pieces, steps: Sequence[Step], axis: tuple[Point, Point], is_axis: Callable[[Piece], bool]
) -> list[Segment]:
    """Return a half completed about its centre line: what runs along that gives way to the mirror image.

    Raises:
        PickError: The half does not reach the line, or meets it more than twice.
    """
    on_axis = [is_axis(work.pieces[n]) for n, _ in steps]
    if not any(on_axis):
        raise PickError("its outline does not reach the centre line that it is to be mirrored about.")
    turn = next(i for i in range(len(steps)) if on_axis[i - 1] and not on_axis[i])
    ordered = [*steps[turn:], *steps[:turn]]
    body = list(itertools.takewhile(lambda step: not is_axis(work.pieces[step[0]]), ordered))
    if sum(on_axis) + len(body) != len(steps):
        raise PickError("its outline meets the centre line more than twice; pick it in two parts.")
    half = curves_along(work, body, is_closed=False)
    return [*half, *image(half, axis)]


def image(segments: Sequence[Segment], axis: tuple[Point, Point]) -> list[Segment]:
    """Return the mirror image of a chain of curves, walked so that it goes on round the same way."""
    reflect = _reflection(*axis)
    return [piece.reversed() for piece in reversed(reflect.segments(segments))]


def _reflection(a: Point, b: Point) -> Affine:
    """Return the mirror image about the line through two points."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    square = dx * dx + dy * dy
    cos, sin = (dx * dx - dy * dy) / square, 2 * dx * dy / square
    return Affine(cos, sin, sin, -cos, a[0] - cos * a[0] - sin * a[1], a[1] - sin * a[0] + cos * a[1])


def ring_of(segments: Sequence[Segment], to_mm: Affine) -> Ring:
    """Return the curves as a ring in millimetres."""
    return Ring(to_mm.segments(segments))
