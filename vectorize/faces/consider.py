"""What a sheet's picks may mean: the part of each, how sure that is, and what else it may be.

Every pick is read by the whole sheet's evidence and, independently of that, grown from line to line. The cheaper
reading is taken; how far the two agree, by how much the next reading is dearer, and whether the answer stays the same
when all lines look a little more or less like outlines, tell how sure it is.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from vectorize.faces.doubts import LEAST_DIFFERENCE_MM2, SHIFTS, are_same, doubts
from vectorize.faces.face_sets import Evidence, Reading, cost_of, evidence_of
from vectorize.faces.gaps import with_gap_odds
from vectorize.faces.outline_odds import OutlineJudge, shipped_judge
from vectorize.faces.regions import Loop, Regions
from vectorize.faces.sure_holes import LETTER_MOST_ODDS, LikelyHole, left_out, likely, sure_holes
from vectorize.faces.together import PartReading, read_together, without_ground

if TYPE_CHECKING:
    from vectorize.faces.any_sheet import Sheet
    from vectorize.faces.growth import Growth
    from vectorize.faces.part_pick import PartPick

GROWN_COST = 6.0
"""The part grown from line to line is kept where the sheet's own reading is cheaper by no more than this: on 289
parts in eight hands up to 6 changed nothing (1 part), 8 to 12 made 4 or 5 wrong, 30 made 13 wrong."""

FEWEST_LINES = 300
"""A line is judged against its sheet. On one with fewer lines, of which the networks saw two in 134, the grown part is
taken and the sheet only tells how sure it is."""

FREE_SURE = 0.95
"""How sure a part is at least whose outline nothing touches, where it is the same in both ways of looking: there is no
line to be wrong about. Chosen, not measured."""

FREE_MARGIN = 2.5
"""And where no other reading is dearer by less than this. Chosen, not measured."""

MOST_ALTERNATIVES = 3
"""So many readings are looked for; a person compares no more."""

LEAST_SURE = 0.02
"""What is less likely than one in fifty is no alternative."""

HOLE_ODDS = 3.0
"""What the form of a cut-out adds to the log-odds of its edge: the networks see lines one by one. On 268 parts in eight
hands 226 were right with it, 220 without; no other value was tried."""

MOST_LETTER_COST, MOST_LETTER_ODDS = 11.5, 3.6
"""What is in a part and would not be cut is no cut-out where holding it costs less than this and its line is likely an
outline by no more than these log-odds. In three drawings letters in parts cost up to 11.4, one nearly 12, at 3.5; holes
of 1.2 mm 11.9 at 3.1; larger cut-outs 13 and more, from 4.1 on."""

LOOSE_COST = 1.0
"""What a wide gap costs in the edge of a part that is drawn in dashes, and what a piece of a chain line, in log-odds
times root millimetres: the networks have learned to take dashes for no outline, and do not tell. Chosen."""

BOUND_COST = 50.0
"""What it costs to hold a line on both sides that a person says is the edge."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Considered:
    """The readings of a part, the one that is taken first, each with the probability that it is right.

    `doubts` are what the first of these probabilities was told by. The round `holes` of the sheet are in none.
    """

    readings: tuple[frozenset[int], ...]
    sures: tuple[float, ...]
    doubts: tuple[float, ...]
    holes: tuple[LikelyHole, ...] = ()

    @property
    def regions(self) -> frozenset[int]:
        """Return the reading that is taken."""
        return self.readings[0]

    @property
    def sure(self) -> float:
        """Return the probability that it is right."""
        return self.sures[0]

    @property
    def others(self) -> tuple[tuple[frozenset[int], float], ...]:
        """Return the other readings with their probabilities, likeliest first."""
        return tuple(zip(self.readings[1:], self.sures[1:], strict=True))


def _none(_: frozenset[int]) -> frozenset[int]:
    return frozenset()


def _as_they_are(regions: frozenset[int]) -> frozenset[int]:
    return regions


