"""Holes of a part as they are drilled: the nearest drill, and where too little wood is left beside one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from nesting.wood.part import Part
from vectorize.basics.notes import Note
from vectorize.basics.units import MM_PER_INCH, format_length, measure
from vectorize.shapes.outline import Outline, Ring
from vectorize.shapes.segment import Point

LEAST_WEB_MM = 1.5
"""Less wood than this beside a hole breaks out in the drilling or at the first knock (common practice, no source)."""
METRIC_STEP_MM = 0.1
"""Jobbers' twist drills come in steps of 0.1 mm to 14 mm (ISO 235, from memory)."""
INCH_STEP_MM = MM_PER_INCH / 64
"""Fractional drills come in 1/64 in (ASME B94.11M, from memory)."""
_NO_MATTER_MM = 0.02
DRILLED_MM = 14.0
"""What is larger is sawn or bored with another tool."""
_CHORD_MM = 0.005
_ROUND_MM, _ROUND_SHARE = 0.1, 0.03
"""How far a round hole's rim may be from its circle: traced holes are not exact ones."""


@dataclass(frozen=True, slots=True)
class Hole:
    """A round hole: its middle on the part and its diameter."""

    at: Point
    diameter_mm: float


@dataclass(frozen=True, slots=True)
class ThinPlace:
    """Wood between a hole and the part's edge, another hole or an opening, that is narrower than it should be."""

    width_mm: float
    diameter_mm: float
    beside: str
    at: Point


def round_holes(outline: Outline) -> tuple[Hole, ...]:
    """Return the round cut-outs of an outline, from left to right, then upwards."""
    found = [Hole(circle[0], 2 * circle[1]) for ring in outline.cutouts if (circle := _circle(ring)) is not None]
    return tuple(sorted(found, key=lambda hole: hole.at))


def _circle(ring: Ring) -> tuple[Point, float] | None:
    """Return centre and radius of a ring that is round but for what tracing leaves, else None."""
    points = ring.flattened(_CHORD_MM)
    (x, y), radius = Outline(ring).centroid, math.sqrt(abs(ring.signed_area_mm2) / math.pi)
    away = np.hypot(points[:, 0] - x, points[:, 1] - y) - radius
    return ((x, y), radius) if float(np.abs(away).max()) <= max(_ROUND_MM, _ROUND_SHARE * radius) else None


def nearest_drill_mm(diameter_mm: float, *, units: str, at_hand_mm: Sequence[float] = ()) -> float:
    """Return the drill nearest in size: of those at hand, else of the usual series in the job's units."""
    if at_hand_mm:
        return min(at_hand_mm, key=lambda size: (abs(size - diameter_mm), -size))
    step = INCH_STEP_MM if units == "in" else METRIC_STEP_MM
    return max(1, round(diameter_mm / step)) * step


def thin_places(outline: Outline, *, least_mm: float = LEAST_WEB_MM) -> tuple[ThinPlace, ...]:
    """Return where less wood than `least_mm` is left between a round hole and what is next to it, thinnest first.

    Distances are from rim to rim, exact to 0.01 mm.
    """
    import shapely

    rings: list[tuple[str, Ring]] = [("the edge", outline.exterior)]
    rings += [("another hole" if _circle(ring) else "an opening", ring) for ring in outline.cutouts]
    lines = [shapely.LinearRing(ring.flattened(_CHORD_MM)) for _, ring in rings]
    found = []
    for (n, (what, one)), (m, (_, other)) in combinations(enumerate(rings), 2):
        circle = _circle(other) or (_circle(one) if n else None)
        if circle is None:
            continue
        width = float(lines[n].distance(lines[m]))
        if width < least_mm:
            x, y = shapely.get_coordinates(shapely.shortest_line(lines[n], lines[m])).mean(axis=0)
            beside = what if _circle(other) else "an opening"
            found.append(ThinPlace(width, 2 * circle[1], beside, (float(x), float(y))))
    return tuple(sorted(found, key=lambda place: place.width_mm))


def thin_notes(parts: Sequence[Part], *, least_mm: float = LEAST_WEB_MM) -> tuple[Note, ...]:
    """Return a warning for each part with too little wood beside a hole: where it is thinnest, and how often."""
    notes = []
    for part in parts:
        places = thin_places(part.outline, least_mm=least_mm)
        if not places:
            continue
        thin = places[0]
        more = f", and at {len(places) - 1} more places too little" if len(places) > 1 else ""
        text = (
            f"part {part.name}: only {thin.width_mm:.2f} mm of wood is left between a hole of "
            f"{thin.diameter_mm:.1f} mm and {thin.beside}{more}; leave at least {least_mm:g} mm, or it breaks out."
        )
        notes.append(Note("thin-web", text, "fixed", part.name, at=thin.at))
    return tuple(notes)


def drill_words(hole: Hole, *, units: str, at_hand_mm: Sequence[float] = ()) -> str:
    """Return which drill a hole takes, and by how much that is off."""
    if hole.diameter_mm > DRILLED_MM and not at_hand_mm:
        return f"{format_length(hole.diameter_mm, units=units)}: saw or bore"
    drill = nearest_drill_mm(hole.diameter_mm, units=units, at_hand_mm=at_hand_mm)
    size = f"{drill:g} mm"
    if units == "in":
        steps = round(drill / INCH_STEP_MM)
        divisor = math.gcd(steps, 64)
        is_fraction = abs(steps * INCH_STEP_MM - drill) < 1e-6
        size = f"{steps // divisor}/{64 // divisor} in" if is_fraction else f"{drill / MM_PER_INCH:.4g} in"
    off = drill - hole.diameter_mm
    if abs(off) <= _NO_MATTER_MM:
        return f"drill {size}"
    return f"drill {size} ({measure(off, 'length', units=units, decimals=2, is_signed=True)})"
