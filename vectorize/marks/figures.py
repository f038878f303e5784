"""Lengths as they are lettered on plans, with the slips of a reader of letters allowed for.

Spaces get lost (`473/4` is 47 3/4), a plain stroke of a 1 becomes an I, a 0 an O. Every way to take a text is kept
with its probability; which one is right shows when it is held against the drawing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from vectorize.basics.units import LENGTH, MM_PER_INCH
from vectorize.marks.lettering import Reading

SLIP_SHARE = 0.5
"""What each letter taken for a figure leaves of a reading's probability."""

RUN_TOGETHER_SHARE = 0.5
"""What a lost space between whole number and fraction leaves of it."""

WORDS_SHARE = 0.9
"""What words before a figure leave of it: they may be of something else than the line beside them."""

SMALLEST_MM, LARGEST_MM = 0.3, 4000.0
"""Lengths on plans of models lie between."""

FINEST = 32
"""A whole number of inches is as exact as one with a fraction: to this part of an inch (common practice, no source)."""

DENOMINATORS = frozenset({2, 4, 8, 16, 32, 64})
"""Inches are divided by halving."""

_SLIPS = str.maketrans({"O": "0", "o": "0", "I": "1", "l": "1", "|": "1"})
_UNITS = {"MM": "mm", "CM": "cm", "IN": "in", "INS": "in", "INCH": "in", "INCHES": "in", "FT": "ft"} | {
    '"': "in",
    "''": "in",
    "'": "ft",
}
_NUMBER = r"[0-9OoIl|]"
_FRACTION = re.compile(rf"(?:({_NUMBER}+)[\s\-.]+)?({_NUMBER}+)\s?/\s?({_NUMBER}+)\s*(.*)")
_DECIMAL = re.compile(rf"({_NUMBER}*[.,]{_NUMBER}+|{_NUMBER}+)\s*(.*)")
_WORDS_BEFORE = re.compile(r"(?:[^\W\d_]{3,}[\s.:=]+){1,3}(?=[0-9.])")
_AROUND = " <>-~+().,:;_=*'"


@dataclass(frozen=True, slots=True)
class Length:
    """A length that a text may state.

    `step_mm` is the last place or the fraction that it is written to; `unit` is "" where none stands there, and the
    value then counts in millimetres until the sheet shows otherwise.
    """

    mm: float
    step_mm: float
    unit: str
    sure: float

    def in_inches(self) -> Length:
        """Return the same figure taken in inches."""
        return Length(self.mm * MM_PER_INCH, self.step_mm * MM_PER_INCH, "in", self.sure)


def lengths(readings: Iterable[Reading]) -> tuple[Length, ...]:
    """Return the lengths that a text may state, the likeliest first; none where it says something else."""
    best: dict[tuple[float, str], Length] = {}
    for reading in readings:
        for length in _lengths(reading):
            key = (round(length.mm, 4), length.unit)
            if SMALLEST_MM <= length.mm <= LARGEST_MM and (key not in best or best[key].sure < length.sure):
                best[key] = length
    return tuple(sorted(best.values(), key=lambda length: (-length.sure, length.mm)))


def _lengths(reading: Reading) -> list[Length]:
    words = _WORDS_BEFORE.match(reading.text)
    if words is not None:  # CHECK 300 MM
        rest = Reading(reading.text[words.end() :], WORDS_SHARE * reading.sure)
        return [length for length in _lengths(rest) if length.unit]
    text = reading.text.lstrip(_AROUND.replace(".", "")).rstrip(_AROUND.replace("'", ""))
    fraction = _FRACTION.fullmatch(text)
    if fraction is not None:
        return _fractions(fraction, reading)
    decimal = _DECIMAL.fullmatch(text)
    return [] if decimal is None else _decimals(decimal, reading)


def _fractions(match: re.Match[str], reading: Reading) -> list[Length]:
    whole, above, below, rest = match.groups()
    unit = _unit(rest)
    share = reading.sure * _slipped(match)
    denominator = int(below.translate(_SLIPS))
    if unit not in ("in", "") or denominator not in DENOMINATORS:
        return []
    figures = above.translate(_SLIPS)
    found = []
    for cut in range(len(figures)) if whole is None else (0,):
        lead = int(whole.translate(_SLIPS)) if whole is not None else int(figures[:cut] or 0)
        numerator = int(figures[cut:])
        if numerator % 2 == 1 and numerator < denominator:
            mm = float((lead + Fraction(numerator, denominator)) * Fraction("25.4"))
            found.append(Length(mm, MM_PER_INCH / denominator, "in", share * (RUN_TOGETHER_SHARE if cut else 1.0)))
    return found


def _decimals(match: re.Match[str], reading: Reading) -> list[Length]:
    figures, rest = match.groups()
    unit = _unit(rest)
    if unit is None:
        return []
    number = figures.translate(_SLIPS).replace(",", ".")
    places = len(number.partition(".")[2])
    factor = float(LENGTH.factors[unit or "mm"])
    step = factor / 10**places if places or unit not in ("in", "ft") else MM_PER_INCH / FINEST
    return [Length(float(number) * factor, step, unit, reading.sure * _slipped(match))]


def _unit(text: str) -> str | None:
    """Return the unit that `text` is, "" where there is none, None where it is something else."""
    plain = text.strip(" .,>-~)").upper()
    return _UNITS.get(plain) if plain else ""


def _slipped(match: re.Match[str]) -> float:
    figures = "".join(group for group in match.groups()[:-1] if group)
    return SLIP_SHARE ** sum(not (sign.isdecimal() or sign in ".,") for sign in figures)
