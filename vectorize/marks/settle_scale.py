"""Which dimensions to take the scale of a plan from, and whether they are proof enough without a person."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from vectorize.basics.errors import ScaleError
from vectorize.marks.dimensions import LEAST_AGREEING, Dimension
from vectorize.scale.fit_scale import fit_scale
from vectorize.scale.known import KnownDimension

if TYPE_CHECKING:
    from vectorize.marks.read_plan import PlanReading
    from vectorize.page import Page

AS_STATED_SHARE = 0.005
LEAST_AS_STATED_MM = 50.0
"""A dimension of some length bears out the stated size of a file within this share."""

CONTRADICTED_SHARE = 0.03
ENOUGH = 5
"""So many dimensions outweigh the size that a file states where none of them is within this share of it."""


@dataclass(frozen=True, slots=True)
class SettledScale:
    """Dimensions to take a plan's scale from, whether they are proof enough, and why, in words."""

    dimensions: tuple[Dimension, ...]
    is_accepted: bool
    why: str


def settle_scale(page: Page, reading: PlanReading) -> SettledScale:
    """Return the dimensions that agree, and whether they prove the scale by themselves.

    They do if they are three or more along and across the sheet, or two and the page has the size that its file states.
    """
    agreeing = [one for one in reading.dimensions if one.agrees] or _as_stated(page, reading.dimensions)
    dimensions = _consistent(page, agreeing)
    count = f"{len(dimensions)} dimension{'' if len(dimensions) == 1 else 's'}"
    directions = {_is_upright(one) for one in dimensions}
    if dimensions and len(dimensions) < ENOUGH and _is_contradicted(page, dimensions):
        why = f"{count} agree, but not with the size that the file states."
        return SettledScale(dimensions, False, why)
    if len(dimensions) >= LEAST_AGREEING and len(directions) == 2:
        return SettledScale(dimensions, True, f"{count} along and across the sheet agree.")
    if len(dimensions) >= 2 and len(_as_stated(page, dimensions)) == len(dimensions):
        return SettledScale(dimensions, True, f"{count} and the size that the file states agree.")
    if dimensions:
        why = (
            f"{count} agree{'s' if len(dimensions) == 1 else ''}; at least {LEAST_AGREEING} along and across the sheet "
            "would prove the scale."
        )
        return SettledScale(dimensions, False, why)
    return SettledScale((), False, "No dimension was read that others bear out.")


def _is_contradicted(page: Page, dimensions: Sequence[Dimension]) -> bool:
    """Return whether the file states another size than dimensions do."""
    return page.stated_px_per_mm is not None and not _as_stated(
        page, dimensions, share=CONTRADICTED_SHARE, least_mm=0.0
    )


def _is_upright(dimension: Dimension) -> bool:
    (x0, y0), (x1, y1) = dimension.start, dimension.end
    return abs(y1 - y0) > abs(x1 - x0)


def _as_stated(
    page: Page, dimensions: Iterable[Dimension], *, share: float = AS_STATED_SHARE, least_mm: float = LEAST_AS_STATED_MM
) -> list[Dimension]:
    """Return the dimensions of some length that fit the size that the file states, within a share."""
    if page.stated_px_per_mm is None:
        return []
    stated = np.array(page.stated_px_per_mm)
    found = []
    for one in dimensions:
        mm = float(np.hypot(*(np.subtract(one.end, one.start) / stated)))
        if one.length_mm >= least_mm and abs(mm / one.length_mm - 1) < share:
            found.append(one)
    return found


def _consistent(page: Page, dimensions: Sequence[Dimension]) -> tuple[Dimension, ...]:
    """Return the dimensions without those that the fit of the scale would refuse beside the others."""
    kept = list(dimensions)
    while kept:
        known = [KnownDimension(one.start, one.end, one.length_mm) for one in kept]
        try:
            fit_scale(page, known, corrections=())
        except ScaleError:
            lengths = [math.dist(one.start, one.end) / one.length_mm for one in kept]
            middle = float(np.median(lengths))
            kept.pop(max(range(len(kept)), key=lambda k: abs(lengths[k] / middle - 1)))
        else:
            break
    return tuple(kept)
