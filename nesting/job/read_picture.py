"""`read.png`: the sheet with what was read where, and how surely."""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from importlib import resources
from typing import Any

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from nesting.job.draft import DraftPart, Value, is_accepted
from nesting.job.draft_text import DraftJob, length_words
from vectorize.basics.wording import clipped, printable
from vectorize.marks.lettering import Text
from vectorize.marks.lettering.letter_strokes import upright
from vectorize.marks.lettering.text_box import TextBox
from vectorize.page import Page
from vectorize.shapes.segment import Points

LARGEST_PX = 2400
"""The longer side of the picture."""

SURE, DOUBTFUL, MEASURED, IDLE = (22, 120, 60), (196, 98, 0), (28, 88, 168), (150, 150, 150)
CELL = 6
COVERED_COST = 4.0
"""Words move aside by so many cells rather than cover one."""

_FONT = "DejaVuSansCondensed.ttf"
_MOST_SIGNS = 28
_PALE = [round(130 + 125 * value / 255) for value in range(256)]

Colour = tuple[int, int, int]
Point = tuple[float, float]


@dataclass(frozen=True, slots=True, eq=False)
class _Sheet:
    """The picture in the making; `factor` is its pixels per pixel of the page."""

    pen: ImageDraw.ImageDraw
    font: ImageFont.FreeTypeFont
    small: ImageFont.FreeTypeFont
    factor: float
    room: _Room

    def at(self, point: Point) -> Point:
        return point[0] * self.factor, point[1] * self.factor

    def ring(self, points: object, colour: Colour, width: int) -> None:
        shown = [self.at((float(x), float(y))) for x, y in np.asarray(points, np.float64)]
        self.pen.line([*shown, shown[0]], fill=colour, width=width)

    def words(self, at: Point, lines: list[tuple[str, Colour]], *, small: bool = False) -> None:
        """Write lines in a white box as near to a point of the picture as nothing else is covered."""
        font = self.small if small else self.font
        step = int(font.size) * 1.25
        wide = max(self.pen.textlength(text, font=font) for text, _ in lines) + 8
        high = step * len(lines) + 4
        left, top = self.room.place((wide, high), at)
        self.pen.rectangle((left, top, left + wide, top + high), fill="white", outline=lines[0][1])
        for number, (text, colour) in enumerate(lines):
            self.pen.text((left + 4, top + 2 + number * step), text, fill=colour, font=font)


