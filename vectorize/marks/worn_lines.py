"""Straight lines along the rows of a page, each whole although scans, folds and soft pencils tear it to pieces.

A piece is followed by the nearest one in its row that goes on from it and from no other; so a line is a chain of
pieces, and letters, which stand beside each other but not in one row, make none that is mostly ink.

The measures below were chosen on six sheets of two drafting hands, in soft pencil and on worn paper; those of six other
hands were only measured with them.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Grey = NDArray[np.uint8]

PIECE_MM = 1.0
"""Pieces are seen down to this length; shorter ones are letters and specks."""

TORN_MM = 5.0
"""A line is followed over places so long at which nothing of it is left."""

ROW_MM = 0.4
"""Pieces of one line follow each other at heights that differ by less than this, about a pen."""

INKED_SHARE = 0.4
"""So much of a line is there at least."""

THICK_MM = 2.0
"""Ink higher than this is no line."""


@dataclass(frozen=True, slots=True)
class Piece:
    """Where a stretch of a line begins and ends, and the height of its middle, in pixels."""

    left: float
    right: float
    middle: float


@dataclass(frozen=True, slots=True)
class WornLine:
    """A straight line along the rows: its pieces from left to right."""

    pieces: tuple[Piece, ...]

    @property
    def left(self) -> float:
        """Column at which it begins."""
        return self.pieces[0].left

    @property
    def right(self) -> float:
        """Column at which it ends."""
        return self.pieces[-1].right

    @property
    def inked_px(self) -> float:
        """How much of it is there, in pixels."""
        return sum(piece.right - piece.left + 1 for piece in self.pieces)

    def middle_at(self, x: float) -> float:
        """Return its height at a column: that of the nearest piece."""
        return min(self.pieces, key=lambda piece: max(piece.left - x, x - piece.right)).middle


def worn_lines(mask: Grey, *, px_per_mm: float, least_mm: float) -> tuple[WornLine, ...]:
    """Return the lines along the rows of an ink mask of which at least `least_mm` are there."""
    pieces = sorted(_pieces(mask, px_per_mm, least_mm), key=lambda piece: (piece.left, piece.middle))
    onward = _onward(pieces, torn=TORN_MM * px_per_mm, apart=ROW_MM * px_per_mm)
    found = []
    for first in sorted(set(range(len(pieces))) - set(onward.values())):
        chain = [first]
        while (following := onward.get(chain[-1])) is not None:
            chain.append(following)
        line = WornLine(tuple(pieces[k] for k in chain))
        share = line.inked_px / (line.right - line.left + 1)
        if line.inked_px >= least_mm * px_per_mm and share >= INKED_SHARE:
            found.append(line)
    return tuple(found)


def _pieces(mask: Grey, px_per_mm: float, least_mm: float) -> list[Piece]:
    """Return thin strokes along the rows, short ones too; where short ones run together with others, the long ones."""
    pieces: list[Piece] = []
    for length_mm in (PIECE_MM, least_mm):
        length = max(3, round(length_mm * px_per_mm))
        strokes = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((1, length), np.uint8))
        joined = cv2.morphologyEx(strokes, cv2.MORPH_CLOSE, np.ones((3, max(3, length // 4)), np.uint8))
        _, labels, found, _ = cv2.connectedComponentsWithStats(joined, connectivity=8)
        is_thin = found[:, cv2.CC_STAT_HEIGHT] <= max(6.0, THICK_MM * px_per_mm)
        is_thin[0] = True
        pieces += [Piece(x, x + w - 1, y + (h - 1) / 2) for x, y, w, h, _ in found[is_thin][1:].astype(float).tolist()]
        mask = np.where(is_thin[labels], 0, strokes).astype(np.uint8)
    return pieces


def _onward(pieces: Sequence[Piece], *, torn: float, apart: float) -> dict[int, int]:
    """Return for each piece the one that goes on from it and from no nearer one, by their numbers."""
    rows: dict[int, list[tuple[float, int]]] = {}
    for k, piece in enumerate(pieces):
        rows.setdefault(int(piece.middle // apart), []).append((piece.left, k))
    nearest: dict[int, tuple[float, int]] = {}
    for k, piece in enumerate(pieces):
        row = int(piece.middle // apart)
        beside = _first_beyond((rows.get(one, ()) for one in (row - 1, row, row + 1)), pieces, piece, torn, apart)
        if beside is not None:
            gap = pieces[beside].left - piece.right
            nearest[beside] = min(nearest.get(beside, (gap, k)), (gap, k))
    return {k: following for following, (_, k) in nearest.items()}


def _first_beyond(
    rows: Iterable[Sequence[tuple[float, int]]], pieces: Sequence[Piece], piece: Piece, torn: float, apart: float
) -> int | None:
    found: tuple[float, int] | None = None
    for row in rows:
        for left, k in row[bisect_left(row, (piece.right, -1)) :]:
            if left - piece.right > torn or (found is not None and left >= found[0]):
                break
            if abs(pieces[k].middle - piece.middle) < apart:
                found = left, k
    return None if found is None else found[1]
