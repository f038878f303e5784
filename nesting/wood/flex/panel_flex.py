"""How springy a cantilevered panel is: first bending, first twist and sag, each with its doubt by source.

Frequencies leave here as ratios only. See `cantilever` for the mechanics and `slabs` for the sections.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from nesting.wood.estimate import Estimate, as_estimate, total
from nesting.wood.flex.cantilever import Beam, Floats, Mode
from nesting.wood.flex.slabs import SectionShares, Slabs, Stuff, shares_of
from vectorize.basics.notes import Note
from vectorize.basics.units import STANDARD_GRAVITY

CAUTION = (
    "These figures compare ways to build one panel and are never an approval to fly; they say nothing of flutter, "
    "of strength or of the speed that a model may fly at."
)


@dataclass(frozen=True, slots=True)
class Drift:
    """How far E and density of one stuff may stray along the panel: `per_mm` from the middle, by source."""

    kind: int
    source: str
    per_mm: float
    even: float = 0.0


@dataclass(frozen=True, slots=True)
class Panel:
    """A panel as a beam: a section at each point of the beam, what they are made of, and what is unsure about them.

    `carved_sigma_mm` is how far the thickness left by the carver may be off all over, `carver` the name of that doubt.
    """

    beam: Beam
    sections: tuple[Slabs, ...]
    stuffs: tuple[Stuff, ...]
    carver: str = "carving"
    carved_sigma_mm: float = 0.0
    drifts: tuple[Drift, ...] = ()


@dataclass(frozen=True, slots=True)
class Springiness:
    """What is worked out of one panel; squares of frequencies are in 1/s2 and stay inside.

    `elastic_share` and `balance_share` tell where in the chord the elastic axis and the centre of mass lie at seven
    tenths of the span: the place (u, aft) is left to whoever knows the chord there.
    """

    mass_g: Estimate
    bending2: Estimate
    twist2: Estimate
    own_sag_mm: Estimate
    load_sag_mm_per_n: Estimate
    elastic_u_mm: float
    balance_u_mm: float


def springiness(panel: Panel) -> Springiness:
    """Return how springy a panel is."""
    shares = shares_of(panel.sections, stuffs=panel.stuffs)
    of = _Integrals(panel, shares)
    beam, flat, area = panel.beam, of.stiffness("flat_mm4", "modulus_mpa"), of.mass("area_mm2")
    bending = beam.bending_mode(flat, area)
    twist = beam.twisting_mode(of.stiffness("twist_mm4", "shear_mpa"), of.mass("roll_mm4"))
    at = int(0.7 * len(panel.sections))
    return Springiness(
        mass_g=of.masses(np.ones_like(flat), "area_mm2") * 1000.0,
        bending2=of.quotient(bending, "flat_mm4", "modulus_mpa", "area_mm2"),
        twist2=of.quotient(twist, "twist_mm4", "shear_mpa", "roll_mm4"),
        own_sag_mm=of.sag(beam.weight_moment(area * STANDARD_GRAVITY), flat, is_own_weight=True),
        load_sag_mm_per_n=of.sag(beam.length_mm - beam.points_mm, flat),
        elastic_u_mm=float(shares.elastic_x_mm[at]),
        balance_u_mm=float(shares.balance_x_mm[at]),
    )


class _Integrals:
    """Integrals over a panel by stuff, with what is unsure about it as signed effects of one standard deviation."""

    def __init__(self, panel: Panel, shares: SectionShares) -> None:
        self.panel, self.beam, self.shares = panel, panel.beam, shares

    def stiffness(self, name: str, of: str) -> Floats:
        """Return EI or GJ at the beam's points, in N mm2."""
        return np.asarray(getattr(self.shares, name) @ [getattr(stuff, of).value for stuff in self.panel.stuffs])

    def mass(self, name: str) -> Floats:
        """Return mass (kg/mm) or polar inertia (kg mm) per length at the beam's points."""
        return np.asarray(
            getattr(self.shares, name) @ [stuff.density_kg_m3.value * 1e-9 for stuff in self.panel.stuffs]
        )

    def stiffnesses(self, worth: Floats, name: str, of: str) -> Estimate:
        """Return the integral of worth times EI or GJ; the thickness of solid wood counts thrice, of a shell twice."""
        return total(
            getattr(stuff, of) * self._integral(kind, worth, name, power=2 if stuff.is_shell else 3)
            for kind, stuff in enumerate(self.panel.stuffs)
        )

    def masses(self, worth: Floats, name: str) -> Estimate:
        """Return the integral of worth times mass or inertia, in kg; a shell's mass does not hang on the carver."""
        return total(
            stuff.density_kg_m3 * 1e-9 * self._integral(kind, worth, name, power=0 if stuff.is_shell else 1)
            for kind, stuff in enumerate(self.panel.stuffs)
        )

    def _integral(self, kind: int, worth: Floats, name: str, *, power: int) -> Estimate:
        each = worth * getattr(self.shares, name)[:, kind] * self.beam.weights_mm
        carved = power * self.panel.carved_sigma_mm * float((each / self.shares.thickness_mm).sum())
        away = self.beam.points_mm - self.beam.length_mm / 2
        doubts = [(self.panel.carver, carved)] + [
            (drift.source, float(each @ (drift.even + drift.per_mm * away)))
            for drift in self.panel.drifts
            if drift.kind == kind
        ]
        return total([Estimate(float(each.sum())), *(Estimate(0.0, (doubt,)) for doubt in doubts)])

    def quotient(self, mode: Mode, stiffness: str, modulus: str, inertia: str) -> Estimate:
        """Return Rayleigh's quotient: the square of the frequency in 1/s2."""
        return self.stiffnesses(mode.strain2, stiffness, modulus) / self.masses(mode.swing2, inertia) * 1000.0

    def sag(self, moment: Floats, flat: Floats, *, is_own_weight: bool = False) -> Estimate:
        """Return the sag of the tip by Mohr's integral, with the effect of every stiffness and mass on it."""
        bent = moment * (self.beam.length_mm - self.beam.points_mm) / flat**2
        resists = self.stiffnesses(bent, "flat_mm4", "modulus_mpa")
        sag = as_estimate(2 * resists.value) - resists
        if not is_own_weight:
            return sag
        hangs = self.masses(self.beam.tip_load_shape(flat) * STANDARD_GRAVITY, "area_mm2")
        return sag + (hangs - hangs.value)


