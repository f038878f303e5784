"""A picture of what was traced: the scan in pale grey, outlines and numbers over it."""

from __future__ import annotations

import io
import math
from typing import TYPE_CHECKING

from PIL import ImageDraw, ImageFont

from vectorize.trace.page_view import INK, PageView

if TYPE_CHECKING:
    from vectorize.page import Page
    from vectorize.scale.joined import JoinedSheet
    from vectorize.scale.plan_scale import PlanScale
    from vectorize.trace.traced import Trace

_SCAN = (30, 130, 90)
_LONGEST_PX = 2400
_TICKS_PX = 200


def preview_png(
    page: Page, trace: Trace, scale: PlanScale, *, sheet: JoinedSheet | None = None, longest_px: int = _LONGEST_PX
) -> bytes:
    """Return a PNG of the page with every traced outline, its number, and the point to copy as a pick.

    The rulers along the edges count pixels (units, for a drawing) of the original, so that picks can be
    read off; a picture is reduced to at most `longest_px` on its longer side. On a `sheet` joined of several
    scans the points are pixels of the scans with their number, and the scans' borders stand in place of the rulers.
    """
    view = PageView.of(page, longest_px)
    image = view.pale(page)
    draw = ImageDraw.Draw(image)
    font = ImageFont.load_default(size=max(11, round(max(image.size) / 110)))
    for part in trace.parts:
        view.draw_outline(draw, part.outline, scale)
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


def _draw_label(
    draw: ImageDraw.ImageDraw,
    at: tuple[float, float],
    text: str,
    font: ImageFont.FreeTypeFont | ImageFont.ImageFont,
) -> None:
    box = draw.textbbox(at, text, font=font, anchor="mm")
    draw.rectangle((box[0] - 4, box[1] - 3, box[2] + 4, box[3] + 3), fill=(255, 255, 255), outline=INK)
    draw.text(at, text, fill=(0, 0, 0), font=font, anchor="mm")


def _draw_scans(
    draw: ImageDraw.ImageDraw, view: PageView, sheet: JoinedSheet, font: ImageFont.FreeTypeFont | ImageFont.ImageFont
) -> None:
    """Draw the border of every scan, with its number and name inside its upper left corner."""
    for number, place in enumerate(sheet.places, start=1):
        right, bottom = (side - 1 for side in place.size_px)
        border = view.shown(sheet.to_sheet([(0, 0), (right, 0), (right, bottom), (0, bottom)], number))
        draw.line([(float(x), float(y)) for x, y in (*border, border[0])], fill=_SCAN, width=2)
        x, y = border[0].tolist()
        draw.text((x + 8, y + 4 + 18 * (number % 2)), f"{number}: {place.name}", fill=_SCAN, font=font)


def _draw_rulers(draw: ImageDraw.ImageDraw, view: PageView, font: ImageFont.FreeTypeFont | ImageFont.ImageFont) -> None:
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
