"""What reads poorly is looked at again: with its box drawn round the letters alone, and made wider.

Each look is read by itself and counts by how much of its probability went to readings that were kept: a look at which
nothing is clear takes little from the others.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vectorize.marks.lettering.decode import READINGS, Reading
from vectorize.marks.lettering.text_box import TextBox
from vectorize.marks.lettering.tight_boxes import tight_box

Grey = NDArray[np.uint8]

POOR = 0.9
"""What reads better than this, however it is spaced, is not looked at again."""

WIDER = 1.3
"""Narrow letters, as many draughtsmen's are, read better this many times as wide."""

LEANS_DEG = (3.0, 22.0)
"""A box that leans by so much from the sheet's lettering probably does so because of a mark beside it."""

ALIKE_LOOKS, ALIKE_LETTERS = 3, 4
ALIKE_SHARE = 0.5
"""Where so many looks say the same, of so many letters, only this share of the doubt is left. Of 21 lines of fresh
sheets that were alike and 70 to 85 % sure 19 were right, the others cut off at an end."""

UNREAD = 0.3
"""A line that reads worse than this is also looked at in a lower box, and the other way up: which way up it is was
told by letters that are none."""

TRIMMED = 0.15
"""A lower box leaves out this share of the height on each side."""

CLEAR_OF_RING = 0.4
"""A row of letters beside a ring is read without it if it then reads at least this well."""


@dataclass(frozen=True, slots=True)
class ReadLine:
    """A box, what it says, how good the best reading is, and whether that has a fraction read apart."""

    box: TextBox
    readings: tuple[Reading, ...]
    evidence: float
    is_stacked: bool = False

    @property
    def clear(self) -> float:
        """Return the probability of the best reading, however it is spaced."""
        best = _closed_up(self.readings[0])
        return sum(reading.sure for reading in self.readings if _closed_up(reading) == best)

    @property
    def kept(self) -> float:
        """Return the probability of all readings that were kept."""
        return sum(reading.sure for reading in self.readings)


Look = Callable[[Sequence[TextBox], float], Sequence[ReadLine | None]]
"""Reads boxes, each made so many times as wide."""


def looked_at_again(grey: Grey, lines: Mapping[int, ReadLine], look: Look) -> dict[int, ReadLine]:
    """Return the lines, those that read poorly or with a ring beside them as further looks tell.

    Args:
        grey: The page, dark on light.
        lines: What every box says so far, by its number.
        look: Reads boxes.
    """
    skew_deg = _skew_deg(line.box for line in lines.values())
    plain = {k: line for k, line in lines.items() if not line.is_stacked}
    poor = {k for k, line in plain.items() if line.clear < POOR}
    tight = {k: box for k, line in plain.items() if (box := tight_box(grey, line.box, turn_deg=_turn(line, skew_deg)))}
    ringed = {k for k, found in tight.items() if found.drops_ring}
    narrow = [k for k in tight if k in poor or k in ringed]
    wide = [(k, tight[k].box) for k in narrow if k in poor]
    wide += [(k, lines[k].box) for k in sorted(poor - ringed) if _is_worth(lines[k], has_row=k in tight)]
    looks: dict[int, list[ReadLine]] = defaultdict(list)
    low = [k for k in sorted(poor) if plain[k].clear < UNREAD and not plain[k].box.is_short]
    for numbers, boxes, stretch in (
        (narrow, [tight[k].box for k in narrow], 1.0),
        (low, [_lower(lines[k].box) for k in low], 1.0),
        (low, [_lower(lines[k].box).turned(2) for k in low], 1.0),
        ([k for k, _ in wide], [box for _, box in wide], WIDER),
    ):
        for k, line in zip(numbers, look(boxes, stretch), strict=True):
            if line is not None:
                looks[k].append(line)
    return {k: _told(line, looks[k], is_ringed=k in ringed) for k, line in lines.items()}


def _lower(box: TextBox) -> TextBox:
    """Return the middle of a box that hatching or a line above or below has made too high."""
    return box.part(left=0.0, right=1.0, top=TRIMMED, bottom=1.0 - TRIMMED)


def _turn(line: ReadLine, skew_deg: float) -> float | None:
    """Return which way a line runs if its box leans for no good reason; None if it runs as its box does."""
    lean = (line.box.turn_deg - skew_deg + 45) % 90 - 45
    return line.box.turn_deg - lean if LEANS_DEG[0] < abs(lean) < LEANS_DEG[1] else None


def _is_worth(line: ReadLine, *, has_row: bool) -> bool:
    """Return whether a poorly read box may hold letters: most short ones are the rings and crosses of holes."""
    return has_row or not line.box.is_short or len(line.readings[0].text) > 1


def _told(line: ReadLine, looks: Sequence[ReadLine], *, is_ringed: bool) -> ReadLine:
    if not looks:
        return line
    best = max(looks, key=lambda one: one.clear)
    if is_ringed:
        return _pooled(looks) if best.clear >= CLEAR_OF_RING else line
    return _pooled([line, *looks])


def _pooled(looks: Sequence[ReadLine]) -> ReadLine:
    """Return what several looks say together, in the box of the clearest."""
    total = sum(one.kept for one in looks)
    shares: dict[str, float] = defaultdict(float)
    for one in looks:
        for reading in one.readings:
            shares[reading.text] += one.kept / total * reading.sure
    ordered = sorted(shares.items(), key=lambda item: (-item[1], item[0]))[:READINGS]
    readings = tuple(Reading(text, min(1.0, share)) for text, share in ordered)
    said = {_closed_up(one.readings[0]) for one in looks}
    if len(looks) >= ALIKE_LOOKS and len(said) == 1 and len(next(iter(said))) >= ALIKE_LETTERS:
        readings = _surer(readings, said.pop())
    return replace(max(looks, key=lambda one: one.clear), readings=readings, evidence=readings[0].sure)


def _surer(readings: Sequence[Reading], said: str) -> tuple[Reading, ...]:
    """Return readings with less doubt on those that all looks agree on."""
    alike = sum(one.sure for one in readings if _closed_up(one) == said)
    factor = (1 - ALIKE_SHARE * (1 - alike)) / alike
    return tuple(Reading(one.text, one.sure * (factor if _closed_up(one) == said else ALIKE_SHARE)) for one in readings)


def _skew_deg(boxes: Iterable[TextBox]) -> float:
    """Return by how much most long lines are turned from the rows or columns, -45 to 45."""
    turns = [(box.turn_deg + 45) % 90 - 45 for box in boxes if not box.is_short]
    return float(np.median(turns)) if turns else 0.0


def _closed_up(reading: Reading) -> str:
    return "".join(reading.text.split())
