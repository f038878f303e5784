"""Fractions lettered one figure above the other: the bar is found, and what stands above and below is read apart.

Read as a line such a fraction comes to nothing, since the recogniser knows one row of letters only.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vectorize.marks.lettering.decode import READINGS, Reading
from vectorize.marks.lettering.letter_strokes import upright
from vectorize.marks.lettering.text_box import TextBox

Grey = NDArray[np.uint8]

SEARCH_PX = 96
"""Bars are looked for in lines of this height."""

BEYOND = 0.4
"""So far beyond each end of the box a fraction may stand, in heights: detectors cut off what is no line to them."""

BAR_LONG = (0.1, 0.85)
"""A bar is so long, in heights of the box: from one narrow figure to two wide ones."""

BAR_THICK = 0.13
"""A bar is no thicker than this share of the height."""

BAR_MIDDLE = (0.3, 0.7)
"""A bar lies in this part of the height."""

BAR_WHOLE = 0.85
"""A figure may touch it; a row is of the bar where it is full over this share of its length."""

FIGURE_HIGH = 0.12
"""Figures above and below are at least this share of the height."""

DENOMINATORS = frozenset({2, 4, 8, 16, 32, 64})
"""Inches are divided by halving."""

FEW_LETTERS = 4
TALLER = 1.15
"""A fraction is so many times as high as most of the letters in its line, where there are that many."""

PAPER = 0.06
"""Paper left round a figure, in heights of the box."""

INCH_MARKS = frozenset({"1", "11", "I", "II", "l", "ll", "i", "ii", "n", "u", "H", "'"})
"""What the two strokes of an inch mark look like to the recogniser where nothing follows them."""

LEAST_SURE = 0.02
"""Fractions less probable than this are line work."""


@dataclass(frozen=True, slots=True)
class Stack:
    """The boxes of a stacked fraction, and of what stands before and after it in its line; None where nothing can."""

    numerator: TextBox
    denominator: TextBox
    before: TextBox | None
    after: TextBox | None


def find_stacks(grey: Grey, box: TextBox) -> tuple[Stack, ...]:
    """Return what may be stacked fractions in a line of lettering, from left to right: a bar with ink on both sides.

    Args:
        grey: The page, dark on light.
        box: The line, its upper edge as it is read.
    """
    reach = BEYOND * box.height_px / max(box.width_px, 1.0)
    wide = box.part(left=-reach, right=1 + reach)
    ink = _without_long_lines(_ink(upright(grey, wide, high_px=SEARCH_PX)))
    least = TALLER * _usual_height(ink)
    piles = [pile for bar in _bars(ink) if (pile := _pile(ink, bar)) is not None and pile.high >= least]
    return tuple(_stack(box, wide, pile, ink.shape) for pile in piles)


@dataclass(frozen=True, slots=True)
class StackReadings:
    """What stands in the four boxes of a stack; none where nothing can be read."""

    above: tuple[Reading, ...]
    below: tuple[Reading, ...]
    before: tuple[Reading, ...]
    after: tuple[Reading, ...]

    def fractions(self) -> list[tuple[str, float]]:
        """Return the fractions of an inch that it may be, with their probabilities, the likeliest first.

        The numerator is odd and smaller than the denominator, which is 2, 4, 8, 16, 32 or 64. Hardly anything that is
        no fraction reads like one, so what the figures may be besides is all that speaks against it.
        """
        pairs = [(above, below, above.sure * below.sure) for above in self.above for below in self.below]
        whole = sum(share for _, _, share in pairs)
        found = [
            (f"{above.text}/{below.text}", share / whole)
            for above, below, share in pairs
            if _is_fraction(above.text, below.text) and share >= LEAST_SURE
        ]
        return sorted(found, key=lambda item: (-item[1], item[0]))

    def lines(self) -> tuple[Reading, ...]:
        """Return what the whole line may say, the likeliest first; none where it is no fraction of an inch."""
        nothing = (Reading("", 1.0),)
        found = [
            Reading(_joined(left.text, fraction, right.text), left.sure * share * right.sure)
            for fraction, share in self.fractions()
            for left in (self.before or nothing)[:2]
            for right in (self.after or nothing)[:2]
        ]
        return tuple(sorted(found, key=lambda reading: (-reading.sure, reading.text))[:READINGS])


def _is_fraction(above: str, below: str) -> bool:
    if not (above.isdecimal() and below.isdecimal() and len(above) <= 2 and len(below) <= 2):
        return False
    return int(below) in DENOMINATORS and int(above) % 2 == 1 and int(above) < int(below)


def _joined(before: str, fraction: str, after: str) -> str:
    after = '"' if after in INCH_MARKS else after
    space = "" if not after or after[0] in "\"'" else " "
    return " ".join(f"{before} {fraction}{space}{after}".split())


def _ink(line: Grey) -> Grey:
    return np.asarray(cv2.threshold(line, 0, 1, cv2.THRESH_BINARY_INV + cv2.THRESH_OTSU)[1], np.uint8)


def _without_long_lines(ink: Grey) -> Grey:
    """Return the ink without strokes along the line that are longer than a bar: outlines and dimension lines."""
    longest = np.ones((1, round(1.2 * BAR_LONG[1] * len(ink))), np.uint8)
    lines = cv2.morphologyEx(ink, cv2.MORPH_OPEN, longest)
    return np.asarray(np.where(cv2.dilate(lines, np.ones((3, 3), np.uint8)) > 0, 0, ink), np.uint8)


def _usual_height(ink: Grey) -> float:
    """Return the height of most letters, which blank columns part; 0 where they are too few to tell."""
    filled = np.concatenate([[False], ink.any(axis=0), [False]])
    bounds = np.flatnonzero(filled[1:] != filled[:-1]).tolist()
    blocks = [ink[:, first:last] for first, last in zip(bounds[::2], bounds[1::2], strict=True)]
    heights = [int(np.ptp(np.flatnonzero(block.any(axis=1)))) for block in blocks]
    return float(np.median(heights)) if len(heights) >= FEW_LETTERS else 0.0


@dataclass(frozen=True, slots=True)
class _Bar:
    """A short stroke along the line: its columns and rows, the last ones excluded."""

    left: int
    right: int
    top: int
    bottom: int


@dataclass(frozen=True, slots=True)
class _Pile:
    """A bar with the rows where the figures above it begin and those below it end."""

    bar: _Bar
    top: int
    bottom: int

    @property
    def high(self) -> int:
        return self.bottom - self.top


def _bars(ink: Grey) -> list[_Bar]:
    """Return the strokes along the line that are as long and thin as a bar and end freely, from left to right."""
    low, high = (round(share * len(ink)) for share in BAR_LONG)
    strokes = cv2.morphologyEx(ink, cv2.MORPH_OPEN, np.ones((1, max(2, low)), np.uint8))
    _, labels, found, _ = cv2.connectedComponentsWithStats(strokes, connectivity=4)
    bars = []
    for label, (x, y, wide, thick, _) in enumerate(found[1:].tolist(), start=1):
        whole = np.flatnonzero((labels[y : y + thick, x : x + wide] == label).mean(axis=1) >= BAR_WHOLE)
        bars += [_Bar(x, x + wide, y + int(rows[0]), y + int(rows[-1]) + 1) for rows in _stretches(whole)]
    return sorted((bar for bar in bars if _is_bar(ink, bar, high)), key=lambda bar: (bar.left, bar.top))


def _stretches(indices: NDArray[np.intp]) -> list[NDArray[np.intp]]:
    """Return rising numbers in groups without a gap."""
    return [part for part in np.split(indices, np.flatnonzero(np.diff(indices) > 1) + 1) if len(part)]


def _is_bar(ink: Grey, bar: _Bar, longest: int) -> bool:
    rows = len(ink)
    middle = (bar.top + bar.bottom) / 2
    if bar.right - bar.left > longest or bar.bottom - bar.top > BAR_THICK * rows:
        return False
    if not BAR_MIDDLE[0] * rows <= middle <= BAR_MIDDLE[1] * rows:
        return False
    row = ink[int(middle)]
    return not row[max(0, bar.left - 2) : bar.left].all() and not row[bar.right : bar.right + 2].all()


def _pile(ink: Grey, bar: _Bar) -> _Pile | None:
    """Return the bar with what stands on and under it, None where either is missing."""
    drawn = np.asarray(ink[:, bar.left : bar.right].max(axis=1) > 0)
    above, below = _reach(drawn[: bar.top][::-1]), _reach(drawn[bar.bottom :])
    return None if above is None or below is None else _Pile(bar, bar.top - above, bar.bottom + below)


def _reach(drawn: NDArray[np.bool_]) -> int | None:
    """Return how far from a bar the figures next to it end, None where there are none; frayed ink is no figure."""
    for rows in _stretches(np.flatnonzero(drawn)):
        if len(rows) >= FIGURE_HIGH * SEARCH_PX:
            return int(rows[-1]) + 1 if rows[0] <= 2 * PAPER * SEARCH_PX else None
    return None


def _stack(box: TextBox, wide: TextBox, pile: _Pile, shape: tuple[int, ...]) -> Stack:
    """Return the boxes round the figures over and under the bar, with a little paper round each.

    What stands in the `wide` box beyond the `box` itself is not of the line.
    """
    rows, columns = shape
    bar = pile.bar
    left, right = bar.left / columns, bar.right / columns
    paper = PAPER * rows / columns
    reach = (1 - box.width_px / max(wide.width_px, 1.0)) / 2
    across = {"left": left - paper / 2, "right": right + paper / 2}
    return Stack(
        numerator=wide.part(top=pile.top / rows - PAPER, bottom=bar.top / rows, **across),
        denominator=wide.part(top=bar.bottom / rows, bottom=pile.bottom / rows + PAPER, **across),
        before=wide.part(left=reach, right=left - paper / 2) if left - reach > 4 * paper else None,
        after=wide.part(left=right + paper / 2, right=1 - reach) if 1 - reach - right > 2 * paper else None,
    )
