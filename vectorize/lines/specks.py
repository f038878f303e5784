"""What is too small to have been drawn: specks of ink on paper, and pinholes of paper in ink.

Each piece is followed only until it is too large to be one, so that the time is that of the edges of the ink
and not of the sheet.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from vectorize.basics.compiled import compiled

Mask = NDArray[np.uint8]


def without_specks(mask: Mask, *, side_px: float) -> Mask:
    """Return a mask of 0 and 1 without the pieces whose boxes are narrower than `side_px` both ways.

    Pixels that touch at a corner are one piece.
    """
    widest = math.ceil(side_px) - 1
    cleared = mask.copy()
    _turn_over(cleared, 1, True, widest, widest * widest)
    return cleared


def without_pinholes(mask: Mask, *, area_px: float) -> Mask:
    """Return a mask of 0 and 1 with the holes of at most `area_px` pixels filled.

    Paper that touches at a corner only is two holes. What the edge of the picture cuts off counts as a hole.
    """
    filled = mask.copy()
    _turn_over(filled, 0, False, max(mask.shape), math.floor(area_px))
    return filled


@compiled
def _turn_over(
    mask: Mask, value: int, is_diagonal: bool, widest: int, largest: int
) -> None:  # pragma: no cover - compiled
    """Turn over each piece of `value` of at most `widest` pixels either way and `largest` in all, in place.

    A piece is met first at its uppermost pixel, the left one of a row; 2 marks what was followed already.
    """
    rows, columns = mask.shape
    piece = np.empty((largest + 1, 2), np.int64)
    for row in range(rows):
        for column in range(columns):
            if mask[row, column] != value or (column > 0 and mask[row, column - 1] == value):
                continue
            if row > 0 and mask[row - 1, column] == value:
                continue
            if is_diagonal and row > 0 and column > 0 and mask[row - 1, column - 1] == value:
                continue
            piece[0, 0], piece[0, 1] = row, column
            mask[row, column] = 2
            count, at, is_small = 1, 0, largest > 0 and widest > 0
            left, right, top, bottom = column, column, row, row
            while is_small and at < count:
                for down in range(-1, 2):
                    for aside in range(-1, 2):
                        r, c = piece[at, 0] + down, piece[at, 1] + aside
                        if not is_small or r < 0 or c < 0 or r >= rows or c >= columns or mask[r, c] != value:
                            continue
                        if not is_diagonal and down != 0 and aside != 0:
                            continue
                        left, right, top, bottom = min(left, c), max(right, c), min(top, r), max(bottom, r)
                        is_small = count < largest and right - left < widest and bottom - top < widest
                        mask[r, c] = 2
                        piece[count, 0], piece[count, 1] = r, c
                        count += 1
                at += 1
            for k in range(count):
                mask[piece[k, 0], piece[k, 1]] = 1 - value if is_small else value
