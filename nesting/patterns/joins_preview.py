"""Where the pages join, drawn over the picture of a pattern that takes more than one."""

from __future__ import annotations

import io
from dataclasses import dataclass
from importlib import resources

from PIL import Image, ImageDraw, ImageFont

from nesting.patterns.drawing import Box
from nesting.patterns.paper_tiles import Tiling
from nesting.patterns.pattern_settings import PatternSettings
from nesting.patterns.typeface import BOLD

_INK = (29, 76, 138)
_STRIP_ALPHA = 56
_LETTERS = 1 / 70
"""Height of a page's name as a share of the picture's longer side."""


@dataclass(frozen=True, slots=True)
class PageShare:
    """What a page carries, in the drawing's own frame: `cell` ends at the joints, `window` is all it shows."""

    words: str
    window: Box
    cell: Box


def page_shares(tiling: Tiling, settings: PatternSettings) -> tuple[PageShare, ...]:
    """Return the share of each page, its name as the PDF has it: the map is page 1. Empty for a single page."""
    if len(tiling.tiles) == 1:
        return ()

    def drawn(box: Box) -> Box:
        return _as_drawn(box, tiling, settings)

    numbered = enumerate(tiling.tiles, start=2)
    return tuple(PageShare(f"{t.label}, page {number}", drawn(t.window), drawn(t.cell)) for number, t in numbered)


def _as_drawn(box: Box, tiling: Tiling, settings: PatternSettings) -> Box:
    """A box of the tiling's frame in the frame of the drawing: turned back, then mirrored back."""
    x0, y0, x1, y1 = box
    if tiling.is_turned:
        x0, y0, x1, y1 = -y1, x0, -y0, x1
    return (-x1, y0, -x0, y1) if settings.is_mirrored else (x0, y0, x1, y1)


def with_pages(png: bytes, shares: tuple[PageShare, ...], box: Box) -> bytes:
    """Return the picture of `box` with the joints, the strips that two pages share, and the name of each page."""
    if not shares:
        return png
    with Image.open(io.BytesIO(png)) as opened:
        dpi, picture = opened.info.get("dpi"), opened.convert("RGBA")
    per_mm = picture.width / (box[2] - box[0])
    veil = Image.new("RGBA", picture.size, (*_INK, 0))
    pen = ImageDraw.Draw(veil)
    for share in shares:
        _draw_strips(pen, share, box, per_mm)
    longest = max(picture.size)
    line_px, font = max(2, longest // 1000), _font(max(12, round(longest * _LETTERS)))
    for share in shares:
        left, top, right, bottom = _pixels(share.cell, box, per_mm)
        pen.rectangle((left, top, right, bottom), outline=(*_INK, 255), width=line_px)
        at = max(left, 0) + 3 * line_px, max(top, 0) + 2 * line_px
        x0, y0, x1, y1 = pen.textbbox(at, share.words, font=font)
        pen.rectangle((x0 - line_px, y0 - line_px, x1 + line_px, y1 + line_px), fill=(255, 255, 255, 170))
        pen.text(at, share.words, font=font, fill=(*_INK, 255))
    stream = io.BytesIO()
    Image.alpha_composite(picture, veil).convert("RGB").save(stream, "PNG", **({"dpi": dpi} if dpi else {}))
    return stream.getvalue()


def _font(height_px: int) -> ImageFont.FreeTypeFont:
    data = (resources.files("nesting.patterns") / "fonts" / f"{BOLD}.ttf").read_bytes()
    return ImageFont.truetype(io.BytesIO(data), height_px)


def _draw_strips(pen: ImageDraw.ImageDraw, share: PageShare, box: Box, per_mm: float) -> None:
    """Tint what a page shows beyond its joints: its neighbour shows it too."""
    (x0, y0, x1, y1), (u0, v0, u1, v1) = share.window, share.cell
    for strip in ((x0, y0, u0, y1), (u1, y0, x1, y1), (x0, y0, x1, v0), (x0, v1, x1, y1)):
        if strip[2] > strip[0] and strip[3] > strip[1]:
            pen.rectangle(_pixels(strip, box, per_mm), fill=(*_INK, _STRIP_ALPHA))


def _pixels(part: Box, box: Box, per_mm: float) -> tuple[float, float, float, float]:
    return (
        (part[0] - box[0]) * per_mm,
        (box[3] - part[3]) * per_mm,
        (part[2] - box[0]) * per_mm,
        (box[3] - part[1]) * per_mm,
    )
