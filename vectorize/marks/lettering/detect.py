"""Where lettering stands: one look at the page reduced to about 140 dpi.

The network gives each pixel's probability to lie in the core of a line of lettering (differentiable binarisation:
Liao et al. 2020, doi:10.1609/aaai.v34i07.6812); each core is boxed and grown back to the line's full height.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from vectorize.lines.ink import looks_negative
from vectorize.marks.lettering import models
from vectorize.marks.lettering.text_box import SHORT, TextBox

Grey = NDArray[np.uint8]
_Rectangle = tuple[Sequence[float], Sequence[float], float]
Probability = NDArray[np.float32]

LOOK_PX_PER_MM = 140 / 25.4
"""The page is looked at in this resolution: letters of 2 to 10 mm then have the height that the network knows."""

CORE = 0.2
"""Probability from which a pixel belongs to the core of a line; as the model was published."""

LEAST_SURE = 0.4
"""Boxes with less lettering in them than this are dropped; as the model was published."""

GROWTH = 1.4
"""A core is grown on each side by this many times its area over its perimeter; as the model was published."""

LEAST_CORE_PX = 3.0
"""Cores narrower than this in the reduced page are specks."""

LONG = 4.0
"""A core this many times as long as high tells which way the sheet's lettering runs."""

LEAN_DEG = 4.0
"""Boxes that lean from the sheet's lettering by less than this do so because of a mark beside the text."""

TILE_PX = 1920
"""Larger pages are looked at in squares of this side, so that memory stays bounded."""

HALO_PX = 128
"""Squares overlap by this much on each side: more than the longest word that the seam could change."""

STRIDE_PX = 32
"""The network takes sizes that are multiples of this."""

USUAL_PEN_MM = 0.45
"""Width of a usual pen, from which the resolution of a page is guessed where nothing tells it."""

_MEAN = np.array([0.485, 0.456, 0.406], np.float32)
_SPREAD = np.array([0.229, 0.224, 0.225], np.float32)


def find_lettering(grey: Grey, *, px_per_mm: float | None = None) -> tuple[TextBox, ...]:
    """Return the boxes of all lettering on a page, from top to bottom and then from left to right.

    Upper edges are the longer sides, of short boxes those that run to the right; the text is not read.
    The same page gives the same boxes.

    Args:
        grey: (rows, columns) 0 black to 255 white; light lettering on a dark sheet is turned over.
        px_per_mm: Pixels per millimetre, within a factor of two; None guesses it by the width of the lines.
    """
    if min(grey.shape) < 2:
        return ()
    positive = upright_tones(grey)
    px_per_mm = px_per_mm or guess_px_per_mm(positive)
    reduced = _reduced(positive, LOOK_PX_PER_MM / px_per_mm)
    across, down = grey.shape[1] / reduced.shape[1], grey.shape[0] / reduced.shape[0]
    boxes = [_scaled(box, across, down) for box in _boxes(_probability(reduced))]
    return tuple(sorted(boxes, key=lambda box: (box.bounds_px()[1], box.bounds_px()[0], box.corners_px)))


def upright_tones(grey: Grey) -> Grey:
    """Return the page with dark lettering on a light ground."""
    return np.asarray(cv2.bitwise_not(grey), np.uint8) if looks_negative(grey) else grey


