"""What a message may hold of what a user wrote: short, on one line, nothing that a terminal would obey."""

from __future__ import annotations

import re
import struct
from collections.abc import Iterable
from datetime import date, time
from itertools import accumulate

MOST_SHOWN = 60
MOST_LISTED = 100
LONGEST_MESSAGE = 299
_MOST_REASON = 120
_END_TOLD = 120
_NUMBERED = re.compile(r"(?:de|en)coder error -?\d+(?: when reading image file)?")
_OF_PROGRAMS = (
    ArithmeticError, AssertionError, AttributeError, LookupError, NameError, RuntimeError, TypeError, ValueError,
    struct.error,
)  # fmt: skip
"""Errors that speak of a program's own values, not of the file that it reads."""


def printable(text: str) -> str:
    """Return `text` with everything that is no visible letter, sign or space written as its escape."""
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in text)


def clipped(text: str, most: int = LONGEST_MESSAGE) -> str:
    """Return `text` with no more than `most` characters, the missing end marked by `…`."""
    return text if len(text) <= most else text[: most - 1] + "…"


def told(text: str) -> str:
    """Return a message as a person is told it: one printable line, the middle of an endless one left out.

    Names of boards, parts and materials may be of any length; what was found and what to do next stand at the ends.
    """
    line = printable(text)
    if len(line) <= LONGEST_MESSAGE:
        return line
    return f"{line[: LONGEST_MESSAGE - _END_TOLD - 1]}…{line[-_END_TOLD:]}"


def shown(value: object, most: int = MOST_SHOWN) -> str:
    """Return how a message shows a value that was found: a text in quotes, all else as it is written; never long."""
    if isinstance(value, str):
        return repr(clipped(value, most))
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple) and len(value) > _MOST_ITEMS:
        return f"a list of {len(value)}"
    try:
        return clipped(repr(value), most)
    except (RecursionError, ValueError):  # a whole number of thousands of digits has no text
        return "what cannot be shown"


def listed(names: Iterable[str], most: int = MOST_LISTED) -> str:
    """Return names in a row with commas, as many as `most` letters hold and then how many more; 'none' without any."""
    every = list(names)
    ends = list(accumulate(len(name) + 2 for name in every))
    count = max(1, sum(end <= most for end in ends))
    more = f" and {len(every) - count} more" if len(every) > count else ""
    return clipped(", ".join(every[:count]), most) + more if every else "none"


def reason_of(error: BaseException) -> str:
    """Return ` (why)` in the words of a library that cannot read a file; nothing where they speak of its insides."""
    words = "" if isinstance(error, _OF_PROGRAMS) else next(iter(str(error).splitlines()), "").rstrip(". ")
    if _NUMBERED.fullmatch(words):
        return ""
    return f" ({clipped(printable(words), _MOST_REASON)})" if words else ""


_MOST_ITEMS = 6
