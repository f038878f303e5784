"""The tape plan: in which order the zones are worked, and what is masked meanwhile."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nesting.carve.lines import Side, share_line, stations_along
from nesting.carve.panel import CarvedPanel
from vectorize.curve import Point
from vectorize.outline import Outline

EDGE_TAPE_MM = 6.0
"""Width of the tape that guards the trailing edge (common practice, no source)."""
WIRES_MM = (0.5, 0.6, 0.8, 1.0, 1.2, 1.5, 2.0, 2.5, 3.0)
"""Wire and tube that shops sell (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Wire:
    """A wire or tube laid along the trailing edge, against which it is planed down."""

    diameter_mm: float
    wanted_mm: float


@dataclass(frozen=True, slots=True)
class TapeStep:
    """One step: what to do, where (areas on the plan), and what is masked meanwhile."""

    side: Side
    text: str
    worked: Outline
    masked: tuple[Outline, ...]


def trailing_wire(panel: CarvedPanel, station_mm: float) -> Wire:
    """Return the thinnest common wire that leaves the trailing edge at a station no thinner than wanted."""
    upper, lower = panel.heights(panel.planform.checked_station(station_mm), np.array([1.0]))
    wanted = float(upper[0] - lower[0])
    return Wire(next((d for d in WIRES_MM if d >= wanted - 0.05), round(wanted, 1)), wanted)


def tape_plan(panel: CarvedPanel) -> tuple[TapeStep, ...]:
    """Return the steps for the upper side and, unless the section is flat there, the lower side.

    Aft first: from the high point to the trailing edge, with the edge itself guarded; then the
    nose, with everything behind the high point masked; then both blended.
    """
    root = panel.section_at(panel.planform.root_station)
    sides: list[Side] = ["upper"]
    if np.abs(root.heights(np.linspace(0.25, 1.0, 31))[1]).max() > 1e-6:
        sides.append("lower")
    return tuple(step for side in sides for step in _side_steps(panel, side, root.high_point))


def _side_steps(panel: CarvedPanel, side: Side, high: float) -> list[TapeStep]:
    chord = float(panel.planform.chord(stations_along(panel, 9)).max())
    edge = 1 - EDGE_TAPE_MM / chord
    nose, tail, guard = zone(panel, 0.0, high), zone(panel, high, edge), zone(panel, edge, 1.0)
    wire = trailing_wire(panel, panel.planform.root_station)
    return [
        TapeStep(
            side,
            f"Mask the nose to the high-point line and {EDGE_TAPE_MM:g} mm at the trailing edge. Plane the aft flats, "
            f"then sand down to a {wire.diameter_mm:g} mm wire laid along the edge.",
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


def zone(panel: CarvedPanel, begin: float, end: float) -> Outline:
    """Return the area between two shares of the chord, on the plan."""
    fore: tuple[Point, ...] = share_line(panel, begin)
    aft: tuple[Point, ...] = share_line(panel, end)
    return Outline.from_points([*fore, *reversed(aft)])
