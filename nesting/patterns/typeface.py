"""The typeface: how wide a text is, where its corners lie, which characters it has.

The fonts in `fonts/` are DejaVu Sans Condensed, unmodified, under the licence beside them; they hold
Latin with all accents, Greek, Cyrillic, fractions and arrows.
"""

from __future__ import annotations

import functools
from importlib import resources
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from reportlab.pdfbase.ttfonts import TTFont


REGULAR = "DejaVuSansCondensed"
BOLD = "DejaVuSansCondensed-Bold"
CAPITAL_SHARE = 1493 / 2048
"""Height of a capital over the font size, from the outline of the letter H in the font itself."""
DESCENT_SHARE = 0.24
"""Depth of g, p and y below the base line over the font size."""
SUBSTITUTE = "□"


@functools.cache
def _fonts() -> dict[str, TTFont]:
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    folder = resources.files("nesting.patterns") / "fonts"
    fonts = {}
    for name in (REGULAR, BOLD):
        with resources.as_file(folder / f"{name}.ttf") as path:
            fonts[name] = TTFont(name, str(path))
        pdfmetrics.registerFont(fonts[name])
    return fonts


def font_name(*, is_bold: bool) -> str:
    """Return the registered name of the face."""
    name = BOLD if is_bold else REGULAR
    _fonts()
    return name


def font_size_mm(height_mm: float) -> float:
    """Return the font size that gives capitals of `height_mm`."""
    return height_mm / CAPITAL_SHARE


def text_width_mm(text: str, height_mm: float, *, is_bold: bool = False) -> float:
    """Return the width of a text whose capitals are `height_mm` high."""
    from reportlab.pdfbase import pdfmetrics

    return float(pdfmetrics.stringWidth(text, font_name(is_bold=is_bold), font_size_mm(height_mm)))


def missing_characters(text: str) -> tuple[str, ...]:
    """Return the characters for which the typeface has no picture, each once, in order."""
    known = _fonts()[REGULAR].face.charToGlyph
    return tuple(dict.fromkeys(c for c in text if ord(c) not in known and not c.isspace()))


def printable(text: str) -> str:
    """Return `text` with a box in place of every character that the typeface lacks."""
    missing = set(missing_characters(text))
    return "".join(SUBSTITUTE if c in missing else c for c in text)


def wrapped(text: str, height_mm: float, width_mm: float, *, is_bold: bool = False) -> list[str]:
    """Return the text broken at spaces into lines that are no wider than `width_mm`, where words allow."""
    lines: list[str] = []
    for word in text.split():
        candidate = f"{lines[-1]} {word}" if lines else word
        if lines and text_width_mm(candidate, height_mm, is_bold=is_bold) <= width_mm:
            lines[-1] = candidate
        else:
            lines.append(word)
    return lines
