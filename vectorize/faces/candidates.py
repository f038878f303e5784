"""Which regions of a page are probably parts, most likely first.

Every region that is large enough is asked which part it would belong to: by the evidence of the whole sheet, and on a
sheet with few lines, against which none can be judged, or very many, by growing from line to line. Nothing is a
candidate that is narrower than any part. What its lines explain well comes first; what fills a hole in a larger
candidate comes later, and a list or a frame round the whole plan last.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from vectorize.faces.consider import FEWEST_LINES, crowded_regions, line_odds
from vectorize.faces.face_sets import cost_of, evidence_of, explained
from vectorize.faces.regions import Loop
from vectorize.faces.title_block import lettered_rectangle
from vectorize.shapes.segment import Point

if TYPE_CHECKING:
    from vectorize.faces.any_sheet import Sheet
    from vectorize.scale.plan_scale import PlanScale

LEAST_LENGTH_MM = 8.0
LEAST_WIDTH_MM = 3.5
"""A part is longer and wider than this; smaller regions are letters, holes, or fields of a scale bar."""

FAINT_SHARE = 0.72
"""A boundary with less than this share of the ink of the page's outlines is no outline."""

PLAIN_COST, MOST_COST = 4.0, 30.0
"""A reading that costs no more than one turn, 4, comes before those with odd lines; from 30 on it is no candidate.
Of 132 parts in four hands 124 are among as many first candidates; no other values were tried."""

MOST_REGIONS = 2000
"""Beyond that, under a coarse tint or hatching, the search from each region takes seconds: on a sheet of 5,500 it took
longer than all growing, 45 s of the processor. There candidates grow."""

STROKE_SHARE = 0.9
"""An outline is nearly all lines that come back to their start."""

FRAME_SHARE = 0.5
FEWEST_IN_FRAME = 3
"""A four-sided field over this share of the sheet, with so many candidates in it, is a frame: offered last."""


FIELD_SHARE = 0.05
"""A region beside the boundary is a field of a ruled rectangle if it covers this share; the eye of a letter is not."""


Kind = Literal["part", "waste", "title block", "list", "frame"]


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """Regions that could be a part, a point in them as the drawing counts, and their boundary.

    `kind` is what they most likely are; `waste` fills a cut-out of another candidate.
    """

    regions: frozenset[int]
    point: Point
    exterior: Loop
    holes: tuple[Loop, ...]
    kind: Kind = "part"

    @property
    def area(self) -> float:
        """Return the area within the boundary in square pixels, cut-outs included."""
        return self.exterior.signed_area_px


def find_regions(drawing: Sheet, scale: PlanScale) -> list[Candidate]:
    """Return all regions with the boundary of a part and what each most likely is, the likeliest parts first."""
    regions = drawing.regions
    is_judged = len(regions.work.edges) >= FEWEST_LINES and len(regions.area_px) <= MOST_REGIONS
    plain = _explained(drawing, scale) if is_judged else _outlined(drawing, scale)
    outlined = list(plain)
    lettered = _lettered(drawing, outlined, scale)
    likely = [c for c in outlined if lettered.get(c) != "title block"]
    crowded = crowded_regions(regions)
    frames = [c for c in likely if _is_frame(drawing, c, likely, crowded)]
    depths = dict(zip(likely, _depths(likely, frames), strict=True))
    ranked = sorted(
        outlined,
        key=lambda c: (
            c in lettered or c in frames,
            depths.get(c, 0) % 2,
            not plain[c],
            -c.area,
            c.point,
        ),
    )
    return [replace(c, kind=lettered.get(c) or _kind(c in frames, depths[c])) for c in ranked]


def _kind(is_frame: bool, depth: int) -> Kind:
    if is_frame:
        return "frame"
    return "waste" if depth % 2 else "part"


def _lettered(drawing: Sheet, candidates: list[Candidate], scale: PlanScale) -> dict[Candidate, Kind]:
    """Return those candidates that are title blocks, their fields, or lists, and which of these they are."""
    marks_mm, pen_mm = drawing.marks_mm(scale), drawing.pen_px / scale.px_per_mm
    found: dict[Candidate, Kind] = {}
    for candidate in candidates:
        kind = lettered_rectangle(
            scale.to_mm(candidate.exterior.points),
            marks_mm=marks_mm,
            pen_mm=pen_mm,
            is_ruled=_is_ruled(drawing, candidate),
            is_free=_is_one_stroke(drawing, candidate),
        )
        if kind is not None:
            found[candidate] = kind
    return found


def _is_ruled(drawing: Sheet, candidate: Candidate) -> bool:
    """Whether several regions of some size lie along the inside of the boundary."""
    regions = drawing.regions
    sides = zip(candidate.exterior.ids, candidate.exterior.forwards, strict=True)
    beside = {int(regions.left[k] if forwards else regions.right[k]) for k, forwards in sides}
    return sum(bool(regions.area_px[region] >= FIELD_SHARE * candidate.area) for region in beside) >= 2


def _is_frame(drawing: Sheet, candidate: Candidate, candidates: list[Candidate], crowded: NDArray[np.bool_]) -> bool:
    """Whether a candidate is a four-sided field over most of the sheet with several others in it: a plan's frame.

    On a photograph it is no rectangle. With nothing in it but closed lines it is a part with cut-outs.
    """
    points = candidate.exterior.points.astype(np.float32)
    columns, rows = drawing.regions.extent
    if candidate.area < FRAME_SHARE * columns * rows or not np.any(crowded[sorted(candidate.regions)]):
        return False
    hull = cv2.convexHull(points)
    sides = cv2.approxPolyDP(hull, 0.01 * cv2.arcLength(hull, True), True)
    if len(sides) != 4 or candidate.area < 0.97 * cv2.contourArea(hull):
        return False
    inside = [cv2.pointPolygonTest(points, c.point, False) > 0 for c in candidates if c is not candidate]
    return sum(inside) >= FEWEST_IN_FRAME


