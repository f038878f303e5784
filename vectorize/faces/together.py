"""All picked parts of a sheet read together: what one part explains need not be explained by another.

A part does not hold another that holds it; an outline that runs inside a part costs nothing where another part
accounts for it (parts drawn over one another); and a small hole that is exactly another part is that
part drawn over this one, a large one an opening in which it stands.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from vectorize.faces.face_sets import Evidence, Reading, explained
from vectorize.faces.regions import Regions

HOLDING_COST = 6.0
"""What it costs a part to lie over the pick of another: less than two turns off outlines that cross. 10 changed none of
268 parts in eight hands."""

ACCOUNTED_COST = 4.0
"""A reading that costs no more than this, one turn, accounts for the outlines of its boundary. Chosen, not measured."""

ROUNDS = 4
"""How often parts that hold each other are put apart anew."""

SAME_SHARE = 0.95
"""A hole is another part where they share so much of their area; the rest is what lies within the pen."""

OPENING_SHARE = 1 / 3
"""A hole that is exactly another part is an opening where it takes more of the whole than this, as of rings one in the
other (0.38 to 0.75), and otherwise that part drawn over this one, as a rib on a fuselage side is (0.1)."""

OPENING_COST = 6.0
"""The other way costs this times the logarithm of how far the share lies from that. Chosen, not measured."""


SHEET_SHARE = 0.5
"""What goes round more than this share of the page, and round the picks of other parts, is like the sheet's ground."""

SHEET_COST = 12.0
"""It is taken where every other reading is dearer by more than this, twice what it costs to hold another's pick: a
ring in which other parts stand. Chosen, not measured."""


@dataclass(frozen=True, slots=True)
class PartReading:
    """What was found for one pick: the readings, the cheapest first.

    Those `shifted` are the best by other evidence. A pick that `is_shared` names a region that another names too.
    """

    readings: tuple[Reading, ...]
    grown: frozenset[int] = frozenset()
    shifted: tuple[Reading | None, ...] = ()
    is_shared: bool = False


def read_together(
    regions: Regions,
    evidence: Sequence[Evidence],
    picks: Sequence[frozenset[int]],
    *,
    px_per_mm: float,
    least_px: float,
    count: int = 3,
    grown: Sequence[frozenset[int]] | None = None,
    shifted: Sequence[Sequence[Evidence]] = (),
    without: Sequence[frozenset[int]] | None = None,
) -> tuple[PartReading, ...]:
    """Return the readings of every pick of a sheet; one without any has none.

    Args:
        regions: The faces.
        evidence: For each pick, what the sheet says of its lines.
        picks: The faces that each names.
        px_per_mm: Pixels per millimetre.
        least_px: Readings differ by a face of at least this area, in square pixels.
        count: How many readings of each.
        grown: For each pick the faces that another way of looking gave.
        shifted: More evidence of the same kind, to see whether the readings stay.
        without: For each pick the faces that it shall not hold.
    """
    apart = list(without or [frozenset()] * len(picks))

    def solved(k: int, given: Evidence, many: int = 1) -> list[Reading]:
        return explained(
            regions, given, picks[k], px_per_mm=px_per_mm, forbidden=apart[k], count=many, least_px=least_px
        )

    best = [next(iter(solved(k, evidence[k])), None) for k in range(len(picks))]
    for _ in range(ROUNDS):
        changed = _put_apart(best, picks, apart)
        if not changed:
            break
        for k in changed:
            best[k] = next(iter(solved(k, evidence[k])), None)
    found = []
    for k in range(len(picks)):
        helped = _accounted(regions, evidence[k], best, picks, k)
        readings = solved(k, helped, count)
        moved = [next(iter(solved(k, _accounted(regions, e[k], best, picks, k))), None) for e in shifted]
        filled = [replace(reading, faces=_filled(regions, reading.faces, best, k)) for reading in readings]
        found.append(
            PartReading(
                (*filled, *(other for r in readings[:1] if (other := _other_way(regions, r, best, k)) is not None)),
                _filled(regions, grown[k], best, k) if grown else frozenset(),
                tuple(None if r is None else replace(r, faces=_filled(regions, r.faces, best, k)) for r in moved),
                any(picks[k] & picks[j] for j in range(len(picks)) if j != k),
            )
        )
    return tuple(found)


