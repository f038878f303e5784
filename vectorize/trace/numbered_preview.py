"""A picture of what was traced: the scan in pale grey, outlines and numbers over it."""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike
from PIL import Image, ImageDraw, ImageFont

from vectorize.page.strokes import bounds_of
from vectorize.shapes.segment import Points

if TYPE_CHECKING:
    from vectorize.page import Page
    from vectorize.scale.joined import JoinedSheet
    from vectorize.scale.plan_scale import PlanScale
    from vectorize.trace.traced import Trace

_INK = (200, 60, 20)
_CUT = (20, 90, 180)
_SCAN = (30, 130, 90)
_LONGEST_PX = 2400
_TICKS_PX = 200


@dataclass(frozen=True, slots=True)
class _View:
    """How the page's own coordinates are shown: the least x and the top y, and picture pixels per unit."""

    left: float
    top: float
    factor: float
    is_y_up: bool
    size: tuple[int, int]

    @staticmethod
    def of(page: Page, longest_px: int) -> _View:
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
        return _View(left, high if page.is_y_up else low, factor, page.is_y_up, size)

    def shown(self, points: ArrayLike) -> Points:
        """Return (N, 2) picture pixels of (N, 2) page points."""
        away = (np.asarray(points, np.float64).reshape(-1, 2) - (self.left, self.top)) * self.factor
        return away * (1.0, -1.0) if self.is_y_up else away


def preview_png(
    page: Page, trace: Trace, scale: PlanScale, *, sheet: JoinedSheet | None = None, longest_px: int = _LONGEST_PX
) -> bytes:
    """Return a PNG of the page with every traced outline, its number, and the point to copy as a pick.

    The rulers along the edges count pixels (units, for a drawing) of the original, so that picks can be
    read off; a picture is reduced to at most `longest_px` on its longer side. On a `sheet` joined of several
    scans the points are pixels of the scans with their number, and the scans' borders stand in place of the rulers.
    """
    view = _View.of(page, longest_px)
    image = _pale(page, view)
    draw = ImageDraw.Draw(image)
    font = ImageFont.load_default(size=max(11, round(max(image.size) / 110)))
    for part in trace.parts:
        for ring, colour in zip(part.outline.rings, (_INK, *(_CUT,) * len(part.outline.cutouts)), strict=True):
            _draw_ring(draw, view.shown(scale.to_px(ring.flattened(0.01))), colour)
    for number, part in enumerate(trace.parts, start=1):
        (at,) = view.shown([part.inside_px]).tolist()
        pick = part.inside_px if sheet is None else sheet.original(part.inside_px)
        digits = 0 if page.grey is not None else 1
        _draw_label(draw, (at[0], at[1]), f"{number}  ({', '.join(f'{v:.{digits}f}' for v in pick)})", font)
    if sheet is None:
        _draw_rulers(draw, view, font)
    else:
        _draw_scans(draw, view, sheet, font)
    out = io.BytesIO()
    image.save(out, "PNG", optimize=True)
    return out.getvalue()


def _pale(page: Page, view: _View) -> Image.Image:
    if page.grey is None:
        image = Image.new("RGB", view.size, "white")
        draw = ImageDraw.Draw(image)
        for stroke in page.strokes:
            points = [p for s in stroke.segments for p in s.flattened(0.1 / view.factor)]
            shown = view.shown([*points, stroke.segments[-1].end])
            draw.line([(float(x), float(y)) for x, y in shown], fill=(190, 190, 190), width=1)
        return image
    grey = Image.fromarray(page.grey).resize(view.size, Image.Resampling.BOX)
    return grey.point([round(150 + 105 * value / 255) for value in range(256)]).convert("RGB")


def _draw_ring(draw: ImageDraw.ImageDraw, points: Points, colour: tuple[int, int, int]) -> None:
    closed = np.vstack([points, points[:1]])
    draw.line([(float(x), float(y)) for x, y in closed], fill=colour, width=2)


def _draw_label(
    draw: ImageDraw.ImageDraw,
    at: tuple[float, float],
    text: str,
    font: ImageFont.FreeTypeFont | ImageFont.ImageFont,
) -> None:
    box = draw.textbbox(at, text, font=font, anchor="mm")
    draw.rectangle((box[0] - 4, box[1] - 3, box[2] + 4, box[3] + 3), fill=(255, 255, 255), outline=_INK)
    draw.text(at, text, fill=(0, 0, 0), font=font, anchor="mm")


def _draw_scans(
    draw: ImageDraw.ImageDraw, view: _View, sheet: JoinedSheet, font: ImageFont.FreeTypeFont | ImageFont.ImageFont
) -> None:
    """Draw the border of every scan, with its number and name inside its upper left corner."""
    for number, place in enumerate(sheet.places, start=1):
        right, bottom = (side - 1 for side in place.size_px)
        border = view.shown(sheet.to_sheet([(0, 0), (right, 0), (right, bottom), (0, bottom)], number))
        draw.line([(float(x), float(y)) for x, y in (*border, border[0])], fill=_SCAN, width=2)
        x, y = border[0].tolist()
        draw.text((x + 8, y + 4 + 18 * (number % 2)), f"{number}: {place.name}", fill=_SCAN, font=font)


def _draw_rulers(draw: ImageDraw.ImageDraw, view: _View, font: ImageFont.FreeTypeFont | ImageFont.ImageFont) -> None:
    """Tick marks in round numbers of the original's pixels or units along the top and the left."""
    step = _round_step(_TICKS_PX / view.factor)
    columns, rows = view.size
    for tick in range(math.ceil(view.left / step), math.floor((view.left + columns / view.factor) / step) + 1):
        ((x, _),) = view.shown([(tick * step, view.top)]).tolist()
        draw.line([(x, 0), (x, 10)], fill=(0, 0, 0))
        draw.text((x, 12), f"{tick * step:g}", fill=(90, 90, 90), font=font, anchor="ma")
    ends = sorted((view.top, view.top + (-1 if view.is_y_up else 1) * rows / view.factor))
    for tick in range(math.ceil(ends[0] / step), math.floor(ends[1] / step) + 1):
        ((_, y),) = view.shown([(view.left, tick * step)]).tolist()
        draw.line([(0, y), (10, y)], fill=(0, 0, 0))
        draw.text((12, y), f"{tick * step:g}", fill=(90, 90, 90), font=font, anchor="lm")


def _round_step(least: float) -> float:
    """Return the least of 1, 2, 5, 10, 20 … that is not below `least`."""
    power = 10.0 ** math.floor(math.log10(least))
    return next(factor * power for factor in (1, 2, 5, 10) if factor * power >= least * (1 - 1e-9))
