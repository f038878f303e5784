"""A drawing as tracing sees a sheet: the same graph, faces, runs and evidence as a scan's, its curves exact.

All is done in a frame of `FRAME_PX` units a millimetre, as a scan of 200 dpi has, so that whoever reads the graph finds
the sizes that it was made for. Pens are what the file says, no measurement.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.cluster.hierarchy import DisjointSet
from scipy.spatial import cKDTree

from vectorize.basics.notes import Note
from vectorize.faces.cutouts import LETTER_MM
from vectorize.faces.growth import Grower
from vectorize.faces.line_features import SheetFeatures, edge_features
from vectorize.faces.sheet import marks_of
from vectorize.faces.stroke_faces import DrawnRegions, divided
from vectorize.faces.stroke_frame import with_frame_outside
from vectorize.faces.stroke_graph import Graph, Pen, drawn_through, graph_of, spots_on
from vectorize.faces.subdivision import arms_of
from vectorize.faces.words import Words
from vectorize.lines.graph import LineWork, pieces_of
from vectorize.lines.runs import Runs, found_runs
from vectorize.lines.split_strokes import Piece, Pieces, cut
from vectorize.lines.stroke_gaps import bridged
from vectorize.lines.touching import shared_stretches
from vectorize.marks.lettering import TextBox
from vectorize.shapes.affine import Affine
from vectorize.shapes.segment import Line, Point, Points
from vectorize.shapes.stroke import Stroke

if TYPE_CHECKING:
    from vectorize.page.plan_page import Page
    from vectorize.scale.plan_scale import PlanScale

FRAME_PX = 8.0

USUAL_PEN_MM = 0.35
"""The pen of a drawing that says nothing of its pens: common practice, no source."""

_FLAT_MM = 0.002
_SNAP_MM = 0.02

HEAD_MM = 8.0
"""A filled shape no larger than this that a line ends in is the head of that line."""

ALONG_MM = 1.0
"""A straight line no farther than this from a picked centre line, all along, is that centre line."""

NEXT_SHARE = 2.2
"""Marks no farther apart than this many times the larger one's size stand in one row."""

ROW_SHARE, HEIGHT_SHARE, OFF_SHARE = 1.5, 0.6, 0.3
"""Marks of one line of lettering are no farther apart than so many heights of the taller, the lower is so high against
it, and their middles lie no farther off one line."""

AROUND_SHARE = 0.45
"""The box round a line of lettering is larger by so much of its height on each side, as the detector's boxes are."""

LIKE_SHARE = 0.03
"""Marks whose boxes differ by less than this are one mark several times, as slots are, and no letters."""


