"""Which tiles a drawing needs: where the joints run, and which tiles carry nothing."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import box as rectangle
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from nesting.patterns.drawing import Box
from vectorize.basics.errors import InputError
from vectorize.shapes.affine import Affine
from vectorize.shapes.segment import Point

EDGE_MM = 0.6
"""Room round the content for half a line's width."""
_HOLE_COST = 50.0
_STEPS = 41


@dataclass(frozen=True, slots=True)
class Content:
    """What must be seen: the area of each piece and its words, and the centres of holes."""

    pieces: tuple[BaseGeometry, ...]
    hole_centres: tuple[Point, ...] = ()

    @property
    def bounds(self) -> Box:
        """Return the box round all pieces."""
        x0, y0, x1, y1 = unary_union([piece.envelope for piece in self.pieces]).bounds
        return x0 - EDGE_MM, y0 - EDGE_MM, x1 + EDGE_MM, y1 + EDGE_MM

    def turned(self) -> Content:
        """Return the content turned by a quarter, clockwise about the origin: its left is the first page's."""
        from shapely import affinity

        pieces = tuple(affinity.rotate(piece, -90, origin=(0, 0)) for piece in self.pieces)
        return Content(pieces, tuple((y, -x) for x, y in self.hole_centres))


@dataclass(frozen=True, slots=True)
class Tile:
    """One page's share: `window` is all that it shows, `cell` ends at its joints.

    `row` counts from the top, `column` from the left, both from 0.
    """

    row: int
    column: int
    window: Box
    cell: Box

    @property
    def label(self) -> str:
        """Return row number and column letter, such as `2C`: neither a board's name nor a size of paper."""
        return f"{self.row + 1}{column_letters(self.column)}"


@dataclass(frozen=True, slots=True)
class Joint:
    """Where two neighbouring tiles meet: the line from `begin` to `end`, through the middle of what both show."""

    first: Tile
    second: Tile
    begin: Point
    end: Point

    @property
    def label(self) -> str:
        """Return the names of both tiles."""
        return f"{self.first.label}–{self.second.label}"


@dataclass(frozen=True, slots=True)
class Tiling:
    """The tiles in reading order and their joints, in the frame of the content, turned if `is_turned`."""

    tiles: tuple[Tile, ...]
    joints: tuple[Joint, ...]
    is_turned: bool
    cost: float

    @property
    def turn(self) -> Affine:
        """Return the map from the content's own frame to the tiling's."""
        return Affine(0.0, -1.0, 1.0, 0.0) if self.is_turned else Affine()


def plan_tiles(content: Content, window_mm: tuple[float, float], *, overlap_mm: float, most_pages: int) -> Tiling:
    """Return the tiling with the fewest tiles, and of those the one whose joints cross the fewest pieces.

    Upright and turned are both tried. Joints are shifted within the slack that the last tile leaves;
    a joint near a hole's centre counts as much as crossing fifty pieces. Tiles that carry nothing are dropped.

    Raises:
        InputError: More tiles than `most_pages`; the message says how many.
    """
    tilings = [_lay(content, window_mm, overlap_mm, is_turned=False)]
    tilings.append(_lay(content.turned(), window_mm, overlap_mm, is_turned=True))
    best = min(tilings, key=lambda tiling: (len(tiling.tiles), tiling.cost, tiling.is_turned))
    if len(best.tiles) > most_pages:
        x0, y0, x1, y1 = content.bounds
        raise InputError(
            f"the pattern is {x1 - x0:.0f} × {y1 - y0:.0f} mm and would take {len(best.tiles)} pages; "
            f"the limit is {most_pages}. Choose a larger paper, or raise the limit of pages."
        )
    return best


def _lay(content: Content, window_mm: tuple[float, float], overlap_mm: float, *, is_turned: bool) -> Tiling:
    x0, y0, x1, y1 = content.bounds
    spans = [(piece.bounds[0], piece.bounds[2]) for piece in content.pieces]
    rises = [(piece.bounds[1], piece.bounds[3]) for piece in content.pieces]
    columns = _starts((x0, x1), window_mm[0], overlap_mm, spans, [x for x, _ in content.hole_centres])
    rows = _starts((y0, y1), window_mm[1], overlap_mm, rises, [y for _, y in content.hole_centres])
    tiles = [
        _tile(row, column, columns[0][column], rows[0][::-1][row], window_mm, overlap_mm, columns[0], rows[0])
        for row in range(len(rows[0]))
        for column in range(len(columns[0]))
    ]
    whole = unary_union(content.pieces)
    kept = tuple(tile for tile in tiles if whole.intersects(rectangle(*tile.cell)))
    return Tiling(kept, _joints(kept, overlap_mm), is_turned, columns[1] + rows[1])


def _tile(
    row: int,
    column: int,
    left: float,
    bottom: float,
    window_mm: tuple[float, float],
    overlap_mm: float,
    columns: Sequence[float],
    rows: Sequence[float],
) -> Tile:
    half = overlap_mm / 2
    window = (left, bottom, left + window_mm[0], bottom + window_mm[1])
    cell = (
        window[0] + (half if left > columns[0] else 0.0),
        window[1] + (half if bottom > rows[0] else 0.0),
        window[2] - (half if left < columns[-1] else 0.0),
        window[3] - (half if bottom < rows[-1] else 0.0),
    )
    return Tile(row, column, window, cell)


def _starts(
    extent: tuple[float, float],
    window_mm: float,
    overlap_mm: float,
    spans: Sequence[tuple[float, float]],
    hole_centres: Sequence[float],
) -> tuple[list[float], float]:
    """Return where the windows begin along one axis, and what their joints cost."""
    length, pitch = extent[1] - extent[0], window_mm - overlap_mm
    count = max(1, math.ceil((length - overlap_mm) / pitch - 1e-9))
    slack = count * pitch + overlap_mm - length
    if count == 1:
        return [extent[0] - slack / 2], 0.0
    best: tuple[float, float, float] | None = None
    for shift in np.linspace(0.0, slack, _STEPS):
        first = extent[0] - float(shift)
        joints = [first + i * pitch + overlap_mm / 2 for i in range(1, count)]
        cost = _cost(joints, spans, hole_centres, overlap_mm)
        rank = (cost, abs(float(shift) - slack / 2), first)
        best = rank if best is None or rank < best else best
    assert best is not None  # _STEPS is above zero
    return [best[2] + i * pitch for i in range(count)], best[0]


def _cost(
    joints: Sequence[float], spans: Sequence[tuple[float, float]], hole_centres: Sequence[float], overlap_mm: float
) -> float:
    crossed = sum(low < joint < high for joint in joints for low, high in spans)
    spoilt = sum(abs(joint - centre) < overlap_mm / 2 for joint in joints for centre in hole_centres)
    return crossed + _HOLE_COST * spoilt


def _joints(tiles: Sequence[Tile], overlap_mm: float) -> tuple[Joint, ...]:
    """Return the joint of every two kept tiles that lie side by side or one below the other."""
    joints = []
    for first, second in itertools.combinations(tiles, 2):
        if first.row == second.row and second.column == first.column + 1:
            x = first.cell[2]
            joints.append(Joint(first, second, (x, first.cell[1]), (x, first.cell[3])))
        elif first.column == second.column and second.row == first.row + 1:
            y = first.cell[1]
            joints.append(Joint(first, second, (first.cell[0], y), (first.cell[2], y)))
    return tuple(joints)


def column_letters(column: int) -> str:
    """Return A, B, … Z, AA, AB, … for columns 0, 1, …."""
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters
