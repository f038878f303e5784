"""What lettering says: every box cut out at the full resolution, set upright and read.

A box does not tell which way up it is read: what stands upright is tried upwards and downwards, and whatever reads
badly is tried the other ways too. The way that reads best is kept; a poor reading is kept as well, with how poor it is.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vectorize.curve import Point
from vectorize.marks.lettering import models
from vectorize.marks.lettering.box import TextBox
from vectorize.marks.lettering.decode import Reading, page_characters, readings
from vectorize.marks.lettering.detect import find_lettering, upright_tones
from vectorize.marks.lettering.lines import upright
from vectorize.marks.lettering.recognise import Step, recognised

Grey = NDArray[np.uint8]

WELL_READ = 0.8
"""What reads better than this is not tried another way up."""

SQUARE = 1.5
"""A box less long than this many heights does not tell which side the text runs along."""

WAY_SHARE = (1.0, 0.95, 0.7, 0.9)
"""What a reading counts by the quarter turns it needs: most lettering is upright, or is read from the right."""


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
    """One way up of the box with number `index`."""

    index: int
    box: TextBox
    steps: tuple[Step, ...]


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
    found = find_lettering(grey, px_per_mm=px_per_mm) if boxes is None else boxes
    boxes_by_index = dict(enumerate(found))
    first = _tried(positive, [(i, box.turned(way)) for i, box in boxes_by_index.items() for way in _first_ways(box)])
    characters = page_characters((one.steps for one in first), models.characters())
    best = _best({}, first, characters)
    poor = [(i, box) for i, box in boxes_by_index.items() if i not in best or best[i][0] < WELL_READ]
    second = _tried(positive, [(i, box.turned(way)) for i, box in poor for way in _other_ways(box)])
    return tuple(text for _, (_, text) in sorted(_best(best, second, characters).items()))


def _tried(grey: Grey, ways: list[tuple[int, TextBox]]) -> list[_Try]:
    steps = recognised(models.recogniser(), [upright(grey, box) for _, box in ways])
    return [_Try(index, box, line) for (index, box), line in zip(ways, steps, strict=True)]


def _best(
    before: dict[int, tuple[float, Text]], tries: Iterable[_Try], characters: tuple[str, ...]
) -> dict[int, tuple[float, Text]]:
    """Return for each box the text of the way up that reads best, and what that reading counts."""
    best = dict(before)
    for one in tries:
        read = tuple(reading for reading in readings(one.steps, characters) if any(map(str.isalnum, reading.text)))
        count = WAY_SHARE[_quarters(one.box)] * read[0].sure if read else 0.0
        if read and (one.index not in best or count > best[one.index][0]):
            text = Text(read[0].text, one.box.corners_px, one.box.turn_deg, read[0].sure, read)
            best[one.index] = (count, text)
    return best


def _first_ways(box: TextBox) -> tuple[int, ...]:
    """Return the quarter turns by which a box is tried first; its upper edge is its longer side."""
    return (0, 2) if _quarters(box) in (1, 3) else (0,)


def _other_ways(box: TextBox) -> tuple[int, ...]:
    tried = _first_ways(box)
    ways = (0, 1, 2, 3) if box.width_px < SQUARE * box.height_px else (0, 2)
    return tuple(way for way in ways if way not in tried)


def _quarters(box: TextBox) -> int:
    """Return the nearest number of quarter turns counter-clockwise by which the text is turned, 0 to 3."""
    return int(round(box.turn_deg / 90) % 4)
