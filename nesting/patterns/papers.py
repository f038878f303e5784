"""Paper sizes by name, and the part of a page that ordinary printers reach.

Sources: ISO 216 for A0 to A4; ANSI/ASME Y14.1 for ANSI A to F (Letter is ANSI A, Tabloid ANSI B).
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass

from vectorize.basics.errors import InputError
from vectorize.basics.units import MM_PER_INCH
from vectorize.basics.wording import shown

POINTS_PER_MM = 72 / MM_PER_INCH


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet, upright. For a print that must fit two papers it is what both have in common."""

    name: str
    width_mm: float
    height_mm: float

    @property
    def size_pt(self) -> tuple[float, float]:
        """Return width and height in PDF points of 1/72 in."""
        return self.width_mm * POINTS_PER_MM, self.height_mm * POINTS_PER_MM


def _inches(name: str, width_in: float, height_in: float) -> Paper:
    return Paper(name, width_in * MM_PER_INCH, height_in * MM_PER_INCH)


PAPERS = (
    Paper("A4", 210, 297),
    Paper("A3", 297, 420),
    Paper("A2", 420, 594),
    Paper("A1", 594, 841),
    Paper("A0", 841, 1189),
    _inches("Letter", 8.5, 11),
    _inches("Legal", 8.5, 14),
    _inches("Tabloid", 11, 17),
    _inches("ANSI C", 17, 22),
    _inches("ANSI D", 22, 34),
    _inches("ANSI E", 34, 44),
    _inches("ANSI F", 28, 40),
    # Narrower than Letter and lower than A4: printed at 100 % on either, nothing is cut off.
    Paper("A4 and Letter", 210, 11 * MM_PER_INCH),
)

_OTHER_NAMES = {
    "ansia": "letter",
    "ansib": "tabloid",
    "ledger": "tabloid",
    "both": "a4andletter",
    "letteranda4": "a4andletter",
    "a4letter": "a4andletter",
    "a4+letter": "a4andletter",
}


def find_paper(name: str) -> Paper:
    """Return the paper called `name`; case, spaces and a leading `ISO` do not matter.

    Raises:
        InputError: There is no such paper; the nearest names are offered.
    """
    known = {_key(paper.name): paper for paper in PAPERS}
    key = _OTHER_NAMES.get(_key(name), _key(name))
    if key in known:
        return known[key]
    near = difflib.get_close_matches(key, known, n=1, cutoff=0.5)
    hint = f" Did you mean {known[near[0]].name!r}?" if near else ""
    raise InputError(
        f"paper is {shown(name)}, which is not a known size;{hint} "
        f"use one of {', '.join(paper.name for paper in PAPERS)}."
    )


def _key(name: str) -> str:
    key = "".join(name.casefold().replace("_", "").replace("-", "").split())
    return key.removeprefix("iso")
