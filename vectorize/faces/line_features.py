"""What a classifier is told of every line of a sheet: measured, in millimetres or against the sheet's own pens.

Nothing here decides. Absolute widths and darknesses are left out, since they differ from sheet to sheet.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from cv2.typing import MatLike
from numpy.typing import NDArray
from scipy.sparse import coo_array, csr_array

from vectorize.faces.regions import Regions
from vectorize.lines.graph import Edge, pieces_of
from vectorize.lines.runs import Runs
from vectorize.shapes.segment import Points

NEAR_MM, WIDE_MM = 3.0, 12.0
"""Sides of the squares in which the line work about a line is counted."""

CELL_MM = 0.5
"""What lies about a line is counted in square cells of this side."""

LETTERS_NEAR_MM = 5.0
"""Nearness to lettering falls off over this distance."""

END_MM = 3.0
"""How far from the end of a line its arrowhead is looked for."""

HATCH_MM = 6.0
"""Parallel lines of hatching lie nearer than this."""

Floats = NDArray[np.float64]
Relation = tuple[csr_array, csr_array]

FEATURE_NAMES = (
    "length",
    "run length",
    "run spread",
    "run slenderness",
    "run on page",
    "run circle misfit",
    "run circle turn",
    "lines end on run",
    "lines cross run",
    "ink",
    "ink known",
    "ink rank",
    "width",
    "end width",
    "other end width",
    "bridge",
    "tee",
    "dashed",
    "bridge length",
    "chord share",
    "bulge",
    "least degree",
    "most degree",
    "goes on",
    "stops on a line",
    "free ends",
    "run closed",
    "run loose ends",
    "run stems",
    "run edges",
    "component edges per length",
    "component spread",
    "component edges",
    "component length",
    "smaller face",
    "larger face",
    "narrower face",
    "wider face",
    "ground beside",
    "same face",
    "smaller face roundness",
    "larger face roundness",
    "near lines",
    "lines around",
    "parallels",
    "lettered",
    "letters near",
)


@dataclass(frozen=True, slots=True, eq=False)
class SheetFeatures:
    """Features of all edges, (E, F), and how edges are related.

    A relation is two matrices: the first, (G, E), averages over the edges of each group, the second, (E, G), hands
    each edge the average of its groups.
    """

    values: Floats
    relations: tuple[Relation, ...]


def edge_features(
    regions: Regions,
    runs: Runs,
    ink_px: Points,
    half_px: Sequence[Floats],
    *,
    pen_px: float,
    px_per_mm: float,
    letters: Points | None = None,
) -> SheetFeatures:
    """Return the features of every edge of a sheet's line work.

    Args:
        regions: The faces and line work.
        runs: How edges continue each other.
        ink_px: Ink across each edge, nan where unknown.
        half_px: Half the width of the line at every point of each edge; see `half_widths`.
        pen_px: The sheet's mean pen width.
        px_per_mm: Pixels per millimetre.
        letters: (M, 4, 2) corners of boxes round lettering, in pixels, where known.
    """
    edges = regions.work.edges
    of_run = np.array(runs.of_edge, np.int64)
    of_piece = pieces_of(regions.work)
    wide = np.flatnonzero([edge.wide is not None for edge in edges])
    of_piece[wide] = of_piece.max(initial=-1) + 1 + np.arange(len(wide))  # each by itself
    length = np.array([edge.length for edge in edges]) / px_per_mm
    columns = [
        *_of_runs(edges, runs, of_run, length, regions.extent, px_per_mm),
        *_of_ink(edges, ink_px, of_run, length, half_px, pen_px, px_per_mm),
        *_of_shape(edges, length, px_per_mm),
        *_of_ends(regions, runs),
        *_of_pieces(edges, of_piece, length, px_per_mm),
        *_of_faces(regions, length, px_per_mm),
        *_of_company(edges, of_run, regions.extent, letters, px_per_mm),
    ]
    values = np.column_stack([np.log1p(length), *columns])
    assert values.shape[1] == len(FEATURE_NAMES), values.shape
    return SheetFeatures(values, _relations(regions, runs, of_run, of_piece, length))


def _grouped(group: NDArray[np.int64], values: Floats) -> Floats:
    """Return for each member the sum of its group."""
    return np.asarray(np.bincount(group, values)[group], np.float64)


def _spread(edges: tuple[Edge, ...], group: NDArray[np.int64]) -> tuple[Floats, Floats]:
    """Return, for each edge, width and height in pixels of the box round all edges of its group, (E, 2) each corner."""
    count = int(group.max(initial=-1)) + 1
    low, high = np.full((count, 2), np.inf), np.full((count, 2), -np.inf)
    np.minimum.at(low, group, [edge.points.min(axis=0) for edge in edges])
    np.maximum.at(high, group, [edge.points.max(axis=0) for edge in edges])
    return low[group], high[group]


def _of_runs(
    edges: tuple[Edge, ...],
    runs: Runs,
    of_run: NDArray[np.int64],
    length: Floats,
    extent: tuple[float, float],
    px_per_mm: float,
) -> list[Floats]:
    low, high = _spread(edges, of_run)
    box = (high - low) / px_per_mm
    whole = _grouped(of_run, length)
    longest = box.max(axis=1)
    slender = np.array([_slenderness([edges[k].points for k in run.edges]) for run in runs.runs])[of_run]
    page = np.max((high - low) / np.array(extent), axis=1)
    circles = np.array([_circle([edges[k].points for k in run.edges]) for run in runs.runs])[of_run]
    met = np.array(_met(edges, runs, of_run), np.float64)[:, of_run]
    return [np.log1p(whole), np.log1p(longest), slender, page, circles[:, 0], circles[:, 1], *np.log1p(met)]


def _circle(pieces: list[Points]) -> tuple[float, float]:
    """Return how far points lie off the circle through them, against its radius (1 at most), and how far they turn.

    The circle is fitted algebraically (Kasa 1976, doi:10.1109/TIM.1976.6312298).
    """
    points = np.vstack(pieces)
    points = points[:: max(1, len(points) // 200)] - points.mean(axis=0)
    if len(points) < 5:
        return 1.0, 0.0
    matrix = np.column_stack([2 * points, np.ones(len(points))])
    (x, y, k), *_ = np.linalg.lstsq(matrix, np.sum(points**2, axis=1), rcond=None)
    radius = math.sqrt(max(k + x * x + y * y, 1e-9))
    away = np.hypot(points[:, 0] - x, points[:, 1] - y) - radius
    bins = np.floor((np.arctan2(points[:, 1] - y, points[:, 0] - x) + np.pi) * 18 / np.pi).astype(np.int64)
    return min(1.0, float(np.sqrt(np.mean(away**2))) / radius), len(np.unique(bins)) / 36.0


def _met(edges: tuple[Edge, ...], runs: Runs, of_run: NDArray[np.int64]) -> tuple[Floats, Floats]:
    """Return for each run how many others end on it, and how many cross it."""
    through: dict[int, set[int]] = defaultdict(set)
    ending: dict[int, list[int]] = defaultdict(list)
    for k, edge in enumerate(edges):
        for side, node in ((0, edge.start), (1, edge.end)) if edge.wide is None else ():
            (through[node].add if (k, side) in runs.partner else ending[node].append)(int(of_run[k]))
    ends, crossings = np.zeros(len(runs.runs)), np.zeros(len(runs.runs))
    for node, here in through.items():
        for run in here:
            ends[run] += len(ending[node])
            crossings[run] += len(here) - 1
    return ends, crossings


def _slenderness(pieces: list[Points]) -> float:
    """Return the spread of points across their main direction against that along it: 0 for a straight line."""
    points = np.vstack(pieces)
    if len(points) < 3:
        return 0.0
    small, large = np.linalg.eigvalsh(np.cov(points.T))
    return float(np.sqrt(max(small, 0.0) / max(large, 1e-9)))


def _of_ink(
    edges: tuple[Edge, ...],
    ink_px: Points,
    of_run: NDArray[np.int64],
    length: Floats,
    half_px: Sequence[Floats],
    pen_px: float,
    px_per_mm: float,
) -> list[Floats]:
    is_known = np.isfinite(ink_px)
    ink = np.where(is_known, ink_px, 0.0)
    weight = np.where(is_known, length, 0.0)
    of_its_run = _grouped(of_run, ink * weight) / np.maximum(_grouped(of_run, weight), 1e-9)
    ink = np.where(is_known, ink, of_its_run)
    heavy = _quantile(ink, weight, 0.7)
    share = np.clip(ink / max(heavy, 1e-9), 0.0, 3.0)
    order = np.argsort(ink, kind="stable")
    rank = np.empty(len(ink))
    rank[order] = np.cumsum(weight[order]) / max(float(weight.sum()), 1e-9)
    widths = [half / (0.5 * pen_px) for half in half_px]
    far = max(2, round(END_MM * px_per_mm))
    ends = np.array([sorted((w[:far].max(), w[-far:].max())) for w in widths])
    mean = np.array([np.median(w) for w in widths])
    return [share, is_known.astype(np.float64), rank, mean, ends[:, 0], ends[:, 1]]


def half_widths(edges: Sequence[Edge], mask: NDArray[np.uint8]) -> list[Floats]:
    """Return half the width of the ink at every point of each edge; `mask` is 1 on ink, [row, column]."""
    half = cv2.distanceTransform(mask, cv2.DIST_L2, 5)
    return [_values_at(half, edge.points) for edge in edges]


def _values_at(half: MatLike, points: Points) -> Floats:
    column, row = np.round(points).astype(np.intp).T
    rows, columns = half.shape
    return np.asarray(np.asarray(half)[np.clip(row, 0, rows - 1), np.clip(column, 0, columns - 1)], np.float64)


def _quantile(values: Floats, weights: Floats, share: float) -> float:
    order = np.argsort(values, kind="stable")
    reach = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(reach, share * reach[-1])]) if len(values) and reach[-1] > 0 else 1.0


def _of_shape(edges: tuple[Edge, ...], length: Floats, px_per_mm: float) -> list[Floats]:
    is_bridge = np.array([edge.is_bridge for edge in edges], np.float64)
    chord = np.array([np.hypot(*(edge.points[-1] - edge.points[0])) for edge in edges]) / px_per_mm
    bulge = np.array([_bulge(edge.points) for edge in edges]) / px_per_mm
    return [
        is_bridge,
        np.array([edge.is_tee for edge in edges], np.float64),
        np.array([edge.is_dashed for edge in edges], np.float64),
        is_bridge * np.log1p(length),
        chord / np.maximum(length, 1e-9),
        np.log1p(bulge),
    ]


def _bulge(points: Points) -> float:
    (x0, y0), (x1, y1) = points[0], points[-1]
    size = float(np.hypot(x1 - x0, y1 - y0))
    if size < 1.0:
        return float(np.max(np.hypot(points[:, 0] - x0, points[:, 1] - y0)))
    return float(np.max(np.abs((points[:, 0] - x0) * (y1 - y0) - (points[:, 1] - y0) * (x1 - x0)))) / size


def _of_ends(regions: Regions, runs: Runs) -> list[Floats]:
    work = regions.work
    degrees = np.minimum(work.degrees(), 5)
    ends = np.array([(degrees[e.start], degrees[e.end]) for e in work.edges], np.float64).reshape(-1, 2)
    goes_on = np.array(
        [[(k, side) in runs.partner for side in (0, 1)] for k in range(len(work.edges))], np.float64
    ).reshape(-1, 2)
    of_edge = [runs.runs[k] for k in runs.of_edge]
    counts = np.log1p(np.array([len(run.edges) for run in of_edge], np.float64))
    return [
        ends.min(axis=1),
        ends.max(axis=1),
        goes_on.sum(axis=1),
        ((1 - goes_on) * (ends > 2)).sum(axis=1),
        (ends == 1).sum(axis=1).astype(np.float64),
        np.array([run.is_closed for run in of_edge], np.float64),
        np.array([min(run.loose, 3) for run in of_edge], np.float64),
        np.array([min(run.stems, 3) for run in of_edge], np.float64),
        counts,
    ]


def _of_pieces(edges: tuple[Edge, ...], of_piece: NDArray[np.int64], length: Floats, px_per_mm: float) -> list[Floats]:
    low, high = _spread(edges, of_piece)
    count = np.bincount(of_piece)[of_piece].astype(np.float64)
    whole = _grouped(of_piece, length)
    return [
        count / np.maximum(whole, 1.0),
        np.log1p((high - low).max(axis=1) / px_per_mm),
        np.log1p(count),
        np.log1p(whole),
    ]


def _of_faces(regions: Regions, length: Floats, px_per_mm: float) -> list[Floats]:
    sides = np.column_stack([regions.left, regions.right])
    area = regions.area_px / px_per_mm**2
    bounds = np.bincount(sides.ravel(), np.repeat(length, 2), minlength=len(area))
    width = 2 * area / np.maximum(bounds, 1e-9)
    is_ground = np.zeros(len(area))
    is_ground[list(regions.outside)] = 1.0
    areas = np.sort(np.log1p(area)[sides], axis=1)
    roundness = np.minimum(4 * np.pi * area / np.maximum(bounds**2, 1e-9), 1.2)
    by_area = np.take_along_axis(roundness[sides], np.argsort(area[sides], axis=1, kind="stable"), axis=1)
    widths = np.sort(np.log1p(width)[sides], axis=1)
    return [
        areas[:, 0],
        areas[:, 1],
        widths[:, 0],
        widths[:, 1],
        is_ground[sides].max(axis=1),
        (sides[:, 0] == sides[:, 1]).astype(np.float64),
        by_area[:, 0],
        by_area[:, 1],
    ]


def _of_company(
    edges: tuple[Edge, ...],
    of_run: NDArray[np.int64],
    extent: tuple[float, float],
    letters: Points | None,
    px_per_mm: float,
) -> list[Floats]:
    cell_px = CELL_MM * px_per_mm
    size = (int(extent[1] / cell_px) + 2, int(extent[0] / cell_px) + 2)
    cells = [np.asarray(edge.points / cell_px, np.float64) for edge in edges]
    column, row = np.vstack(cells).astype(np.intp).T
    lines = np.zeros(size, np.float32)
    np.add.at(lines, (np.clip(row, 0, size[0] - 1), np.clip(column, 0, size[1] - 1)), 1.0 / px_per_mm)
    around = []
    for side_mm in (NEAR_MM, WIDE_MM):
        k = 2 * round(side_mm / CELL_MM / 2) + 1
        density = cv2.boxFilter(lines, cv2.CV_32F, (k, k), normalize=False)
        around.append(np.array([_values_at(density, points).mean() for points in cells]) / side_mm)
    near = np.zeros(len(edges))
    wide = np.zeros(len(edges))
    if letters is not None and len(letters):
        text = np.zeros(size, np.uint8)
        for box in letters:
            cv2.fillConvexPoly(text, np.round(box / cell_px).astype(np.int32), (1,))
        inked = text.astype(np.float32)
        near = np.array([_values_at(inked, points).mean() for points in cells])
        away = cv2.distanceTransform(1 - text, cv2.DIST_L2, 3) * np.float32(CELL_MM)
        wide = np.exp(-np.array([_values_at(away, points).mean() for points in cells]) / LETTERS_NEAR_MM)
    return [*around, _parallels(edges, of_run, px_per_mm), near, wide]


def _parallels(edges: tuple[Edge, ...], of_run: NDArray[np.int64], px_per_mm: float) -> Floats:
    """Return how many lines of other runs, straight and parallel, lie beside the middle of each edge (log1p)."""
    from scipy.spatial import cKDTree

    middles = np.array([edge.points[len(edge.points) // 2] for edge in edges])
    steps = np.array([edge.points[-1] - edge.points[0] for edge in edges])
    size = np.hypot(*steps.T)
    unit = steps / np.maximum(size, 1e-9)[:, None]
    is_long = np.flatnonzero(size > 1.0 * px_per_mm)
    found = np.zeros(len(edges))
    if len(is_long) < 2:
        return found
    pairs = cKDTree(middles[is_long]).query_pairs(HATCH_MM * px_per_mm, output_type="ndarray")
    one, other = is_long[pairs[:, 0]], is_long[pairs[:, 1]]
    is_parallel = np.abs(np.sum(unit[one] * unit[other], axis=1)) > 0.995
    is_apart = of_run[one] != of_run[other]
    both = is_parallel & is_apart
    np.add.at(found, one[both], 1.0)
    np.add.at(found, other[both], 1.0)
    return np.log1p(found)


def _relations(
    regions: Regions, runs: Runs, of_run: NDArray[np.int64], of_piece: NDArray[np.int64], length: Floats
) -> tuple[Relation, ...]:
    """Return the averages over what continues an edge, meets it, bounds its faces, its run, its piece, the sheet."""
    count = len(length)
    is_drawn = np.array([edge.wide is None for edge in regions.work.edges], np.bool_)
    # What spans a wide gap may be no line at all: it hears, and is not heard.
    weight = np.where(is_drawn, np.maximum(length, 0.05), 0.0)
    numbers = np.arange(count)
    partners = np.array([(a, b) for (a, _), (b, _) in runs.partner.items()], np.int64).reshape(-1, 2)
    ends = np.array([(e.start, e.end) for e in regions.work.edges], np.int64).reshape(-1, 2)
    sides = np.column_stack([regions.left, regions.right])
    is_inner = ~np.isin(sides, list(regions.outside)).ravel() & np.repeat(is_drawn, 2)
    twice, both = np.repeat(numbers, 2), np.repeat(weight, 2)
    own = csr_array((np.ones(count), (numbers, numbers)), shape=(count, count))
    return (
        (_averaged(coo_array((np.ones(len(partners)), partners.T), shape=(count, count)).tocsr()), own),
        _through(twice, ends.ravel(), np.repeat(is_drawn, 2).astype(np.float64), count),
        _through(twice[is_inner], sides.ravel()[is_inner], both[is_inner], count),
        _through(numbers, of_run, weight, count),
        _through(numbers, of_piece, weight, count),
        _through(numbers, np.zeros(count, np.int64), weight, count),
    )


def _through(
    edge: NDArray[np.int64], group: NDArray[np.int64], weight: Floats, count: int
) -> tuple[csr_array, csr_array]:
    """Return the average over all edges that share a group, each by its weight."""
    groups = int(group.max(initial=-1)) + 1
    gather = _averaged(coo_array((weight, (group, edge)), shape=(groups, count)).tocsr())
    spread = _averaged(coo_array((np.ones(len(edge)), (edge, group)), shape=(count, groups)).tocsr())
    return gather, spread


def _averaged(matrix: csr_array) -> csr_array:
    """Return the matrix with each row scaled to a sum of one (rows of nothing stay)."""
    total = np.asarray(matrix.sum(axis=1)).ravel()
    scale = np.divide(1.0, total, out=np.zeros_like(total), where=total > 0)
    return csr_array(matrix.multiply(scale[:, None]))
