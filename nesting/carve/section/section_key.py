"""A section as a table of the job names it: four digits, a high point, or a file of coordinates."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from nesting.carve.section.heights import Section
from nesting.carve.section.high_point import HighPoint
from nesting.carve.section.naca import naca4
from nesting.carve.section.tabulated import Tabulated
from vectorize.basics.errors import JobError
from vectorize.basics.quantity import Length, Share
from vectorize.basics.spec_table import Table


class HighPointTable(Table):
    """A section as sheet wings are carved; lengths at the root."""

    high_point: Share = 0.30
    nose: Length
    trailing: Length
    bottom: Literal["flat", "symmetrical"] = "symmetrical"


class SectionFileTable(Table):
    """A section from a coordinate file in the job folder."""

    file: str


SectionKey = str | HighPointTable | SectionFileTable
"""`"NACA 2412"`, a high-point section, or a coordinate file."""

SectionOfFile = Callable[[str], Tabulated]
"""Gives the section of a coordinate file; raises JobError where it cannot be read, PartError where it holds none."""


def no_files(name: str) -> Tabulated:
    """Refuse any coordinate file: there is no folder to read it from.

    Raises:
        JobError: Always.
    """
    raise JobError(f"section file {name} cannot be read, as there is no job folder; name a section by its four digits.")


def section_of(
    key: SectionKey, *, chord_mm: float, thickness_mm: float | None, part: str, of_file: SectionOfFile
) -> Section:
    """Return the section that a table names, of unit chord; lengths in it hold at `chord_mm`.

    Raises:
        JobError: A name that is not `NACA` and four digits, a file that cannot be read, no thickness.
        PartError: A section that cannot be.
    """
    match key:
        case HighPointTable():
            if thickness_mm is None:
                raise JobError(f"part {part!r}: a high-point section needs a thickness.")
            is_flat = key.bottom == "flat"
            return HighPoint(
                thickness_mm / chord_mm, key.high_point, key.nose / chord_mm, key.trailing / chord_mm, is_flat
            )
        case SectionFileTable():
            section: Section = of_file(key.file)
        case str():
            section = naca4(key.upper().removeprefix("NACA").strip())
    return section if thickness_mm is None else section.resized(thickness=thickness_mm / chord_mm)
