"""Holes that their form tells: circles, also those that other lines cut, and small rectangles that nothing meets.

A bolt hole with the cross on its middle is four sectors, some of which a reading may hold and others not; its form
says that it is one hole. A square hole of 3 mm, for a spar, is no larger than a letter; but letters stand in words.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from vectorize.basics.notes import Note
from vectorize.faces.cutouts import LEAST_CIRCLE_MM, LEAST_CIRCLE_SHARE, LEAST_TOLD_CIRCLE_MM, guess_cutout
from vectorize.faces.part_pick import PartPick
from vectorize.faces.sure_holes import LikelyHole, goes_round
from vectorize.shapes.primitives import Round, fit_circle
from vectorize.trace.holes import guess_of, is_lettered, outer_and_inner
from vectorize.trace.rings import Rings

if TYPE_CHECKING:
    from vectorize.faces.regions import Loop
    from vectorize.scale.plan_scale import PlanScale
    from vectorize.shapes.segment import Points

MOST_MM = 12.0
"""A larger circle may be an opening in which a part stands, a part drawn over this one, or a wheel."""

STRAIGHT_MM = 0.15
"""A line strays by no more from a straight one: the quarter of a hole of 1.5 mm is bent by 0.22."""

CENTRE_SHARE = 0.35
"""A mark in the middle of a hole ends or crosses no farther from its centre than this share of its radius; the stroke
of a 1 in a balloon ends farther off."""

ROUGH_PX, ROUGH_SHARE = 1.5, 0.5
"""Pieces whose chains of pixels lie no farther off a circle (root mean square), and which fill more than this share of
it, may be a hole although nothing of it is undisturbed."""


LEAST_FILLED = 0.93
"""A rectangle fills at least this share of that round it; an O fills 0.79, a D and a narrow 0 0.89 (by geometry; no
unit; chosen between them and 1)."""

LEAST_SHAPE_MM = 2.0
"""A small hole of another form is at least so long. Of 32 closed lines of 2 to 4 mm that nothing meets and that stand
in parts and in no word, on 40 drawn sheets, 29 were holes: all 27 that were likelier outlines than not. On 40 others,
that nothing was chosen on, all 11 rectangles and 18 small circles cut out of parts were holes; two were left."""

FEWEST_POINTS = 9
"""Three for the circle, and twice as many to see whether they lie on it."""


def likely_holes(rings: Rings, scale: PlanScale) -> tuple[LikelyHole, ...]:
    """Return what may be holes by their form; they are sought once.

    Circles with nothing in them but lines that run across, and small rectangles that nothing meets. Larger ones are
    cut-outs anyway, unless they stand in words.
    """
    if not rings.hole_forms:
        rings.hole_forms.append(tuple(_sought(rings, scale)))
    return rings.hole_forms[0]


def _sought(rings: Rings, scale: PlanScale) -> list[LikelyHole]:
    regions = rings.sheet.regions
    spans = (regions.boxes[:, 2:] - regions.boxes[:, :2]).max(axis=1)
    is_small = (spans <= MOST_MM * scale.px_per_mm) & (regions.area_px > 0)
    is_small[[0, *regions.outside]] = False
    across = _straight_lines(rings, scale)
    found, rest = [], []
    for pieces in _joined_over_lines(rings, is_small, across):
        hole = _whole_circle(rings, scale, pieces, across) or _small_shape(rings, scale, pieces)
        if hole is None:
            rest.append(pieces)
        else:
            found.append(hole)
    # Where the thinning tore a crossing apart, its pieces only share a node.
    pairs = _joined_at_nodes(rings, rest)
    return [*found, *(hole for pieces in pairs if (hole := _torn_circle(rings, scale, pieces)) is not None)]


def unsure_holes(
    rings: Rings, scale: PlanScale, pick: PartPick, chosen: frozenset[int], taken: Iterable[frozenset[int]]
) -> list[Note]:
    """Return an open note for each circle in a part that may be a hole and is too disturbed to be cut out unasked."""
    regions, cut = rings.sheet.regions, frozenset[int]().union(*taken)
    notes = []
    for hole in likely_holes(rings, scale):
        if hole.circle is None or hole.is_plain or hole.regions & cut:
            continue
        if not goes_round(regions, chosen | hole.regions, hole):
            continue
        ((x, y),) = scale.to_px(np.array([hole.circle.centre])).tolist()
        text = (
            f"what may be a round hole of {2 * hole.circle.radius:.1f} mm that other lines cut was not cut out at "
            f"{scale.told((x, y))}; if it is one, drill it with a step, or draw its edge."
        )
        notes.append(Note("no-cutout", text, "open", pick.name, (x, y)))
    return notes


def _straight_lines(rings: Rings, scale: PlanScale) -> NDArray[np.bool_]:
    """Return which edges belong to lines that are straight from end to end."""
    edges, runs = rings.sheet.regions.work.edges, rings.sheet.runs
    most = max(STRAIGHT_MM * scale.px_per_mm, 1.0)
    is_straight = np.zeros(len(edges), np.bool_)
    for run in runs.runs:
        is_straight[list(run.edges)] = _strays(np.vstack([edges[k].points for k in run.edges])) <= most
    return is_straight


def _strays(points: Points) -> float:
    """Return how far points lie off the straight line through them at most."""
    away = points - points.mean(axis=0)
    _, axes = np.linalg.eigh(away.T @ away)
    return float(np.max(np.abs(away @ axes[:, 0])))


def _joined_over_lines(rings: Rings, is_small: NDArray[np.bool_], across: NDArray[np.bool_]) -> list[frozenset[int]]:
    """Return the small regions in groups, joined over the lines that run across."""
    left, right = rings.sheet.regions.left, rings.sheet.regions.right
    joins = np.flatnonzero(across & is_small[left] & is_small[right]).tolist()
    return _groups(
        [frozenset({face}) for face in np.flatnonzero(is_small).tolist()],
        [(int(left[k]), int(right[k])) for k in joins],
    )


def _joined_at_nodes(rings: Rings, groups: list[frozenset[int]]) -> list[frozenset[int]]:
    """Return what groups of regions that share a node make up together."""
    regions, edges = rings.sheet.regions, rings.sheet.regions.work.edges
    members = frozenset[int]().union(*groups)
    at_node: dict[int, list[int]] = {}
    for k, edge in enumerate(edges):
        beside = [f for f in (int(regions.left[k]), int(regions.right[k])) if f in members]
        for node in (edge.start, edge.end):
            at_node.setdefault(node, []).extend(beside)
    joined = _groups(groups, [(faces[0], face) for faces in at_node.values() for face in faces[1:]])
    return [pieces for pieces in joined if pieces not in set(groups)]


def _groups(groups: list[frozenset[int]], joins: Iterable[tuple[int, int]]) -> list[frozenset[int]]:
    """Return groups of regions with those made one that are joined."""
    of = {face: set(group) for group in groups for face in group}
    for group in groups:
        of.update(dict.fromkeys(group, of[min(group)]))
    for one, other in joins:
        if of[one] is not of[other]:
            of[one] |= of[other]
            of.update(dict.fromkeys(of[other], of[one]))
    return sorted({frozenset(faces) for faces in of.values()}, key=sorted)


def _whole_circle(
    rings: Rings, scale: PlanScale, pieces: frozenset[int], across: NDArray[np.bool_]
) -> LikelyHole | None:
    """Return the hole that regions make up whose one edge is a circle, None where it is none."""
    outer, inner = outer_and_inner(rings, pieces)
    if len(outer) != 1 or inner or any(edge.is_dashed for edge in outer[0].edges):
        return None
    drawn = scale.to_mm(_without_jumps(outer[0].points))
    rough = fit_circle(drawn)
    if rough is None or not _is_rough_circle(rough, drawn, _area_mm2(outer, scale), 1.0 / scale.px_per_mm):
        return None
    guess = guess_of(rings, scale, outer[0])
    circle = guess.circle or fit_circle(scale.to_mm(rings.clean_points(outer[0])))
    if not guess.is_round or circle is None:
        return None
    is_free = _is_free(rings, outer[0])
    least_mm = LEAST_TOLD_CIRCLE_MM if is_free else LEAST_CIRCLE_MM
    if 2 * circle.radius < least_mm or not _holds_only_marks(rings, scale, pieces, outer, circle, across):
        return None
    return LikelyHole(pieces, circle, is_lettered(rings, scale, outer[0]), is_free=is_free)


def _small_shape(rings: Rings, scale: PlanScale, pieces: frozenset[int]) -> LikelyHole | None:
    """Return the small rectangle that a region makes which stands in no word and whose one edge nothing meets."""
    outer, inner = outer_and_inner(rings, pieces)
    if len(outer) != 1 or inner or not _is_free(rings, outer[0]):
        return None
    guess = guess_of(rings, scale, outer[0])
    long, short = guess.size_mm
    is_small = not guess.is_cutout and long >= LEAST_SHAPE_MM and short >= LEAST_CIRCLE_MM
    is_rectangle = not guess.is_round and _area_mm2(outer, scale) >= LEAST_FILLED * long * short
    is_hole = is_small and is_rectangle and not is_lettered(rings, scale, outer[0])
    return LikelyHole(pieces, None) if is_hole else None


def _is_free(rings: Rings, loop: Loop) -> bool:
    """Return whether a loop is drawn through, and no line meets it."""
    degrees = rings.sheet.regions.work.degrees()
    return all(
        degrees[edge.start] == degrees[edge.end] == 2 and not (edge.is_dashed or edge.is_bridge) for edge in loop.edges
    )


def _torn_circle(rings: Rings, scale: PlanScale, pieces: frozenset[int]) -> LikelyHole | None:
    """Return the hole that regions make up which meet in a node, None where they lie on no circle."""
    outer, inner = outer_and_inner(rings, pieces)
    boxes = rings.sheet.regions.boxes[sorted(pieces)]
    span = float((boxes[:, 2:].max(axis=0) - boxes[:, :2].min(axis=0)).max())
    if inner or span > MOST_MM * scale.px_per_mm or any(edge.is_dashed for loop in outer for edge in loop.edges):
        return None
    area_mm2 = _area_mm2(outer, scale)
    sure = np.vstack([rings.clean_points(loop, is_strict=True) for loop in outer])
    drawn = scale.to_mm(np.vstack([_without_jumps(edge.points) for loop in outer for edge in loop.edges]))
    rough = fit_circle(drawn)
    if rough is None or not _is_rough_circle(rough, drawn, area_mm2, 1.0 / scale.px_per_mm):
        return None
    circle = _measured_circle(scale.to_mm(sure), area_mm2, 1.0 / scale.px_per_mm) or rough
    if not _holds_only_marks(rings, scale, pieces, outer, circle):
        return None
    # The arms of its cross end like a letter's strokes, so that a word seems to stand there.
    words = rings.sheet.words(scale.px_per_mm)
    is_letter = any(is_lettered(rings, scale, loop) and words.spell(loop.points) for loop in outer)
    return LikelyHole(pieces, circle, is_letter, is_torn=True, is_plain=circle is not rough)


def _measured_circle(points: Points, area_mm2: float, px_mm: float) -> Round | None:
    """Return the circle on which undisturbed points lie, None where they are few or lie on none."""
    if len(points) < FEWEST_POINTS:
        return None
    return guess_cutout(points, px_mm=px_mm, area_mm2=area_mm2, is_touched=True).circle


def _area_mm2(outer: list[Loop], scale: PlanScale) -> float:
    return sum(loop.signed_area_px for loop in outer) / scale.px_per_mm**2


def _is_rough_circle(circle: Round, drawn: Points, area_mm2: float, px_mm: float) -> bool:
    off = float(np.sqrt(np.mean(circle.distances(drawn) ** 2)))
    share = area_mm2 / (math.pi * circle.radius**2)
    return off <= ROUGH_PX * px_mm and share > ROUGH_SHARE and 2 * circle.radius >= LEAST_CIRCLE_MM * LEAST_CIRCLE_SHARE


def _without_jumps(points: Points) -> Points:
    """Return the points of a chain of pixels that lie beside another, and so not where it jumps to a crossing."""
    steps = np.hypot(*np.diff(points, axis=0).T)
    beside = np.minimum(np.append(steps, np.inf), np.insert(steps, 0, np.inf)) <= 2.0
    return points[beside] if np.any(beside) else points


def _holds_only_marks(
    rings: Rings,
    scale: PlanScale,
    pieces: frozenset[int],
    outer: list[Loop],
    circle: Round,
    across: NDArray[np.bool_] | None = None,
) -> bool:
    """Return whether what ends within a circle is the mark of its middle or a line that reaches in through its edge.

    Only what runs `across` may, where that is known: not of a torn crossing.
    """
    regions, edges = rings.sheet.regions, rings.sheet.regions.work.edges
    left, right = regions.sides_in(pieces)
    rim = {node for loop in outer for edge in loop.edges for node in (edge.start, edge.end)}
    for k in np.flatnonzero(left & right).tolist():
        ends = scale.to_mm(edges[k].points[[0, -1]])
        near = float(np.hypot(*(ends - circle.centre).T).min()) <= CENTRE_SHARE * circle.radius
        if (across is not None and not across[k]) or not (near or {edges[k].start, edges[k].end} & rim):
            return False
    return True