def _depths(candidates: list[Candidate], frames: list[Candidate]) -> list[int]:
    """Return how many cut-outs each candidate lies in the edge of: what fills one is waste, what lies in it a part.

    What lies in a frame is not in a cut-out.
    """
    hole_of = {frozenset(loop.ids): k for k, c in enumerate(candidates) if c not in frames for loop in c.holes}
    parents = [hole_of.get(frozenset(c.exterior.ids)) for c in candidates]
    depths = []
    for k in range(len(candidates)):
        seen = [k]
        while (parent := parents[seen[-1]]) is not None and parent not in seen:
            seen.append(parent)
        depths.append(len(seen) - 1)
    return depths


def _is_one_stroke(drawing: Sheet, candidate: Candidate) -> bool:
    """Whether nearly all of the boundary is lines that come back to their start, as an outline does."""
    edges = drawing.regions.work.edges
    lengths = [edges[k].length for k in candidate.exterior.ids]
    is_closed = [drawing.runs.runs[drawing.runs.of_edge[k]].is_closed for k in candidate.exterior.ids]
    closed = sum(length for length, closed in zip(lengths, is_closed, strict=True) if closed)
    return closed > STROKE_SHARE * sum(lengths)


def _outlined(drawing: Sheet, scale: PlanScale) -> dict[Candidate, bool]:
    """Return what grows from each region and is drawn as an outline is, and whether its edge is nearly all one line."""
    grower, heavy = drawing.grower(scale.px_per_mm), _outline_ink(drawing)
    found = _each(drawing, scale, lambda region, point: grower.grown(frozenset({region}), point).regions)
    return {c: _is_one_stroke(drawing, c) for c in found if _is_outlined(drawing, c, heavy)}


def _explained(drawing: Sheet, scale: PlanScale) -> dict[Candidate, bool]:
    """Return the part that each region most likely belongs to, and whether its lines are no more than a little odd."""
    regions, per_mm = drawing.regions, scale.px_per_mm
    odds = line_odds(drawing, per_mm).mean(axis=0)
    evidence, crowded = evidence_of(regions, drawing.runs, odds, px_per_mm=per_mm), crowded_regions(regions)

    def reading(region: int, _: Point) -> frozenset[int]:
        alone = frozenset({region})
        if not crowded[region]:
            return alone
        return next((r.faces for r in explained(regions, evidence, alone, px_per_mm=per_mm)), alone)

    found = _each(drawing, scale, reading)
    costs = {c: cost_of(regions, evidence, c.regions) for c in found}
    return {c: cost <= PLAIN_COST for c, cost in costs.items() if cost <= MOST_COST}


def _each(drawing: Sheet, scale: PlanScale, whole: Callable[[int, Point], frozenset[int]]) -> list[Candidate]:
    """Return the `whole` part of every region that is large enough, each part once."""
    regions = drawing.regions
    least = LEAST_LENGTH_MM * scale.px_per_mm
    spans = regions.boxes[:, 2:] - regions.boxes[:, :2]
    found: dict[frozenset[int], Candidate] = {}
    covered: set[int] = set()
    for region in np.argsort(-regions.area_px, kind="stable").tolist():
        is_small = spans[region].max() < least or regions.area_px[region] < least * least / 6
        if region == 0 or region in regions.outside or region in covered or is_small:
            continue
        point = regions.deepest(region)
        part = whole(region, point)
        covered |= part
        loops = sorted(regions.loops(part), key=lambda loop: -loop.signed_area_px)
        if loops and loops[0].signed_area_px > 0 and _width(loops[0]) >= LEAST_WIDTH_MM * scale.px_per_mm:
            found[part] = Candidate(part, point, loops[0], tuple(loops[1:]))
    return list(found.values())


def _width(loop: Loop) -> float:
    """The mean width: area over half the perimeter."""
    return 2.0 * loop.signed_area_px / max(1.0, sum(edge.length for edge in loop.edges))


def _outline_ink(drawing: Sheet) -> float:
    """The ink that most closed runs of the page carry across, by length."""
    edges = drawing.regions.work.edges
    ids = [
        i
        for run in drawing.runs.runs
        if run.rank >= 2 and not run.is_dashed
        for i in run.edges
        if not edges[i].is_bridge
    ]
    ids = [i for i in ids if np.isfinite(drawing.ink_px[i])]
    if not ids:
        return float("nan")
    ink = drawing.ink_px[ids]
    order = np.argsort(ink)
    reach = np.cumsum(np.array([edges[i].length for i in ids])[order])
    return float(ink[order][np.searchsorted(reach, 0.4 * reach[-1])])


def _is_outlined(drawing: Sheet, candidate: Candidate, heavy: float) -> bool:
    """Whether nearly all of the boundary is drawn as an outline is."""
    edges = drawing.regions.work.edges
    total = weak = 0.0
    for index in candidate.exterior.ids:
        edge = edges[index]
        total += edge.length
        is_faint = drawing.ink_px[index] < FAINT_SHARE * heavy
        weak += edge.length * bool(edge.is_dashed or edge.is_tee or is_faint)
    return weak < 0.08 * total