@dataclass(frozen=True, slots=True, eq=False)
class StrokeSheet:
    """A page of strokes read as a sheet; all coordinates are those of the frame.

    `axis` is the centre line that a half is mirrored about; `heads` are arrowheads and dots at the ends of lines.
    """

    work: Pieces
    graph: Graph
    regions: DrawnRegions
    runs: Runs
    ink_px: Points
    pen_px: float
    marks: Points
    heads: tuple[shapely.Polygon, ...] = ()
    axis: tuple[Point, Point] | None = None
    notes: tuple[Note, ...] = ()
    _features: list[SheetFeatures] = field(default_factory=list)
    _shared: list[frozenset[int]] = field(default_factory=list)
    _words: list[Words] = field(default_factory=list)

    def marks_mm(self, scale: PlanScale) -> Points:
        """Return the boxes x0, y0, x1, y1 of all that is drawn in one piece, in mm, (M, 4)."""
        one, other = (scale.to_mm(self.marks[:, k : k + 2]) for k in (0, 2))
        return np.column_stack([np.minimum(one, other), np.maximum(one, other)])

    def words(self, px_per_mm: float) -> Words:
        """Return where words stand: rows of small marks of like height."""
        if not self._words:
            boxes = [*_rows(self.marks, px_per_mm, along=0), *_rows(self.marks, px_per_mm, along=1)]
            self._words.append(Words.among(boxes, self.regions, self.runs))
        return self._words[0]

    def features(self, px_per_mm: float) -> SheetFeatures:
        """Return what is told of every line to those that judge them."""
        if not self._features:
            made = edge_features(
                self.regions,
                self.runs,
                self.ink_px,
                self._half_widths(),
                pen_px=self.pen_px,
                px_per_mm=px_per_mm,
                letters=_letters(self.marks, px_per_mm),
            )
            self._features.append(made)
        return self._features[0]

    def _half_widths(self) -> list[Points]:
        """Return half the width of the line at every point of each edge, that of a head where one is."""
        points, of_edge = spots_on(self.regions.work.edges)
        half = (self.ink_px / 2)[of_edge]
        if self.heads and len(points):
            at, head = shapely.STRtree(_spots(points)).query(self.heads, predicate="contains")[::-1]
            edges = np.array([self.heads[k].exterior for k in head.tolist()])
            inside = shapely.distance(shapely.points(points[at]), edges)
            np.maximum.at(half, at, inside)
        return np.split(half, np.flatnonzero(np.diff(of_edge)) + 1) if len(points) else []

    def runs_along(self, axis: tuple[Point, Point], px_per_mm: float) -> frozenset[int]:
        """Return the runs that lie on the centre line that the sheet was read with."""
        return frozenset(
            k for k, run in enumerate(self.runs.runs) if all(self.graph.pens[edge].is_axis for edge in run.edges)
        )

    def grower(self, px_per_mm: float, axis: tuple[Point, Point] | None = None) -> Grower:
        """Return what finds the regions of a part on this page; a half-plan's axis is never crossed."""
        walls = frozenset() if axis is None else self.runs_along(axis, px_per_mm)
        if not self._shared:
            reach = max(3.0 * self.pen_px, 1.6 * px_per_mm)
            found = shared_stretches(self.regions.work, self.runs, self.ink_px, reach_px=reach, pen_px=self.pen_px)
            self._shared.append(found)
        return Grower(self.regions, self.runs, self.ink_px, walls, self._shared[0])

    def is_axis(self, piece: Piece) -> bool:
        """Return whether a piece lies on the centre line that the sheet was read with."""
        return any(self.work.strokes[n].layer == _AXIS for n in (piece.stroke, *piece.shared))


_AXIS = "centre line of a half"


def read_strokes(
    page: Page, scale: PlanScale, *, gap_mm: float, axis: tuple[Point, Point] | None = None
) -> StrokeSheet:
    """Return the strokes of a page, both in the frame, as a sheet; gaps of up to `gap_mm` are bridged.

    `axis` is the centre line of a half. A straight line that lies along it is taken for it, as it was picked by hand.
    """
    per_mm = scale.px_per_mm
    heads, drawn = _without_heads(
        [stroke for stroke in page.strokes if not stroke.is_filled or stroke.is_closed], per_mm
    )
    strokes = [*drawn, *bridged(drawn, gap=gap_mm * per_mm, snap=_SNAP_MM * per_mm)]
    if axis is not None:
        axis = _line_along(drawn, axis, ALONG_MM * per_mm)
        strokes.append(_axis_stroke(axis, math.hypot(page.width, page.height)))
    work = cut(strokes, flat=_FLAT_MM * per_mm, snap=_SNAP_MM * per_mm)
    usual = _usual_pen(strokes, per_mm)
    pens = [_pen(work, n, usual, len(drawn)) for n in range(len(work.pieces))]
    graph = graph_of(work, pens)
    ink = np.array([pen.width for pen in graph.pens])
    regions = with_frame_outside(divided(work, graph, (page.width, page.height)), ink, per_mm)
    lengths = np.array([edge.length for edge in graph.work.edges])
    pen_px = float(np.sum(ink * lengths) / max(np.sum(lengths), 1e-9)) or usual
    drawn_as_one = drawn_through(work, graph, arms_of(graph.work))
    runs = found_runs(graph.work, ink, px_per_mm=per_mm, pen_px=pen_px, drawn=drawn_as_one)
    return StrokeSheet(work, graph, regions, runs, ink, pen_px, _marks(graph.work, per_mm), heads, axis)


def in_frame(page: Page, scale: PlanScale) -> tuple[Page, PlanScale, float]:
    """Return a page of strokes and its scale in the frame, and how many units of the frame a unit of the page has."""
    k = FRAME_PX / scale.px_per_mm
    larger = Affine(k, 0.0, 0.0, k, 0.0, 0.0)
    strokes = tuple(
        replace(
            stroke,
            segments=larger.segments(stroke.segments),
            pen_width=stroke.pen_width * k,
        )
        for stroke in page.strokes
    )
    matrix = scale.matrix @ np.diag([1 / k, 1 / k, 1.0])
    mm_per_px = (scale.mm_per_px[0] / k, scale.mm_per_px[1] / k)
    framed = replace(scale, matrix=matrix, mm_per_px=mm_per_px, tells=lambda at: f"({at[0] / k:.1f}, {at[1] / k:.1f})")
    return replace(page, strokes=strokes, width=page.width * k, height=page.height * k), framed, k


