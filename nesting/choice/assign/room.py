"""How much parts need and boards offer at the very most: bounds that let the programme see what cannot fit.

Parts grown by half the gap do not overlap. So at every place along a board the sum of what they take of its
width is at most that width, and the same holds after a dual feasible function u (sum of x <= 1 implies sum of
u(x) <= 1). Integrated along the board this gives, for every such u,

    sum over parts of  integral u(c(x) / W) dx  <=  L,

c being what the grown part takes of the width W at x. With u(x) = x that is the area; the others see that two
parts wider than half the board cannot lie side by side. Source: Fekete & Schepers 2001, New classes of fast
lower bounds for bin packing problems, Math. Programming 91:11-31 (their functions u; from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import rotate
from shapely.geometry import Polygon

from nesting.place.layout_rules import NestRules
from nesting.place.margins import usable_area
from nesting.wood.board import Board
from nesting.wood.part import FREE_GRAIN_DEG, Part

_CHORD_MM = 0.05
_SLICES = 80
_SLACK = 0.99
"""Slices along a part are sampled: what they say is taken one percent smaller, so that the bound stays a bound."""

Shares = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class RoomBound:
    """What each unit needs and each of some boards offers, in one measure."""

    need: dict[str, float]
    room: dict[str, float]


def room_bounds(parts: Sequence[Part], boards: Sequence[Board], rules: NestRules) -> tuple[RoomBound, ...]:
    """Return bounds on what the boards can hold: by area for all, by slices for the rectangular ones."""
    grown = {part.name: _grown(part, rules) for part in parts}
    units = {part.name: part.copies // part.count for part in parts}
    area = RoomBound(
        {name: float(polygon.area) * units[name] for name, polygon in grown.items()},
        {board.name: _room_mm2(board, rules) for board in boards},
    )
    return (area, *_slice_bounds(parts, boards, rules, grown, units))


def _grown(part: Part, rules: NestRules) -> Polygon:
    """Return the part's outline grown by half the gap, with its grain along x."""
    polygon = part.outline.to_polygon(_CHORD_MM).buffer(rules.gap_mm / 2 - 2 * _CHORD_MM)
    return rotate(polygon, -part.grain_deg, origin=(0, 0))


def _room_mm2(board: Board, rules: NestRules) -> float:
    usable = usable_area(replace(board, blemishes=()), rules)
    return float(usable.buffer(rules.gap_mm / 2 + 2 * _CHORD_MM).area)


def _slice_bounds(
    parts: Sequence[Part], boards: Sequence[Board], rules: NestRules, grown: dict[str, Polygon], units: dict[str, int]
) -> Iterable[RoomBound]:
    even = [board for board in boards if board.outline is None and board.grain_deg == 0]
    for width_mm in sorted({board.width_mm for board in even}):
        usable_mm = width_mm - 2 * rules.edges_mm + rules.gap_mm
        slices = {part.name: _slices(part, grown[part.name], usable_mm) for part in parts}
        rooms = {b.name: b.length_mm - 2 * rules.ends_mm + rules.gap_mm for b in even if b.width_mm == width_mm}
        for squash in _SQUASHES:
            needs = {
                name: min((step * float(squash(shares).sum()) for step, shares in views), default=0.0) * units[name]
                for name, views in slices.items()
            }
            yield RoomBound({name: need * _SLACK for name, need in needs.items()}, rooms)


def _slices(part: Part, grown: Polygon, width_mm: float) -> list[tuple[float, Shares]]:
    """Return, for the part's least, middle and greatest turn, the step of its slices and what each takes of the width.

    A part whose grain may run anywhere gives none: it may lie in any direction.
    """
    if part.grain_tolerance_deg >= FREE_GRAIN_DEG / 2:
        return []
    turns = {0.0, part.grain_tolerance_deg, -part.grain_tolerance_deg}
    return [_slices_along(rotate(grown, turn, origin=(0, 0)), width_mm) for turn in sorted(turns)]


def _slices_along(polygon: Polygon, width_mm: float) -> tuple[float, Shares]:
    x0, y0, x1, y1 = polygon.bounds
    step = (x1 - x0) / _SLICES
    xs = x0 + step * (np.arange(_SLICES) + 0.5)
    ends = np.stack([np.column_stack([xs, np.full(_SLICES, y)]) for y in (y0 - 1, y1 + 1)], axis=1)
    taken = shapely.length(shapely.intersection(shapely.linestrings(ends), polygon))
    return step, np.minimum(taken / width_mm, 1.0)


def _steps(count: int) -> Callable[[Shares], Shares]:
    """Return u(x) = floor((k + 1) x) / k, and x itself where (k + 1) x is whole."""

    def squash(x: Shares) -> Shares:
        scaled = (count + 1) * x
        is_whole = np.abs(scaled - np.round(scaled)) < 1e-9
        return np.where(is_whole, x, np.floor(scaled) / count)

    return squash


def _ends(least: float) -> Callable[[Shares], Shares]:
    """Return u(x) = 1 above 1 - least, 0 below least, x between."""

    def squash(x: Shares) -> Shares:
        return np.where(x > 1 - least, 1.0, np.where(x < least, 0.0, x))

    return squash


_SQUASHES = (_steps(1), _steps(2), _steps(3), *(_ends(math.nextafter(least, 1)) for least in (0.2, 0.3, 0.4)))
