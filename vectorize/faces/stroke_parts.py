"""From a pick on a drawing to the exact outline of the part there."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from vectorize.basics.errors import PickError
from vectorize.basics.notes import Note
from vectorize.faces.stroke_chains import Chain, bounding_chains, chains_crossing, found_chains
from vectorize.faces.stroke_faces import Faces, Loop, Step, divided
from vectorize.faces.stroke_holes import guess_hole
from vectorize.lines.split_strokes import Pieces, between, cut, pinned
from vectorize.lines.stroke_gaps import bridged
from vectorize.page.plan_page import Stroke
from vectorize.page.strokes import Affine
from vectorize.shapes.outline import Outline, Ring
from vectorize.shapes.segment import Line, Point, Points, Segment

if TYPE_CHECKING:
    from vectorize.faces.picking import PartPick
    from vectorize.page.plan_page import Page
    from vectorize.scale.plan_scale import PlanScale

_FLAT_MM = 0.002
_SNAP_MM = 0.02
_OVERSHOOT_MM = 2.0


@dataclass(frozen=True, slots=True, eq=False)
class Plane:
    """A drawing divided into faces by the chains that can bound parts."""

    work: Pieces
    chains: tuple[Chain, ...]
    chains_of: dict[int, frozenset[int]]
    bounding: frozenset[int]
    enclosed: tuple[tuple[int, Polygon], ...]
    faces: Faces
    marks_mm: Points
    mark_of: dict[int, int]
    mark_spots: Points
    drawn: int
    has_axis: bool
    per_mm: float

    def is_bridge(self, piece: int) -> bool:
        """Return whether a piece was not drawn but spans a gap."""
        return self.work.pieces[piece].stroke >= self.drawn

    def is_axis(self, piece: int) -> bool:
        """Return whether a piece lies on the centre line that was picked for a half-plan."""
        owners = {self.work.pieces[piece].stroke, *self.work.pieces[piece].shared}
        return self.has_axis and len(self.work.strokes) - 1 in owners


def read_strokes(
    page: Page,
    scale: PlanScale,
    *,
    gap_mm: float,
    is_dashed: bool = False,
    axis: tuple[Point, Point] | None = None,
) -> Plane:
    """Return the strokes of a page as a plane of faces; `axis` is the centre line of a half-plan.

    Gaps of up to `gap_mm` between ends that point at each other are bridged.
    """
    per_mm = scale.px_per_mm
    drawn = [stroke for stroke in page.strokes if not stroke.is_filled or stroke.is_closed]
    strokes = [*drawn, *bridged(drawn, gap=gap_mm * per_mm, snap=_SNAP_MM * per_mm)]
    if axis is not None:
        strokes.append(_axis_stroke(axis, math.hypot(page.width, page.height)))
    work = cut(strokes, flat=_FLAT_MM * per_mm, snap=_SNAP_MM * per_mm)
    chains = found_chains(work)
    kept = [k for k, c in enumerate(chains) if axis and c.strokes == (len(strokes) - 1,)]
    bounding = bounding_chains(
        work, chains, per_mm=per_mm, overshoot=_OVERSHOOT_MM * per_mm, is_dashed=is_dashed, kept=kept
    )
    members = sorted({n for k in bounding for n in chains[k].pieces})
    marks, mark_of = _marks(work, scale)
    spots = np.zeros((len(marks), 2))
    for n, mark in mark_of.items():
        spots[mark] = work.pieces[n].segment.point_at(0.5)
    return Plane(
        work,
        chains,
        _owners(chains, bounding),
        frozenset(bounding),
        tuple(_enclosed(work, chains, bounding, 5 * _FLAT_MM * per_mm)),
        divided(work, members, flat=_FLAT_MM * per_mm),
        marks,
        mark_of,
        spots,
        len(drawn),
        axis is not None,
        per_mm,
    )


def _owners(chains: Sequence[Chain], bounding: set[int]) -> dict[int, frozenset[int]]:
    """Return the bounding chains that each piece belongs to."""
    owners: dict[int, set[int]] = {}
    for k in bounding:
        for n in chains[k].pieces:
            owners.setdefault(n, set()).add(k)
    return {n: frozenset(ks) for n, ks in owners.items()}


def _axis_stroke(axis: tuple[Point, Point], reach: float) -> Stroke:
    a, b = np.array(axis[0]), np.array(axis[1])
    along = (b - a) / max(1e-12, float(np.hypot(*(b - a))))
    start, end = a - along * 2 * reach, b + along * 2 * reach
    return Stroke((Line((float(start[0]), float(start[1])), (float(end[0]), float(end[1]))),), False, layer="axis")


def _marks(work: Pieces, scale: PlanScale) -> tuple[Points, dict[int, int]]:
    """Return the boxes in mm of all strokes that hang together, and the mark of each piece."""
    from scipy.cluster.hierarchy import DisjointSet

    groups = DisjointSet(range(len(work.nodes)))
    for piece in work.pieces:
        groups.merge(piece.start, piece.end)
    number = {node: n for n, group in enumerate(groups.subsets()) for node in group}
    mark_of = {n: number[piece.start] for n, piece in enumerate(work.pieces)}
    boxes = np.tile([np.inf, np.inf, -np.inf, -np.inf], (len(groups.subsets()), 1))
    for n, piece in enumerate(work.pieces):
        points = scale.to_mm([piece.segment.start, piece.segment.point_at(0.5), piece.segment.end])
        boxes[mark_of[n], :2] = np.minimum(boxes[mark_of[n], :2], points.min(axis=0))
        boxes[mark_of[n], 2:] = np.maximum(boxes[mark_of[n], 2:], points.max(axis=0))
    return boxes, mark_of


def drawn_part(plane: Plane, scale: PlanScale, pick: PartPick) -> tuple[Outline, float, list[Note]]:
    """Return the exact outline of a picked part in mm, its pen width in mm, and notes.

    Raises:
        PickError: The pick lies outside, or in a region that is not closed.
    """
    notes: list[Note] = []
    chosen: set[int] = set()
    for point in pick.inside:
        chosen |= _grown(plane, point, pick, notes)
    loops = plane.faces.boundary(chosen)
    exteriors = [loop for loop in loops if loop.area > 0]
    if len(exteriors) != 1:
        raise PickError(f"{pick.name}: the picked regions do not touch each other; pick what lies between them too.")
    holes = [loop for loop in loops if loop.area < 0]
    holes += [plane.faces.loops[n] for n in plane.faces.islands(chosen)]
    cutouts = [loop.steps for loop in holes if _is_cutout(plane, scale, pick, loop, notes)]
    _note_bridges(plane, pick, exteriors[0].steps, notes)
    exterior = _segments(plane, exteriors[0].steps)
    rings = [_segments(plane, steps) for steps in cutouts]
    if pick.mirror is not None:
        exterior, rings = _mirrored(plane, exteriors[0].steps, rings, pick)
    to_mm = _affine(scale)
    outline = Outline(_ring(exterior, to_mm), tuple(_ring(ring, to_mm) for ring in rings))
    pens = [plane.work.strokes[plane.work.pieces[n].stroke].pen_width for n, _ in exteriors[0].steps]
    return outline, float(np.median(pens)) / plane.per_mm, notes


def _grown(plane: Plane, point: Point, pick: PartPick, notes: list[Note]) -> set[int]:
    """Return the faces of a part: from the picked one across outlines of others that overlap it."""
    start = plane.faces.at(point)
    if start is None:
        raise PickError(
            f"the outline around ({point[0]:.1f}, {point[1]:.1f}) is not closed: nothing drawn encloses the pick."
        )
    own, area = _enclosing_chain(plane, point)
    if own is None or area is None:
        return {start}
    foreign = chains_crossing(plane.work, plane.chains, own, plane.bounding)
    foreign -= {k for k in foreign if plane.has_axis and plane.chains[k].strokes == (len(plane.work.strokes) - 1,)}
    chosen, waiting = {start}, [start]
    while waiting:
        for piece, forwards in plane.faces.loops[waiting.pop()].steps:
            beyond = plane.faces.of_step[piece, not forwards]
            loop = plane.faces.loops[beyond]
            if plane.chains_of[piece] <= foreign and beyond not in chosen and loop.area > 0 and _is_in(loop, area):
                chosen.add(beyond)
                waiting.append(beyond)
                x, y = plane.work.pieces[piece].segment.point_at(0.5)
                text = (
                    f"the outline of another part crosses this one at ({x:.1f}, {y:.1f}); it was not taken as an edge."
                )
                notes.append(Note("crossed", text, part=pick.name, at=(x, y)))
    return chosen


def _is_in(loop: Loop, area: BaseGeometry) -> bool:
    return bool(area.contains(loop.polygon.representative_point()))


def _enclosing_chain(plane: Plane, point: Point) -> tuple[int | None, BaseGeometry | None]:
    """Return the smallest closed chain around a point, and what it encloses."""
    spot = shapely.Point(point)
    around = [(area.area, k, area) for k, area in plane.enclosed if area.contains(spot)]
    if not around:
        return None, None
    _, k, area = min(around, key=lambda row: row[:2])
    return k, area


def _enclosed(work: Pieces, chains: Sequence[Chain], bounding: set[int], flat: float) -> Iterator[tuple[int, Polygon]]:
    """Yield what each closed chain encloses; one that crosses itself encloses several areas."""
    for k in sorted(bounding):
        if chains[k].is_closed:
            segments = [work.pieces[n].segment for n in chains[k].pieces]
            lines = [shapely.LineString([*s.flattened(flat), s.end]) for s in segments]
            for polygon in shapely.get_parts(shapely.polygonize(lines)):
                shapely.prepare(polygon)
                yield k, polygon


def _is_cutout(plane: Plane, scale: PlanScale, pick: PartPick, loop: Loop, notes: list[Note]) -> bool:
    if any(shapely.contains(loop.polygon, shapely.Point(p)) for p in pick.cutouts):
        return True
    own = plane.mark_of[loop.steps[0][0]]
    ring = _ring(_segments(plane, loop.steps), _affine(scale))
    is_hole, what = guess_hole(ring, own=own, boxes_mm=plane.marks_mm)
    if is_hole:
        x, y = loop.points.mean(axis=0)
        notes.append(Note("cutout", f"{what} taken as a cut-out.", part=pick.name, at=(float(x), float(y))))
    return is_hole


def _note_bridges(plane: Plane, pick: PartPick, steps: Sequence[Step], notes: list[Note]) -> None:
    for n, _ in steps:
        segment = plane.work.pieces[n].segment
        if plane.is_bridge(n) and not plane.is_axis(n):
            x, y = segment.point_at(0.5)
            text = f"a gap of {segment.length / plane.per_mm:.2f} mm in the outline at ({x:.1f}, {y:.1f}) was bridged."
            notes.append(Note("bridged", text, part=pick.name, at=(x, y)))


def _segments(plane: Plane, steps: Sequence[Step]) -> list[Segment]:
    """Return the curves along a loop; pieces of one segment that follow each other become one again."""
    pieces = plane.work.pieces
    turn = next((i for i in range(len(steps)) if not _continues(plane, steps[i - 1], steps[i])), 0)
    ordered = [*steps[turn:], *steps[:turn]]
    runs: list[list[Step]] = []
    for step in ordered:
        if runs and _continues(plane, runs[-1][-1], step):
            runs[-1].append(step)
        else:
            runs.append([step])
    segments = []
    for run in runs:
        first, last = (run[0], run[-1]) if run[0][1] else (run[-1], run[0])
        low, high = pieces[first[0]], pieces[last[0]]
        whole = between(plane.work.strokes[low.stroke].segments[low.index], low.low, high.high)
        body = pinned(whole, low.segment.start, high.segment.end)
        segments.append(body if run[0][1] else body.reversed())
    return segments


def _continues(plane: Plane, before: Step, after: Step) -> bool:
    a, b = plane.work.pieces[before[0]], plane.work.pieces[after[0]]
    if before == after or before[1] != after[1] or (a.stroke, a.index) != (b.stroke, b.index):
        return False
    return math.isclose(a.high, b.low) if before[1] else math.isclose(a.low, b.high)


def _mirrored(
    plane: Plane, steps: Sequence[Step], rings: list[list[Segment]], pick: PartPick
) -> tuple[list[Segment], list[list[Segment]]]:
    """Complete a half about the picked centre line: what runs along the line gives way to the mirror image."""
    assert pick.mirror is not None
    on_axis = [plane.is_axis(n) for n, _ in steps]
    if not any(on_axis):
        raise PickError(f"{pick.name}: its outline does not reach the centre line that it is to be mirrored about.")
    turn = next(i for i in range(len(steps)) if on_axis[i - 1] and not on_axis[i])
    ordered = [*steps[turn:], *steps[:turn]]
    body = list(
        itertools.takewhile(lambda s: plane.work.strokes[plane.work.pieces[s[0]].stroke].layer != "axis", ordered)
    )
    if sum(on_axis) + len(body) != len(steps):
        raise PickError(f"{pick.name}: its outline meets the centre line more than twice; pick it in two parts.")
    reflect = _reflection(*pick.mirror)
    half = _segments_open(plane, body)
    other = [piece.reversed() for s in reversed(half) for piece in reversed(reflect.carried(s))]
    mirrored = [[piece.reversed() for s in reversed(ring) for piece in reversed(reflect.carried(s))] for ring in rings]
    return [*half, *other], [*rings, *mirrored]


def _segments_open(plane: Plane, steps: Sequence[Step]) -> list[Segment]:
    return [s if forwards else s.reversed() for s, forwards in ((plane.work.pieces[n].segment, f) for n, f in steps)]


def _reflection(a: Point, b: Point) -> Affine:
    """Return the mirror image about the line through two points."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    square = dx * dx + dy * dy
    cos, sin = (dx * dx - dy * dy) / square, 2 * dx * dy / square
    return Affine(cos, sin, sin, -cos, a[0] - cos * a[0] - sin * a[1], a[1] - sin * a[0] + cos * a[1])


def _affine(scale: PlanScale) -> Affine:
    m = scale.matrix
    return Affine(*(float(v) for v in (m[0, 0], m[1, 0], m[0, 1], m[1, 1], m[0, 2], m[1, 2])))


def _ring(segments: Sequence[Segment], to_mm: Affine) -> Ring:
    return Ring(tuple(piece for segment in segments for piece in to_mm.carried(segment)))
