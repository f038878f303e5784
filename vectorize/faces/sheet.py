"""What every pick on a page shares: its ink, line work, runs and regions."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from vectorize.basics.errors import ScanError
from vectorize.basics.notes import Note
from vectorize.basics.watch import Watcher, unwatched
from vectorize.faces.blank_ground import with_ground
from vectorize.faces.by_hand import Bridge, bridged_ink, check_bridges
from vectorize.faces.growth import Grower
from vectorize.faces.line_features import SheetFeatures, edge_features, half_widths
from vectorize.faces.regions import Regions, divided
from vectorize.faces.words import Words
from vectorize.lines.bridges import with_bridges
from vectorize.lines.centre import Centred, centred, ink_across
from vectorize.lines.dashes import with_dashes
from vectorize.lines.faint import with_faint
from vectorize.lines.free_ends import with_whole_ends
from vectorize.lines.graph import Edge, LineWork, filled, pieces_of, prune_spurs
from vectorize.lines.ink import Ink, find_ink, refuse_unreadable
from vectorize.lines.pen_corners import with_pen_changes
from vectorize.lines.pixel_rounding import is_black_and_white, rounding_px
from vectorize.lines.runs import Runs, found_runs
from vectorize.lines.skeleton import skeleton_graph
from vectorize.lines.split_at_bridges import split_at_intersections
from vectorize.lines.thinning import thinned
from vectorize.lines.torn_crossings import with_crossings
from vectorize.lines.touching import shared_stretches
from vectorize.lines.wide_gaps import with_wide_gaps
from vectorize.marks.lettering import TextBox, find_lettering
from vectorize.shapes.segment import Point, Points

if TYPE_CHECKING:
    from vectorize.page import Page
    from vectorize.page.plan_page import Grey
    from vectorize.scale.plan_scale import PlanScale


@dataclass(frozen=True, slots=True, eq=False)
class Drawing:
    """A page read as a drawing. Lines are measured only where a part needs them, and once.

    `marks` are the boxes x0, y0, x1, y1 in pixels of everything drawn in one piece, (M, 4).
    `ink_px` is what each edge carries across, in pixels of full black, nan where it is too short to tell.
    `rounding_px` is by how much the picture rounds the width of a line; without any grey it `is_black_and_white`.
    `grey` is the page that it was read from.
    """

    grey: Grey
    ink: Ink
    regions: Regions
    runs: Runs
    pen_px: float
    marks: Points
    ink_px: Points
    rounding_px: float = 0.0
    is_black_and_white: bool = False
    _measured: dict[int, Centred] = field(default_factory=dict)
    _boxes: list[Points] = field(default_factory=list)
    _shared: list[frozenset[int]] = field(default_factory=list)
    _lettering: list[tuple[TextBox, ...]] = field(default_factory=list)
    _words: list[Words] = field(default_factory=list)

    def measured(self, index: int) -> Centred:
        """Return the centre line of edge `index`, from its start node to its end node."""
        if index not in self._measured:
            self._measured[index] = self._measure(index)
        return self._measured[index]

    def features(self, px_per_mm: float) -> SheetFeatures:
        """Return what is measured of every line, for those that judge them."""
        letters = np.array([box.corners_px for box in self.lettering(px_per_mm)])
        return edge_features(
            self.regions,
            self.runs,
            self.ink_px,
            half_widths(self.regions.work.edges, self.ink.mask),
            pen_px=self.pen_px,
            px_per_mm=px_per_mm,
            letters=letters.reshape(-1, 4, 2),
        )

    def lettering(self, px_per_mm: float) -> tuple[TextBox, ...]:
        """Return the boxes that the detector of lettering finds; it looks once."""
        if not self._lettering:
            self._lettering.append(find_lettering(self.grey, px_per_mm=px_per_mm))
        return self._lettering[0]

    def words(self, px_per_mm: float) -> Words:
        """Return where words stand."""
        if not self._words:
            self._words.append(Words.among(self.lettering(px_per_mm), self.regions, self.runs))
        return self._words[0]

    def marks_mm(self, scale: PlanScale) -> Points:
        """Return the boxes x0, y0, x1, y1 of all marks in mm, (M, 4)."""
        one, other = (scale.to_mm(self.marks[:, k : k + 2]) for k in (0, 2))
        return np.column_stack([np.minimum(one, other), np.maximum(one, other)])

    def edges_in(self, low: Points, high: Points) -> list[tuple[int, Edge]]:
        """Return the edges, with their indices, whose box reaches into the box from `low` to `high` in pixels."""
        edges = self.regions.work.edges
        if not self._boxes:
            self._boxes.append(np.array([(*e.points.min(axis=0), *e.points.max(axis=0)) for e in edges]).reshape(-1, 4))
        (boxes,) = self._boxes
        near = np.all(boxes[:, :2] <= high, axis=1) & np.all(boxes[:, 2:] >= low, axis=1)
        return [(k, edges[k]) for k in np.flatnonzero(near).tolist()]

    def _measure(self, index: int) -> Centred:
        edge = self.regions.work.edges[index]
        if not edge.is_bridge:
            points, is_drawn = _without_jumps(edge.points)
            found = centred(self.ink.darkness, points, width_px=self.pen_px, rounding_px=self.rounding_px)
            return replace(found, is_clean=found.is_clean & is_drawn)
        line = filled(edge.points)
        count = len(line)
        return Centred(line, np.full(count, self.pen_px), np.full(count, np.nan), np.zeros(count, np.bool_))

    @property
    def notes(self) -> tuple[Note, ...]:
        """Return what reading the page had to say."""
        return self.ink.notes

    def runs_along(self, axis: tuple[Point, Point], px_per_mm: float) -> frozenset[int]:
        """Return the runs that lie on a line within a millimetre."""
        return _runs_along(self.regions.work, self.runs, axis, px_per_mm)

    def grower(self, px_per_mm: float, axis: tuple[Point, Point] | None = None) -> Grower:
        """Return what finds the regions of a part on this page; a half-plan's axis is never crossed."""
        walls = frozenset() if axis is None else self.runs_along(axis, px_per_mm)
        if not self._shared:
            reach = max(3.0 * self.pen_px, 1.6 * px_per_mm)
            found = shared_stretches(self.regions.work, self.runs, self.ink_px, reach_px=reach, pen_px=self.pen_px)
            self._shared.append(found)
        return Grower(self.regions, self.runs, self.ink_px, walls, self._shared[0])


