"""Which loops inside a part are its holes: what is lettering, what is too small, and what a note says of each."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import cv2
import numpy as np

from vectorize.basics.notes import Note
from vectorize.faces.cutouts import LETTER_MM, Guess, guess_cutout
from vectorize.faces.part_pick import PartPick
from vectorize.faces.regions import Loop
from vectorize.faces.sure_holes import LikelyHole
from vectorize.shapes.primitives import Round
from vectorize.shapes.segment import Point
from vectorize.trace.rings import Rings

if TYPE_CHECKING:
    from vectorize.scale.plan_scale import PlanScale


SLIVER_PENS = 0.4
"""Nothing smaller is drawn on purpose; the sectors of a crossed hole of 2 mm are as large as a whole pen's square."""


MOST_BRIDGED = 1 / 6
"""A cut-out of whose edge more was bridged may be two letters: of five bridged ones on 24 sheets the four that were
cut-outs had gaps of 4 to 13 %, the F and 1 that were none of 21."""


def without_letters(
    rings: Rings, scale: PlanScale, pick: PartPick, chosen: frozenset[int]
) -> tuple[frozenset[int], tuple[Loop, ...]]:
    """Return regions with those that they enclose and that are no cut-outs, and of these loops the doubtful ones."""
    regions = rings.sheet.regions
    holes = regions.holes(chosen)
    if not holes:
        return chosen, ()
    _, loops = outer_and_inner(rings, chosen)
    kept = {id(loop) for loop, _ in holes_of(rings, scale, pick, loops, [])}
    filled = set(chosen)
    left = [loop for loop in loops if id(loop) not in kept]
    for loop in left:
        filled |= next((hole for hole in holes if region_within(rings, loop) in hole), frozenset())
    doubtful = tuple(loop for loop in left if guess_of(rings, scale, loop).is_doubtful)
    if len(filled) == len(chosen):
        return chosen, doubtful
    # Letters that run into each other have eyes within eyes.
    whole, inner = without_letters(rings, scale, pick, frozenset(filled))
    return whole, tuple({loop.ids: loop for loop in (*doubtful, *inner)}.values())


def outer_and_inner(rings: Rings, chosen: frozenset[int]) -> tuple[list[Loop], list[Loop]]:
    """Return the loops round the pieces of a set of regions, the largest first, and those round what they enclose.

    What is smaller than a square of `SLIVER_PENS` is a sliver between lines that touch, and may cross itself: which way
    round it runs tells nothing.
    """
    least = (SLIVER_PENS * rings.sheet.pen_px) ** 2
    loops = sorted(rings.sheet.regions.loops(chosen), key=lambda loop: -loop.signed_area_px)
    outer = [loop for loop in loops if loop.signed_area_px >= least]
    return outer, loops[len(outer) :]


def region_within(rings: Rings, hole: Loop) -> int:
    """Return a region beside the edge of a hole, in it."""
    regions = rings.sheet.regions
    return int((regions.right if hole.forwards[0] else regions.left)[hole.ids[0]])


def holes_of(
    rings: Rings,
    scale: PlanScale,
    pick: PartPick,
    loops: Sequence[Loop],
    notes: list[Note],
    sure: Sequence[LikelyHole] = (),
) -> list[tuple[Loop, Round | None]]:
    """Return the loops that are cut-outs: those picked, and those that look like it; each guess is noted.

    With each comes the circle that it is, where another line has disturbed it. Holes that are `sure` come once, in
    however many loops.
    """
    taken: list[tuple[Loop, Round | None]] = []
    done: set[frozenset[int]] = set()
    for loop in loops:
        within = region_within(rings, loop)
        hole = next((hole for hole in sure if within in hole.regions), None)
        if hole is not None:
            if hole.regions not in done:
                done.add(hole.regions)
                taken.append((loop, hole.circle if hole.is_torn else guess_of(rings, scale, loop).circle))
                notes.append(_cut_for_sure(rings, scale, pick, hole, loop))
            continue
        guess = guess_of(rings, scale, loop)
        if any(_contains(loop, point) for point in pick.cutouts):
            taken.append((loop, guess.circle))
        elif guess.is_cutout:
            taken.append((loop, guess.circle))
            x, y = loop.points.mean(axis=0).tolist()
            worn = _bridged_share(loop)
            notes.append(
                _cut(pick, guess.reason, (x, y))
                if worn <= MOST_BRIDGED
                else _hardly_closed(pick, guess.reason, (x, y), worn, scale)
            )
        else:
            notes.append(not_cut(rings, scale, pick, loop))
    missed = [p for p in pick.cutouts if not any(_contains(loop, p) for loop in loops)]
    for point in missed:
        text = f"no closed line lies around the cut-out picked at {scale.told(point)}."
        notes.append(Note("open-cutout", text, state="open", part=pick.name, at=point))
    return taken


