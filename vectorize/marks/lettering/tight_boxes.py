"""Boxes drawn anew round the letters in them.

The core of a line of lettering takes in what stands close by: the ring of a hole, a cross, a stain, a crease. Such a
box is too large, leans, and is read with the ring as an O. Letters stand in a row and are about as high as each other;
what is not of their row is left outside.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vectorize.marks.lettering.text_box import TextBox
from vectorize.shapes.segment import Points

Grey = NDArray[np.uint8]

ROUND_ABOUT = 0.35
"""So many heights round the box are looked at too: what goes on there is a line, and no letter."""

LOWEST, ALIKE, HIGHEST = 0.45, 1.12, 1.3
"""Letters of a line are between the outer shares of the height of its capitals, alike within the middle one."""

OFF_ROW = 0.45
"""Their middles lie within so many heights of the row's."""

MARGIN = 0.25
"""The detector leaves so many heights of a letter free on each side."""

SIGN = 0.2
"""Pieces of at least this share of a letter's height are part of a line that goes on beyond its row."""

RING_HIGHER, RING_OFF, RING_WIDER = 1.12, 0.15, 1.5
"""A ring is higher than the letters, stands so many of their heights off their row, or is wider than each by this."""

ROUND_SHARE = 0.08
"""A ring fills its square as a circle does, within this, and is as wide as high within twice this."""

HOLLOW = 0.6
"""A ring has ink on less than this share of its disc."""

SPECK = 0.012
"""Ink of less than this share of a square as high as the box is dirt, or a full stop."""

FEWEST = 2
"""A row has at least so many letters."""

MOVED = 0.12
"""A box that moves on no side by more than this share of its height stays."""


@dataclass(frozen=True, slots=True)
class TightBox:
    """A box round a row of letters, and whether the ring of a hole was left out of it."""

    box: TextBox
    drops_ring: bool


@dataclass(frozen=True, slots=True, eq=False)
class _Pieces:
    """Connected pieces of ink in a crop: left, top, width and height (N, 4), and which are rings."""

    boxes: Points
    is_ring: NDArray[np.bool_]

    def where(self, kept: NDArray[np.bool_]) -> _Pieces:
        return _Pieces(self.boxes[kept], self.is_ring[kept])

    @property
    def middle(self) -> Points:
        return np.asarray(self.boxes[:, 1] + self.boxes[:, 3] / 2, np.float64)


def tight_box(grey: Grey, box: TextBox, *, turn_deg: float | None = None) -> TightBox | None:
    """Return the box round the row of letters in a box; None where there is no row, or the box fits it already.

    Args:
        grey: The page, dark on light.
        box: The box, its upper edge along the text.
        turn_deg: Which way the row runs, counter-clockwise; None as the box does.
    """
    frame = box if turn_deg is None else _turned_to(box, turn_deg)
    height = _line_height(box)
    grown = _grown(frame, ROUND_ABOUT * height)
    crop = _cut_out(grey, grown)
    if crop is None:
        return None
    a, along, down = _axes(grown)
    pieces = _pieces(crop, height)
    middles = pieces.boxes[:, :2] + pieces.boxes[:, 2:] / 2
    row, drops_ring = _row(pieces.where(_is_in(box, a + middles[:, :1] * along + middles[:, 1:] * down)))
    if row is None:
        return None
    tall = float(np.median(row.boxes[:, 3]))
    low = row.boxes[:, :2].min(axis=0) - MARGIN * tall
    high = (row.boxes[:, :2] + row.boxes[:, 2:]).max(axis=0) + MARGIN * tall
    corners = [(low[0], low[1]), (high[0], low[1]), (high[0], high[1]), (low[0], high[1])]
    made = TextBox.of([a + x * along + y * down for x, y in corners], box.sure)
    is_same = turn_deg is None and float(np.abs(made.points - box.points).max()) < MOVED * box.height_px
    return None if is_same else TightBox(made, drops_ring)


def _line_height(box: TextBox) -> float:
    return max(1.0, min(box.width_px, box.height_px))


def _axes(box: TextBox) -> tuple[Points, Points, Points]:
    """Return the first corner of a box and its unit vectors along the text and down."""
    a, b, _, d = box.points
    return a, (b - a) / max(box.width_px, 1e-9), (d - a) / max(box.height_px, 1e-9)


def _is_in(box: TextBox, points: Points) -> NDArray[np.bool_]:
    """Return which points lie in a box, or just beside it."""
    a, along, down = _axes(box)
    x, y = (points - a) @ along, (points - a) @ down
    near = ROUND_ABOUT / 2 * _line_height(box)
    return np.asarray((x > -near) & (x < box.width_px + near) & (y > -near) & (y < box.height_px + near))


def _turned_to(box: TextBox, turn_deg: float) -> TextBox:
    """Return the rectangle round a box that runs another way."""
    angle = math.radians(turn_deg)
    axes = np.array([(math.cos(angle), -math.sin(angle)), (math.sin(angle), math.cos(angle))])
    placed = box.points @ axes.T
    (x0, y0), (x1, y1) = placed.min(axis=0), placed.max(axis=0)
    return TextBox.of(np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]) @ axes, box.sure)


