"""The builder's lines on each part: what the job draws, and what follows from its balance and its doublers."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from nesting.alter.axis import Axis
from nesting.balance.station import Datum
from nesting.job.deriving import owner_of, root_of
from nesting.job.folder import Job
from nesting.job.places import Places, balance_limits
from nesting.job.plans import OpenPlan, plan_of
from nesting.patterns.part_marks import PartMark
from nesting.wood.part import Part
from vectorize.shapes.segment import Point

MARK_CHORD_MM = 0.1
"""Chord tolerance of a line that is only a guide for gluing."""


def part_marks(job: Job, parts: Sequence[Part], plans: dict[str, OpenPlan]) -> dict[str, tuple[PartMark, ...]]:
    """Return the builder's lines of each part, in millimetres on its plan.

    They are its own `[[part.mark]]`, the line it is mirrored in, the edges of doublers made from it, and,
    on parts that are drawn in place, the two ends of the range that the model is to balance in.

    Raises:
        JobError: A point that is not on the plan, or a balance range that cannot be.
    """
    marks: dict[str, list[PartMark]] = defaultdict(list)
    by_name = {table.name: table for table in job.spec.part}
    for table in job.spec.part:
        if table.mark or table.mirror is not None:
            plan = plan_of(root_of(table, by_name), plans)
            marks[table.name] += [PartMark(m.kind, tuple(map(plan.to_mm, m.at)), m.text) for m in table.mark]
            if table.mirror is not None:
                marks[table.name].append(PartMark("centre line", tuple(map(plan.to_mm, table.mirror))))
        if table.source is not None and any(step.make == "doubler" for step in table.step):
            made = [part for part in parts if owner_of(part.name, by_name) == table.name]
            marks[table.source] += map(_doubler_mark, made)
    pieces = {part.name: owner for part in parts if (owner := owner_of(part.name, by_name)) not in (None, part.name)}
    for part in parts:
        if part.name in pieces:
            marks[part.name] += [cut for mark in marks[str(pieces[part.name])] for cut in _clipped(mark, part)]
    for name, lines in _range_marks(job, parts, plans).items():
        if all(mark.kind != "balance" for mark in marks[name]):
            marks[name] += lines
    for name, lines in _named_marks(job, parts, plans).items():
        marks[name] += lines
    return {name: tuple(given) for name, given in marks.items() if given}


def _clipped(mark: PartMark, piece: Part) -> list[PartMark]:
    """Return what of a mark lies on a piece of the part that it was put on."""
    from shapely.geometry import LineString, Polygon
    from shapely.geometry import Point as Spot

    wood = piece.outline.to_polygon(MARK_CHORD_MM)
    if len(mark.points) == 1:
        return [mark] if wood.intersects(Spot(mark.points[0])) else []
    if mark.kind == "doubler" and len(mark.points) > 2:
        met = Polygon(mark.points).intersection(wood)
        sides = [list(p.exterior.coords)[:-1] for p in getattr(met, "geoms", [met]) if isinstance(p, Polygon)]
    else:
        met = LineString(mark.points).intersection(wood)
        sides = [list(p.coords) for p in getattr(met, "geoms", [met]) if isinstance(p, LineString)]
    return [replace(mark, points=tuple((x, y) for x, y in side)) for side in sides if len(side) > 1]


def _doubler_mark(doubler: Part) -> PartMark:
    """The edge of a doubler, which lies over its parent on the plan."""
    points = doubler.outline.exterior.flattened(MARK_CHORD_MM).tolist()
    return PartMark("doubler", tuple((float(x), float(y)) for x, y in points), doubler.name)


def _range_marks(job: Job, parts: Sequence[Part], plans: dict[str, OpenPlan]) -> dict[str, list[PartMark]]:
    """Where the range of the balance begins and ends, across every part that is drawn in place on the side view."""
    found = balance_limits(job, plans)
    if found is None:
        return {}
    side_view, datum, limits = found
    names = [table.name for table in job.spec.part]
    ends = (("balance, foremost", limits.low_mm), ("balance, rearmost", limits.high_mm))
    marks: dict[str, list[PartMark]] = {}
    for part in parts:
        if part.plan != side_view or owner_of(part.name, names) not in job.spec.balance.in_place:
            continue
        across = [(text, _across(part, datum, station_mm)) for text, station_mm in ends]
        marks[part.name] = [PartMark("balance", line, text) for text, line in across if line is not None]
    return marks


def _named_marks(job: Job, parts: Sequence[Part], plans: dict[str, OpenPlan]) -> dict[str, list[PartMark]]:
    """The named stations of the job on every part that is drawn in place: a line across, or the line itself."""
    if not job.spec.station or job.spec.balance.datum is None:
        return {}
    places = Places(job, plans, ())
    datum, view = places.datum, next(name for name, plan in plans.items() if plan is places.side_view)
    if datum is None:
        return {}
    axis = Axis(datum.point, datum.aft_deg)
    names = [table.name for table in job.spec.part]
    marks: dict[str, list[PartMark]] = {}
    for part in parts:
        if part.plan != view or owner_of(part.name, names) not in job.spec.balance.in_place:
            continue
        marks[part.name] = []
        for one in places.named():
            if one.to is not None:
                ends = (axis.point(one.station_mm, one.height_mm), axis.point(*one.to))
                marks[part.name] += _clipped(PartMark("datum", ends, one.name), part)
            elif (line := _across(part, datum, one.station_mm)) is not None:
                marks[part.name].append(PartMark("datum", line, one.name))
    return marks


def _across(part: Part, datum: Datum, station_mm: float) -> tuple[Point, Point] | None:
    """Return the longest stretch of wood at a station, or None where the part does not reach it."""
    from shapely.geometry import LineString

    wood = part.outline.to_polygon(MARK_CHORD_MM)
    angle = math.radians(datum.aft_deg)
    x, y = datum.point[0] + station_mm * math.cos(angle), datum.point[1] + station_mm * math.sin(angle)
    x0, y0, x1, y1 = wood.bounds
    reach = math.hypot(x1 - x0, y1 - y0) + math.hypot(x - (x0 + x1) / 2, y - (y0 + y1) / 2)
    dx, dy = -reach * math.sin(angle), reach * math.cos(angle)
    met = LineString([(x - dx, y - dy), (x + dx, y + dy)]).intersection(wood)
    pieces = [piece for piece in getattr(met, "geoms", [met]) if isinstance(piece, LineString) and piece.length > 0]
    if not pieces:
        return None
    (ax, ay), *_, (bx, by) = max(pieces, key=lambda piece: piece.length).coords
    return (ax, ay), (bx, by)
