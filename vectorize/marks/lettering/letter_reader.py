"""What lettering says: every box cut out at the full resolution, set upright and read.

A box does not tell which way up it is read: long ones are tried both ways, and tell how the sheet is lettered; short
ones are tried that way first. The way that reads best is kept; a poor reading is kept as well, with how poor it is.
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
from vectorize.marks.lettering.text_box import TextBox
from vectorize.shapes.segment import Point

Grey = NDArray[np.uint8]

WELL_READ = 0.8
"""What reads better than this is not tried another way up."""

WAY_SHARE = (1.0, 0.95, 0.7, 0.9)
"""What a reading counts by the quarter turns it needs: most lettering is upright, or is read from the right."""


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
    box: TextBox
    readings: tuple[Reading, ...]
    evidence: float

    def counts(self, usual: int) -> float:
        """Return how good the reading is where lettering usually is turned by `usual` quarters."""
        return self.evidence * WAY_SHARE[(self.box.quarters - usual) % 4]


def read_lettering(
    grey: Grey, *, px_per_mm: float | None = None, boxes: Iterable[TextBox] | None = None
) -> tuple[Text, ...]:
    """Return the lettering of a page, in the order of its boxes; those without a letter or figure are left out.

    The same page gives the same texts.

    Args:
        grey: (rows, columns) 0 black to 255 white; light lettering on a dark sheet is turned over.
        px_per_mm: Pixels per millimetre, within a factor of two; None guesses it by the width of the lines.
        boxes: Where to read, if that was found before.
    """
    positive = upright_tones(grey)
    found = dict(enumerate(find_lettering(grey, px_per_mm=px_per_mm) if boxes is None else boxes))
    long = [(index, box.turned(way)) for index, box in found.items() if not box.is_short for way in (0, 2)]
    network = models.recogniser()
    steps = recognised(network, [upright(positive, box) for _, box in long])
    reader = _Reader(positive, network, page_characters(steps, models.characters()))
    tries = reader.tries(long, steps)
    usual = _usual_quarters(tries)
    for ways in ((usual,), tuple(way for way in range(4) if way != usual)):
        best = _best(tries, usual)
        poor = [i for i, box in found.items() if box.is_short and (i not in best or best[i].counts(usual) < WELL_READ)]
        tries += reader.tries([(index, found[index].turned(way)) for index in poor for way in ways])
    return tuple(_text(one) for _, one in sorted(_best(tries, usual).items()))


@dataclass(frozen=True, slots=True, eq=False)
class _Reader:
    """The page, dark on light, with the recogniser and what its outputs mean on this page."""

    grey: Grey
    network: Any
    characters: tuple[str, ...]

    def tries(self, ways: Sequence[tuple[int, TextBox]], steps: Sequence[Sequence[Step]] | None = None) -> list[_Try]:
        """Return the ways up in which something is written; `steps` if the lines were recognised before."""
        plain = self._read([box for _, box in ways]) if steps is None else self._said(steps)
        has_slash = [bool(line) and _INLINE.search(line[0].text) is not None for line in plain]
        looked_at = iter(self._stacked([box for (_, box), slash in zip(ways, has_slash, strict=True) if not slash]))
        stacked = [None if slash else next(looked_at) for slash in has_slash]
        tries = []
        for (index, box), line, stack in zip(ways, plain, stacked, strict=True):
            share = stack.fractions()[0][1] if stack is not None else 0.0
            rest = [Reading(reading.text, (1 - share) * reading.sure) for reading in line]
            merged = sorted([*rest, *(stack.lines() if stack is not None else ())], key=lambda r: (-r.sure, r.text))
            read = tuple(reading for reading in merged if any(map(str.isalnum, reading.text)))[:READINGS]
            if read:
                tries.append(_Try(index, box, read, max(share, read[0].sure)))
        return tries

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

    def _read(self, boxes: Sequence[TextBox], characters: tuple[str, ...] | None = None) -> list[tuple[Reading, ...]]:
        steps = recognised(self.network, [upright(self.grey, box) for box in boxes])
        return self._said(steps, characters)

    def _said(
        self, steps: Sequence[Sequence[Step]], characters: tuple[str, ...] | None = None
    ) -> list[tuple[Reading, ...]]:
        return [readings(line, characters or self.characters) for line in steps]


def _usual_quarters(tries: Iterable[_Try]) -> int:
    """Return the quarter turns by which most lettering that reads well is turned."""
    letters = [0.0] * 4
    for one in tries:
        letters[one.box.quarters] += one.counts(0) * len(one.readings[0].text)
    return max(range(4), key=letters.__getitem__)


def _best(tries: Iterable[_Try], usual: int) -> dict[int, _Try]:
    """Return for each box the way up that reads best."""
    best: dict[int, _Try] = {}
    for one in tries:
        if one.index not in best or one.counts(usual) > best[one.index].counts(usual):
            best[one.index] = one
    return best


def _text(one: _Try) -> Text:
    box, read = one.box, one.readings
    return Text(read[0].text, box.corners_px, box.turn_deg, read[0].sure, read)
