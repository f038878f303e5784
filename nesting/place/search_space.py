"""All boards laid out in one plane, with every piece in every orientation, as arrays for the kernels."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from nesting.place.collide import MOST_POLES
from nesting.place.copies import SAME_SHARE, Arrangement, Kind, Piece, placed, search_polygon
from nesting.place.kernel_arrays import Bank, Choice, Floats, Scene
from nesting.place.layout import Placement
from nesting.place.layout_rules import NestRules, Pin
from nesting.place.margins import usable_area
from nesting.place.search_shapes import SearchShape, fewer_edges, shape_of
from nesting.wood.board import Board
from nesting.wood.part import FREE_GRAIN_DEG, Part
from vectorize.shapes.outline import Pose

_FREE_STEP_DEG = 30.0


@dataclass(frozen=True, slots=True, eq=False)
class Variant:
    """A shape in one orientation, grown and bare; a member's pose is the reference point plus its own shift."""

    shape: SearchShape
    bare: SearchShape
    members: tuple[tuple[str, Pose], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Yard:
    """Boards, kinds and pieces as arrays, and what is needed to read a scene back.

    `offsets_mm` shifts each board's frame into the common plane; `rooms` is where grown parts may lie there.
    """

    bank: Bank
    choice: Choice
    scene: Scene
    variants: tuple[Variant, ...]
    pieces: tuple[Piece, ...]
    boards: tuple[Board, ...]
    offsets_mm: tuple[float, ...]
    rooms: Floats

    def only(self, keep: Sequence[int]) -> Yard:
        """Return the yard with none but the movable pieces numbered in `keep`, in that order."""
        movable = len(self.pieces)
        rows = [*keep, *range(movable, len(self.scene.spot))]
        scene = Scene(self.scene.spot[rows].copy(), self.scene.what[rows].copy(), self.scene.rooms.copy())
        kept = np.array(keep, np.int64)
        choice = self.choice._replace(kind=self.choice.kind[kept], area=self.choice.area[kept])
        return replace(self, choice=choice, scene=scene, pieces=tuple(self.pieces[k] for k in keep))

    def placements(self, scene: Scene, board: int) -> list[Placement]:
        """Return the placements on a board, in the board's own frame."""
        found = []
        for number, piece in enumerate(self.pieces):
            if scene.what[number, 1] != board:
                continue
            at = (float(scene.spot[number, 4]) - self.offsets_mm[board], float(scene.spot[number, 5]))
            variant = self.variants[int(scene.what[number, 0])]
            for (name, copy), (_, pose) in zip(piece.copies, variant.members, strict=True):
                moved = Pose(pose.x_mm + at[0], pose.y_mm + at[1], pose.angle_deg, pose.is_flipped)
                found.append(Placement(name, copy, moved))
        return found


class _Fixed(NamedTuple):
    board: int
    variant: int
    x: float
    y: float
    soft: int
    is_bare: bool


@dataclass(slots=True)
class _Stock:
    """Variants gathered so far."""

    variants: list[Variant] = field(default_factory=list)
    numbers: dict[tuple[int, int, float], int] = field(default_factory=dict)
    shapes: dict[tuple[int, int], tuple[SearchShape, SearchShape]] = field(default_factory=dict)

    def add(self, variant: Variant) -> int:
        self.variants.append(variant)
        return len(self.variants) - 1


def build_yard(
    kinds: Sequence[Kind],
    pieces: Sequence[Piece],
    boards: Sequence[Board],
    rules: NestRules,
    *,
    may_lie: Callable[[Kind, Board], bool] = lambda kind, board: True,
    pinned: Sequence[tuple[Pin, Part]] = (),
) -> Yard:
    """Return the arrays for placing `pieces` on `boards`; a kind without any choice fits no board."""
    offsets, rooms, usable = _lay_out(boards, rules)
    stock = _Stock()
    choice_off, choice_board, choice_variant = [0], [], []
    for number, kind in enumerate(kinds):
        for b, board in enumerate(boards):
            if not may_lie(kind, board):
                continue
            for v in _that_fit(number, kind, board, rooms[b], stock):
                choice_board.append(b)
                choice_variant.append(v)
        choice_off.append(len(choice_board))
    fixed: list[_Fixed] = []
    for b, board in enumerate(boards):
        hard, soft = _obstacles(board, usable[b])
        fixed += [_add_fixed(stock, polygon, b, offsets[b], 0, True) for polygon in hard]
        fixed += [_add_fixed(stock, polygon, b, offsets[b], -1, True) for polygon in soft]
        for pin, part in pinned:
            if pin.board == board.name:
                shape = placed(search_polygon(part, rules, least_guest_mm2=0.0), pin.placement.pose)
                fixed.append(_add_fixed(stock, shape, b, offsets[b], 0, False))
    bank = bank_of(stock.variants)
    choice = Choice(
        np.array([piece.kind for piece in pieces], np.int64),
        np.array(choice_off, np.int64),
        np.array(choice_board, np.int64),
        np.array(choice_variant, np.int64),
        np.array([kinds[p.kind].arrangements[0].polygon.convex_hull.area for p in pieces], np.float64),
    )
    may_lie_soft = [all(name in rules.on_soft_patches for name, _ in piece.copies) for piece in pieces]
    scene = _scene(bank, may_lie_soft, fixed, rooms)
    return Yard(bank, choice, scene, tuple(stock.variants), tuple(pieces), tuple(boards), tuple(offsets), rooms)


def _lay_out(boards: Sequence[Board], rules: NestRules) -> tuple[list[float], Floats, list[BaseGeometry]]:
    offsets: list[float] = []
    rooms = np.empty((len(boards), 4))
    usable: list[BaseGeometry] = []
    at = 0.0
    for b, board in enumerate(boards):
        area = usable_area(board, rules)
        x0, y0, x1, y1 = area.bounds if not area.is_empty else (0.0, 0.0, -1.0, -1.0)
        offset = at - x0
        grow = rules.gap_mm / 2
        offsets.append(offset)
        rooms[b] = (x0 + offset - grow, y0 - grow, x1 + offset + grow, y1 + grow)
        usable.append(area)
        at += max(x1 - x0, 0.0) * 1.1 + 100.0
    return offsets, rooms, usable


def _that_fit(number: int, kind: Kind, board: Board, room: Floats, stock: _Stock) -> list[int]:
    """Return the variants that fit a board along its grain; tilted within the tolerance if none does so."""
    for tilts in ((0.0,), (kind.tolerance_deg / 2, -kind.tolerance_deg / 2), (kind.tolerance_deg, -kind.tolerance_deg)):
        found = [
            v
            for tilt in tilts
            for v in _variants_on(number, kind, board, stock, tilt)
            if _fits(stock.variants[v].shape, room)
        ]
        if found or not 0 < kind.tolerance_deg < FREE_GRAIN_DEG:
            return found
    return []


def _variants_on(number: int, kind: Kind, board: Board, stock: _Stock, tilt_deg: float) -> list[int]:
    found: list[int] = []
    for a, way in enumerate(kind.arrangements):
        for angle in _angles(way, kind, board.grain_deg + tilt_deg):
            key = (number, a, round(angle, 7))
            if key not in stock.numbers:
                stock.numbers[key] = _add_variant(stock, number, a, way, angle)
            if stock.numbers[key] not in found:
                found.append(stock.numbers[key])
    return found


def _angles(way: Arrangement, kind: Kind, board_grain_deg: float) -> list[float]:
    if kind.turns_deg is not None:
        return [turn % 360.0 for turn in kind.turns_deg]
    base = (board_grain_deg - way.grain_deg) % 180.0
    if kind.tolerance_deg >= FREE_GRAIN_DEG:
        return sorted({(base + k * _FREE_STEP_DEG) % 360.0 for k in range(round(360 / _FREE_STEP_DEG))})
    return [base, base + 180.0]


def _add_variant(stock: _Stock, number: int, a: int, way: Arrangement, angle: float) -> int:
    x0, y0, x1, y1 = way.polygon.bounds
    centre = ((x0 + x1) / 2, (y0 + y1) / 2)
    if (number, a) not in stock.shapes:
        grown = shape_of(way.polygon, centre)
        stock.shapes[number, a] = (grown, grown if way.bare is way.polygon else shape_of(way.bare, centre))
    shape, bare = (shape.turned(angle) for shape in stock.shapes[number, a])
    for (other_number, other_a, other_angle), v in stock.numbers.items():
        is_half_turn = abs(abs(other_angle - angle) - 180.0) < 1e-6
        is_own = (other_number, other_a) == (number, a) and len(way.members) == 1
        if is_own and is_half_turn and _is_same(shape, stock.variants[v].shape):
            return v
    members = []
    for name, pose in way.members:
        x, y = Pose(angle_deg=angle).moved((pose.x_mm - centre[0], pose.y_mm - centre[1]))
        members.append((name, Pose(x, y, (pose.angle_deg + angle) % 360.0, pose.is_flipped)))
    return stock.add(Variant(shape, bare, tuple(members)))


def _is_same(one: SearchShape, other: SearchShape) -> bool:
    if len(one.rings) != len(other.rings):
        return False
    polygons = [Polygon(shape.rings[0], shape.rings[1:]) for shape in (one, other)]
    if polygons[0].centroid.distance(polygons[1].centroid) > 1e-3 * polygons[0].length:
        return False  # spares most of the dear comparisons
    return polygons[0].symmetric_difference(polygons[1]).area < SAME_SHARE * one.area_mm2


def _fits(shape: SearchShape, room: Floats) -> bool:
    points = np.concatenate(shape.rings)
    size = points.max(axis=0) - points.min(axis=0)
    return bool(size[0] <= room[2] - room[0] + 1e-9 and size[1] <= room[3] - room[1] + 1e-9)


def _obstacles(board: Board, usable: BaseGeometry) -> tuple[list[Polygon], list[Polygon]]:
    """Return what bare parts must not meet on a board: hard (blemishes, the wood's end) and soft patches."""
    if usable.is_empty:
        return [], []
    box = shapely.box(*usable.bounds)
    hard: list[BaseGeometry] = [b.outline.to_polygon() for b in board.blemishes if not b.is_soft]
    soft: list[BaseGeometry] = [b.outline.to_polygon() for b in board.blemishes if b.is_soft]
    if board.outline is not None:
        hard.append(box.difference(usable))
    found = [_pieces(shapely.union_all(bad).intersection(box)) for bad in (hard, soft)]
    return found[0], found[1]


def _pieces(geometry: BaseGeometry) -> list[Polygon]:
    pieces = [piece for piece in getattr(geometry, "geoms", [geometry]) if isinstance(piece, Polygon)]
    return [fewer_edges(piece) for piece in pieces if piece.area > 1e-6]


def _add_fixed(
    stock: _Stock, polygon: Polygon | MultiPolygon, board: int, offset: float, soft: int, is_bare: bool
) -> _Fixed:
    x0, y0, x1, y1 = polygon.bounds
    centre = ((x0 + x1) / 2, (y0 + y1) / 2)
    shape = shape_of(polygon, centre)
    number = stock.add(Variant(shape, shape, ()))
    return _Fixed(board, number, centre[0] + offset, centre[1], soft, is_bare)


def bank_of(variants: Sequence[Variant]) -> Bank:
    """Return the arrays of all variants; bare twins follow them."""
    shapes = [variant.shape for variant in variants]
    twins = list(range(len(shapes)))
    for number, variant in enumerate(variants):
        if variant.bare is not variant.shape:
            twins[number] = len(shapes)
            shapes.append(variant.bare)
    twins += range(len(twins), len(shapes))
    edges = [shape.edges for shape in shapes] or [np.empty((0, 4))]
    every = np.concatenate(edges)
    hearts = [shape.poles[: shape.hearts, :2] for shape in shapes] or [np.empty((0, 2))]
    circles = np.zeros((len(shapes), 3, MOST_POLES), np.float32)
    for row, shape in zip(circles, shapes, strict=True):
        largest = shape.poles[np.argsort(-shape.poles[:, 2], kind="stable")][:MOST_POLES]
        row[:, : len(largest)] = largest.T
    ends = [np.cumsum([0, *map(len, group)]) for group in (edges, hearts)]
    counts = [*(min(len(shape.poles), MOST_POLES) for shape in shapes), 0]
    roots = np.array([(np.sqrt(shape.hull_area_mm2), shape.diameter_mm) for shape in shapes]).reshape(-1, 2)
    slants = [np.column_stack((e[:, 0] + e[:, 1], e[:, 0] - e[:, 1])) for e in edges]
    return Bank(
        first=np.column_stack((*ends, counts, [*twins, 0])).astype(np.int64) if shapes else np.zeros((1, 4), np.int64),
        edges=np.column_stack((every, np.hypot(every[:, 2] - every[:, 0], every[:, 3] - every[:, 1]))),
        hearts=np.concatenate(hearts),
        form=np.hstack((_extents([e[:, :2] for e in edges]), _extents(slants), roots)),
        circles=circles,
    )


def _extents(groups: Sequence[Floats]) -> Floats:
    return np.array([(*g.min(axis=0), *g.max(axis=0)) for g in groups if len(g)], np.float64).reshape(-1, 4)


def _scene(bank: Bank, may_lie_soft: Sequence[bool], fixed: Sequence[_Fixed], rooms: Floats) -> Scene:
    movable = len(may_lie_soft)
    count = movable + len(fixed)
    spot = np.tile(np.array([np.inf, np.inf, -np.inf, -np.inf, 0.0, 0.0]), (count, 1))
    what = np.zeros((count, 4), np.int64)
    what[:movable, 1], what[:movable, 2] = -1, may_lie_soft
    for k, f in enumerate(fixed, movable):
        spot[k, :4] = bank.form[f.variant, :4] + np.array([f.x, f.y, f.x, f.y])
        spot[k, 4:] = f.x, f.y
        what[k] = f.variant, f.board, f.soft, f.is_bare
    return Scene(spot, what, rooms.copy())
