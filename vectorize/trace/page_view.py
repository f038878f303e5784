"""How a page's own coordinates are shown in a picture for a reader: the page in pale grey, outlines over it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike
from PIL import Image, ImageDraw

from vectorize.page.strokes import bounds_of
from vectorize.shapes.outline import Outline
from vectorize.shapes.segment import Points

if TYPE_CHECKING:
    from vectorize.page import Page
    from vectorize.scale.plan_scale import PlanScale

INK, CUT = (200, 60, 20), (20, 90, 180)
"""The colours of an outline and of its cut-outs."""

_HALF = 0.5
"""Pixel centres lie at whole numbers, of a page as of the picture that shows it, so its corner half a pixel before."""

_ROOM = 0.08
"""What is shown beside something on each side, against its longer side."""


@dataclass(frozen=True, slots=True)
class PageView:
    """How the page's own coordinates are shown: those at the upper left corner, and picture pixels per unit.

    The whole page is shown, or the part of it `around` something.
    """

    left: float
    top: float
    factor: float
    is_y_up: bool
    size: tuple[int, int]

    @staticmethod
    def of(page: Page, longest_px: int) -> PageView:
        """Return the view of a whole page: a picture is only ever reduced, a drawing fills the view."""
        left, low, right, high = -_HALF, -_HALF, page.width - _HALF, page.height - _HALF
        if page.grey is None:
            left, low, right, high = 0.0, 0.0, page.width, page.height
            left, low, right, high = bounds_of(page.strokes) or (left, low, right, high)
            edge = 0.03 * max(right - left, high - low)
            left, low, right, high = left - edge, low - edge, right + edge, high + edge
        width, height = right - left, high - low
        factor = longest_px / max(width, height)
        if page.grey is not None:
            factor = min(1.0, factor)
        size = (max(1, round(width * factor)), max(1, round(height * factor)))
        return PageView(left, high if page.is_y_up else low, factor, page.is_y_up, size)

    @staticmethod
    def around(page: Page, points: ArrayLike, *, longest_px: int) -> PageView:
        """Return the view of what lies about (N, 2) page points, with some room beside them."""
        points = np.asarray(points, np.float64).reshape(-1, 2)
        low, high = points.min(axis=0), points.max(axis=0)
        room = max(_ROOM * float(np.max(high - low)), 1e-9)
        low, high = low - room, high + room
        if page.grey is not None:
            low = np.maximum(np.floor(low), 0.0) - _HALF
            high = np.minimum(np.ceil(high), np.array([page.width, page.height])) - _HALF
        factor = longest_px / float(np.max(high - low))
        columns, rows = np.maximum(np.round((high - low) * factor), 1).astype(int).tolist()
        return PageView(
            float(low[0]), float(high[1] if page.is_y_up else low[1]), factor, page.is_y_up, (columns, rows)
        )

    def shown(self, points: ArrayLike) -> Points:
        """Return (N, 2) picture pixels of (N, 2) page points."""
        away = (np.asarray(points, np.float64).reshape(-1, 2) - (self.left, self.top)) * self.factor
        return (away * (1.0, -1.0) if self.is_y_up else away) - _HALF

    def pale(self, page: Page) -> Image.Image:
        """Return the page in pale grey."""
        if page.grey is None:
            image = Image.new("RGB", self.size, "white")
            draw = ImageDraw.Draw(image)
            for stroke in page.strokes:
                points = [p for s in stroke.segments for p in s.flattened(0.1 / self.factor)]
                shown = self.shown([*points, stroke.segments[-1].end])
                draw.line([(float(x), float(y)) for x, y in shown], fill=(190, 190, 190), width=1)
            return image
        columns, rows = (side / self.factor for side in self.size)
        left, top = self.left + _HALF, self.top + _HALF
        # Rounded to whole pixels of the view, its far side may lie a little beyond the page.
        held = (left, top, min(left + columns, page.width), min(top + rows, page.height))
        grey = Image.fromarray(page.grey).resize(self.size, Image.Resampling.BOX, box=held)
        return grey.point([round(150 + 105 * value / 255) for value in range(256)]).convert("RGB")

    def draw_outline(self, draw: ImageDraw.ImageDraw, outline: Outline, scale: PlanScale) -> None:
        """Draw an outline in mm with its cut-outs."""
        for ring, colour in zip(outline.rings, (INK, *(CUT,) * len(outline.cutouts)), strict=True):
            points = self.shown(scale.to_px(ring.flattened(0.01)))
            draw.line([(float(x), float(y)) for x, y in np.vstack([points, points[:1]])], fill=colour, width=2)