def _pen(work: Pieces, n: int, usual: float, drawn: int) -> Pen:
    """Return the pen of a piece: the widest of the strokes that run along it, and what else they say."""
    owners = [work.pieces[n].stroke, *work.pieces[n].shared]
    strokes = [work.strokes[k] for k in owners]
    width = max(stroke.pen_width for stroke in strokes) or usual
    is_axis = any(stroke.layer == _AXIS for stroke in strokes)
    is_bridge = all(k >= drawn for k in owners) and not is_axis
    return Pen(width, all(stroke.is_dashed for stroke in strokes), is_bridge, is_axis)


def _usual_pen(strokes: Sequence[Stroke], per_mm: float) -> float:
    """Return the median pen of the strokes that have one; lines without stand for lines like the others."""
    known = [stroke.pen_width for stroke in strokes if stroke.pen_width > 0]
    return float(np.median(known)) if known else USUAL_PEN_MM * per_mm


def _without_heads(strokes: Sequence[Stroke], per_mm: float) -> tuple[tuple[shapely.Polygon, ...], list[Stroke]]:
    """Return the heads of lines, which are filled shapes that open lines end in, and the strokes without them."""
    filled = [stroke for stroke in strokes if stroke.is_filled]
    areas = [shapely.Polygon([p for s in stroke.segments for p in s.flattened(0.5)]) for stroke in filled]
    small = [(s, a) for s, a in zip(filled, areas, strict=True) if max(_size(a)) < HEAD_MM * per_mm]
    ends = [end for s in strokes if not s.is_closed for end in (s.segments[0].start, s.segments[-1].end)]
    if not small or not ends:
        return (), list(strokes)
    tree = shapely.STRtree(_spots(np.array(ends)))
    held = {int(k) for k in tree.query([a for _, a in small], predicate="dwithin", distance=0.3 * per_mm)[0]}
    heads = {id(small[k][0]) for k in held}
    kept = [stroke for stroke in strokes if id(stroke) not in heads]
    return tuple(small[k][1] for k in sorted(held) if small[k][1].is_valid), kept


def _spots(points: Points) -> list[shapely.Point]:
    return [shapely.Point(point) for point in points.tolist()]


def _size(area: shapely.Polygon) -> tuple[float, float]:
    x0, y0, x1, y1 = area.bounds
    return x1 - x0, y1 - y0


def _axis_stroke(axis: tuple[Point, Point], reach: float) -> Stroke:
    a, b = np.array(axis[0]), np.array(axis[1])
    along = (b - a) / max(1e-12, float(np.hypot(*(b - a))))
    start, end = a - along * 2 * reach, b + along * 2 * reach
    return Stroke((Line((float(start[0]), float(start[1])), (float(end[0]), float(end[1]))),), False, layer=_AXIS)


def _line_along(strokes: Sequence[Stroke], axis: tuple[Point, Point], reach: float) -> tuple[Point, Point]:
    """Return the longest straight line that lies along a picked centre line, or that line itself where none does."""
    (ax, ay), (bx, by) = axis
    size = max(math.dist(*axis), 1e-9)
    nx, ny = -(by - ay) / size, (bx - ax) / size

    def away(point: Point) -> float:
        return abs((point[0] - ax) * nx + (point[1] - ay) * ny)

    lines = [s.segments[0] for s in strokes if len(s.segments) == 1 and isinstance(s.segments[0], Line)]
    along = [line for line in lines if max(away(line.start), away(line.end)) < reach]
    longest = max(along, key=lambda line: line.length, default=None)
    return axis if longest is None or longest.length < 0.3 * size else (longest.start, longest.end)


