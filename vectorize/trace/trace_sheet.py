"""From a page that was read, and picks or candidates, to outlines in millimetres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

from vectorize.basics.errors import PickError, SheetwoodError
from vectorize.basics.notes import Note
from vectorize.basics.watch import Watcher, unwatched
from vectorize.faces.candidates import find_regions
from vectorize.faces.consider import Considered, PickedPart, consider
from vectorize.faces.growth import Growth
from vectorize.faces.part_pick import PartPick, TraceSettings
from vectorize.faces.picking import BROKEN_DOWN, guarded, picked_regions
from vectorize.faces.regions import Loop
from vectorize.faces.sure_holes import LikelyHole
from vectorize.shapes.alternative import Alternative
from vectorize.shapes.outline import Outline
from vectorize.shapes.primitives import Round
from vectorize.shapes.segment import Point
from vectorize.trace.edge_notes import edge_notes
from vectorize.trace.holes import holes_of, is_lettered, not_cut, outer_and_inner, region_within, without_letters
from vectorize.trace.likely_holes import likely_holes, unsure_holes
from vectorize.trace.measured_ring import Fitted
from vectorize.trace.rings import Rings
from vectorize.trace.traced import Trace, TracedPart, open_part

if TYPE_CHECKING:
    from vectorize.scale.plan_scale import PlanScale

READING_SHARE = 0.5
"""What reading the page takes of the time for a sheet of ordinary size; the parts take the rest."""


def trace_sheet(
    rings: Rings, scale: PlanScale, picks: Sequence[PartPick], settings: TraceSettings, *, watch: Watcher = unwatched
) -> Trace:
    """Return the outline of every pick on a page that was read; one that fails becomes an open note."""
    parts: list[TracedPart] = []
    notes: list[Note] = list(rings.sheet.notes)
    picked: list[PickedPart] = []
    for pick in picks:
        try:
            picked.append(picked_part(rings, scale, pick))
        except SheetwoodError as error:
            notes.append(open_part(pick, error))
    watch("weighing up the whole sheet", READING_SHARE)
    found = consider(rings.sheet, scale.px_per_mm, picked)
    notes += _picked_again(picked, [considered.regions for considered in found])
    for number, (one, considered) in enumerate(zip(picked, found, strict=True)):
        watch(one.pick.name, READING_SHARE + (1 - READING_SHARE) * number / len(picked))
        try:
            part, remarks = trace_one(rings, scale, one, considered, settings)
        except SheetwoodError as error:
            notes.append(open_part(one.pick, error))
        else:
            parts.append(part)
            notes.extend(remarks)
    return Trace(tuple(parts), tuple(notes))


def _picked_again(picked: Sequence[PickedPart], taken: Sequence[frozenset[int]]) -> list[Note]:
    """Return an open note for each pick that leads to the very part of an earlier one."""
    notes = []
    first: dict[tuple[frozenset[int], object], str] = {}
    for one, regions in zip(picked, taken, strict=True):
        name = first.setdefault((regions, one.pick.mirror), one.pick.name)
        if name != one.pick.name:
            text = f"{one.pick.name} is the same part as {name}: both are picked in one outline; move one of the picks."
            notes.append(Note("picked-again", text, "open", one.pick.name, one.pick.inside[0]))
    return notes


def picked_part(rings: Rings, scale: PlanScale, pick: PartPick) -> PickedPart:
    """Return a pick with the regions that it names and what grows from them.

    Raises:
        PickError: A point lies on no region that can be in a part.
    """
    if not pick.inside:
        raise PickError("no point inside was picked; give at least one.")
    named = frozenset[int]().union(*(picked_regions(rings.sheet, scale, pick, point) for point in pick.inside))
    growth = rings.sheet.grower(scale.px_per_mm, pick.mirror).grown(named, pick.inside[0], line=pick.line)
    grown, filled = without_letters(rings, scale, pick, growth.regions)

    @cache
    def whole(regions: frozenset[int]) -> frozenset[int]:
        whole, doubtful = without_letters(rings, scale, pick, regions)
        # What has the size of a cut-out, although it stands in a word, stays a doubt unless it is in line with others.
        kept = {region_within(rings, loop) for loop in doubtful if is_lettered(rings, scale, loop)} - letters(regions)
        return whole.difference(*(hole for hole in rings.sheet.regions.holes(regions) if hole & kept))

    @cache
    def letters(regions: frozenset[int]) -> frozenset[int]:
        words = rings.sheet.words(scale.px_per_mm)
        _, inner = outer_and_inner(rings, regions)
        spelled = (loop for loop in inner if is_lettered(rings, scale, loop) and words.spell(loop.points))
        return frozenset(region_within(rings, loop) for loop in spelled)

    @cache
    def worded(regions: frozenset[int]) -> frozenset[int]:
        _, inner = outer_and_inner(rings, regions)
        return frozenset(region_within(rings, loop) for loop in inner if is_lettered(rings, scale, loop))

    forms = likely_holes(rings, scale)
    return PickedPart(pick, named, replace(growth, regions=grown), filled, whole, letters, worded, forms)


def sheet_candidates(rings: Rings, scale: PlanScale, settings: TraceSettings, *, watch: Watcher = unwatched) -> Trace:
    """Return every region of a page that was read that could be a part, most likely first."""
    parts: list[TracedPart] = []
    found = [candidate for candidate in find_regions(rings.sheet, scale) if candidate.kind != "title block"]
    for number, candidate in enumerate(found):
        pick = PartPick(f"region {len(parts) + 1}", (candidate.point,))
        watch(pick.name, READING_SHARE + (1 - READING_SHARE) * number / len(found))
        try:
            picked = PickedPart(pick, candidate.regions, Growth(candidate.regions, ()))
            part, _ = _traced(rings, scale, picked, candidate.regions, settings, {}, ())
        except SheetwoodError:
            continue
        parts.append(part)
    return Trace(tuple(parts), rings.sheet.notes)


_Fits = dict[tuple[tuple[int, ...], bool], Fitted]
"""What was fitted to the loops of a part, by their edges and the way round; its readings share most of them."""


def trace_one(
    rings: Rings, scale: PlanScale, picked: PickedPart, considered: Considered, settings: TraceSettings
) -> tuple[TracedPart, list[Note]]:
    """Return one part with what else it may be, and the notes on it.

    Raises:
        PickError: The pick leads to no closed outline.
    """
    fits: _Fits = {}
    made: list[tuple[frozenset[int], float, TracedPart, list[Note]]] = []
    refused: list[SheetwoodError] = []
    for regions, sure in zip(considered.readings, considered.sures, strict=True):
        try:
            made.append((regions, sure, *_traced(rings, scale, picked, regions, settings, fits, considered.holes)))
        except SheetwoodError as error:
            refused.append(error)  # what gives no outline is no reading
    if not made:
        raise refused[0]
    (taken, sure, part, notes), *others = made
    alternatives = [_alternative(rings, scale, taken, r, other.outline, share) for r, share, other, _ in others]
    if sure < settings.sure or taken != considered.regions:
        notes.append(_doubt(part, sure, alternatives, scale))
    return replace(part, sure=sure, alternatives=tuple(alternatives)), notes


def _alternative(
    rings: Rings, scale: PlanScale, taken: frozenset[int], regions: frozenset[int], outline: Outline, sure: float
) -> Alternative:
    """Return another reading, told by the largest region in which it differs."""
    area = rings.sheet.regions.area_px
    more = sorted(regions - taken, key=lambda region: -area[region])
    less = sorted(taken - regions, key=lambda region: -area[region])
    largest = max((more[:1] + less[:1]), key=lambda region: float(area[region]))
    at = rings.sheet.regions.deepest(largest)
    x0, y0, x1, y1 = (rings.sheet.regions.boxes[largest] / scale.px_per_mm).tolist()
    word = "with" if largest in regions else "without"
    why = f"{word} the region of {x1 - x0:.1f} x {y1 - y0:.1f} mm at {scale.told(at)}"
    inside, cutouts = (tuple(rings.sheet.regions.deepest(region) for region in some) for some in (more, less))
    return Alternative(outline, sure, why, at, inside, cutouts)


def _doubt(part: TracedPart, sure: float, alternatives: Sequence[Alternative], scale: PlanScale) -> Note:
    """Return the open note of a part whose shape is doubtful."""
    text = f"the shape of {part.name} is doubtful ({100 * sure:.0f} % sure)"
    if not alternatives:
        return Note("doubtful", f"{text}; compare it with the plan.", "open", part.name, part.inside_px)
    first = alternatives[0]
    points = [f"a pick at {scale.told(at)}" for at in first.inside]
    points += [f"a cutout at {scale.told(at)}" for at in first.cutouts]
    more = " and so on, as --json lists them" if len(points) > 2 else ""
    text = f"{text}: it may also be {first.why}; if so, add to its table {' and '.join(points[:2])}{more}."
    return Note("doubtful", text, "open", part.name, first.at)


@guarded
def _traced(
    rings: Rings,
    scale: PlanScale,
    picked: PickedPart,
    chosen: frozenset[int],
    settings: TraceSettings,
    fits: _Fits,
    sure_holes: Sequence[LikelyHole],
) -> tuple[TracedPart, list[Note]]:
    """Return the part that a set of regions makes, with the notes on it; `fits` keeps what is fitted.

    Raises:
        PickError: It makes no closed outline.
    """
    pick = picked.pick

    def fit(loop: Loop, *, mirror: tuple[Point, Point] | None = None, circle: Round | None = None) -> Fitted:
        key = (tuple(sorted(loop.ids)), loop.signed_area_px > 0)
        if key not in fits:
            fits[key] = rings.fitted(loop, scale, settings, mirror=mirror, circle=circle)
        return fits[key]

    outer, others = outer_and_inner(rings, chosen)
    if not outer:
        raise PickError("no closed line was found around the pick.")
    exterior, *apart = outer
    if apart:
        raise PickError("the picked regions do not touch each other; pick what lies between them too.")
    notes = _crossing_notes(rings, scale, picked, chosen)
    body = fit(exterior, mirror=pick.mirror)
    cutouts = holes_of(rings, scale, pick, others, notes, sure_holes)
    taken = [hole.regions for hole in sure_holes]
    taken += [frozenset({region_within(rings, loop)}) for loop, _ in cutouts]
    notes += unsure_holes(rings, scale, pick, chosen, taken)
    notes += [not_cut(rings, scale, pick, loop) for loop in picked.filled if region_within(rings, loop) in chosen]
    notes += _bridge_notes(rings, pick, [exterior, *(loop for loop, _ in cutouts)], scale)
    holes = []
    for loop, circle in cutouts:
        try:
            holes.append(fit(loop, circle=circle))
        except BROKEN_DOWN:  # a speck that lines leave between them: the part itself is not lost for it
            notes.append(_unmeasured(pick, loop, scale))
    cut = [hole.ring for hole in holes]
    if pick.mirror is not None:
        cut += [rings.image(ring, pick.mirror, scale) for ring in cut]
    outline = Outline(body.ring, tuple(cut))
    doubts = tuple(doubt for ring in (body, *holes) for doubt in ring.doubts)
    sigma_edge, sigma_area = rings.uncertainty(outline, scale, body, is_half=pick.mirror is not None, doubts=doubts)
    notes += edge_notes(pick.name, doubts, scale, pick.inside[0])
    return TracedPart(pick.name, outline, sigma_edge, sigma_area, body.pen_mm, pick.inside[0]), notes


def _unmeasured(pick: PartPick, loop: Loop, scale: PlanScale) -> Note:
    x, y = loop.points.mean(axis=0)
    text = (
        f"what may be a hole at {scale.told((x, y))} has no edge that can be measured and was not cut out; "
        "if it is one, drill it with a step, or draw its edge."
    )
    return Note("no-cutout", text, "open", pick.name, (float(x), float(y)))


def _crossing_notes(rings: Rings, scale: PlanScale, picked: PickedPart, chosen: frozenset[int]) -> list[Note]:
    """List every line that was crossed as the part grew and lies in what was chosen, where it is and why."""
    notes = []
    regions = rings.sheet.regions
    for index, reason in picked.growth.crossed:
        if not {int(regions.left[index]), int(regions.right[index])} <= chosen:
            continue
        edge = rings.sheet.regions.work.edges[index]
        if edge.wide is not None:
            continue  # no line is there
        x, y = edge.points[len(edge.points) // 2]
        words = {
            "dashed": "a dashed line",
            "thinner": "a line thinner than the outline",
            "runs through": "a line that runs on past the outline",
            "bridged": "a line that stops short of the outline",
        }[reason]
        where = scale.told((x, y))
        text = f"{words} crosses the part at {where}; it was taken as part of the drawing, not of the outline."
        notes.append(Note("crossed", text, part=picked.pick.name, at=(float(x), float(y))))
    return notes


def _bridge_notes(rings: Rings, pick: PartPick, loops: Sequence[Loop], scale: PlanScale) -> list[Note]:
    """List every gap in the part's outline that was bridged, with its length; a half-plan's centre line is none."""
    notes = []
    sheet = rings.sheet
    axis = frozenset() if pick.mirror is None else sheet.runs_along(pick.mirror, scale.px_per_mm)
    sides = dict(pair for loop in loops for pair in zip(loop.ids, loop.edges, strict=True))
    spans = [e for k, e in sides.items() if e.is_bridge and int(sheet.runs.of_edge[k]) not in axis]
    # Where a line crosses a wide gap, several edges span it.
    for edge in {edge.wide or id(edge): edge for edge in spans if edge.wide or not edge.is_dashed}.values():
        x, y = edge.points.mean(axis=0)
        width = edge.wide.length_mm if edge.wide else edge.length / scale.px_per_mm
        text = f"a gap of {width:.{1 if width >= 1 else 2}f} mm in the outline at {scale.told((x, y))} was bridged."
        notes.append(Note("bridged", text, part=pick.name, at=(float(x), float(y))))
    return notes