@dataclass(frozen=True, slots=True)
class PickedPart:
    """A pick, the regions that it names, and what grows from them line by line.

    The loops `filled` might be cut-outs, but are letters of words, or a little too small. `whole` fills what a set of
    regions encloses and what would not be cut out, but for those in words that have the size of cut-outs; `letters`
    tells one region in each loop that is a letter beyond doubt, `worded` in each that stands in a word. `hole_forms`
    may be holes by their form.
    """

    pick: PartPick
    regions: frozenset[int]
    growth: Growth
    filled: tuple[Loop, ...] = ()
    whole: Callable[[frozenset[int]], frozenset[int]] = _as_they_are
    letters: Callable[[frozenset[int]], frozenset[int]] = _none
    worded: Callable[[frozenset[int]], frozenset[int]] = _none
    hole_forms: tuple[LikelyHole, ...] = ()


def consider(
    drawing: Sheet, px_per_mm: float, picked: Sequence[PickedPart], *, judge: OutlineJudge | None = None
) -> tuple[Considered, ...]:
    """Return what each pick of a sheet is taken for; `judge` is the one that is shipped unless given.

    A closed line that nothing meets, with nothing but such lines in it, is a part with its cut-outs, whatever else is
    on the sheet.
    """
    crowded = crowded_regions(drawing.regions)
    named = frozenset[int]().union(*(one.regions for one in picked))
    alone = [_stands_alone(drawing.regions, one, crowded, named) for one in picked]
    rest = [one for one, is_alone in zip(picked, alone, strict=True) if not is_alone]
    weighed = iter(_weighed(drawing, px_per_mm, rest, named, judge))
    return tuple(
        Considered((one.growth.regions,), (FREE_SURE,), ()) if is_alone else next(weighed)
        for one, is_alone in zip(picked, alone, strict=True)
    )


def line_odds(drawing: Sheet, px_per_mm: float, judge: OutlineJudge | None = None) -> Floats:
    """Return the log-odds that each line of a sheet is an outline, by each network, (networks, E)."""
    return with_gap_odds(drawing.regions.work, (judge or shipped_judge()).odds(drawing.features(px_per_mm)))


def crowded_regions(regions: Regions) -> NDArray[np.bool_]:
    """Return for each region whether anything bounds it, or stands in it, but whole closed lines that nothing meets."""
    edges, degrees = regions.work.edges, regions.work.degrees()
    is_plain = [e.is_loop and degrees[e.start] == 2 and not (e.is_bridge or e.is_dashed) for e in edges]
    others = ~np.array(is_plain, np.bool_)
    crowded = np.zeros(len(regions.area_px), np.bool_)
    crowded[regions.left[others]] = crowded[regions.right[others]] = True
    return crowded


def _stands_alone(regions: Regions, one: PickedPart, crowded: NDArray[np.bool_], named: frozenset[int]) -> bool:
    """Return whether a pick is one region that only whole closed lines bound, with no other pick in its cut-outs."""
    grown = one.growth.regions
    if len(grown) > 1 or grown != one.regions or one.pick.mirror is not None or one.pick.line != "solid":
        return False
    (region,) = grown
    return not crowded[region] and not any(other in named for _, other in regions.neighbours().get(region, ()))