def _marks(work: LineWork, per_mm: float) -> Points:
    """Return the boxes of all that is drawn in one piece, but for cut-outs in a row.

    Lettering holds open lines, or lines that meet: a row of closed lines alone, as slots and bolt holes make, is none.
    """
    of_edge, boxes = pieces_of(work), marks_of(work)
    if len(boxes) != int(of_edge.max(initial=-1)) + 1:
        return boxes  # bridges join what is drawn apart
    count = np.bincount(of_edge, minlength=len(boxes))
    is_loop = np.zeros(len(boxes), np.bool_)
    is_loop[of_edge[[edge.is_loop for edge in work.edges]]] = True
    is_plain = (count == 1) & is_loop
    size = np.max(boxes[:, 2:] - boxes[:, :2], axis=1, initial=0.0)
    small = np.flatnonzero(size < LETTER_MM * per_mm)
    groups = DisjointSet(small.tolist())
    middles = (boxes[small, :2] + boxes[small, 2:]) / 2
    for a, b in cKDTree(middles).query_pairs(NEXT_SHARE * LETTER_MM * per_mm) if len(small) else ():
        if math.dist(middles[a], middles[b]) < NEXT_SHARE * max(size[small[a]], size[small[b]]):
            groups.merge(int(small[a]), int(small[b]))
    rows = [list(group) for group in groups.subsets()]
    cut = [k for row in rows if all(is_plain[k] for k in row) for k in row]
    return np.delete(boxes, cut, axis=0)


def _letters(marks: Points, per_mm: float) -> Points:
    """Return the corners, (M, 4, 2), of boxes round marks that are letters: small, near others, and unlike them."""
    size = marks[:, 2:] - marks[:, :2]
    small = np.flatnonzero(size.max(axis=1, initial=0.0) < LETTER_MM * per_mm)
    if len(small) < 2:
        return np.zeros((0, 4, 2))
    middles, own = (marks[small, :2] + marks[small, 2:]) / 2, size[small]
    pairs = cKDTree(middles).query_pairs(LETTER_MM * per_mm, output_type="ndarray")
    away = np.hypot(*(middles[pairs[:, 0]] - middles[pairs[:, 1]]).T)
    tall = np.maximum(own[pairs[:, 0]].max(axis=1), own[pairs[:, 1]].max(axis=1))
    short = np.minimum(own[pairs[:, 0]].max(axis=1), own[pairs[:, 1]].max(axis=1))
    unlike = np.max(np.abs(own[pairs[:, 0]] - own[pairs[:, 1]]), axis=1) > LIKE_SHARE * tall
    beside_it = (away < 2.0 * tall) & (short > 0.3 * tall) & unlike
    letters = small[np.unique(pairs[beside_it])]
    x0, y0, x1, y1 = marks[letters].T
    return np.stack([np.column_stack(c) for c in ((x1, y0), (x1, y1), (x0, y1), (x0, y0))], axis=1)


def _rows(marks: Points, per_mm: float, *, along: int) -> list[TextBox]:
    """Return boxes round marks that stand in rows along x (`along` 0) or y (1), as one line of lettering does."""
    across = 1 - along
    boxes = marks[(marks[:, 2:] - marks[:, :2]).max(axis=1, initial=0.0) < LETTER_MM * per_mm]
    rows = DisjointSet(range(len(boxes)))
    middles, size = (boxes[:, :2] + boxes[:, 2:]) / 2, boxes[:, 2:] - boxes[:, :2]
    for a, b in cKDTree(middles).query_pairs(2 * LETTER_MM * per_mm) if len(boxes) else ():
        high, low = max(size[a, across], size[b, across]), min(size[a, across], size[b, across])
        gap = abs(middles[a, along] - middles[b, along]) - (size[a, along] + size[b, along]) / 2
        is_level = abs(middles[a, across] - middles[b, across]) < OFF_SHARE * high
        if gap < ROW_SHARE * high and is_level and low > HEIGHT_SHARE * high:
            rows.merge(a, b)
    found = []
    for row in rows.subsets():
        if len(row) > 1:
            members = boxes[list(row)]
            low_corner, high_corner = members[:, :2].min(axis=0), members[:, 2:].max(axis=0)
            around = AROUND_SHARE * (high_corner - low_corner)[across]
            (x0, y0), (x1, y1) = low_corner - around, high_corner + around
            corners = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
            found.append(TextBox.of(np.roll(corners, -along, axis=0), 1.0))
    return found


def affine_of(scale: PlanScale) -> Affine:
    """Return the map of a scale, from pixels of a flat page to millimetres."""
    m = scale.matrix
    return Affine(*(float(v) for v in (m[0, 0], m[1, 0], m[0, 1], m[1, 1], m[0, 2], m[1, 2])))
