"""The solid that is left when a blank is carved to a section: volume, centre, stiffness."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from nesting.carve.planform import Floats, Planform, stretches_at
from nesting.carve.section import Section
from vectorize.basics.errors import PartError
from vectorize.shapes.outline import Outline

MOST_RATIO = 0.18
"""Towards a rounded tip the section thins with the chord, never thicker than this share of it or than at the root."""

FIT_MM = 0.02
"""A section may stand this far out of its blank: a four-digit one is 0.03 % over its nominal thickness."""

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(48)


@dataclass(frozen=True, slots=True)
class Solid:
    """Volume and centre of mass of a carved panel, in its own directions.

    `centroid` is (u aft, v outward, z above the blank's lower face), `removed_share` what of the blank becomes dust.
    """

    volume_mm3: float
    centroid: tuple[float, float, float]
    removed_share: float


@dataclass(frozen=True, slots=True)
class CarvedPanel:
    """A planform carved from a blank to a section.

    Args:
        planform: With its directions.
        blank_thickness_mm: Of the sheet.
        section: At every station, with the thickness there.
        thickness_mm: Greatest thickness at root and tip, linear between; None: the section's own share of chord.
        trailing_mm: Thickness of the trailing edge all along; None: the section's own.
        seat: Where in the blank the section lies: "middle" of it, or lowest point on the "bottom" face;
            "auto" takes the middle for symmetrical sections.

    Raises:
        PartError: The section does not fit the blank somewhere, or the trailing edge is thicker than the blank.
    """

    planform: Planform
    blank_thickness_mm: float
    section: Section
    thickness_mm: tuple[float, float] | None = None
    trailing_mm: float | None = None
    seat: Literal["auto", "middle", "bottom"] = "auto"

    def __post_init__(self) -> None:
        blank = self.blank_thickness_mm
        if not blank > 0:
            raise PartError(f"a blank {blank:g} mm thick cannot be carved.")
        if self.trailing_mm is not None and not 0 < self.trailing_mm <= blank:
            raise PartError(
                f"a trailing edge of {self.trailing_mm:g} mm from a blank of {blank:g} mm; "
                "it must be above zero and no thicker than the blank."
            )
        if self.thickness_mm is not None and min(self.thickness_mm) <= 0:
            raise PartError(f"a panel {min(self.thickness_mm):g} mm thick cannot be; give more than zero.")
        high = self.planform.span[1]
        for station in np.linspace(self.planform.root_station, high - 1e-3, 9):
            self._check_fit(float(station))

    def _check_fit(self, station: float) -> None:
        bottom, top = self._extent(station)
        if bottom < -FIT_MM or top > self.blank_thickness_mm + FIT_MM:
            raise PartError(
                f"at span station {station:.1f} mm the section is {top - bottom:.2f} mm thick and would reach from "
                f"{bottom:.2f} to {top:.2f} mm in a blank of {self.blank_thickness_mm:g} mm; "
                "take a thicker blank or a thinner section."
            )

    def _extent(self, station: float) -> tuple[float, float]:
        upper, lower = self.heights(station, np.linspace(0.0, 1.0, 401))
        return float(lower.min()), float(upper.max())

    def thickness_at(self, station_mm: float) -> float:
        """Return the greatest thickness of the section at a station, in mm."""
        chord = float(self.planform.chord(np.array([station_mm]))[0])
        own = self.section.greatest_thickness[0]
        if self.thickness_mm is None:
            return own * chord
        low, high = self.planform.span
        root, tip = self.thickness_mm
        wanted = root + (tip - root) * (station_mm - low) / (high - low)
        root_chord = float(self.planform.chord(np.array([self.planform.root_station]))[0])
        most = max(MOST_RATIO, root / root_chord if root_chord > 0 else 0.0)
        return min(wanted, most * chord)

    def section_at(self, station_mm: float) -> Section:
        """Return the section of unit chord at a station, with the thicknesses it has there."""
        chord = float(self.planform.chord(np.array([station_mm]))[0])
        if chord < 1e-9:
            return self.section
        thickness = self.thickness_at(station_mm)
        trailing = None if self.trailing_mm is None else min(self.trailing_mm, 0.4 * thickness) / chord
        if self.thickness_mm is None and trailing is None:
            return self.section
        ratio = None if self.thickness_mm is None else self._nominal(thickness / chord)
        return self.section.resized(thickness=ratio, trailing=trailing)

    def _nominal(self, ratio: float) -> float:
        """Return the thickness to ask of the section: a NACA section comes out a hair over its nominal one."""
        own = self.section.greatest_thickness[0]
        nominal = getattr(self.section, "thickness", own)
        return ratio * nominal / own

    def chord_height(self, section: Section, chord_mm: float) -> float:
        """Return how high the chord line lies above the blank's lower face."""
        upper, lower = section.heights(np.linspace(0.0, 1.0, 201))
        is_symmetrical = bool(np.allclose(upper, -lower, atol=1e-9))
        if self.seat == "middle" or (self.seat == "auto" and is_symmetrical):
            return self.blank_thickness_mm / 2 - chord_mm * float(upper.max() + lower.min()) / 2
        return -chord_mm * float(lower.min())

    def heights(self, station_mm: float, shares: Floats) -> tuple[Floats, Floats]:
        """Return (upper, lower) surface above the blank's lower face, in mm, at shares of the chord at a station."""
        chord = float(self.planform.chord(np.array([station_mm]))[0])
        section = self.section_at(station_mm)
        upper, lower = section.heights(np.asarray(shares, dtype=np.float64))
        base = self.chord_height(section, chord)
        return base + chord * upper, base + chord * lower

    def solid(self, piece: Outline | None = None) -> Solid:
        """Return volume, centre and share removed of the panel, or of one piece of it (a plank, an edge strip).

        Gauss integration over chord and span, with cut-outs taken off.

        Raises:
            PartError: The piece lies outside the panel.
        """
        outline = piece or self.planform.outline
        rings = self.planform.rings_of(outline)
        v = rings[0][:, 1]
        low, high = self.planform.span
        begin, end = max(low, float(v.min())), min(high, float(v.max()))
        if end - begin < 1e-3:
            raise PartError(f"a piece at span stations {v.min():.1f} to {v.max():.1f} mm lies outside the panel.")
        sums = np.zeros(4)
        stations, weights = self.planform.quadrature(begin, end, outline=outline)
        for station, weight in zip(stations.tolist(), weights.tolist(), strict=True):
            sums += weight * self._slice(station, rings)
        volume = float(sums[0])
        blank = outline.area_mm2 * self.blank_thickness_mm
        centre = (float(sums[1]) / volume, float(sums[2]) / volume, float(sums[3]) / volume)
        return Solid(volume, centre, 1 - volume / blank)

    def _slice(self, station: float, rings: Sequence[Floats]) -> Floats:
        """Return area and its moments (u, v, z) of the wood within `rings` at a station."""
        total = np.zeros(4)
        lead = float(self.planform.leading_edge(np.array([station]))[0])
        chord = float(self.planform.chord(np.array([station]))[0])
        for begin, end in stretches_at(rings, station):
            total = total + self._stretch(station, (begin - lead) / chord, (end - lead) / chord)
        return total

    def slice_area_mm2(self, station_mm: float, piece: Outline | None = None) -> float:
        """Return the area of the section at a station, or of a piece of it, cut-outs taken off."""
        return float(self._slice(station_mm, self.planform.rings_of(piece or self.planform.outline))[0])

    def _stretch(self, station: float, begin: float, end: float) -> Floats:
        """Return the integrals over part of a chord, in the angle b in which the nose is smooth."""
        b0, b1 = (float(np.arccos(1 - 2 * np.clip(x, 0.0, 1.0))) for x in (begin, end))
        b = (b0 + b1) / 2 + (b1 - b0) / 2 * _NODES
        x = (1 - np.cos(b)) / 2
        chord = float(self.planform.chord(np.array([station]))[0])
        lead = float(self.planform.leading_edge(np.array([station]))[0])
        upper, lower = self.heights(station, x)
        du = _WEIGHTS * (b1 - b0) / 2 * np.sin(b) / 2 * chord
        area = du * (upper - lower)
        total = float(area.sum())
        return np.array([
            total,
            float(area @ (lead + chord * x)),
            total * station,
            float(du @ (upper**2 - lower**2)) / 2,
        ])  # fmt: skip

    def bending_inertia_mm4(self, station_mm: float) -> float:
        """Return the second moment of the section's area about its own centre line along the chord, in mm⁴.

        Times the wood's modulus along the grain it is the bending stiffness; it compares panels and boards.
        """
        chord = float(self.planform.chord(np.array([station_mm]))[0])
        return self.section_at(station_mm).bending_inertia * chord**4
