"""The cutting plan of a board: holes, cut-outs, order, tight places, blade; as marks and as a list.

The order keeps the board in one piece for as long as that helps: drill, saw the cut-outs, then the small
parts while there is stock round them to hold, then the other outlines from the left end, holding the right.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from shapely.geometry import LinearRing, LineString, Polygon
from shapely.geometry import Point as Spot
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points, unary_union
from shapely.prepared import prep

from nesting.patterns.blades import Blade, BladeChoice, choose_blade, entry_drill_mm
from nesting.patterns.drawing import Layer, cutout_layer
from nesting.patterns.kerf import left_by_cut_on_line
from nesting.patterns.part_marks import ROUGH_MM, Piece
from nesting.patterns.pattern_settings import PatternSettings
from nesting.wood.board import Board
from vectorize.basics.spoken import Speech
from vectorize.basics.units import format_length
from vectorize.shapes.outline import Ring
from vectorize.shapes.segment import Point, Points

SMALL_PART_MM = 60.0
"""A part whose longest side is below this is cut while there is stock to hold (common practice, no source)."""
HOLD_MM = 100.0
"""Stock that must be left to hold a small part by."""
ENTRY_CLEAR_MM = 0.5
"""Wood left between an entry hole and the line, so that the line stays clean."""
SHARP_TURN_DEG = 35.0
"""A change of direction at a point that a blade cannot follow in one go."""
LONGEST_RELIEF_MM = 12.0
MOST_STACK_MM = 12.0
"""Height of a stack that a hobby saw still cuts square (common practice, no source)."""

KNIFE_REMARK = "Cut along the grain first, then across, in several light passes with a sharp blade on a cutting mat."

Action = Literal["drill", "entry", "opening", "outline"]


@dataclass(frozen=True, slots=True)
class Step:
    """One cut: what is done to which piece, where (on the board), in words."""

    action: Action
    piece: str
    at: Point
    text: str


@dataclass(frozen=True, slots=True)
class Entry:
    """A hole for the blade in the waste of a cut-out; `drill_mm` 0 means that none fits and a knife must do."""

    at: Point
    drill_mm: float


@dataclass(frozen=True, slots=True)
class CuttingPlan:
    """Everything that the bench needs to know about one board.

    `reliefs` are straight cuts through the waste to an inside corner (from, to); `tight` are places where the line
    turns tighter than the blade does. `pieces` are numbered in the order in which their outlines are cut.
    """

    pieces: tuple[Piece, ...]
    blade: BladeChoice | None
    steps: tuple[Step, ...]
    entries: tuple[Entry, ...]
    reliefs: tuple[tuple[Point, Point], ...]
    tight: tuple[Point, ...]
    remarks: tuple[str, ...]

    @property
    def lines(self) -> tuple[str, ...]:
        """Return the plan as a numbered list."""
        return tuple(f"{number}. {step.text}" for number, step in enumerate(self.steps, start=1))


def plan_cutting(pieces: Sequence[Piece], board: Board, *, settings: PatternSettings) -> CuttingPlan:
    """Return the plan for the pieces of a board: sawn with one of the settings' blades, or cut with a knife.

    All pieces are taken to be as thick as the board. The words are in the settings' units.
    """
    plan, speech = _planned(pieces, board, settings), Speech(settings.units, tuple(piece.key for piece in pieces))
    steps = tuple(replace(step, text=speech.said(step.text)) for step in plan.steps)
    return replace(plan, steps=steps, remarks=tuple(speech.said(remark) for remark in plan.remarks))


def _planned(pieces: Sequence[Piece], board: Board, settings: PatternSettings) -> CuttingPlan:
    ordered = cutting_order(pieces)
    spots = _spots(ordered)
    rings = [(piece, ring) for piece in ordered for ring in piece.outline.cutouts]
    drilled = [_drill_step(piece, ring, settings.units) for piece, ring in rings if cutout_layer(ring) is Layer.DRILL]
    sawn = [(piece, ring) for piece, ring in rings if cutout_layer(ring) is Layer.OPENING]
    if settings.tool == "knife":
        steps = [*drilled, *_freeing_steps(ordered, [(p, r, None) for p, r in sawn], board, "Cut")]
        return CuttingPlan(ordered, None, tuple(steps), (), (), (), (KNIFE_REMARK,))
    tightest = min((radius for piece in ordered for _, radius in curve_radii(piece)), default=math.inf)
    choice = choose_blade(board.true_thickness_mm, tightest_mm=tightest, blades=settings.blades)
    entries = [(p, r, blade_entry(r, choice.blade, keep_off=_inside(r, p, spots))) for p, r in sawn]
    steps = [
        *drilled,
        *(_entry_step(piece, entry) for piece, _, entry in entries if entry.drill_mm),
        *_freeing_steps(ordered, entries, board, "Saw"),
    ]
    solid = unary_union([piece.outline.to_polygon(ROUGH_MM) for piece in ordered])
    reliefs = tuple(cut for piece in ordered for cut in relief_cuts(piece, solid))
    least = choice.blade.least_radius_mm
    tight = tuple(at for piece in ordered for at, radius in curve_radii(piece) if radius < least)
    remarks = (
        f"Blade {choice.blade.name}: {choice.reason}.",
        *_stack_remarks(ordered, board, settings.blades),
        *_neck_remarks(ordered, choice.blade),
        *_place_remarks(reliefs, tight),
    )
    return CuttingPlan(ordered, choice, tuple(steps), tuple(entry for _, _, entry in entries), reliefs, tight, remarks)


def cutting_order(pieces: Sequence[Piece]) -> tuple[Piece, ...]:
    """Return the pieces numbered in the order in which their outlines are cut.

    First those that lie in a cut-out of another, the smallest first, as they must be free before it falls out;
    then small ones, then the others, each from the left end.
    """
    spots = _spots(pieces)
    nested = {id(q) for piece in pieces for ring in piece.outline.cutouts for q in _inside(ring, piece, spots)}

    def rank(piece: Piece) -> tuple[bool, float, bool, float, float]:
        x0, y0, _, _ = piece.outline.bounds
        is_nested = id(piece) in nested
        size = piece.outline.area_mm2 if is_nested else 0.0
        return (not is_nested, size, max(piece.outline.size_mm) >= SMALL_PART_MM, round(x0, 3), round(y0, 3))

    return tuple(replace(piece, number=number) for number, piece in enumerate(sorted(pieces, key=rank), start=1))


def _spots(pieces: Sequence[Piece]) -> list[tuple[Piece, Spot]]:
    """Each piece with a point inside it."""
    return [(piece, piece.outline.to_polygon(ROUGH_MM).representative_point()) for piece in pieces]


def _inside(ring: Ring, owner: Piece, spots: Sequence[tuple[Piece, Spot]]) -> list[Piece]:
    """The pieces that lie in a cut-out of `owner`."""
    hole = prep(Polygon(ring.flattened(ROUGH_MM)))
    return [piece for piece, spot in spots if piece is not owner and hole.contains(spot)]


def _freeing_steps(
    ordered: Sequence[Piece], openings: Sequence[tuple[Piece, Ring, Entry | None]], board: Board, verb: str
) -> Iterator[Step]:
    """Cut-outs, the smallest first, each after the outlines of pieces that lie in it; then the other outlines."""
    outlines = {step.piece: step for step in _outline_steps(ordered, board, verb)}
    spots = _spots(ordered)
    for piece, ring, entry in sorted(openings, key=lambda opening: abs(opening[1].signed_area_mm2)):
        for inner in _inside(ring, piece, spots):
            if inner.key in outlines:
                yield outlines.pop(inner.key)
        is_sawn = entry is not None and entry.drill_mm > 0
        yield _opening_step(piece, entry) if entry is not None and is_sawn else _knife_step(piece, ring)
    yield from outlines.values()


def blade_entry(ring: Ring, blade: Blade, *, keep_off: Sequence[Piece] = ()) -> Entry:
    """Return where the blade goes in: clear of the line, by a corner if there is one, as small as the blade allows.

    Beside a corner the blade starts and ends its cut at the corner, where no mark shows on the line. Pieces that lie
    in the cut-out are kept off too.
    """
    hole: BaseGeometry = Polygon(ring.flattened(ROUGH_MM))
    if keep_off:
        hole = hole.difference(unary_union([piece.outline.to_polygon(ROUGH_MM) for piece in keep_off]))
    drill = entry_drill_mm(blade)
    room = hole.buffer(-(drill / 2 + ENTRY_CLEAR_MM))
    if room.is_empty:
        middle = hole.representative_point()
        return Entry((middle.x, middle.y), 0.0)
    corners = [at for at, turn in ring_corners(ring) if abs(turn) > SHARP_TURN_DEG]
    wanted = corners or [max(ring.segments, key=lambda segment: segment.length).point_at(0.5)]
    # The corner to which the room for the hole reaches nearest.
    at = min(wanted, key=lambda corner: room.distance(Spot(corner)))
    near = nearest_points(room, Spot(at))[0]
    return Entry((near.x, near.y), drill)


def ring_corners(ring: Ring) -> Iterator[tuple[Point, float]]:
    """Yield (vertex, change of direction in degrees, left positive) where two pieces of the ring meet."""
    points = ring.flattened(0.01)
    for at, turn in zip(points, vertex_turns_deg(points), strict=True):
        if abs(turn) > 1.0:
            yield (float(at[0]), float(at[1])), float(turn)


def vertex_turns_deg(points: Points) -> np.ndarray:
    """Return the change of direction at each vertex of a closed polygon, in degrees, left positive."""
    ahead = np.roll(points, -1, axis=0) - points
    headings = np.arctan2(ahead[:, 1], ahead[:, 0])
    return np.degrees((headings - np.roll(headings, 1) + np.pi) % (2 * np.pi) - np.pi)


def relief_cuts(piece: Piece, solid: BaseGeometry) -> Iterator[tuple[Point, Point]]:
    """Yield straight cuts (from, to) through the waste to each sharp inside corner of the exterior.

    An inside corner turns right when the exterior is walked counter-clockwise. The cut follows the middle of
    the angle from up to 12 mm away, and begins 0.5 mm or more from any part: `solid` is all parts of the board.
    """
    points = piece.outline.exterior.flattened(0.01)
    edge = LinearRing(points)
    for i in np.flatnonzero(vertex_turns_deg(points) < -SHARP_TURN_DEG):
        corner = (float(points[i][0]), float(points[i][1]))
        before, after = _looking_from(edge, corner)
        if _turn_deg(before, after) > -SHARP_TURN_DEG:
            continue  # a tiny kink in a line that runs on, not a corner
        middle = before + after
        reach = _clear_reach(corner, (float(middle[0]), float(middle[1])), solid)
        if reach is not None:
            yield reach, corner


def _looking_from(edge: LinearRing, corner: Point) -> tuple[Points, Points]:
    """Unit vectors from a corner to the edge a millimetre back and a millimetre on."""
    at = edge.project(Spot(corner))
    ways = []
    for step in (-1.0, 1.0):
        spot = edge.interpolate((at + step) % edge.length)
        way = np.array([spot.x - corner[0], spot.y - corner[1]])
        ways.append(way / max(float(np.hypot(*way)), 1e-9))
    return ways[0], ways[1]


def _turn_deg(before: Points, after: Points) -> float:
    """Change of direction at a corner, seen from which `before` lies back and `after` ahead; left positive."""
    cross = float(before[1] * after[0] - before[0] * after[1])
    return math.degrees(math.atan2(cross, -float(before @ after)))


def _clear_reach(corner: Point, direction: Point, solid: BaseGeometry) -> Point | None:
    """The farthest point, up to 12 mm off, from which a straight cut reaches the corner; None if nearer than 2 mm."""
    size = math.hypot(*direction)
    if size < 1e-6:
        return None
    ux, uy = direction[0] / size, direction[1] / size

    def at(distance: float) -> Point:
        return (corner[0] + distance * ux, corner[1] + distance * uy)

    hit = LineString([at(0.3), at(LONGEST_RELIEF_MM)]).intersection(solid)
    reach = LONGEST_RELIEF_MM if hit.is_empty else hit.distance(Spot(corner)) - 0.5
    return at(reach) if reach >= 2.0 else None


def curve_radii(piece: Piece) -> Iterator[tuple[Point, float]]:
    """Yield the middle and radius of the sawn curves of a piece: arcs, and the tightest place of each spline."""
    rings = [r for r in piece.outline.rings if r is piece.outline.exterior or cutout_layer(r) is Layer.OPENING]
    for ring in rings:
        for segment in ring.segments:
            points = np.array([*segment.flattened(0.005), segment.end])
            radius, at = _tightest(points)
            if math.isfinite(radius):
                yield at, radius


def _tightest(points: Points) -> tuple[float, Point]:
    """The least circumradius of three neighbours on one smooth piece, and where."""
    if len(points) < 3:
        return math.inf, (0.0, 0.0)
    a, b, c = points[:-2], points[1:-1], points[2:]
    sides = np.hypot(*(b - a).T) * np.hypot(*(c - b).T) * np.hypot(*(c - a).T)
    cross = np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])
    radii = np.where(cross > 1e-12, sides / np.maximum(2 * cross, 1e-12), np.inf)
    i = int(np.argmin(radii))
    return float(radii[i]), (float(b[i][0]), float(b[i][1]))


def _drill_step(piece: Piece, ring: Ring, units: str) -> Step:
    circle = ring.as_circle()
    assert circle is not None  # only round cut-outs are drilled
    size = format_length(2 * circle[1], units=units)
    return Step(
        "drill", piece.key, circle[0], f"Drill the hole of {size} in {_named(piece)}, on scrap, before any sawing."
    )


def _entry_step(piece: Piece, entry: Entry) -> Step:
    text = f"Drill {entry.drill_mm:g} mm for the blade at the dot in the cut-out of {_named(piece)}."
    return Step("entry", piece.key, entry.at, text)


def _opening_step(piece: Piece, entry: Entry) -> Step:
    text = f"Thread the blade and saw the cut-out of {_named(piece)}."
    return Step("opening", piece.key, entry.at, text)


def _knife_step(piece: Piece, ring: Ring) -> Step:
    text = f"Cut the cut-out of {_named(piece)} with a knife, in light passes, from the corners inward."
    return Step("opening", piece.key, ring.segments[0].start, text)


def _outline_steps(ordered: Sequence[Piece], board: Board, verb: str) -> Iterator[Step]:
    """Outlines in order; says where a small part has lost the stock that should hold it."""
    left: BaseGeometry = board.shape.to_polygon(ROUGH_MM)
    for piece in ordered:
        x0, y0, x1, y1 = left.bounds
        is_small = max(piece.outline.size_mm) < SMALL_PART_MM
        lacks = is_small and max(x1 - x0, y1 - y0) < HOLD_MM
        how = "tape it to scrap to hold it" if lacks else "small: hold it by the stock round it"
        text = f"{verb} the outline of {_named(piece)} from the waste side" + (f" ({how})." if is_small else ".")
        yield Step("outline", piece.key, piece.outline.exterior.segments[0].start, text)
        left = left.difference(piece.outline.to_polygon(ROUGH_MM).buffer(0.5))
        left = left if not left.is_empty else piece.outline.to_polygon(ROUGH_MM)


def _named(piece: Piece) -> str:
    return f"{piece.key} (number {piece.number})"


def _stack_remarks(pieces: Sequence[Piece], board: Board, blades: Sequence[Blade]) -> Iterator[str]:
    thickness = board.true_thickness_mm
    for name in dict.fromkeys(piece.part.name for piece in pieces):
        alike = [piece for piece in pieces if piece.part.name == name]
        count = len(alike)
        high = min(count, math.floor(MOST_STACK_MM / thickness))
        if high < 2:
            continue
        total = high * thickness
        choice = choose_blade(total, blades=blades)
        scrap = " between scrap" if choice.sandwich_mm else ""
        turned = ", every other blank turned over" if {p.is_mirrored for p in alike} == {True, False} else ""
        yield (
            f"{name}: {count} alike. Rough-cut them apart, stack {high}{turned}{scrap}, with tape or with pins "
            f"through the waste ({total:.1f} mm in all), and saw them as one, blade {choice.blade.name}."
        )


def _neck_remarks(pieces: Sequence[Piece], blade: Blade) -> Iterator[str]:
    """Warn where a saw that strays onto the line would cut a part in two."""
    for piece in pieces:
        if left_by_cut_on_line(piece.part.outline, kerf_mm=blade.kerf_mm).notes:
            yield f"{piece.key}: a neck is narrower than the blade's cut; stay well beside the line there."


def _place_remarks(reliefs: Sequence[tuple[Point, Point]], tight: Sequence[Point]) -> Iterator[str]:
    yield "Hold the board flat by its right end; the order runs from the left, so that it stays long there."
    if reliefs:
        yield f"{len(reliefs)} relief cuts, dashed, to inside corners: saw them first, then each side up to the corner."
    if tight:
        yield (
            f"{len(tight)} places, ringed by dashes, turn tighter than the blade: nibble the waste away first, "
            "or file to the line."
        )
