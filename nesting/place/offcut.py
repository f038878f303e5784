"""The most useful piece left of a board: the largest rectangle along its length that no part touches."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from nesting.board import Board
from nesting.part import Part
from nesting.place.layout import Placement
from nesting.place.problem import NestRules
from vectorize.outline import Outline

Mask: TypeAlias = NDArray[np.bool_]

_CELL_MM = 1.0


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
    columns, rows = size
    x = origin[0] + np.arange(columns) * _CELL_MM
    y = origin[1] + np.arange(rows) * _CELL_MM
    xs, ys = np.meshgrid(x, y)
    cells = shapely.box(
        xs.ravel() + 1e-6, ys.ravel() + 1e-6, xs.ravel() + _CELL_MM - 1e-6, ys.ravel() + _CELL_MM - 1e-6
    )
    hit, _ = shapely.STRtree(taken).query(cells, predicate="intersects")
    touched = np.zeros(columns * rows, dtype=np.bool_)
    touched[hit] = True
    return touched.reshape(rows, columns)


def _largest_rectangle(is_free: Mask) -> tuple[int, int, int, int]:
    """Return (left, bottom, right, top) of the largest all-true rectangle, by the histogram method."""
    best, found = 0, (0, 0, 0, 0)
    heights = np.zeros(is_free.shape[1] + 1, dtype=np.int64)
    for row, line in enumerate(is_free):
        heights[:-1] = np.where(line, heights[:-1] + 1, 0)
        stack: list[int] = []
        for column, height in enumerate(heights.tolist()):
            while stack and heights[stack[-1]] >= height:
                tall = int(heights[stack.pop()])
                left = stack[-1] + 1 if stack else 0
                if tall * (column - left) > best:
                    best, found = tall * (column - left), (left, row + 1 - tall, column, row + 1)
            stack.append(column)
    return found
