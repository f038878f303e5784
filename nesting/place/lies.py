"""Whether a part can lie on a board at all, with its grain and the board's margins: the one place that decides it.

A board on which it cannot is never proposed for it. Whether there is room beside other parts is for nesting to say.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

import numpy as np
import shapely
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from nesting.place.layout_rules import NestRules, base_angle_deg
from nesting.place.margins import usable_area
from nesting.wood.board import Board
from nesting.wood.match import ROUNDING_MM
from nesting.wood.part import FREE_GRAIN_DEG, Part
from vectorize.basics.errors import NoSolutionError, NothingFoundError
from vectorize.shapes.outline import Outline, Pose

_FREE_STEP_DEG = 15.0
_CHORD_MM = 0.05
_GRID = 24
_SWEEPS = 40
"""Effort of the search where places on a grid do not show that a part has room on a board of its own form."""

LiesOn = Callable[[Part, Board], bool]
"""Whether a part can lie on a board."""


def lies_on(rules: NestRules) -> LiesOn:
    """Return the test by the rules of a job."""
    return lambda part, board: can_lie(part, board, rules)


def those_it_lies_on(part: Part, boards: Iterable[Board], lies: LiesOn | None) -> tuple[Board, ...]:
    """Return the boards that a part can lie on; all of them without a test."""
    return tuple(board for board in boards if lies is None or lies(part, board))


def can_lie(part: Part, board: Board, rules: NestRules) -> bool:
    """Return whether one copy of a part can lie on the bare board: grain within its tolerance, inside the margins.

    On a rectangular board without blemishes the part's greatest size along and across decides, as it does in the
    search. On an offcut of its own form it must be found a place.
    """
    room = usable_area(board, rules)
    if room.is_empty:
        return False
    within = (turned for turned in _turned(part, board) if _is_within(turned, room))
    flaws = [flaw for flaw in board.blemishes if not (flaw.is_soft and part.name in rules.on_soft_patches)]
    if board.outline is None and not flaws:
        return any(True for _ in within)
    fitting = list(within)
    if not fitting:
        return False
    free = room.difference(shapely.union_all([flaw.outline.to_polygon(_CHORD_MM) for flaw in flaws]))
    return _has_a_place(fitting, free) or _is_found_a_place(part, board, rules)


def _turned(part: Part, board: Board) -> Iterator[Outline]:
    """Give the outline in every way that it may lie: turned over or not, along the grain or tilted within reach."""
    tolerance = part.grain_tolerance_deg
    is_free = tolerance >= FREE_GRAIN_DEG
    tilts = np.arange(0.0, 180.0, _FREE_STEP_DEG) if is_free else sorted({-1.0, -0.5, 0.0, 0.5, 1.0}, key=abs)
    scale = 1.0 if is_free else tolerance
    flips = (False, True) if part.hand in ("either", "pair") else (False,)
    for tilt in dict.fromkeys(float(scale * one) for one in tilts):
        for is_flipped in flips:
            angle = base_angle_deg(part, board, is_flipped=is_flipped) + tilt
            for half_turn in (0.0, 180.0):
                yield part.outline.placed(Pose(0.0, 0.0, angle + half_turn, is_flipped))


def _is_within(outline: Outline, room: BaseGeometry) -> bool:
    x0, y0, x1, y1 = room.bounds
    length, width = outline.size_mm
    return length <= x1 - x0 + ROUNDING_MM and width <= y1 - y0 + ROUNDING_MM


def _has_a_place(ways: Iterable[Outline], free: BaseGeometry) -> bool:
    """Return whether some way of lying is inside `free` at a place of a grid."""
    shapely.prepare(free)
    x0, y0, x1, y1 = free.bounds
    for way in ways:
        wx0, wy0, wx1, wy1 = way.bounds
        shape = way.to_polygon(_CHORD_MM)
        xs, ys = np.linspace(x0 - wx0, x1 - wx1, _GRID), np.linspace(y0 - wy0, y1 - wy1, _GRID)
        if any(free.contains(translate(shape, float(x), float(y))) for x in xs for y in ys):
            return True
    return False


def _is_found_a_place(part: Part, board: Board, rules: NestRules) -> bool:
    from nesting.place.nest_parts import nest_parts

    one = replace(
        part, count=1, material=board.material, thickness_mm=board.thickness_mm, board=None, boards=(),
        hand="either" if part.hand == "pair" else part.hand,
    )  # fmt: skip
    alone = replace(rules, side_by_side=())
    try:
        layout = nest_parts([one], [board], rules=alone, time_limit_s=None, max_sweeps=_SWEEPS)
    except (NoSolutionError, NothingFoundError):
        return False
    return not layout.unplaced and layout.proof.is_proved
