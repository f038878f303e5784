"""A picture of what was traced: the scan in pale grey, outlines and numbers over it."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from vectorize.curve import Points

if TYPE_CHECKING:
    from vectorize.scale import PlanScale
    from vectorize.scan import Page
    from vectorize.trace import Trace

_INK = (200, 60, 20)
_CUT = (20, 90, 180)
_LONGEST_PX = 2400


def preview_png(page: Page, trace: Trace, scale: PlanScale, *, longest_px: int = _LONGEST_PX) -> bytes:
    """Return a PNG of the page with every traced outline, its number, and the pixel to copy as a pick.

    The ruler along the edges counts original pixels, so that picks can be read off; the picture itself is
    reduced to at most `longest_px` on its longer side.
    """
    share = min(1.0, longest_px / max(page.width, page.height))
    image = _pale(page, share)
    draw = ImageDraw.Draw(image)
    font = ImageFont.load_default(size=max(11, round(max(image.size) / 110)))
    for part in trace.parts:
        for ring, colour in zip(part.outline.rings, (_INK, *(_CUT,) * len(part.outline.cutouts)), strict=True):
            _draw_ring(draw, scale.to_px(ring.flattened(0.05)) * share, colour)
    for number, part in enumerate(trace.parts, start=1):
        x, y = part.inside_px
        _draw_label(draw, (x * share, y * share), f"{number}  ({x:.0f}, {y:.0f})", font)
    _draw_rulers(draw, image.size, share, font)
    out = io.BytesIO()
    image.save(out, "PNG", optimize=True)
    return out.getvalue()


def _pale(page: Page, share: float) -> Image.Image:
    size = (max(1, round(page.width * share)), max(1, round(page.height * share)))
    if page.grey is None:
        return Image.new("RGB", size, "white")
    grey = Image.fromarray(page.grey).resize(size, Image.Resampling.BOX)
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


def _draw_rulers(
    draw: ImageDraw.ImageDraw,
    size: tuple[int, int],
    share: float,
    font: ImageFont.FreeTypeFont | ImageFont.ImageFont,
) -> None:
    """Tick marks every 500 original pixels along the top and the left."""
    for value in range(500, round(max(size) / share), 500):
        along = value * share
        if along < size[0]:
            draw.line([(along, 0), (along, 10)], fill=(0, 0, 0))
            draw.text((along, 12), str(value), fill=(90, 90, 90), font=font, anchor="ma")
        if along < size[1]:
            draw.line([(0, along), (10, along)], fill=(0, 0, 0))
            draw.text((12, along), str(value), fill=(90, 90, 90), font=font, anchor="lm")
