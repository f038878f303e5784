"""What is known of each board that one part could come from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from nesting.balance.balance_report import Trim
from nesting.wood.beam import Loading
from nesting.wood.board import Board
from nesting.wood.estimate import Estimate
from nesting.wood.flex.built_up import BuiltRatio, BuiltStiffness, Way
from nesting.wood.stiffness import CAUTION, Modulus
from vectorize.basics.notes import Note

Priority = Literal["light", "stiff", "balanced"]


@dataclass(frozen=True, slots=True)
class Balanced:
    """What a board does to the model: balance point, shift against the first board, ballast, flying weight."""

    balance: Estimate
    shift: Estimate
    trim: Trim

    @property
    def flying_mass(self) -> Estimate | None:
        """Return what the model weighs with its ballast; None where a range cannot be reached."""
        return self.trim.flying_mass


@dataclass(frozen=True, slots=True)
class AsBuilt:
    """How stiff the part is with what is glued onto it: ratios against the lightest board, and its weakest stations.

    `along` is the stiffness itself, at every station.
    """

    ratios: Mapping[Way, BuiltRatio]
    weakest_mm: Mapping[Way, float]
    along: BuiltStiffness

    def as_json(self) -> dict[str, Any]:
        """Return it as the documented `compare` output spells it."""
        return {way: _ratio_json(ratio) | {"weakest_mm": self.weakest_mm[way]} for way, ratio in self.ratios.items()}


def _ratio_json(ratio: BuiltRatio) -> dict[str, Any]:
    return {
        "ratio": _pair(ratio.whole),
        "least": _pair(ratio.least) | {"station_mm": ratio.least_at_mm},
        "greatest": _pair(ratio.greatest) | {"station_mm": ratio.greatest_at_mm},
    }


@dataclass(frozen=True, slots=True)
class Candidate:
    """One board for the part, all copies together.

    Ratios are against the lightest candidate that the part fits on. `equal_thickness_mm` is how thick this board's
    wood would have to be to be as stiff as that one, `equal_mass` what the part would weigh then.
    """

    board: Board
    mass: Estimate
    difference: Estimate
    density: Estimate
    modulus: Modulus
    stiffness_ratio: Estimate
    strength_ratio: Estimate
    equal_thickness_mm: Estimate
    equal_mass: Estimate
    run_out_share: float
    bow_mm: float
    fits: bool | None
    objection: str | None
    uses_default_density: bool
    balanced: Balanced | None
    built: AsBuilt | None = None

    def flown_ratio(self, loading: Loading) -> Estimate:
        """Return the stiffness of the part as built against the lightest; the board's own where it is one piece."""
        return self.stiffness_ratio if self.built is None else self.built.ratios[loading].whole

    @property
    def is_possible(self) -> bool:
        """Return whether the part fits (as far as known) and its needs are met."""
        return self.fits is not False and self.objection is None


@dataclass(frozen=True, slots=True)
class Comparison:
    """All candidates, lightest first, with the advice."""

    part: str
    loading: Loading
    priority: Priority
    candidates: tuple[Candidate, ...]
    advice: str
    notes: tuple[Note, ...]
    caution: str = CAUTION

    def as_json(self) -> dict[str, Any]:
        """Return the documented `compare` output."""
        return {
            "part": self.part,
            "loading": self.loading,
            "priority": self.priority,
            "boards": [_candidate_json(candidate) for candidate in self.candidates],
            "advice": self.advice,
            "caution": self.caution,
            "notes": [note.as_json() for note in self.notes],
        }


def _pair(value: Estimate) -> dict[str, float]:
    return {"value": value.value, "sigma": value.sigma}


def _candidate_json(candidate: Candidate) -> dict[str, Any]:
    balanced = candidate.balanced
    return {
        "board": candidate.board.name,
        "mass_g": _pair(candidate.mass),
        "difference_g": _pair(candidate.difference),
        "density_kg_m3": _pair(candidate.density),
        "modulus_mpa": {**_pair(candidate.modulus.value), "measured": candidate.modulus.is_measured},
        "stiffness_ratio": _pair(candidate.stiffness_ratio),
        "strength_ratio": _pair(candidate.strength_ratio),
        "equal_stiffness_thickness_mm": candidate.equal_thickness_mm.value,
        "equal_stiffness_mass_g": candidate.equal_mass.value,
        "run_out_share": candidate.run_out_share,
        "inherited_bow_mm": candidate.bow_mm,
        "fits": candidate.fits,
        "objection": candidate.objection,
        "default_density": candidate.uses_default_density,
        "built": None if candidate.built is None else candidate.built.as_json(),
        "balance_mm": None if balanced is None else _pair(balanced.balance),
        "balance_shift_mm": None if balanced is None else _pair(balanced.shift),
        "ballast_g": None if balanced is None or balanced.flying_mass is None else balanced.trim.mass_g,
        "flying_mass_g": None if balanced is None or balanced.flying_mass is None else _pair(balanced.flying_mass),
    }  # fmt: skip