def _grown(box: TextBox, by_px: float) -> TextBox:
    x, y = by_px / max(box.width_px, 1.0), by_px / max(box.height_px, 1.0)
    return box.part(left=-x, right=1 + x, top=-y, bottom=1 + y)


def _cut_out(grey: Grey, box: TextBox) -> Grey | None:
    """Return a box at the page's own resolution, upright."""
    size = (round(box.width_px), round(box.height_px))
    if min(size) < 6:
        return None
    here = np.array([box.corners_px[0], box.corners_px[1], box.corners_px[3]], np.float32)
    flat = np.array([(0, 0), (size[0], 0), (0, size[1])], np.float32)
    matrix = cv2.getAffineTransform(flat, here)
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    return np.asarray(cv2.warpAffine(grey, matrix, size, flags=flags, borderMode=cv2.BORDER_REPLICATE), np.uint8)


def _pieces(crop: Grey, height: float) -> _Pieces:
    """Return the pieces of ink in a crop that do not go on beyond it, specks left out."""
    _, ink = cv2.threshold(crop, 0, 255, cv2.THRESH_BINARY_INV + cv2.THRESH_OTSU)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(ink, connectivity=8)
    rows, columns = crop.shape
    left, top, wide, high, area = stats[1:].T
    is_inside = (left > 0) & (top > 0) & (left + wide < columns) & (top + high < rows)
    kept = np.flatnonzero(is_inside & (area > SPECK * height * height))
    is_ring = np.array([_is_ring(labels, k + 1, stats[k + 1]) for k in kept.tolist()], np.bool_)
    return _Pieces(np.asarray(stats[1:][kept, :4], np.float64), is_ring)


def _is_ring(labels: cv2.typing.MatLike, number: int, box: NDArray[np.int32]) -> bool:
    """Return whether a piece is a ring, closed or worn: its hull fills its square as a disc does, its ink does not."""
    left, top, wide, high, area = box.tolist()
    if abs(wide / high - 1) > 2 * ROUND_SHARE:
        return False
    piece = np.asarray(labels[top : top + high, left : left + wide] == number)
    hull = cv2.convexHull(np.argwhere(piece).astype(np.int32))
    filled = float(cv2.contourArea(hull)) + 0.5 * math.pi / 4 * (wide + high)
    return bool(abs(filled / (wide * high) - math.pi / 4) < ROUND_SHARE and area < HOLLOW * filled)


def _row(pieces: _Pieces) -> tuple[_Pieces | None, bool]:
    """Return the pieces that are letters of one row, and whether a ring that is no letter was left out."""
    plain = pieces.where(~pieces.is_ring)
    if len(plain.boxes) == 0 or len(pieces.boxes) < FEWEST:
        return None, False
    tall = _usual_height((plain if len(plain.boxes) >= FEWEST else pieces).boxes)
    is_letter = (pieces.boxes[:, 3] >= LOWEST * tall) & (pieces.boxes[:, 3] <= HIGHEST * tall)
    sure = is_letter & ~pieces.is_ring
    if not sure.any():
        return None, False
    off = np.abs(pieces.middle - float(np.median(pieces.middle[sure])))
    is_letter &= off < OFF_ROW * tall
    is_odd = (pieces.boxes[:, 3] > RING_HIGHER * tall) | (off > RING_OFF * tall)
    is_odd |= pieces.boxes[:, 2] > RING_WIDER * float(pieces.boxes[sure, 2].max())
    is_hole = pieces.is_ring & is_odd
    row = pieces.where(is_letter & ~is_hole)
    is_small = ~is_letter & ~pieces.is_ring & (pieces.boxes[:, 3] <= HIGHEST * tall)
    is_cut = len(row.boxes) < FEWEST or _goes_on(row, pieces.where(is_small), tall)
    return (None, False) if is_cut else (row, bool(is_hole.any()))


def _goes_on(row: _Pieces, others: _Pieces, tall: float) -> bool:
    """Return whether small pieces stand before or after a row, as the figures of a stacked fraction do."""
    is_sign = others.boxes[:, 3] >= SIGN * tall
    left, right = others.boxes[is_sign, 0], others.boxes[is_sign, 0] + others.boxes[is_sign, 2]
    first, last = row.boxes[:, 0].min(), (row.boxes[:, 0] + row.boxes[:, 2]).max()
    return bool(np.any(right < first) or np.any(left > last))


def _usual_height(boxes: Points) -> float:
    """Return the height of capitals and figures: the greatest that most pieces are letters beside."""
    heights = boxes[:, 3]
    beside = [int(np.sum((heights >= LOWEST * tall) & (heights <= ALIKE * tall))) for tall in heights]
    return float(max(zip(beside, heights, strict=True))[1])
