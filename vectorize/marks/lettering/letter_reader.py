"""What lettering says: every box cut out at the full resolution, set upright and read.

A box does not tell which way up it is read: long ones are tried both ways, and tell how the sheet is lettered; short
ones are tried that way first. The way that reads best is kept. What reads poorly is looked at again (`second_look.py`);
a reading that stays poor is kept as well, with how poor it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from vectorize.marks.lettering import models
from vectorize.marks.lettering.decode import READINGS, Reading, page_characters, readings
from vectorize.marks.lettering.detect import find_lettering, upright_tones
from vectorize.marks.lettering.fractions import StackReadings, find_stacks
from vectorize.marks.lettering.letter_strokes import upright
from vectorize.marks.lettering.recognise import Step, recognised
from vectorize.marks.lettering.second_look import ReadLine, looked_at_again
from vectorize.marks.lettering.text_box import TextBox
from vectorize.shapes.segment import Point

Grey = NDArray[np.uint8]

WELL_READ = 0.8
"""What reads better than this is not tried another way up."""

WAY_SHARE = (1.0, 0.95, 0.7, 0.9)
"""What a reading counts by the quarter turns it needs: most lettering is upright, or is read from the right."""

RARE_WAY = 0.3
"""What a short line counts that runs in a way in which no long one of the sheet does: an R1 on its side is an N."""


_INLINE = re.compile(r"\d\s?/\s?\d")
"""A fraction in the line: who letters like that stacks none, and the foot of a printed 1 would pass for a bar."""


@dataclass(frozen=True, slots=True)
class Text:
    """One line of lettering: what it says, where, which way up and how sure that is.

    `box_px` are its corners in pixels of the picture (x, y), from the upper left of the text as it is read,
    clockwise. `turn_deg` is how far it is turned counter-clockwise: 0 upright, 90 reading upwards. `sure` is the
    probability that `text` is right, by the recogniser alone; `readings` are all that were kept, the likeliest first.
    """

    text: str
    box_px: tuple[Point, Point, Point, Point]
    turn_deg: float
    sure: float
    readings: tuple[Reading, ...]


@dataclass(frozen=True, slots=True)
class _Try:
    """One way up of the box with number `index`, and what it then says."""

    index: int
    line: ReadLine

    def counts(self, ways: _Ways) -> float:
        """Return how good the reading is, by the letter if there are few, on a sheet that is lettered in these ways."""
        line = self.line
        letters = len(line.readings[0].text.replace(" ", "")) if line.box.is_short else 1
        return float(line.evidence ** (1 / letters)) * ways.share(line.box)


@dataclass(frozen=True, slots=True)
class _Ways:
    """By how many quarters most lettering of a sheet is turned, and what a short line counts at each quarter turn."""

    usual: int
    short: tuple[float, float, float, float]

    @classmethod
    def of(cls, tries: Iterable[_Try]) -> _Ways:
        """Return the ways in which long lines that read well are lettered."""
        letters = [0.0] * 4
        for one in tries:
            line, quarters = one.line, one.line.box.quarters
            letters[quarters] += line.evidence * WAY_SHARE[quarters] * len(line.readings[0].text)
        usual = max(range(4), key=letters.__getitem__)
        most = max(letters[usual], 1e-9)
        a, b, c, d = (max(RARE_WAY, min(1.0, 2 * share / most)) for share in letters)
        return cls(usual, (a, b, c, d))

    def share(self, box: TextBox) -> float:
        """Return what a reading of a box counts by the way it runs."""
        plain = WAY_SHARE[(box.quarters - self.usual) % 4]
        return plain * self.short[box.quarters] if box.is_short else plain


def read_lettering(
    grey: Grey,
    *,
    px_per_mm: float | None = None,
    boxes: Sequence[TextBox] | None = None,
    overlooked: Sequence[TextBox] = (),
) -> tuple[Text, ...]:
    """Return the lettering of a page, in the order of its boxes; those without a letter or figure are left out.

    The same page gives the same texts.

    Args:
        grey: (rows, columns) 0 black to 255 white; light lettering on a dark sheet is turned over.
        px_per_mm: Pixels per millimetre, within a factor of two; None guesses it by the width of the lines.
        boxes: Where to read, if that was found before.
        overlooked: Where only a second look found something: a single sign there is a ring or a piece of a line.
    """
    positive = upright_tones(grey)
    first = find_lettering(grey, px_per_mm=px_per_mm) if boxes is None else boxes
    found = dict(enumerate((*first, *overlooked)))
    long = [(index, box.turned(way)) for index, box in found.items() if not box.is_short for way in (0, 2)]
    network = models.recogniser()
    steps = recognised(network, [upright(positive, box) for _, box in long])
    reader = _Reader(positive, network, page_characters(steps, models.characters()))
    tries = reader.tries(long, steps)
    ways = _Ways.of(tries)
    for quarters in ((ways.usual,), tuple(way for way in range(4) if way != ways.usual)):
        best = _best(tries, ways)
        poor = [i for i, box in found.items() if box.is_short and (i not in best or best[i].line.evidence < WELL_READ)]
        tries += reader.tries([(index, found[index].turned(way)) for index in poor for way in quarters])
    best = _best(tries, ways)
    again = looked_at_again(positive, {index: one.line for index, one in best.items()}, reader.lines)
    texts = {index: _text(again[index]) for index in sorted(best)}
    return tuple(text for index, text in texts.items() if index < len(first) or _has_several_signs(text))


@dataclass(frozen=True, slots=True, eq=False)
class _Reader:
    """The page, dark on light, with the recogniser and what its outputs mean on this page."""

    grey: Grey
    network: Any
    characters: tuple[str, ...]

    def tries(self, ways: Sequence[tuple[int, TextBox]], steps: Sequence[Sequence[Step]] | None = None) -> list[_Try]:
        """Return the ways up in which something is written; `steps` if the lines were recognised before."""
        boxes = [box for _, box in ways]
        plain = self._read(boxes) if steps is None else self._said(steps)
        lines = self._with_stacks(boxes, plain)
        return [_Try(index, line) for (index, _), line in zip(ways, lines, strict=True) if line is not None]

    def lines(self, boxes: Sequence[TextBox], stretch: float) -> list[ReadLine | None]:
        """Return what boxes say that are made so many times as wide; fractions are looked for in plain ones only."""
        plain = self._read(boxes, stretch=stretch)
        return (
            self._with_stacks(boxes, plain)
            if stretch == 1
            else [_line(*pair) for pair in zip(boxes, plain, strict=True)]
        )

    def _with_stacks(self, boxes: Sequence[TextBox], plain: Sequence[tuple[Reading, ...]]) -> list[ReadLine | None]:
        """Return what boxes say by plain reading, or with stacked fractions read apart."""
        has_slash = [bool(line) and _INLINE.search(line[0].text) is not None for line in plain]
        looked_at = iter(self._stacked([box for box, slash in zip(boxes, has_slash, strict=True) if not slash]))
        stacked = [None if slash else next(looked_at) for slash in has_slash]
        return [_line(*one) for one in zip(boxes, plain, stacked, strict=True)]

    def _stacked(self, boxes: Sequence[TextBox]) -> list[StackReadings | None]:
        """Return the stacked fraction in every box, the likeliest if there are several."""
        found = [(index, stack) for index, box in enumerate(boxes) for stack in find_stacks(self.grey, box)]
        figures = tuple(c if c.isascii() and c.isdecimal() else "" for c in self.characters)
        above = self._read([stack.numerator for _, stack in found], figures)
        below = self._read([stack.denominator for _, stack in found], figures)
        best: list[StackReadings | None] = [None] * len(boxes)
        likely: dict[int, tuple[float, int]] = {}
        for k, (index, _) in enumerate(found):
            fractions = StackReadings(above[k], below[k], (), ()).fractions()
            if fractions and fractions[0][1] > likely.get(index, (0.0, 0))[0]:
                likely[index] = (fractions[0][1], k)
        for index, (_, k) in likely.items():
            stack = found[k][1]
            before, after = (self._beside(part) for part in (stack.before, stack.after))
            best[index] = StackReadings(above[k], below[k], before, after)
        return best

    def _beside(self, part: TextBox | None) -> tuple[Reading, ...]:
        """Return what stands before or after a stack."""
        return () if part is None else self._read([part])[0]

    def _read(
        self, boxes: Sequence[TextBox], characters: tuple[str, ...] | None = None, *, stretch: float = 1.0
    ) -> list[tuple[Reading, ...]]:
        steps = recognised(self.network, [upright(self.grey, box, stretch=stretch) for box in boxes])
        return self._said(steps, characters)

    def _said(
        self, steps: Sequence[Sequence[Step]], characters: tuple[str, ...] | None = None
    ) -> list[tuple[Reading, ...]]:
        return [readings(line, characters or self.characters) for line in steps]


def _line(box: TextBox, plain: Sequence[Reading], stack: StackReadings | None = None) -> ReadLine | None:
    """Return what a box says, all its readings together; None where there is no letter or figure."""
    share = stack.fractions()[0][1] if stack is not None else 0.0
    rest = [Reading(reading.text, (1 - share) * reading.sure) for reading in plain]
    merged = sorted([*rest, *(stack.lines() if stack is not None else ())], key=lambda r: (-r.sure, r.text))
    read = tuple(reading for reading in merged if any(map(str.isalnum, reading.text)))[:READINGS]
    return ReadLine(box, read, max(share, read[0].sure), share > 0.5) if read else None


def _best(tries: Iterable[_Try], ways: _Ways) -> dict[int, _Try]:
    """Return for each box the way up that reads best."""
    best: dict[int, _Try] = {}
    for one in tries:
        if one.index not in best or one.counts(ways) > best[one.index].counts(ways):
            best[one.index] = one
    return best


def _has_several_signs(text: Text) -> bool:
    return sum(map(str.isalnum, text.text)) > 1


def _text(one: ReadLine) -> Text:
    box, read = one.box, one.readings
    return Text(read[0].text, box.corners_px, box.turn_deg, read[0].sure, read)