def _weighed(
    drawing: Sheet,
    px_per_mm: float,
    picked: Sequence[PickedPart],
    named: frozenset[int],
    judge: OutlineJudge | None,
) -> tuple[Considered, ...]:
    """Return what each pick is taken for by the evidence of the whole sheet; all picks name the regions `named`."""
    if not picked:
        return ()
    regions, runs = drawing.regions, drawing.runs
    judge = judge or shipped_judge()
    odds = line_odds(drawing, px_per_mm, judge)
    is_judged = odds.shape[1] >= FEWEST_LINES
    holes = sure_holes(regions, odds.mean(axis=0) if is_judged else None, picked[0].hole_forms, named)
    grown = [left_out(regions, one.growth.regions, holes) for one in picked]
    odds[:, _around_holes(regions, grown)] += HOLE_ODDS
    mean = np.mean(odds, axis=0)
    evidence = evidence_of(regions, runs, mean, px_per_mm=px_per_mm)
    shifted = [evidence_of(regions, runs, mean, px_per_mm=px_per_mm, shift=shift) for shift in SHIFTS]
    shifted += [evidence_of(regions, runs, each, px_per_mm=px_per_mm) for each in odds]
    known = [_known(drawing, pick, px_per_mm) for pick in (one.pick for one in picked)]
    readings = read_together(
        regions,
        [given(evidence) for given in known],
        [one.regions for one in picked],
        px_per_mm=px_per_mm,
        least_px=LEAST_DIFFERENCE_MM2 * px_per_mm**2,
        count=MOST_ALTERNATIVES,
        grown=grown,
        shifted=[[given(each) for given in known] for each in shifted],
        without=[_cut_out(regions, pick) for pick in (one.pick for one in picked)],
    )
    decided = (
        _decided(
            regions,
            given(evidence),
            _as_cut(regions, given(evidence), mean, reading, one, holes),
            named - one.regions,
            mean,
            px_per_mm,
            judge,
        )
        for reading, given, one in zip(readings, known, picked, strict=True)
    )
    return tuple(replace(considered, holes=holes) for considered in decided)


def _as_cut(
    regions: Regions,
    evidence: Evidence,
    odds: Floats,
    found: PartReading,
    one: PickedPart,
    holes: Sequence[LikelyHole],
) -> PartReading:
    """Return what was found with all readings as they would be cut, so that letters in a part make no difference.

    What the sheet plainly takes for a cut-out stays one, and then the readings differ. Holes of a round form are cut
    out of each.
    """

    def is_doubtful(hole: frozenset[int]) -> bool:
        cost = evidence.inside[regions.bounds(hole)].sum()
        return bool(cost < MOST_LETTER_COST and likely(regions, odds, hole) < MOST_LETTER_ODDS)

    def is_letter(hole: frozenset[int], worded: frozenset[int]) -> bool:
        is_judged = len(odds) >= FEWEST_LINES
        return bool(is_judged and hole & worded and likely(regions, odds, hole) < LETTER_MOST_ODDS)

    @cache
    def whole(faces: frozenset[int]) -> frozenset[int]:
        pierced = left_out(regions, faces, holes)
        cut, letters, worded = one.whole(pierced), one.letters(pierced), one.worded(pierced)
        filled = (
            hole
            for hole in regions.holes(pierced)
            if (hole <= cut and (hole & letters or is_doubtful(hole))) or is_letter(hole, worded)
        )
        return left_out(regions, pierced.union(*filled), holes)

    readings = tuple(replace(known, faces=whole(known.faces)) for known in found.readings)
    shifted = tuple(None if known is None else replace(known, faces=whole(known.faces)) for known in found.shifted)
    return replace(found, readings=readings, shifted=shifted, grown=left_out(regions, found.grown, holes))


def _around_holes(regions: Regions, grown: Sequence[frozenset[int]]) -> NDArray[np.bool_]:
    """Return which edges go round a cut-out of a part as it grew."""
    found = np.zeros(len(regions.work.edges), np.bool_)
    for part in grown:
        for hole in regions.holes(part):
            found |= regions.bounds(hole)
    return found


