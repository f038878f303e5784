"""Bent wire, such as an undercarriage: straight lengths between bends, bend angles and the length to cut.

A wire is given by the corners of its middle line, as if it were bent without a radius. Round a corner of bend angle
theta the middle line runs on an arc of radius R + d/2, R being the inside radius and d the diameter: it leaves the
corner's legs (R + d/2) tan(theta / 2) before the corner and is (R + d/2) theta long (plane geometry). A real wire
springs back and stretches a little; bend a trial piece first.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import Any

import numpy as np

from vectorize.basics.errors import JobError
from vectorize.basics.units import measure

STEEL_G_MM3 = 7.85e-3
"""Density of spring steel, 7.85 g/cm3 (from memory; handbooks give 7.8 to 7.9)."""
SHARPEST_DEG = 170.0
"""A bend by more than this folds the wire back onto itself."""
_LEAST_STRAIGHT_MM = 1e-6

Corner = tuple[float, float, float]
"""A corner of the middle line: aft, right, up of anywhere, in mm."""


@dataclass(frozen=True, slots=True)
class Bend:
    """One bend: its angle, the arc of the middle line in it, and how far its plane is turned against the one before."""

    angle_deg: float
    arc_mm: float
    turned_deg: float


@dataclass(frozen=True, slots=True)
class BentWire:
    """A wire by its corners, with what is to be measured off and bent.

    Args:
        name: What it is.
        diameter_mm: Of the wire.
        radius_mm: Inside radius of every bend.
        corners: From one end to the other.

    Raises:
        JobError: Fewer than three corners, a bend that folds back, or legs that are too short for their bends.
    """

    name: str
    diameter_mm: float
    radius_mm: float
    corners: tuple[Corner, ...]

    def __post_init__(self) -> None:
        if not (self.diameter_mm > 0 and self.radius_mm >= 0):
            raise JobError(
                f"wire {self.name!r}: its diameter is {self.diameter_mm:g} mm and its bends' radius "
                f"{self.radius_mm:g} mm; the first must be above zero, the second zero or more."
            )
        if len(self.corners) < 3:
            raise JobError(
                f"wire {self.name!r} has {len(self.corners)} points; a bent one needs its ends and a corner."
            )
        if any(math.dist(one, other) < _LEAST_STRAIGHT_MM for one, other in pairwise(self.corners)):
            raise JobError(f"wire {self.name!r}: two points that follow each other are one; take one of them out.")
        for number, angle in enumerate(self._angles_deg(), start=2):
            if angle > SHARPEST_DEG:
                raise JobError(
                    f"wire {self.name!r}: at its point {number} it is bent by {angle:.0f}° and would lie on itself; "
                    f"give it at most {SHARPEST_DEG:.0f}°."
                )
        for number, length in enumerate(self.straights_mm, start=1):
            if length < 0:
                raise JobError(
                    f"wire {self.name!r}: the leg from its point {number} to {number + 1} is {-length:.1f} mm too "
                    f"short for its bends of {self.radius_mm:g} mm inside; lengthen it or bend it tighter."
                )

    def _legs(self) -> np.ndarray:
        return np.diff(np.array(self.corners), axis=0)

    def _angles_deg(self) -> list[float]:
        units = [leg / np.linalg.norm(leg) for leg in self._legs()]
        # By sine and cosine together: the cosine alone loses small angles.
        return [
            math.degrees(math.atan2(float(np.linalg.norm(np.cross(one, other))), float(one @ other)))
            for one, other in pairwise(units)
        ]

    @property
    def bends(self) -> tuple[Bend, ...]:
        """Return the bends from one end to the other."""
        middle = self.radius_mm + self.diameter_mm / 2
        return tuple(
            Bend(angle, math.radians(angle) * middle, turned)
            for angle, turned in zip(self._angles_deg(), self._turns_deg(), strict=True)
        )

    def _turns_deg(self) -> list[float]:
        """Return how far the plane of each bend is turned about the leg before it, against that of the bend before."""
        legs = self._legs()
        normals = [np.cross(one, other) for one, other in pairwise(legs)]
        turns = [0.0]
        for leg, one, other in zip(legs[1:], normals, normals[1:], strict=False):
            axis = leg / np.linalg.norm(leg)
            if min(np.linalg.norm(one), np.linalg.norm(other)) < _LEAST_STRAIGHT_MM:
                turns.append(0.0)
                continue
            turns.append(math.degrees(math.atan2(float(np.cross(one, other) @ axis), float(one @ other))))
        return turns

    def _taken_mm(self) -> list[float]:
        """Return what each bend takes of the legs beside it, one after another; the free ends take nothing."""
        middle = self.radius_mm + self.diameter_mm / 2
        return [0.0, *(middle * math.tan(math.radians(angle) / 2) for angle in self._angles_deg()), 0.0]

    @property
    def straights_mm(self) -> tuple[float, ...]:
        """Return the straight lengths between bends, and before the first and behind the last."""
        taken = self._taken_mm()
        return tuple(
            float(np.linalg.norm(leg)) - before - behind
            for leg, (before, behind) in zip(self._legs(), pairwise(taken), strict=True)
        )

    @property
    def marks_mm(self) -> tuple[float, ...]:
        """Return how far from the first end each bend begins and ends, along the middle line, two for each bend."""
        arcs = [bend.arc_mm for bend in self.bends]
        steps = [step for pair in zip(self.straights_mm, arcs, strict=False) for step in pair]
        return tuple(accumulate(steps))

    @property
    def length_mm(self) -> float:
        """Return the developed length: what is to be cut."""
        return sum(self.straights_mm) + sum(bend.arc_mm for bend in self.bends)

    @property
    def centroid_mm(self) -> Corner:
        """Return where its mass acts, from where its corners count: straight lengths by their middles, arcs by theirs.

        The centroid of an arc of radius r and angle theta lies r sin(theta / 2) / (theta / 2) from its centre
        (plane geometry).
        """
        corners, legs = np.array(self.corners), self._legs()
        units = legs / np.linalg.norm(legs, axis=1, keepdims=True)
        moment = np.zeros(3)
        for start, unit, straight, before in zip(corners, units, self.straights_mm, self._taken_mm(), strict=False):
            moment += straight * (start + (before + straight / 2) * unit)
        middle = self.radius_mm + self.diameter_mm / 2
        for corner, one, other, bend in zip(corners[1:], units, units[1:], self.bends, strict=False):
            half = math.radians(bend.angle_deg) / 2
            if half > 0:
                inwards = (other - one) / np.linalg.norm(other - one)
                moment += bend.arc_mm * (corner + inwards * middle * (1 / math.cos(half) - math.sin(half) / half))
        aft, right, up = (float(value) for value in moment / self.length_mm)
        return aft, right, up

    @property
    def mass_g(self) -> float:
        """Return what it weighs, of steel."""
        return math.pi / 4 * self.diameter_mm**2 * self.length_mm * STEEL_G_MM3

    def as_json(self) -> dict[str, Any]:
        """Return the wire as documented in the `balance` output."""
        return {
            "name": self.name,
            "diameter_mm": self.diameter_mm,
            "length_mm": self.length_mm,
            "mass_g": self.mass_g,
            "straights_mm": list(self.straights_mm),
            "bends": [{"angle_deg": b.angle_deg, "arc_mm": b.arc_mm, "turned_deg": b.turned_deg} for b in self.bends],
        }


def wire_words(wire: BentWire, *, units: str = "mm") -> str:
    """Return in words what to cut, and along it each straight length and each bend in order."""

    def length(mm: float) -> str:
        return measure(mm, "length", units=units)

    steps = [f"straight {length(wire.straights_mm[0])}"]
    for bend, straight in zip(wire.bends, wire.straights_mm[1:], strict=True):
        turned = "" if abs(bend.turned_deg) < 0.5 else f", turned {bend.turned_deg:.0f}°"
        steps.append(f"bend {bend.angle_deg:.1f}° over {length(bend.arc_mm)}{turned}")
        steps.append(f"straight {length(straight)}")
    mass = measure(wire.mass_g, "mass", units=units)
    return f"{wire.name}: cut {length(wire.length_mm)} of {length(wire.diameter_mm)} wire ({mass}): {', '.join(steps)}."