def _without_jumps(points: Points) -> tuple[Points, NDArray[np.bool_]]:
    """Return a chain of pixels with points put in where it jumps, and which of the points are pixels of the chain.

    It jumps to the common node of lines that cross, far where they do so at a shallow angle. There it tells nothing of
    either line.
    """
    jumps = np.flatnonzero(np.hypot(*np.diff(points, axis=0).T) > 2.0)
    if len(jumps) == 0:
        return points, np.ones(len(points), np.bool_)
    pieces = np.split(points, jumps + 1)
    between = [filled(points[k : k + 2])[1:-1] for k in jumps.tolist()]
    parts = [pieces[0], *(part for pair in zip(between, pieces[1:], strict=True) for part in pair)]
    is_drawn = [np.full(len(part), k % 2 == 0) for k, part in enumerate(parts)]
    return np.vstack(parts), np.concatenate(is_drawn)


def _runs_along(work: LineWork, runs: Runs, axis: tuple[Point, Point], px_per_mm: float) -> frozenset[int]:
    """Return the runs that lie on a line within a millimetre."""
    (ax, ay), (bx, by) = axis
    size = max(math.dist(*axis), 1e-9)
    nx, ny = -(by - ay) / size, (bx - ax) / size
    off = [float(np.max(np.abs((e.points[:, 0] - ax) * nx + (e.points[:, 1] - ay) * ny))) for e in work.edges]
    return frozenset(k for k, run in enumerate(runs.runs) if all(off[i] < 1.0 * px_per_mm for i in run.edges))


def read_drawing(
    page: Page, scale: PlanScale, *, gap_mm: float, bridges: Sequence[Bridge] = (), watch: Watcher = unwatched
) -> Drawing:
    """Return the ink, line work and regions of a picture; gaps of up to `gap_mm`, and `bridges`, are closed.

    The shares told to `watch` are those of the time on a large sheet.

    Raises:
        ScanError: A drawing without a picture, one too dark or faint to read, or a bridge that leaves the page.
    """
    if page.grey is None:
        raise ScanError(f"{page.name} is a drawing without a picture; trace its strokes instead.")
    per_mm = scale.px_per_mm
    watch("finding the ink", 0.0)
    ink = find_ink(page.grey, px_per_mm=per_mm)
    refuse_unreadable(page.name, page.grey, ink, px_per_mm=per_mm)
    check_bridges(page, bridges)
    ink = bridged_ink(ink, bridges)
    watch("thinning the lines", 0.35)
    skeleton = thinned(ink.mask)
    pen_px = float(np.count_nonzero(ink.mask)) / max(1.0, float(np.count_nonzero(skeleton)))
    ink, skeleton = with_faint(ink, skeleton, pen_px=pen_px, px_per_mm=per_mm)
    work = prune_spurs(skeleton_graph(skeleton), spur_px=1.2 * pen_px)
    work, skeleton = with_whole_ends(work, ink.mask, skeleton, pen_px=pen_px)
    watch("telling lines apart", 0.7)
    work = with_crossings(work, pen_px=pen_px, reach_px=max(3.0 * pen_px, 1.6 * per_mm))
    work, pen_changes = with_pen_changes(work, ink.darkness, px_per_mm=per_mm, pen_px=pen_px)
    work = with_dashes(work, gap_px=gap_mm * per_mm, px_per_mm=per_mm, pen_px=pen_px, pen_changes=pen_changes)
    watch("closing gaps", 0.8)
    work = with_bridges(work, ink.darkness, gap_px=gap_mm * per_mm, px_per_mm=per_mm, pen_px=pen_px)
    work = with_wide_gaps(work, ink.darkness, gap_px=gap_mm * per_mm, px_per_mm=per_mm, pen_px=pen_px)
    work = split_at_intersections(work)
    watch("dividing into regions", 0.85)
    regions = with_ground(divided(work, rows=skeleton.shape[0], columns=skeleton.shape[1]), scale.to_mm)
    ink_px = ink_across(ink.darkness, [edge.points for edge in work.edges], width_px=pen_px)
    ink_px[[edge.wide is not None for edge in work.edges]] = np.nan
    runs = found_runs(work, ink_px, px_per_mm=per_mm, pen_px=pen_px)
    return Drawing(
        page.grey, ink, regions, runs, pen_px, marks_of(work), ink_px, rounding_px(ink), is_black_and_white(ink)
    )


def marks_of(work: LineWork) -> Points:
    """Return the box of every connected drawing; bridges join nothing."""
    drawn = LineWork(work.nodes, tuple(edge for edge in work.edges if not edge.is_bridge))
    of_edge = pieces_of(drawn)
    boxes = np.tile([np.inf, np.inf, -np.inf, -np.inf], (int(of_edge.max(initial=-1)) + 1, 1))
    for mark, edge in zip(of_edge.tolist(), drawn.edges, strict=True):
        boxes[mark, :2] = np.minimum(boxes[mark, :2], edge.points.min(axis=0))
        boxes[mark, 2:] = np.maximum(boxes[mark, 2:], edge.points.max(axis=0))
    return boxes
