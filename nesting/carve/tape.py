"""The tape plan: in which order the zones are worked, and what is masked meanwhile."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from nesting.carve.panel import CarvedPanel
from nesting.carve.panel_lines import Side, share_line, stations_along
from vectorize.basics.units import MM_PER_INCH, format_length
from vectorize.shapes.outline import Outline
from vectorize.shapes.segment import Point

EDGE_TAPE_MM = 6.0
"""Width of the tape that guards the trailing edge (common practice, no source)."""
WIRES_MM: Mapping[str, tuple[float, ...]] = MappingProxyType(
    {
        "mm": (0.5, 0.6, 0.8, 1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0),
        "in": tuple(n / 64 * MM_PER_INCH for n in (2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 24)),
    }
)
"""Wire, tube and strip that shops sell, by the job's units (common practice, no source)."""
WORN_MM = 0.05
"""A wire may be so much thinner than wanted: less than sanding holds (common practice, no source)."""
MOST_OVER_MM = 0.3
"""A wire that stops the block higher than this above the wanted place leaves too much to the eye (no source)."""


@dataclass(frozen=True, slots=True)
class EdgeStop:
    """Where a face ends at the trailing edge: its height above the table on which the blank lies with this side up.

    `wire_mm` is the thinnest common wire, tube or strip that, laid on the table along the edge, stops the
    sanding block no lower than that; None where none comes near.
    """

    side: Side
    station_mm: float
    height_mm: float
    wire_mm: float | None


@dataclass(frozen=True, slots=True)
class TapeStep:
    """One step: what to do, where (areas on the plan), and what is masked meanwhile."""

    side: Side
    text: str
    worked: Outline
    masked: tuple[Outline, ...]


def edge_stop(panel: CarvedPanel, station_mm: float, *, side: Side, units: str = "mm") -> EdgeStop:
    """Return the height above the table at which a face ends at the trailing edge; sizes of wire go by `units`.

    The table is the blank's other face. A section that lies in the middle of its blank ends well above it: the
    thickness of the trailing edge alone says nothing of the height.

    Raises:
        PartError: A station off the panel.
    """
    upper, lower = panel.heights(panel.planform.checked_station(station_mm), np.array([1.0]))
    height = float(upper[0]) if side == "upper" else panel.blank_thickness_mm - float(lower[0])
    wire = next((d for d in WIRES_MM[units] if d >= height - WORN_MM), math.inf)
    return EdgeStop(side, station_mm, height, wire if wire <= height + MOST_OVER_MM else None)


def worked_sides(panel: CarvedPanel) -> tuple[Side, ...]:
    """Return the sides that are carved: a flat bottom is left as it is."""
    lower = panel.section.heights(np.linspace(0.25, 1.0, 31))[1]
    return ("upper",) if np.abs(lower).max() < 1e-6 else ("upper", "lower")


def tape_plan(panel: CarvedPanel, *, units: str = "mm") -> tuple[TapeStep, ...]:
    """Return the steps for the upper side and, unless the section is flat there, the lower side.

    Aft first: from the high point to the trailing edge, with the edge itself guarded; then the
    nose, with everything behind the high point masked; then both blended.
    """
    high = panel.section_at(panel.planform.root_station).high_point
    return tuple(step for side in worked_sides(panel) for step in _side_steps(panel, side, high, units))


def _side_steps(panel: CarvedPanel, side: Side, high: float, units: str) -> list[TapeStep]:
    chord = float(panel.planform.chord(stations_along(panel, 9)).max())
    edge = 1 - EDGE_TAPE_MM / chord
    nose, tail, guard = zone(panel, 0.0, high), zone(panel, high, edge), zone(panel, edge, 1.0)
    return [
        TapeStep(
            side,
            f"Mask the nose to the high-point line and {EDGE_TAPE_MM:g} mm at the trailing edge. Plane the aft flats, "
            f"then sand until the surface meets the trailing edge {_heights(panel, side, units)}",
            tail,
            (nose, guard),
        ),
        TapeStep(
            side,
            "Mask everything behind the high-point line. Plane the fore flats, round the nose, try the templates.",
            nose,
            (zone(panel, high, 1.0),),
        ),
        TapeStep(
            side,
            "Take the tape off all but the trailing edge. "
            "Blend across the high-point line with a long block, along the span.",
            zone(panel, 0.0, edge),
            (guard,),
        ),
    ]


def _heights(panel: CarvedPanel, side: Side, units: str) -> str:
    """Return in words at what height above the table a face ends, at the root and, where it differs, at the tip."""
    ends = (panel.planform.root_station, stations_along(panel, 2)[-1])
    root, tip = (edge_stop(panel, float(station), side=side, units=units) for station in ends)
    if abs(root.height_mm - tip.height_mm) < 2 * WORN_MM:
        return f"{_words(root, units)}."
    return f"{_words(root, units)} at the root, {_words(tip, units)} at the tip."


def _words(stop: EdgeStop, units: str) -> str:
    """Return a height above the table in words, with the wire that stops the block there."""
    words = f"{format_length(stop.height_mm, units=units, decimals=2)} above the table"
    if stop.wire_mm is None:
        return f"{words} (pack a straight strip up to that)"
    over = stop.wire_mm - stop.height_mm
    short = f" stops the block {format_length(over, units=units, decimals=2)} higher" if over > WORN_MM else ""
    return f"{words} (a wire or strip of {format_length(stop.wire_mm, units=units)}{short})"


def zone(panel: CarvedPanel, begin: float, end: float) -> Outline:
    """Return the area between two shares of the chord, on the plan."""
    fore: tuple[Point, ...] = share_line(panel, begin)
    aft: tuple[Point, ...] = share_line(panel, end)
    return Outline.from_points([*fore, *reversed(aft)])
