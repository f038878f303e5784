"""Lengths drawn on a plan that lettering may state: a line with the two lines that it runs between.

Lines are looked for along and across the sheet's own direction. The two ends are not read off the arrows, whose form
every draughtsman has his own way with, but off the witness lines or edges that the dimension line runs up to.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vectorize.lines.ink import find_ink
from vectorize.marks.figures import lengths
from vectorize.marks.lettering import Text
from vectorize.marks.scale_bars import find_bars
from vectorize.marks.worn_lines import WornLine, worn_lines
from vectorize.scale.flatten import find_skew
from vectorize.shapes.segment import Point, Points

Grey = NDArray[np.uint8]
Line = tuple[bool, int, int]
"""The way of a line, where it begins, and how long it is, in steps."""

LEAST_LINE_MM = 3.0
"""Strokes shorter than this along the sheet are no dimension lines."""

BESIDE = 1.6
"""A figure stands over its line by at most so many heights of its box, from middle to line."""

GAP = 2.0
"""A line that stops for its figure leaves at most so many heights free on each side."""

ONE_LINE_MM = 0.5
"""The two ends of one line lie in its row, within this."""

MOST_ENDS = 3
"""So many ends are weighed up on each side of a figure."""

NEAR_END_MM = 1.6
"""A witness line crosses within this of the end of the dimension line: arrows overrun, ticks and gaps fall short."""

BAND_MM = (0.7, 2.6)
"""A witness line is seen this far from the dimension line, on one side at least."""

WITNESS_SHARE = 0.7
"""So much of that stretch is inked."""

SAME_END_PX = 6.0
SAME_END_SHARE = 0.02
"""Lines that begin and end so near each other, along their direction, measure one thing: rulings of a table do."""


@dataclass(frozen=True, slots=True)
class Span:
    """A length drawn between two points of the picture, along x or y of the sheet, and the text that may state it.

    `below_px` is how far its line lies below the middle of the text as it is read, negative above it.
    """

    text: int
    start: Point
    end: Point
    is_upright: bool
    below_px: float = 0.0

    @property
    def line(self) -> Line:
        """What is the same for two texts between the same two uprights: on one line, or on the rulings of a table."""
        way = np.subtract(self.end, self.start) / max(self.px, 1e-9)
        first = float(np.dot(self.start, way))
        short = SAME_END_PX / SAME_END_SHARE
        beyond = math.log(max(self.px / short, 1.0)) / math.log1p(SAME_END_SHARE)
        size = round(min(self.px, short) / SAME_END_PX + beyond)
        step = SAME_END_PX * (1 + SAME_END_SHARE) ** max(0.0, size - short / SAME_END_PX)
        return self.is_upright, round(first / step), size

    @property
    def px(self) -> float:
        """Distance of the ends in pixels."""
        return math.dist(self.start, self.end)


def find_spans(grey: Grey, texts: Sequence[Text], *, px_per_mm: float) -> tuple[Span, ...]:
    """Return what texts that state a length may be the dimensions of; several for a text are told apart by the scale.

    Args:
        grey: The page, as it was read.
        texts: Its lettering.
        px_per_mm: Pixels per millimetre, within a fifth.
    """
    ink = find_ink(grey, px_per_mm=px_per_mm)
    angle_deg = find_skew(grey).angle_deg
    spans: list[Span] = []
    for is_upright in (False, True):
        sheet = _Turned.of(ink.darkness, ink.mask, angle_deg + (90.0 if is_upright else 0.0), px_per_mm)
        for index, text in enumerate(texts):
            if lengths(text.readings):
                ends = [tuple(map(sheet.back, pair)) for pair in sheet.spans_at(np.array(text.box_px))]
                spans += [Span(index, one, other, is_upright, _below(text, one, other)) for one, other in ends]
        for bar in find_bars(sheet.mask, texts, matrix=sheet.matrix, px_per_mm=px_per_mm):
            start, end = sheet.back(bar.start), sheet.back(bar.end)
            spans.append(Span(bar.text, start, end, is_upright, _below(texts[bar.text], start, end)))
    return tuple(spans)


def _below(text: Text, start: Point, end: Point) -> float:
    """Return how far the line through two points lies below the middle of a text as it is read."""
    corners = np.array(text.box_px)
    down = (corners[3] - corners[0]) / max(math.dist(corners[3], corners[0]), 1e-9)
    along = np.subtract(end, start) / max(math.dist(start, end), 1e-9)
    off = np.array(start) - corners.mean(axis=0)
    across = off - along * float(off @ along)
    return float(across @ down)


@dataclass(frozen=True, slots=True, eq=False)
class _Turned:
    """The page turned so that the dimension lines looked for lie along its rows."""

    darkness: Grey
    mask: Grey
    lines: tuple[WornLine, ...]
    matrix: Points
    px_per_mm: float

    @classmethod
    def of(cls, darkness: Grey, mask: Grey, angle_deg: float, px_per_mm: float) -> _Turned:
        """Return the page turned clockwise as seen by `angle_deg`, with room for its corners."""
        rows, columns = darkness.shape
        matrix = cv2.getRotationMatrix2D((columns / 2, rows / 2), -angle_deg, 1.0)
        corners = np.array([(0, 0), (columns, 0), (columns, rows), (0, rows)]) @ matrix[:, :2].T + matrix[:, 2]
        matrix[:, 2] -= corners.min(axis=0)
        wide, high = np.ceil(np.ptp(corners, axis=0)).astype(int).tolist()
        turned = [
            np.asarray(cv2.warpAffine(picture, matrix, (wide, high), flags=flags), np.uint8)
            for picture, flags in ((darkness, cv2.INTER_LINEAR), (mask, cv2.INTER_NEAREST))
        ]
        lines = worn_lines(turned[1], px_per_mm=px_per_mm, least_mm=LEAST_LINE_MM)
        return cls(turned[0], turned[1], lines, np.asarray(matrix, np.float64), px_per_mm)

    def back(self, point: Point) -> Point:
        """Return a point of the turned page on the page."""
        x, y = np.linalg.solve(self.matrix[:, :2], np.array(point) - self.matrix[:, 2]).tolist()
        return float(x), float(y)

    def spans_at(self, box: Points) -> list[tuple[Point, Point]]:
        """Return the ends of the dimension lines that a text in `box` may stand on or in."""
        corners = box @ self.matrix[:, :2].T + self.matrix[:, 2]
        low, high = corners.min(axis=0), corners.max(axis=0)
        x, y = ((low + high) / 2).tolist()
        tall = float(min(math.dist(corners[0], corners[1]), math.dist(corners[1], corners[2])))
        gap, least = GAP * tall, LEAST_LINE_MM * self.px_per_mm
        along = [line for line in self.lines if line.left < high[0] + gap and line.right > low[0] - gap]
        near = [line for line in along if abs(line.middle_at(x) - y) < BESIDE * tall]
        before = [end for line in near for end in self._ends(line, x, sign=-1)]
        after = [end for line in near for end in self._ends(line, x, sign=1)]
        return [
            (start, end)
            for start, end in itertools.product(before, after)
            if abs(start[1] - end[1]) < ONE_LINE_MM * self.px_per_mm and end[0] - start[0] > least
        ]

    def _ends(self, line: WornLine, x: float, *, sign: int) -> list[Point]:
        """Return where a line may end on one side of `x`: at the witness lines where it stops, outermost first."""
        pieces = line.pieces if sign < 0 else line.pieces[::-1]
        stops = [(piece.left if sign < 0 else piece.right, piece.middle) for piece in pieces]
        seen = {self._witness(stop, middle): middle for stop, middle in stops if (stop - x) * sign > 0}
        return [(end, middle) for end, middle in seen.items() if end is not None][:MOST_ENDS]

    def _witness(self, x: float, y: float) -> float | None:
        """Return where a line crosses the row `y` nearest to column `x`, to sub-pixel; None if none does there."""
        near = NEAR_END_MM * self.px_per_mm
        first = max(0, round(x - near))
        sides = []
        for sign in (-1, 1):
            rows = sorted(round(y + sign * share * self.px_per_mm) for share in BAND_MM)
            band = self.mask[max(0, rows[0]) : max(0, rows[1]), first : round(x + near) + 1]
            sides.append(band.mean(axis=0) if band.size else np.zeros(band.shape[1]))
        seen = np.flatnonzero(np.maximum(*sides) >= WITNESS_SHARE)
        if len(seen) == 0:
            return None
        groups = np.split(seen, np.flatnonzero(np.diff(seen) > 1) + 1)
        nearest = min(groups, key=lambda group: abs(first + float(group.mean()) - x))
        return self._centre(first + float(nearest.mean()), y, 0.5 * len(nearest))

    def _centre(self, x: float, y: float, half: float) -> float:
        """Return the centroid of the darkness of an upright line near column `x`, above and below row `y`."""
        near, far = (round(share * self.px_per_mm) for share in BAND_MM)
        row, reach = round(y), math.ceil(half + 2)
        columns = np.arange(round(x) - reach, round(x) + reach + 1)
        columns = columns[(columns >= 0) & (columns < self.darkness.shape[1])]
        bands = [self.darkness[max(0, row - far) : max(0, row - near)], self.darkness[row + near : row + far]]
        sums = [band[:, columns].astype(np.float64).mean(axis=0) if len(band) else 0 * columns for band in bands]
        profile = max(sums, key=lambda values: float(np.max(values, initial=0.0)))
        profile = np.maximum(profile - profile.min(), 0.0)
        return float(np.sum(columns * profile) / max(float(np.sum(profile)), 1e-9))