def without_ground(regions: Regions, ranked: Sequence[Reading], others: frozenset[int]) -> list[Reading]:
    """Return the readings of a part without those that are like the sheet's ground, unless no other is plausible.

    `others` are the faces that other picks name.
    """

    def is_like_ground(reading: Reading) -> bool:
        whole = reading.faces.union(*regions.holes(reading.faces))
        columns, rows = regions.extent
        return bool(whole & others) and _area(regions, whole) > SHEET_SHARE * columns * rows

    plain = [reading for reading in ranked if not is_like_ground(reading)]
    least = min((reading.cost for reading in ranked), default=0.0)
    return plain if any(reading.cost <= least + SHEET_COST for reading in plain) else list(ranked)


def _put_apart(
    best: Sequence[Reading | None], picks: Sequence[frozenset[int]], apart: list[frozenset[int]]
) -> list[int]:
    """Forbid two parts that hold each other's picks to do so; return those for which that is new."""
    changed: set[int] = set()
    for k, one in enumerate(best):
        for j, other in enumerate(best[:k]):
            if one is None or other is None or picks[k] & picks[j]:
                continue
            if picks[j] <= one.faces and picks[k] <= other.faces:
                apart[k], apart[j] = apart[k] | picks[j], apart[j] | picks[k]
                changed |= {k, j}
    return sorted(changed)


def _accounted(
    regions: Regions, evidence: Evidence, best: Sequence[Reading | None], picks: Sequence[frozenset[int]], k: int
) -> Evidence:
    """Return the evidence for part `k`, with what the other parts account for."""
    inside = evidence.inside.copy()
    within: dict[int, float] = {}
    for j, other in enumerate(best):
        if j == k:
            continue
        within.update(dict.fromkeys(picks[j] - picks[k], HOLDING_COST))
        if other is not None and other.cost <= ACCOUNTED_COST:
            inside[regions.bounds(other.faces)] = 0.0
    return replace(evidence, inside=inside, within=within)


def _filled(regions: Regions, faces: frozenset[int], best: Sequence[Reading | None], k: int) -> frozenset[int]:
    """Return the faces of part `k` with every hole filled over which another part is drawn."""
    over = [hole for hole, share in _holes_that_are_parts(regions, faces, best, k) if share < OPENING_SHARE]
    return faces.union(*over)


def _other_way(regions: Regions, reading: Reading, best: Sequence[Reading | None], k: int) -> Reading | None:
    """Return a reading with the doubtfullest hole that is another part taken the other way, None without such holes."""
    holes = _holes_that_are_parts(regions, reading.faces, best, k)
    if not holes:
        return None
    doubtful, share = min(holes, key=lambda hole: abs(math.log(hole[1] / OPENING_SHARE)))
    filled = _filled(regions, reading.faces, best, k)
    cost = OPENING_COST * abs(math.log(share / OPENING_SHARE))
    return Reading(filled - doubtful if share < OPENING_SHARE else filled | doubtful, reading.cost + cost)


def _holes_that_are_parts(
    regions: Regions, faces: frozenset[int], best: Sequence[Reading | None], k: int
) -> list[tuple[frozenset[int], float]]:
    """Return the holes of part `k` that are exactly another part, and which share of the whole each takes."""
    holes = regions.holes(faces)
    whole = _area(regions, faces.union(*holes))
    found = []
    for hole in holes:
        area = _area(regions, hole)
        for j, other in enumerate(best):
            if j == k or other is None or other.faces & faces:
                continue
            its = other.faces.union(*regions.holes(other.faces))
            if _area(regions, its & hole) > SAME_SHARE * max(area, _area(regions, its)):
                found.append((hole, area / whole))
                break
    return found


def _area(regions: Regions, faces: frozenset[int]) -> float:
    return float(regions.area_px[sorted(faces)].sum()) if faces else 0.0
