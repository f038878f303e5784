"""Bars with error bars, scales and tables, drawn through the drawing protocol. Millimetres, y up."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from nesting.patterns.drawing import Align, Drawing, Layer, Text, draw_box, draw_line
from nesting.patterns.typeface import text_width_mm, wrapped
from nesting.wood.estimate import Estimate
from vectorize.basics.units import QUANTITIES

WORDS_MM = 2.6
"""Height of capitals in pictures."""
SMALL_MM = 2.1
_CAP_MM = 1.2
PICTURE_WIDTH_MM = 190.0
"""Width of a chart: that of A4 less a usual printer's margins."""
PAGE_MARGIN_MM = 12.0
"""Kept free round a printed card, which no printer at home falls short of (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Axis:
    """Values along x: `low` lies at `x0_mm`, `high` at `x1_mm`."""

    low: float
    high: float
    x0_mm: float
    x1_mm: float

    def x(self, value: float) -> float:
        """Return where a value lies."""
        return self.x0_mm + (value - self.low) / (self.high - self.low) * (self.x1_mm - self.x0_mm)

    def ticks(self, most: int = 8, *, size: float = 1.0) -> list[float]:
        """Return values along the axis, at most so many, that are round in a unit of `size`."""
        low, high = self.low / size, self.high / size
        raw = (high - low) / most
        step = 10.0 ** math.floor(math.log10(raw))
        step *= next(factor for factor in (1, 2, 5, 10) if step * factor >= raw * (1 - 1e-9))
        first = math.ceil(low / step - 1e-9)
        return [number * step * size for number in range(first, math.floor(high / step + 1e-9) + 1)]


def axis_for(low: float, high: float, x0_mm: float, x1_mm: float) -> Axis:
    """Return an axis that shows low to high with some air; a single value gets room around it."""
    span = max(high - low, 1e-3 * max(abs(low), abs(high)), 1e-3)
    return Axis(low - 0.08 * span, high + 0.08 * span, x0_mm, x1_mm)


def write(
    drawing: Drawing,
    text: str,
    x: float,
    y: float,
    *,
    height_mm: float = WORDS_MM,
    align: Align = "start",
    is_bold: bool = False,
    angle_deg: float = 0.0,
) -> None:
    """Write one line with its base at (x, y)."""
    drawing.draw(Text(text, (x, y), height_mm, angle_deg, align, is_bold, Layer.WORDS))


def write_lines(
    drawing: Drawing,
    text: str,
    x: float,
    y: float,
    width_mm: float,
    *,
    height_mm: float = WORDS_MM,
    is_bold: bool = False,
) -> float:
    """Write a text broken to a width, its first base line at y; return the base line that would come next."""
    for line in wrapped(text, height_mm, width_mm, is_bold=is_bold):
        write(drawing, line, x, y, height_mm=height_mm, is_bold=is_bold)
        y -= 1.75 * height_mm
    return y


def draw_bar(
    drawing: Drawing, axis: Axis, value: Estimate, y: float, *, height_mm: float = 4.0, words: str = ""
) -> None:
    """Draw a bar from the axis's start to a value, its error bar of one sigma either way, and words behind it."""
    end = axis.x(value.value)
    draw_box(drawing, (axis.x0_mm, y, max(end, axis.x0_mm + 0.1), y + height_mm), layer=Layer.SIZE)
    draw_error(drawing, axis, value, y + height_mm / 2)
    reach = axis.x(value.value + value.sigma)
    write(drawing, words, max(end, reach) + 1.5, y + height_mm / 2 - SMALL_MM / 2, height_mm=SMALL_MM)


def draw_bars(
    drawing: Drawing,
    rows: Sequence[tuple[str, Estimate]],
    title: str,
    words: Callable[[Estimate], str],
    y: float,
    *,
    names_mm: float,
    row_mm: float,
    from_zero: bool = True,
) -> float:
    """Draw a block of bars under its title, one for each name; return where the next block begins."""
    write(drawing, title, 0, y, is_bold=True)
    high = max(value.value + value.sigma for _, value in rows)
    low = 0.0 if from_zero else min(value.value - value.sigma for _, value in rows)
    # Words stand behind the longest bar: the axis ends well before the edge of the picture.
    axis = Axis(0.0, high, names_mm, 150.0) if from_zero else axis_for(low, high, names_mm, 150.0)
    y -= row_mm
    for name, value in rows:
        write(drawing, shortened(name, names_mm - 3, WORDS_MM), names_mm - 2, y + 2 - WORDS_MM / 2, align="end")
        draw_bar(drawing, axis, value, y, words=words(value))
        y -= row_mm
    return y - 4.0


def draw_error(drawing: Drawing, axis: Axis, value: Estimate, y: float) -> None:
    """Draw an error bar of one sigma either way."""
    low, high = axis.x(value.value - value.sigma), axis.x(value.value + value.sigma)
    draw_line(drawing, (low, y), (high, y), layer=Layer.OUTLINE)
    for x in (low, high):
        draw_line(drawing, (x, y - _CAP_MM), (x, y + _CAP_MM), layer=Layer.OUTLINE)


def draw_axis(drawing: Drawing, axis: Axis, y: float, *, quantity: str, units: str, words: str = "") -> None:
    """Draw a scale with figures below it, round in the unit that the quantity is shown in."""
    shown = QUANTITIES[quantity][units == "in"]
    draw_line(drawing, (axis.x0_mm, y), (axis.x1_mm, y), layer=Layer.PAGE)
    for value in axis.ticks(size=shown.size):
        x = axis.x(value)
        draw_line(drawing, (x, y), (x, y - 1.2), layer=Layer.PAGE)
        write(drawing, f"{value / shown.size:.6g}", x, y - 4.2, height_mm=SMALL_MM, align="middle")
    write(drawing, f"{shown.unit} {words}".strip(), axis.x1_mm, y + 1.0, height_mm=SMALL_MM, align="end")


def draw_range(drawing: Drawing, axis: Axis, low: float, high: float, y0: float, y1: float) -> None:
    """Draw a range as a box over the height y0 to y1."""
    draw_box(drawing, (axis.x(low), y0, axis.x(high), y1), layer=Layer.GRAIN)


def draw_table(
    drawing: Drawing, heads: Sequence[str], rows: Sequence[Sequence[str]], x: float, y: float,
    widths_mm: Sequence[float], *, right: Sequence[int] = (), row_mm: float = 4.6, height_mm: float = SMALL_MM,
) -> float:  # fmt: skip
    """Draw a table with its head's base line at y, cells cut to their column; return the base line below it."""
    lefts = [x + sum(widths_mm[:n]) for n in range(len(widths_mm))]
    for number, cells in enumerate((heads, *rows)):
        for column, cell in enumerate(cells):
            is_right = column in right
            at = lefts[column] + (widths_mm[column] - 5.0 if is_right else 0.0)
            words = shortened(cell, widths_mm[column] - (5.0 if is_right else 2.0), height_mm)
            write(drawing, words, at, y, height_mm=height_mm, align="end" if is_right else "start", is_bold=number == 0)
        if number == 0:
            draw_line(drawing, (x, y - 1.5), (x + sum(widths_mm), y - 1.5), layer=Layer.PAGE)
            y -= 0.6
        y -= row_mm
    return y


def shortened(text: str, width_mm: float, height_mm: float) -> str:
    """Return the text, cut with an ellipsis where it is wider than the column."""
    if text_width_mm(text, height_mm) <= width_mm:
        return text
    while text and text_width_mm(text + "…", height_mm) > width_mm:
        text = text[:-1]
    return text.rstrip() + "…"
