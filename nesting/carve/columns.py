"""A slice across a carved panel stood in columns, for whatever is integrated over chord and thickness."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nesting.carve.panel import CarvedPanel
from nesting.carve.planform import Floats

COLUMNS = 64
"""So many columns make a stretch of chord: with them a section's area and stiffness are exact to 0.1 %."""


@dataclass(frozen=True, slots=True)
class Columns:
    """Columns of wood from the leading towards the trailing edge, in mm.

    Attributes:
        u: Their middles, aft.
        width: How wide they are.
        low: Lower surface above the blank's lower face.
        high: Upper surface above it.
        below: Length of the lower surface under each, along its slope.
        above: Length of the upper one.
    """

    u: Floats
    width: Floats
    low: Floats
    high: Floats
    below: Floats
    above: Floats


def columns_at(panel: CarvedPanel, station_mm: float, begin_mm: float, end_mm: float) -> Columns:
    """Return the columns between two places aft (u) at a span station.

    They stand evenly in the angle b of x = (1 - cos b) / 2, in which the nose is smooth; heights are those of
    their middles (midpoint rule), surfaces the chords of their borders.
    """
    at = np.array([station_mm])
    lead, chord = float(panel.planform.leading_edge(at)[0]), float(panel.planform.chord(at)[0])
    b0, b1 = (float(np.arccos(1 - 2 * np.clip((u - lead) / chord, 0.0, 1.0))) for u in (begin_mm, end_mm))
    x = (1 - np.cos(np.linspace(b0, b1, 2 * COLUMNS + 1))) / 2
    upper, lower = panel.heights(station_mm, x)
    width = chord * np.diff(x[::2])
    return Columns(
        u=lead + chord * x[1::2],
        width=width,
        low=lower[1::2],
        high=upper[1::2],
        below=np.hypot(width, np.diff(lower[::2])),
        above=np.hypot(width, np.diff(upper[::2])),
    )
