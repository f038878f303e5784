"""The most useful piece left of a board: the largest rectangle along its length that no part touches."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from nesting.place.layout import Placement
from nesting.place.layout_rules import NestRules
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.basics.compiled import compiled
from vectorize.shapes.outline import Outline

Mask: TypeAlias = NDArray[np.bool_]

_CELL_MM = 1.0
_HAIR_MM = 1e-6


def largest_offcut(
    board: Board, placements: Sequence[Placement], parts: Sequence[Part], rules: NestRules
) -> tuple[float, float, float, float]:
    """Return (x least, y least, x greatest, y greatest) in mm of the largest free rectangle; zeros if none.

    It keeps the kerf from every part and holds no blemish. Judged on a grid of 1 mm, a cell counting as
    taken when anything touches it, so the true rectangle is up to a cell larger each way.
    """
    wood = board.shape.to_polygon(0.01)
    x0, y0, x1, y1 = wood.bounds
    columns, rows = int((x1 - x0) / _CELL_MM), int((y1 - y0) / _CELL_MM)
    if columns == 0 or rows == 0:
        return (0.0, 0.0, 0.0, 0.0)
    outline_of: dict[str, Outline] = {part.name: part.outline for part in parts}
    taken: list[BaseGeometry] = [
        outline_of[p.part].placed(p.pose).to_polygon(0.01).buffer(rules.kerf_mm) for p in placements
    ]
    taken += [blemish.outline.to_polygon(0.01) for blemish in board.blemishes]
    taken.append(shapely.box(x0 - 1, y0 - 1, x1 + 1, y1 + 1).difference(wood))
    is_free = ~_touched([piece for piece in taken if not piece.is_empty], (x0, y0), (columns, rows))
    left, bottom, right, top = _largest_rectangle(is_free)
    return (x0 + left * _CELL_MM, y0 + bottom * _CELL_MM, x0 + right * _CELL_MM, y0 + top * _CELL_MM)


def _touched(taken: Sequence[BaseGeometry], origin: tuple[float, float], size: tuple[int, int]) -> Mask:
    """Return which cells anything lies in; a strip of cells is cut out of the wood at a time."""
    columns, rows = size
    x0, y0 = origin
    x1 = x0 + columns * _CELL_MM
    touched = np.zeros((rows, columns), dtype=np.bool_)
    for piece in taken:
        low, high = piece.bounds[1], piece.bounds[3]
        first = max(math.floor((low - y0) / _CELL_MM), 0)
        last = min(math.ceil((high - y0) / _CELL_MM), rows)
        for row in range(first, last):
            bottom = y0 + row * _CELL_MM + _HAIR_MM
            met = shapely.clip_by_rect(piece, x0, bottom, x1, bottom + _CELL_MM - 2 * _HAIR_MM)
            for left, _, right, _ in shapely.bounds(shapely.get_parts(met)).tolist():
                begin = math.floor((left + _HAIR_MM - x0) / _CELL_MM)
                touched[row, begin : math.ceil((right - _HAIR_MM - x0) / _CELL_MM)] = True
    return touched


@compiled
def _largest_rectangle(is_free: Mask) -> tuple[int, int, int, int]:
    """Return (left, bottom, right, top) of the largest all-true rectangle, by the histogram method."""
    rows, columns = is_free.shape
    heights = np.zeros(columns + 1, dtype=np.int64)
    stack = np.empty(columns + 2, dtype=np.int64)
    best, found = 0, (0, 0, 0, 0)
    for row in range(rows):
        for column in range(columns):
            heights[column] = heights[column] + 1 if is_free[row, column] else 0
        depth = 0
        for column in range(columns + 1):
            while depth > 0 and heights[stack[depth - 1]] >= heights[column]:
                depth -= 1
                tall = heights[stack[depth]]
                left = stack[depth - 1] + 1 if depth > 0 else 0
                if tall * (column - left) > best:
                    best, found = tall * (column - left), (left, row + 1 - tall, column, row + 1)
            stack[depth] = column
            depth += 1
    return found