def guess_px_per_mm(grey: Grey) -> float:
    """Return a guess of the resolution: the middle length of dark runs along the rows is about one pen width."""
    sample = grey[:: max(1, grey.shape[0] // 1000)]
    level, _ = cv2.threshold(np.ascontiguousarray(sample), 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    padded = np.pad((sample <= level).astype(np.int8), ((0, 0), (1, 1)))
    edges = np.diff(padded, axis=1)
    runs = np.flatnonzero(edges.ravel() == -1) - np.flatnonzero(edges.ravel() == 1)
    pen_px = float(np.median(runs)) if len(runs) else 0.0
    return float(np.clip(pen_px / USUAL_PEN_MM, 72 / 25.4, 1200 / 25.4))


def _reduced(grey: Grey, share: float) -> Grey:
    """Return the page with its sides times `share`, at least one pixel; it is enlarged at most fourfold."""
    share = min(share, 4.0)
    size = (max(1, round(grey.shape[1] * share)), max(1, round(grey.shape[0] * share)))
    interpolation = cv2.INTER_AREA if share < 1 else cv2.INTER_LINEAR
    return np.asarray(cv2.resize(grey, size, interpolation=interpolation), np.uint8)


def _probability(grey: Grey) -> Probability:
    """Return each pixel's probability of lettering, looked at in overlapping squares."""
    network = models.detector()
    rows, columns = grey.shape
    whole = np.zeros((rows, columns), np.float32)
    for top in range(0, rows, TILE_PX):
        for left in range(0, columns, TILE_PX):
            y0, x0 = max(0, top - HALO_PX), max(0, left - HALO_PX)
            y1, x1 = min(rows, top + TILE_PX), min(columns, left + TILE_PX)
            seen = _looked_at(network, grey[y0 : y1 + HALO_PX, x0 : x1 + HALO_PX])
            whole[top:y1, left:x1] = seen[top - y0 : y1 - y0, left - x0 : x1 - x0]
    return whole


def _looked_at(network: Any, grey: Grey) -> Probability:  # noqa: ANN401
    rows, columns = grey.shape
    below, right = -rows % STRIDE_PX, -columns % STRIDE_PX
    padded = cv2.copyMakeBorder(grey, 0, below, 0, right, cv2.BORDER_REPLICATE)
    tones = (np.asarray(padded, np.float32)[None] / 255 - _MEAN[:, None, None]) / _SPREAD[:, None, None]
    network.setInput(tones[None])
    return np.asarray(network.forward()[0, 0, :rows, :columns], np.float32)


def _boxes(probability: Probability) -> list[TextBox]:
    cores = (probability > CORE).astype(np.uint8)
    contours, _ = cv2.findContours(cores, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
    skew_deg = _skew_deg([cv2.minAreaRect(contour) for contour in contours])
    boxes = []
    for contour in contours:
        centre, (width, height), angle = _rectangle(contour, skew_deg)
        if min(width, height) < LEAST_CORE_PX:
            continue
        sure = _mean_inside(probability, cv2.boxPoints((centre, (width, height), angle)))
        if sure < LEAST_SURE:
            continue
        growth = GROWTH * width * height / (width + height)  # half of area over perimeter, on both sides
        boxes.append(_box(centre, (width + growth, height + growth), angle, sure))
    return boxes


def _skew_deg(rectangles: list[_Rectangle]) -> float:
    """Return by how much most long lines of lettering are turned from the rows or columns, -45 to 45."""
    turns = [
        (angle + 45) % 90 - 45
        for _, (width, height), angle in rectangles
        if max(width, height) > LONG * min(width, height) >= LONG * LEAST_CORE_PX
    ]
    return float(np.median(turns)) if turns else 0.0


def _rectangle(contour: cv2.typing.MatLike, skew_deg: float) -> _Rectangle:
    """Return the rectangle round a core: along the sheet's lettering unless it clearly runs another way."""
    rectangle: _Rectangle = cv2.minAreaRect(contour)
    width, height = rectangle[1]
    off = (rectangle[2] - skew_deg + 45) % 90 - 45
    is_short = max(width, height) < SHORT * min(width, height)
    if not is_short and abs(off) > LEAN_DEG:
        return rectangle
    angle = math.radians(skew_deg)
    axes = np.array([(math.cos(angle), math.sin(angle)), (-math.sin(angle), math.cos(angle))])
    along = contour.reshape(-1, 2) @ axes.T
    low, high = along.min(axis=0), along.max(axis=0)
    x, y = (low + high) / 2 @ axes
    across, down = high - low
    return (float(x), float(y)), (float(across), float(down)), skew_deg


def _mean_inside(probability: Probability, corners: cv2.typing.MatLike) -> float:
    left, top, width, height = cv2.boundingRect(corners.astype(np.int32))
    x, y = max(0, left), max(0, top)
    window = probability[y : top + height, x : left + width]
    inside = np.zeros(window.shape, np.uint8)
    cv2.fillPoly(inside, [(corners - (x, y)).astype(np.int32)], 1)
    return float(cv2.mean(window, inside)[0])


def _box(centre: Sequence[float], size: Sequence[float], angle_deg: float, sure: float) -> TextBox:
    """Return the box whose upper edge is its longer side, running to the right or, if upright, upwards.

    A short one does not tell which side is the text's; its upper edge is the one that runs to the right.
    """
    width, height = size
    is_short = max(width, height) < SHORT * min(width, height)
    if (abs((angle_deg + 90) % 180 - 90) > 45) if is_short else width < height:
        width, height, angle_deg = height, width, angle_deg + 90
    angle_deg = (angle_deg + 90) % 180 - 90
    along = np.array([math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))])
    down = np.array([-along[1], along[0]])
    middle = np.array(centre)
    a, b = along * width / 2, down * height / 2
    return TextBox.of([middle - a - b, middle + a - b, middle + a + b, middle - a + b], sure)


def _scaled(box: TextBox, across: float, down: float) -> TextBox:
    """Return the box of the reduced page on the page itself; pixel centres lie at whole numbers on both."""
    return TextBox.of((box.points + 0.5) * (across, down) - 0.5, box.sure)
