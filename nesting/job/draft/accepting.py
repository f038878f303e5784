"""What is taken for granted of all that was read, and what is left to a person."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from nesting.job.draft.drafted import DraftPart, Value
from vectorize.basics.units import MM_PER_INCH

ACCEPTED = 0.85
"""A value that is read less surely than this is offered, not taken."""

SAME_MM = 0.15
"""A board is of a thickness within this of it."""

USUAL_MM = (
    0.4,
    0.5,
    0.6,
    0.8,
    1.0,
    1.2,
    1.5,
    2.0,
    2.5,
    3.0,
    4.0,
    5.0,
    6.0,
    6.5,
    8.0,
    10.0,
    12.0,
    12.5,
    15.0,
    20.0,
    25.0,
)
USUAL_INCHES = (
    1 / 64,
    1 / 32,
    1 / 20,
    3 / 64,
    1 / 16,
    3 / 32,
    1 / 8,
    5 / 32,
    3 / 16,
    1 / 4,
    5 / 16,
    3 / 8,
    1 / 2,
    3 / 4,
    1.0,
)
"""Thicknesses that sheet wood is sold in (common practice, no source)."""

NEAR_MM = 0.03
"""A lettered thickness is that of a usual sheet within this: inches are also written as decimals."""

UNUSUAL_SHARE = 0.6
"""What an unusual thickness that no board has leaves of a reading: a figure of it is probably misread."""


@dataclass(frozen=True, slots=True)
class Stock:
    """A board at hand, by what decides whether a label can mean it."""

    material: str
    thickness_mm: float


def is_accepted(value: Value[Any]) -> bool:
    """Return whether a value is sure enough to be written as one."""
    return value.sure >= ACCEPTED


def settled(parts: Iterable[DraftPart], stock: Sequence[Stock] = ()) -> tuple[DraftPart, ...]:
    """Return the parts with thicknesses less sure that no sheet is sold in and no board has."""
    return tuple(replace(part, thickness_mm=_weighed(part.thickness_mm, stock)) for part in parts)


def _weighed(value: Value[float] | None, stock: Sequence[Stock]) -> Value[float] | None:
    if value is None or is_usual(value.value) or any(abs(b.thickness_mm - value.value) <= SAME_MM for b in stock):
        return value
    return value.times(UNUSUAL_SHARE)


def is_usual(thickness_mm: float) -> bool:
    """Return whether sheet wood is sold in a thickness."""
    usual = (*USUAL_MM, *(inches * MM_PER_INCH for inches in USUAL_INCHES))
    return any(abs(thickness_mm - one) <= NEAR_MM for one in usual)
