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


@dataclass(frozen=True, slots=True)
class PageView:
    """How the page's own coordinates are shown: the least x and the top y, and picture pixels per unit."""

    left: float
    top: float
    factor: float
    is_y_up: bool
    size: tuple[int, int]

    @staticmethod
    def of(page: Page, longest_px: int) -> PageView:
        """Return the view of a whole page: a picture is only ever reduced, a drawing fills the view."""
        left, low, right, high = 0.0, 0.0, page.width, page.height
        if page.grey is None:
            left, low, right, high = bounds_of(page.strokes) or (left, low, right, high)
            edge = 0.03 * max(right - left, high - low)
            left, low, right, high = left - edge, low - edge, right + edge, high + edge
        width, height = right - left, high - low
        factor = longest_px / max(width, height)
        if page.grey is not None:
            factor = min(1.0, factor)
        size = (max(1, round(width * factor)), max(1, round(height * factor)))
        return PageView(left, high if page.is_y_up else low, factor, page.is_y_up, size)

    def shown(self, points: ArrayLike) -> Points:
        """Return (N, 2) picture pixels of (N, 2) page points."""
        away = (np.asarray(points, np.float64).reshape(-1, 2) - (self.left, self.top)) * self.factor
        return away * (1.0, -1.0) if self.is_y_up else away

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
        grey = Image.fromarray(page.grey).resize(self.size, Image.Resampling.BOX)
        return grey.point([round(150 + 105 * value / 255) for value in range(256)]).convert("RGB")

    def draw_outline(self, draw: ImageDraw.ImageDraw, outline: Outline, scale: PlanScale) -> None:
        """Draw an outline in mm with its cut-outs."""
        for ring, colour in zip(outline.rings, (INK, *(CUT,) * len(outline.cutouts)), strict=True):
            points = self.shown(scale.to_px(ring.flattened(0.01)))
            draw.line([(float(x), float(y)) for x, y in np.vstack([points, points[:1]])], fill=colour, width=2)