class _Room:
    """Where on the picture something stands that is not to be covered, in cells of `CELL` pixels."""

    def __init__(self, size: tuple[int, int]) -> None:
        self.taken = np.zeros((max(1, size[1] // CELL), max(1, size[0] // CELL)), np.bool_)

    def take(self, points: Points) -> None:
        """Mark the upright box round points as taken."""
        (left, top), (right, bottom) = (np.clip(v, 0, None) // CELL for v in (points.min(axis=0), points.max(axis=0)))
        self.taken[int(top) : int(bottom) + 1, int(left) : int(right) + 1] = True

    def take_line(self, points: Points) -> None:
        """Mark the cells of points along a line as taken."""
        columns, rows = (points // CELL).astype(int).T
        inside = (rows >= 0) & (rows < len(self.taken)) & (columns >= 0) & (columns < self.taken.shape[1])
        self.taken[rows[inside], columns[inside]] = True

    def place(self, size: Point, near: Point) -> Point:
        """Return the upper left of a box with the least taken under it, the nearest to a point; it is taken then."""
        rows, columns = self.taken.shape
        wide, high = (min(math.ceil(side / CELL) + 1, most) for side, most in zip(size, (columns, rows), strict=True))
        sums = np.pad(self.taken.astype(np.int64).cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
        under = sums[high:, wide:] - sums[:-high, wide:] - sums[high:, :-wide] + sums[:-high, :-wide]
        y, x = np.indices(under.shape)
        away = np.hypot(x + wide / 2 - near[0] / CELL, y + high / 2 - near[1] / CELL)
        row, column = np.unravel_index(int(np.argmin(away + COVERED_COST * under)), under.shape)
        self.taken[row : row + high, column : column + wide] = True
        return float(column * CELL + CELL / 2), float(row * CELL + CELL / 2)


def read_png(page: Page, job: DraftJob) -> bytes:
    """Return the sheet as a PNG: green what was read surely, orange what is doubtful, blue the dimensions.

    Grey boxes are lettering that nothing was taken from.
    """
    assert page.grey is not None
    factor = min(1.0, LARGEST_PX / max(page.grey.shape))
    size = (max(1, round(page.width * factor)), max(1, round(page.height * factor)))
    image = Image.fromarray(page.grey).resize(size, Image.Resampling.BOX).point(_PALE).convert("RGB")
    letters = max(9, round(max(size) / 110))
    font = resources.files("nesting.patterns.fonts").joinpath(_FONT).read_bytes()
    fonts = [ImageFont.truetype(io.BytesIO(font), high) for high in (letters, max(8, round(0.8 * letters)))]
    sheet = _Sheet(ImageDraw.Draw(image), fonts[0], fonts[1], factor, _Room(size))
    _draw_legend(sheet, size)
    _draw_texts(sheet, job)
    _draw_dimensions(sheet, job)
    for part in job.draft.parts:
        sheet.ring(part.boundary, SURE if part.is_lettered and is_accepted(part.name) else DOUBTFUL, 3)
        sheet.room.take_line(part.boundary * factor)
        if part.grain is not None:
            sheet.pen.line([sheet.at(end) for end in part.grain], fill=SURE, width=3)
    for part in job.draft.parts:
        sheet.words(sheet.at(part.inside), _told(part, is_metric=job.is_metric))
    out = io.BytesIO()
    image.save(out, "PNG", optimize=True)
    return out.getvalue()


def lettering_png(page: Page, text: Text, *, high_px: int) -> bytes:
    """Return a line of lettering set upright, as a PNG that is so many pixels high."""
    assert page.grey is not None
    line = upright(page.grey, TextBox(text.box_px, text.sure).part(left=-0.02, right=1.02), high_px=high_px)
    out = io.BytesIO()
    Image.fromarray(line).save(out, "PNG", optimize=True)
    return out.getvalue()


def _draw_texts(sheet: _Sheet, job: DraftJob) -> None:
    values = [v for part in job.draft.parts for v in _values(part) if v is not None and v.text >= 0]
    surest = {text: max(v.sure for v in values if v.text == text) for text in {v.text for v in values}}
    used = {one.text for one in job.scale.dimensions}
    for index, text in enumerate(job.reading.texts):
        if index in used:
            colour = MEASURED
        elif index in surest:
            colour = SURE if any(is_accepted(v) for v in values if v.text == index) else DOUBTFUL
        else:
            colour = IDLE
        sheet.ring(text.box_px, colour, 1 if colour == IDLE else 2)
        sheet.room.take(np.array(text.box_px) * sheet.factor)


def _draw_dimensions(sheet: _Sheet, job: DraftJob) -> None:
    colour = MEASURED if job.scale.is_accepted else DOUBTFUL
    for one in job.scale.dimensions:
        start, end = sheet.at(one.start), sheet.at(one.end)
        sheet.pen.line([start, end], fill=colour, width=2)
        for x, y in (start, end):
            sheet.pen.ellipse((x - 4, y - 4, x + 4, y + 4), outline=colour, width=2)
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        sheet.words(middle, [(_short(job.reading.texts[one.text].text), colour)], small=True)


def _values(part: DraftPart) -> tuple[Value[Any] | None, ...]:
    return (part.name, part.material, part.thickness_mm, part.count, part.hand)


def _told(part: DraftPart, *, is_metric: bool) -> list[tuple[str, Colour]]:
    def line(value: Value[Any] | None, words: str) -> list[tuple[str, Colour]]:
        if value is None:
            return []
        sure = is_accepted(value)
        return [(_short(words if sure else f"{words}? {100 * value.sure:.0f} %"), SURE if sure else DOUBTFUL)]

    name, *_ = _values(part)
    thick = part.thickness_mm
    lines = line(name, part.name.value) if part.is_lettered else [(_short(f"{part.name.value} (no name)"), DOUBTFUL)]
    lines += line(part.material, "" if part.material is None else part.material.value)
    lines += line(thick, "" if thick is None else length_words(thick.value, is_metric=is_metric))
    lines += line(part.count, "" if part.count is None else f"{part.count.value} off")
    return lines


def _short(text: str) -> str:
    return clipped(printable(text), _MOST_SIGNS)


def _draw_legend(sheet: _Sheet, size: tuple[int, int]) -> None:
    lines = [
        ("read surely: a value in job.toml", SURE),
        ("doubtful: a comment in job.toml", DOUBTFUL),
        ("dimension that the scale is taken from", MEASURED),
        ("lettering that nothing was taken from", IDLE),
    ]
    sheet.words((size[0], size[1]), lines, small=True)
