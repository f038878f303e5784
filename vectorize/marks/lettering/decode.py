"""From the recogniser's probabilities to readings, the likeliest first.

Connectionist temporal classification: every step names a character or nothing, repeats count once unless nothing
stands between them, and a reading's probability is the sum over all ways to spell it
(Graves et al. 2006, doi:10.1145/1143844.1143891; the search by prefixes after Hannun et al. 2014, arXiv:1408.2873).
"""

from __future__ import annotations

import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from vectorize.marks.lettering.recognise import Step

MOST_PREFIXES = 20
"""So many beginnings of readings are followed at once."""

READINGS = 16
"""So many readings of a text are kept: a line of four words is spaced in several ways, and each is one."""

NOTHING = 0
"""The output that stands for no character."""

WIDE_LINES = 3
"""Chinese and Japanese characters are read on a page with so many lines that have several of them."""

WIDE_SURE = 0.5
"""Such a line is read at least this well: what is no lettering often looks like one such character, badly."""

AS_TYPED = {
    **dict.fromkeys("″”“„＂", '"'),
    **dict.fromkeys("′’‘´`", "'"),
    **dict.fromkeys("–—−", "-"),
    **dict.fromkeys("∅⌀Φφ", "Ø"),
    "×": "x",
    **dict(zip("⁰¹²³⁴⁵⁶⁷⁸⁹", "0123456789", strict=True)),
}
"""Signs that a pen does not tell apart, as they are typed."""

DRAUGHTSMANS = frozenset("°±½¼¾⅛⅜⅝⅞→←↑↓")
"""Signs on plans that are neither letters nor on every keyboard."""

_Ends = dict[tuple[int, ...], tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Reading:
    """What a line of lettering may say, and how probable that is by the recogniser alone, 0 to 1."""

    text: str
    sure: float


def readings(steps: Sequence[Step], characters: Sequence[str]) -> tuple[Reading, ...]:
    """Return the readings of one line, the likeliest first; none where no character was seen.

    Args:
        steps: What each step may be.
        characters: What each output means; '' for nothing, and for characters that are not to be read.
    """
    ends: _Ends = {(): (1.0, 0.0)}
    for step in steps:
        allowed = [(index, share) for index, share in step if index == NOTHING or characters[index]]
        kept = sorted(_extended(ends, allowed).items(), key=lambda item: (-sum(item[1]), item[0]))
        ends = dict(kept[:MOST_PREFIXES])
    found: dict[str, float] = defaultdict(float)
    for prefix, shares in ends.items():
        found["".join(characters[index] for index in prefix).strip()] += sum(shares)
    ordered = sorted(found.items(), key=lambda item: (-item[1], item[0]))
    return tuple(Reading(text, min(1.0, share)) for text, share in ordered if text and share > 0)[:READINGS]


def page_characters(lines: Iterable[Sequence[Step]], characters: Sequence[str]) -> tuple[str, ...]:
    """Return `characters` as they are read on a page with these lines, '' for those that are not.

    A page is read in Latin letters, figures and a draughtsman's signs, each as a keyboard has it; with Chinese and
    Japanese ones only if several lines are lettered so. Hatching, arrows and the corners of parts look like single
    Chinese characters or mathematical signs more than like anything else.
    """
    western = tuple(_western(character) for character in characters)
    is_wide = [unicodedata.east_asian_width(character[:1] or " ") in "WF" for character in characters]
    wide_lines = 0
    for steps in lines:
        if sum(any(is_wide[index] for index, _ in step) for step in steps) >= 2:
            read = readings(steps, characters)
            is_lettered = read and sum(unicodedata.east_asian_width(c) in "WF" for c in read[0].text) >= 2
            wide_lines += bool(is_lettered and read[0].sure >= WIDE_SURE)
    if wide_lines < WIDE_LINES:
        return western
    return tuple(
        character if wide else plain for character, wide, plain in zip(characters, is_wide, western, strict=True)
    )


def _western(character: str) -> str:
    plain = AS_TYPED.get(character, character)
    is_latin = plain.isascii() or unicodedata.name(plain, "").startswith("LATIN ")
    return plain if is_latin or plain in DRAUGHTSMANS else ""


def _extended(ends: _Ends, step: Iterable[tuple[int, float]]) -> _Ends:
    """Return the prefixes one step on, each with its probability to end in nothing, and in its last character."""
    grown: dict[tuple[int, ...], list[float]] = defaultdict(lambda: [0.0, 0.0])
    for prefix, (blank, filled) in ends.items():
        for index, share in step:
            if index == NOTHING:
                grown[prefix][0] += share * (blank + filled)
            elif prefix and index == prefix[-1]:
                grown[prefix][1] += share * filled
                grown[*prefix, index][1] += share * blank
            else:
                grown[*prefix, index][1] += share * (blank + filled)
    return {prefix: (blank, filled) for prefix, (blank, filled) in grown.items()}
