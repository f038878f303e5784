"""How closely a boundary is followed."""

from __future__ import annotations

from dataclasses import dataclass

KNOWN_MM = 1.2
"""A corner or the foot of a curve this close to a known corner is that corner."""


@dataclass(frozen=True, slots=True)
class FitSettings:
    """`tolerance_mm` bounds the mean of neighbouring points, not each single one.

    `pen_mm` is the width of the drawn line, `step_mm` the distance between measured points, and `noise_mm` the standard
    deviation by which they stray about the line; what is no larger is no shape.
    """

    tolerance_mm: float = 0.04
    pen_mm: float = 0.4
    step_mm: float = 0.1
    noise_mm: float = 0.0
