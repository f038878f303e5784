"""The last board's parts gathered so that the largest piece of wood left over is of most use.

Of layouts that take the same wood, the one that leaves the largest rectangle is the better. A rectangle
larger than the one that is left is declared taken, like a blemish, together with all wood beyond the
length used; if the search gets every part out of it, that layout is kept and a larger one is tried.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from nesting.place.copies import Kind, Piece
from nesting.place.improve import Budget, make_race, separate
from nesting.place.kernel_arrays import Scene
from nesting.place.largest_rest import largest_offcut
from nesting.place.layout import BoardLayout
from nesting.place.layout_rules import NestRules, Pin
from nesting.place.search_space import Yard, build_yard
from nesting.place.start import first_layout, taken_up
from nesting.wood.board import Blemish, Board
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline

_STEP_FIRST, _STEP_LEAST = 0.5, 0.05
_LEAST_GAIN = 0.02
"""A rectangle must be this much larger to be worth moving parts for."""
_FULLEST = 0.9
"""No search fills more than about this share of the wood that is left to it."""
_PATIENCE = 40
"""Sweeps without progress after which a rectangle is given up: there are others to try."""
_STARTS_AT = (0.0, 0.25, 0.5, 0.75)
"""Where along the used length a rectangle begins that reaches to the board's end."""

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Crew:
    """What a search on one board needs: the pieces that lie on it, and what else is there."""

    board: Board
    kinds: tuple[Kind, ...]
    pieces: tuple[Piece, ...]
    parts: tuple[Part, ...]
    pins: tuple[Pin, ...]
    rules: NestRules


def _offcut_mm2(crew: Crew, layout: BoardLayout) -> float:
    """Return the area of the largest rectangle that a layout leaves of the board."""
    x0, y0, x1, y1 = largest_offcut(crew.board, layout.placements, crew.parts, crew.rules)
    return (x1 - x0) * (y1 - y0)


def gather(
    crew: Crew, layout: BoardLayout, *, budget: Budget, seed: int, workers: int
) -> tuple[tuple[Yard, Scene] | None, float]:
    """Return pieces moved so that a larger rectangle is left within the length used, and its area in mm2.

    None in place of the pieces means that nothing better was found.
    """
    found: tuple[Yard, Scene] | None = None
    best = _offcut_mm2(crew, layout)
    step = _STEP_FIRST
    while step >= _STEP_LEAST and budget.spent() < 1.0:
        for box in _boxes(crew, layout, best * (1.0 + step)):
            if budget.spent() >= 1.0:
                break
            better = _without(crew, layout, box, budget=budget, seed=seed, workers=workers)
            if better is None:
                continue
            left = _offcut_mm2(crew, _moved(layout, *better))
            if left > best * (1.0 + _LEAST_GAIN):
                found, best, layout = better, left, _moved(layout, *better)
                break
        else:
            step /= 2
    return found, best


def _moved(layout: BoardLayout, yard: Yard, scene: Scene) -> BoardLayout:
    own = yard.placements(scene, 0)
    names = {(p.part, p.copy) for p in own}
    return replace(layout, placements=(*(p for p in layout.placements if (p.part, p.copy) not in names), *own))


def _boxes(crew: Crew, layout: BoardLayout, area_mm2: float) -> Iterator[Box]:
    """Give rectangles of `area_mm2` along one edge of the board and to its end, beside which the parts might fit."""
    x0, y0, x1, y1 = crew.board.shape.bounds
    taken = sum(part.outline.area_mm2 for part in crew.parts for p in layout.placements if p.part == part.name)
    for share in _STARTS_AT:
        begin = x0 + share * layout.used_length_mm
        width = area_mm2 / (x1 - begin)
        room = layout.used_length_mm * (y1 - y0) - (x0 + layout.used_length_mm - begin) * width
        if width < y1 - y0 and taken < _FULLEST * room:
            yield begin, y1 - width, x1, y1
            yield begin, y0, x1, y0 + width


def _without(
    crew: Crew, layout: BoardLayout, box: Box, *, budget: Budget, seed: int, workers: int
) -> tuple[Yard, Scene] | None:
    """Return all pieces clear of `box` and within the length used, or None if the search gave up."""
    x0, y0, x1, y1 = crew.board.shape.bounds
    kerf = crew.rules.kerf_mm
    kept = Outline.rectangle(max(box[0] - kerf, x0), max(box[1] - kerf, y0), x1, min(box[3] + kerf, y1))
    blemishes = [Blemish(kept)]
    if layout.used_length_mm < x1 - x0:
        blemishes.append(Blemish(Outline.rectangle(x0 + layout.used_length_mm, y0, x1, y1)))
    board = replace(crew.board, blemishes=(*crew.board.blemishes, *blemishes))
    part_of = {part.name: part for part in crew.parts}
    pinned = [(pin, part_of[pin.placement.part]) for pin in crew.pins]
    used = {id(crew.kinds[piece.kind]) for piece in crew.pieces}
    yard = build_yard(
        crew.kinds, crew.pieces, (board,), crew.rules, may_lie=lambda kind, _: id(kind) in used, pinned=pinned
    )
    anew, missing = first_layout(yard, seed)
    if not missing:
        return yard, anew
    target = taken_up(yard, [layout])
    if target is None:
        return None
    with make_race(yard, budget, seed, workers) as race:
        winner = separate(race, target, share=1.0, patience=_PATIENCE, strikes=1, is_stubborn=False)
    return None if winner is None else (yard, winner.scene)


def on_board(yard: Yard, scene: Scene, number: int) -> tuple[Piece, ...]:
    """Return the movable pieces that lie on a board."""
    return tuple(yard.pieces[k] for k in np.flatnonzero(scene.what[: len(yard.pieces), 1] == number).tolist())