@dataclass(frozen=True, slots=True)
class FlexOption:
    """One way to build the panel against the first: frequencies and stiffness as ratios.

    `stiffness` is against a load at the tip; `per_gram` is that over the mass, against the first.
    """

    name: str
    mass_g: Estimate
    first_bending: Estimate
    first_twist: Estimate
    stiffness: Estimate
    own_sag_mm: Estimate
    load_sag_mm: Estimate
    elastic_share: float
    balance_share: float

    @property
    def per_gram(self) -> Estimate:
        """Return stiffness per mass; its doubt leaves out what the two share."""
        return self.stiffness / self.mass_g

    def as_json(self) -> dict[str, Any]:
        """Return the option as the documented `flex` output spells it."""
        return {
            "name": self.name,
            "mass_g": round(self.mass_g.value, 3),
            "mass_sigma_g": round(self.mass_g.sigma, 3),
            "first_bending": round(self.first_bending.value, 4),
            "first_twist": round(self.first_twist.value, 4),
            "sigma_share": round(self.first_bending.relative_sigma, 4),
            "twist_sigma_share": round(self.first_twist.relative_sigma, 4),
            "stiffness": round(self.stiffness.value, 4),
            "stiffness_sigma_share": round(self.stiffness.relative_sigma, 4),
            "own_sag_mm": round(self.own_sag_mm.value, 4),
            "load_sag_mm": round(self.load_sag_mm.value, 4),
            "elastic_axis_share": round(self.elastic_share, 4),
            "balance_share": round(self.balance_share, 4),
        }


@dataclass(frozen=True, slots=True)
class FlexReport:
    """Ways to build one panel side by side, the first being what the others are measured by."""

    part: str
    load_g: float
    options: tuple[FlexOption, ...]
    notes: tuple[Note, ...] = ()
    caution: str = CAUTION

    def per_gram(self, option: FlexOption) -> Estimate:
        """Return stiffness per mass of an option against that of the first."""
        return option.per_gram / self.options[0].per_gram

    @property
    def advice(self) -> str:
        """Return which option is stiffest for its weight, and which others the doubt does not tell from it."""
        first = self.options[0]
        best = max(self.options, key=lambda option: self.per_gram(option).value)
        close = [one.name for one in self.options if one is not best and _may_be_as_good(one, best)]
        if best is first:
            lead = f"None is stiffer for its weight than {best.name}."
        else:
            ratio = self.per_gram(best)
            times = f"{ratio.value:.2f} ± {ratio.sigma:.2f} times {first.name}"
            lead = f"Stiffest for its weight: {best.name}, {times}."
        return lead if not close else f"{lead} Too close to tell from it: {', '.join(close)}."

    def as_json(self) -> dict[str, Any]:
        """Return the documented `flex` output."""
        return {
            "part": self.part,
            "load_g": self.load_g,
            "options": [option.as_json() for option in self.options],
            "advice": self.advice,
            "caution": self.caution,
            "notes": [note.as_json() for note in self.notes],
        }


def _may_be_as_good(one: FlexOption, best: FlexOption) -> bool:
    """Return whether the best is stiffer for its weight by less than two standard deviations of how they compare."""
    lead = best.per_gram / one.per_gram - 1.0
    return lead.value < 2 * lead.sigma


def side_by_side(
    part: str,
    options: Sequence[tuple[str, Springiness, float, float]],
    *,
    load_g: float,
    notes: Sequence[Note] = (),
) -> FlexReport:
    """Return options against the first: each with its name, what was worked out, and leading edge and chord in mm."""
    load_n = load_g * STANDARD_GRAVITY / 1000
    first = options[0][1]
    found = tuple(
        FlexOption(
            name=name,
            mass_g=one.mass_g,
            first_bending=(one.bending2 / first.bending2) ** 0.5,
            first_twist=(one.twist2 / first.twist2) ** 0.5,
            stiffness=first.load_sag_mm_per_n / one.load_sag_mm_per_n,
            own_sag_mm=one.own_sag_mm,
            load_sag_mm=one.load_sag_mm_per_n * load_n,
            elastic_share=(one.elastic_u_mm - lead) / chord,
            balance_share=(one.balance_u_mm - lead) / chord,
        )
        for name, one, lead, chord in options
    )
    return FlexReport(part, load_g, found, tuple(notes))
