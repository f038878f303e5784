"""Scale bars: figures in even steps along a bar of blocks, or along a line with ticks.

The bar is one piece of ink that touches nothing else. It counts as one dimension, from nought to its last figure; the
figures between have to stand where their numbers put them.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vectorize.basics.units import LENGTH
from vectorize.marks.figures import lengths
from vectorize.marks.lettering import Reading, Text
from vectorize.shapes.segment import Point, Points

Grey = NDArray[np.uint8]

LEAST_LONG_MM = 15.0
LEAST_HIGH_MM, MOST_HIGH_MM = 0.8, 9.0
SLENDER = 5.0
"""A bar is longer than this, this many times as long as high, and its height with its ticks lies between those."""

NEAR_HEIGHTS = 2.5
"""Figures stand within so many heights of their bar, from middle to edge."""

AT_HEIGHTS = 1.2
"""A figure stands within so many heights of its place on the bar, or half its own width: a unit moves it aside."""

EVEN_MM = 0.4
"""Edges between blocks lie where their figures put them within this: about a pen."""

FEWEST_EDGES = 3
"""A bar with no more than two edges is a dimension, or a frame."""


@dataclass(frozen=True, slots=True)
class BarSpan:
    """The two ends of a bar's length on the turned page, and the number of the text that states it."""

    text: int
    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class _Figure:
    """A plain number along the bar, in the bar's own unit: its place on the turned page, and half its size."""

    text: int
    number: float
    x: float
    y: float
    half_width: float
    half_height: float

    @property
    def reach(self) -> float:
        return max(2 * AT_HEIGHTS * self.half_height, self.half_width)


def find_bars(mask: Grey, texts: Sequence[Text], *, matrix: Points, px_per_mm: float) -> tuple[BarSpan, ...]:
    """Return the scale bars along the rows of a turned page, each once.

    Args:
        mask: The page's ink, turned.
        texts: The lettering of the page as it was before it was turned.
        matrix: (2, 3) from the page to the turned one.
        px_per_mm: Pixels per millimetre, within a fifth.
    """
    figures = [one for index, text in enumerate(texts) if (one := _figure(index, text, matrix)) is not None]
    if len(figures) < 2:
        return ()
    _, labels, boxes, _ = cv2.connectedComponentsWithStats(mask, connectivity=8)
    left, top, wide, high = boxes[:, :4].T
    is_bar = (wide >= LEAST_LONG_MM * px_per_mm) & (wide >= SLENDER * high)
    is_bar &= (high >= LEAST_HIGH_MM * px_per_mm) & (high <= MOST_HIGH_MM * px_per_mm)
    found = []
    for k in np.flatnonzero(is_bar).tolist():
        beside = [one for one in figures if _is_beside(one, boxes[k])]
        if len(beside) < 2:
            continue
        x, y = int(left[k]), int(top[k])
        ink = labels[y : y + int(high[k]), x : x + int(wide[k])] == k
        ends = _ends(beside, [x + edge for edge in _edges(ink)], px_per_mm)
        if ends is not None:
            text, start, end = ends
            middle = y + (float(high[k]) - 1) / 2
            found.append(BarSpan(text, (start, middle), (end, middle)))
    return tuple(found)


def _figure(index: int, text: Text, matrix: Points) -> _Figure | None:
    number = _number(text.readings)
    corners = np.array(text.box_px) @ matrix[:, :2].T + matrix[:, 2]
    width, height = np.ptp(corners, axis=0).tolist()
    x, y = corners.mean(axis=0).tolist()
    return None if number is None else _Figure(index, number, x, y, width / 2, height / 2)


def _number(readings: Iterable[Reading]) -> float | None:
    """Return the number that a text is, without its unit; 0 and what looks like it count."""
    for reading in readings:
        if reading.text.strip(" .,").upper() in ("0", "O"):
            return 0.0
        if stated := lengths((reading,)):
            return stated[0].mm / float(LENGTH.factors[stated[0].unit or "mm"])
    return None


def _is_beside(figure: _Figure, box: NDArray[np.int32]) -> bool:
    left, top, wide, high = box[:4].tolist()
    off = max(top - figure.y, figure.y - (top + high))
    is_along = left - figure.reach <= figure.x <= left + wide + figure.reach
    return bool(is_along and 0 < off <= 2 * NEAR_HEIGHTS * figure.half_height)


def _edges(ink: NDArray[np.bool_]) -> list[float]:
    """Return the columns at which blocks begin and end and ticks stand, in order; an outline counts by its middle."""
    halves = np.array_split(ink, 2, axis=0)
    filled = [half.mean(axis=0) for half in halves]
    on = [share > (share.min() + share.max()) / 2 for share in filled]
    runs = [run for half in on for run in _runs(half)]
    if not runs:
        return []
    pens = [
        float(np.median(half[:, ~is_on].sum(axis=0))) for half, is_on in zip(halves, on, strict=True) if any(~is_on)
    ]
    pen = max(pens, default=0.0)
    first, last = min(run[0] for run in runs), max(run[1] for run in runs)
    found = [first + pen / 2 - 0.5, last - pen / 2 - 0.5]
    for start, end in runs:
        inner = [(start + end) / 2] if end - start <= 2 * pen + 1 else [start, end]
        found += [edge - 0.5 for edge in inner if first + pen + 1 < edge < last - pen - 1]
    return _merged(sorted(found), apart=pen + 1)


def _runs(on: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return where runs of true values begin, and where they are over."""
    steps = np.flatnonzero(np.diff(np.pad(on.astype(np.int8), 1)))
    return list(zip(steps[::2].tolist(), steps[1::2].tolist(), strict=True))


def _merged(edges: Sequence[float], *, apart: float) -> list[float]:
    """Return edges with those nearer to each other than `apart` made one: the two rows of a chequered bar."""
    groups: list[list[float]] = []
    for edge in edges:
        if groups and edge - groups[-1][-1] < apart:
            groups[-1].append(edge)
        else:
            groups.append([edge])
    return [float(np.mean(group)) for group in groups]


def _ends(figures: Sequence[_Figure], edges: Sequence[float], px_per_mm: float) -> tuple[int, float, float] | None:
    """Return the last figure of a bar and the columns of nought and of that figure, where all its figures fit."""
    last = max(figures, key=lambda one: one.number)
    rest = [one for one in figures if one is not last]
    is_one_row = all(abs(one.y - last.y) < AT_HEIGHTS * (one.half_height + last.half_height) for one in rest)
    if len(edges) < FEWEST_EDGES or not is_one_row or len({one.number for one in figures}) < len(figures):
        return None
    best: tuple[float, float, float] | None = None
    for start, end in itertools.permutations(edges, 2):
        if abs(end - last.x) > last.reach or abs(end - start) < LEAST_LONG_MM * px_per_mm:
            continue
        places = [start + (end - start) * one.number / last.number for one in figures]
        fits = all(
            abs(one.x - place) <= one.reach and min(abs(edge - place) for edge in edges) < EVEN_MM * px_per_mm
            for one, place in zip(figures, places, strict=True)
        )
        off = sum(abs(one.x - place) for one, place in zip(figures, places, strict=True))
        if fits and (best is None or off < best[0]):
            best = (off, start, end)
    return None if best is None else (last.text, best[1], best[2])
