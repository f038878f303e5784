"""A picture of what doubtful parts may be: a row for each part, its readings side by side, what differs shaded."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import TYPE_CHECKING, Protocol

import numpy as np
from PIL import Image, ImageDraw, ImageFont
from shapely.geometry import Polygon

from vectorize.shapes.alternative import Alternative
from vectorize.shapes.outline import Outline
from vectorize.trace.page_view import PageView

if TYPE_CHECKING:
    from vectorize.page import Page
    from vectorize.scale.plan_scale import PlanScale

_CELL_PX, _EDGE_PX, _LETTER_PX = 420, 14, 17
_SHADE = (240, 190, 60)
_SHADE_SHARE = 0.45
_FINE_MM = 0.05
"""How finely areas that differ are shaded."""


class ReadPart(Protocol):
    """A part as it was read, and what else it may be."""

    @property
    def name(self) -> str:
        """Its name."""

    @property
    def outline(self) -> Outline:
        """What it was taken for."""

    @property
    def sure(self) -> float:
        """How sure that is."""

    @property
    def alternatives(self) -> tuple[Alternative, ...]:
        """What else it may be, likeliest first."""


def readings_png(page: Page, parts: Sequence[ReadPart], scale: PlanScale) -> bytes:
    """Return a PNG with a row for each part: as it was traced, then its alternatives in their order.

    Each is drawn over its place on the page, with how sure it is; where an alternative differs from what was traced
    it is shaded.

    Raises:
        ValueError: There is no part.
    """
    rows = [_row(page, part, scale) for part in parts]
    width = max(row.width for row in rows)
    sheet = Image.new("RGB", (width, sum(row.height for row in rows)), "white")
    top = 0
    for row in rows:
        sheet.paste(row, (0, top))
        top += row.height
    out = io.BytesIO()
    sheet.save(out, "PNG", optimize=True)
    return out.getvalue()


def _row(page: Page, part: ReadPart, scale: PlanScale) -> Image.Image:
    """Return the readings of one part, all in one view of its place."""
    readings = [(part.outline, part.sure), *((other.outline, other.sure) for other in part.alternatives)]
    reach = np.vstack([scale.to_px(outline.exterior.flattened(_FINE_MM)) for outline, _ in readings])
    view = PageView.around(page, reach, longest_px=_CELL_PX)
    font = ImageFont.load_default(size=_LETTER_PX)
    head = 2 * _LETTER_PX + 2 * _EDGE_PX
    columns, rows = view.size[0] + _EDGE_PX, view.size[1] + head + _EDGE_PX
    titles = ["as traced", *(f"reading {number}" for number in range(2, len(readings) + 1))]
    said = [f"{title}, {100 * sure:.0f} % sure" for title, (_, sure) in zip(titles, readings, strict=True)]
    # A slim part's view is narrower than what is said of it.
    columns = max(columns, _EDGE_PX + round(max(font.getlength(text) for text in (*said, part.name))))
    row = Image.new("RGB", (_EDGE_PX + columns * len(readings), rows), "white")
    draw = ImageDraw.Draw(row)
    draw.text((_EDGE_PX, _EDGE_PX), part.name, fill=(0, 0, 0), font=font)
    pale = view.pale(page)
    for number, ((outline, _), text) in enumerate(zip(readings, said, strict=True)):
        left = _EDGE_PX + columns * number
        draw.text((left, _EDGE_PX + _LETTER_PX + 4), text, fill=(90, 90, 90), font=font)
        cell = _shaded(pale, view, part.outline, outline, scale)
        view.draw_outline(ImageDraw.Draw(cell), outline, scale)
        row.paste(cell, (left, head))
    return row


def _shaded(pale: Image.Image, view: PageView, taken: Outline, other: Outline, scale: PlanScale) -> Image.Image:
    """Return the page with what one outline holds and the other does not in another colour."""
    mask = Image.new("L", pale.size, 0)
    draw = ImageDraw.Draw(mask)
    for piece in _pieces(taken, other):
        for ring, value in ((piece.exterior, 255), *((inner, 0) for inner in piece.interiors)):
            points = view.shown(scale.to_px(np.asarray(ring.coords)))
            draw.polygon([(float(x), float(y)) for x, y in points], fill=value)
    shade = Image.new("RGB", pale.size, _SHADE)
    return Image.composite(Image.blend(pale, shade, _SHADE_SHARE), pale, mask)


def _pieces(taken: Outline, other: Outline) -> list[Polygon]:
    """Return the pieces in which two outlines differ, largest first, so that one in a hole of another is drawn last."""
    away = taken.to_polygon(_FINE_MM).symmetric_difference(other.to_polygon(_FINE_MM))
    pieces = [piece for piece in getattr(away, "geoms", [away]) if isinstance(piece, Polygon) and not piece.is_empty]
    return sorted(pieces, key=lambda piece: -piece.area)