def _cut_for_sure(rings: Rings, scale: PlanScale, pick: PartPick, hole: LikelyHole, loop: Loop) -> Note:
    """Return the note on a hole that form and sheet agree on; a circle may be in more loops than this one."""
    if hole.circle is None:
        x, y = loop.points.mean(axis=0).tolist()
        return _cut(pick, guess_of(rings, scale, loop).what, (x, y))
    ((x, y),) = scale.to_px(np.array([hole.circle.centre])).tolist()
    return _cut(pick, f"circle of {2 * hole.circle.radius:.1f} mm", (x, y))


def _cut(pick: PartPick, what: str, at: Point) -> Note:
    return Note("cutout", f"{what} taken as a cut-out.", part=pick.name, at=at)


def _hardly_closed(pick: PartPick, what: str, at: Point, worn: float, scale: PlanScale) -> Note:
    """Return the open note on a cut-out that is closed by bridges for much of its edge."""
    text = (
        f"{what} taken as a cut-out at {scale.told(at)}, although {100 * worn:.0f} % of its edge are gaps that were "
        "bridged, as between two letters; if it is none, give a point in it as 'fill' of the part."
    )
    return Note("cutout", text, "open", pick.name, at)


def _bridged_share(loop: Loop) -> float:
    """Return which share of a loop was not drawn but bridged."""
    bridged = sum(edge.length for edge in loop.edges if edge.is_bridge and not edge.is_dashed)
    return bridged / max(sum(edge.length for edge in loop.edges), 1e-9)


def not_cut(rings: Rings, scale: PlanScale, pick: PartPick, loop: Loop) -> Note:
    """Return the note on a loop that was not cut out, with its place."""
    x, y = loop.points.mean(axis=0)
    text = f"{guess_of(rings, scale, loop).reason}; it was not cut out at {scale.told((x, y))}."
    return Note("no-cutout", text, part=pick.name, at=(float(x), float(y)))


def guess_of(rings: Rings, scale: PlanScale, loop: Loop) -> Guess:
    """Return whether a loop looks like a cut-out; it is asked once for each."""
    known = rings.guesses.get(loop.ids)
    if known is None:
        regions = rings.sheet.regions
        known = guess_cutout(
            scale.to_mm(rings.clean_points(loop)),
            is_lettered=is_lettered(rings, scale, loop),
            px_mm=1.0 / scale.px_per_mm,
            area_mm2=abs(loop.signed_area_px) / scale.px_per_mm**2,
            is_touched=any(len(regions.arms[node]) > 2 for edge in loop.edges for node in (edge.start, edge.end)),
        )
        rings.guesses[loop.ids] = known
    return known


def is_lettered(rings: Rings, scale: PlanScale, loop: Loop) -> bool:
    """Return whether a loop of a letter's size stands in a word."""
    size_mm = float(np.ptp(loop.points, axis=0).max()) / scale.px_per_mm
    return size_mm < LETTER_MM and rings.sheet.words(scale.px_per_mm).hold(loop.points)


def _contains(loop: Loop, point: Point) -> bool:
    return cv2.pointPolygonTest(loop.points.astype(np.float32), point, False) >= 0
