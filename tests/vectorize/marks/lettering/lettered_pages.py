"""Pages of known lettering, set in a font that is not the reader's own doing."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFont

import nesting.patterns

FONT = Path(nesting.patterns.__file__).parent / "fonts" / "DejaVuSansCondensed.ttf"
DPI = 200
PX_PER_MM = DPI / 25.4


@dataclass(frozen=True)
class Word:
    text: str
    at_mm: tuple[float, float]
    high_mm: float = 4.0


def page(words, *, size_mm=(180.0, 120.0)):
    """Return a white page with the words on it, and each word's (left, top, right, bottom) in pixels."""
    picture = Image.new("L", tuple(round(side * PX_PER_MM) for side in size_mm), 255)
    pen = ImageDraw.Draw(picture)
    boxes = []
    for word in words:
        font = ImageFont.truetype(FONT, round(word.high_mm * PX_PER_MM))
        at = tuple(value * PX_PER_MM for value in word.at_mm)
        pen.text(at, word.text, fill=0, font=font)
        boxes.append(pen.textbbox(at, word.text, font=font))
    return np.asarray(picture), boxes


def lined_page(words, **options):
    """Return the page with an outline round all, a hole and a centre line, as on a plan."""
    grey, boxes = page(words, **options)
    picture = Image.fromarray(grey)
    pen = ImageDraw.Draw(picture)
    width, height = picture.size
    pen.rounded_rectangle((40, 40, width - 40, height - 40), 90, outline=0, width=4)
    pen.ellipse((width - 260, 120, width - 180, 200), outline=0, width=4)
    pen.line((60, height - 120, width - 60, height - 120), fill=0, width=2)
    return np.asarray(picture), boxes
