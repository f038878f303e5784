"""What tells how sure a reading of a part is: the figures that `OutlineJudge.sureness` weighs."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from vectorize.faces.face_sets import Evidence, Reading
from vectorize.faces.regions import Regions
from vectorize.faces.together import PartReading

SHIFTS = (-1.5, 1.5)
"""By how much all log-odds are moved to see whether a reading stays, as they shift together from sheet to sheet.
Chosen, not measured; what a reading that stays is worth is fitted."""

LEAST_DIFFERENCE_MM2 = 1.5
"""Readings that differ by no face as large as this are one: the area of the smallest round cut-out, 1.5 mm across."""

DOUBTS = 9
"""How many figures tell how sure a reading is."""

MOST_GAP, MOST_WEAKNESS = 5.0, 3.0
"""What lies beyond these tells no more: readings are then as different, or lines as plain, as they can be."""

Floats = NDArray[np.float64]


def doubts(
    regions: Regions,
    evidence: Evidence,
    reading: PartReading,
    ranked: Sequence[Reading],
    grown: frozenset[int],
    odds: Floats,
    px_per_mm: float,
) -> Floats:
    """Return what tells how sure a reading is: the figures that `OutlineJudge.sureness` weighs."""
    tolerance = LEAST_DIFFERENCE_MM2 * px_per_mm**2
    first = ranked[0]
    gap = min((known.cost for known in ranked[1:]), default=first.cost + 20.0) - first.cost
    stays = [r is not None and are_same(regions, first.faces, r.faces, tolerance) for r in reading.shifted]
    in_shifts, in_nets = float(np.mean(stays[: len(SHIFTS)])), float(np.mean(stays[len(SHIFTS) :]))
    is_grown = are_same(regions, first.faces, grown, tolerance)
    return np.array(
        [
            min(gap, MOST_GAP),
            np.log1p(min(first.cost, 50.0)),
            in_shifts,
            in_nets,
            float(is_grown),
            np.clip(_weakest(regions, first.faces, odds), -MOST_WEAKNESS, MOST_WEAKNESS),
            float(reading.is_shared),
            float(is_grown and all(stays)),
            in_shifts * in_nets,
        ]
    )


def are_same(regions: Regions, one: frozenset[int], other: frozenset[int], tolerance_px: float) -> bool:
    """Return whether two sets of regions differ by less than an area in square pixels."""
    return float(regions.area_px[sorted(one ^ other)].sum()) < tolerance_px


def _weakest(regions: Regions, faces: frozenset[int], odds: Floats) -> float:
    """Return the log-odds below which a tenth of a boundary lies, by length."""
    ids = np.flatnonzero(regions.bounds(faces))
    if len(ids) == 0:
        return -MOST_WEAKNESS
    order = ids[np.argsort(odds[ids], kind="stable")]
    reach = np.cumsum([regions.work.edges[k].length for k in order.tolist()])
    return float(odds[order][np.searchsorted(reach, 0.1 * reach[-1])])