def _known(drawing: Sheet, pick: PartPick, px_per_mm: float) -> Callable[[Evidence], Evidence]:
    """Return what makes the sheet's evidence that for a pick of which a person said more.

    The centre line of a half is its edge, and dashed lines bound a dashed part, whatever solid ones cross it; a chain
    line may.
    """
    axis = np.zeros(len(drawing.runs.of_edge), np.bool_)
    if pick.mirror is not None:
        along = drawing.runs_along(pick.mirror, px_per_mm)
        axis = np.isin(drawing.runs.of_edge, list(along))
    edges = drawing.regions.work.edges
    is_loose = np.array([edge.is_chain or edge.wide is not None for edge in edges])
    dashed = np.array([edge.is_dashed for edge in edges])
    dashes, loose = dashed & ~is_loose, dashed & is_loose

    def given(evidence: Evidence) -> Evidence:
        boundary, inside = evidence.boundary.copy(), evidence.inside.copy()
        if pick.line == "dashed":
            inside[~dashes], boundary[dashes], inside[dashes] = 0.0, 0.0, BOUND_COST
            boundary[loose] = LOOSE_COST
        boundary[axis], inside[axis] = 0.0, BOUND_COST
        return replace(evidence, boundary=boundary, inside=inside)

    return given


def _cut_out(regions: Regions, pick: PartPick) -> frozenset[int]:
    """Return the regions that a person took away."""
    return frozenset(region for point in pick.cutouts if (region := regions.at(point)))


def _decided(
    regions: Regions,
    evidence: Evidence,
    reading: PartReading,
    others: frozenset[int],
    odds: Floats,
    px_per_mm: float,
    judge: OutlineJudge,
) -> Considered:
    tolerance = LEAST_DIFFERENCE_MM2 * px_per_mm**2
    grown = reading.grown
    # Readings that hardly differ are one: specks at corners are better told line by line.
    found = [Reading(grown, r.cost) if are_same(regions, grown, r.faces, tolerance) else r for r in reading.readings]
    ranked = list({known.faces: known for known in reversed(found)}.values())
    if all(known.faces != grown for known in ranked):
        ranked.append(Reading(grown, cost_of(regions, evidence, grown)))
    ranked = without_ground(regions, ranked, others)
    least = min(known.cost for known in ranked)
    allowed = GROWN_COST if len(odds) >= FEWEST_LINES else np.inf
    ranked.sort(
        key=lambda known: (
            known.cost
            if not are_same(regions, known.faces, grown, tolerance)
            else max(least - 1e-9, known.cost - allowed)
        )
    )
    told = doubts(regions, evidence, reading, ranked, grown, odds, px_per_mm)
    sure = judge.sureness(told) * _sure_of_gaps(regions, ranked[0].faces, odds)
    cheapest = min(reading.readings, key=lambda known: known.cost, default=None)
    is_plain = told[0] >= FREE_MARGIN and cheapest is not None and ranked[0].faces == grown == cheapest.faces
    if is_plain and _is_free(regions, grown):
        sure = max(sure, FREE_SURE)
    dearer = np.array([known.cost for known in ranked[1:]])
    share = np.exp(-(dearer - dearer.min(initial=np.inf)) / 2)
    share = (1.0 - sure) * share / max(float(share.sum()), 1e-9)
    likely = [(known.faces, part) for known, part in zip(ranked[1:], share.tolist(), strict=True) if part >= LEAST_SURE]
    readings = (ranked[0].faces, *(faces for faces, _ in likely))
    return Considered(readings, (sure, *(part for _, part in likely)), tuple(told.tolist()))


def _sure_of_gaps(regions: Regions, faces: frozenset[int], odds: Floats) -> float:
    """Return the probability that the outline goes on over all wide gaps in a boundary: that of the unlikeliest."""
    gaps = [odds[k] for k in np.flatnonzero(regions.bounds(faces)) if regions.work.edges[k].wide is not None]
    return float(1.0 / (1.0 + np.exp(-min(gaps, default=np.inf))))


def _is_free(regions: Regions, faces: frozenset[int]) -> bool:
    """Return whether the outline of a set of faces is one closed line that meets no other."""
    loops = regions.loops(faces)
    outer = max(loops, key=lambda loop: loop.signed_area_px, default=None)
    return outer is not None and len(outer.edges) == 1 and not outer.edges[0].is_bridge
