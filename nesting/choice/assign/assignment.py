"""What an assignment says: which part from which board, weights, ballast, why, and what else was close."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from nesting.choice.assign.pairs import PairResult
from nesting.place.layout import BoardLayout
from nesting.wood.stiffness import CAUTION
from vectorize.basics.notes import Note


@dataclass(frozen=True, slots=True)
class Given:
    """So many pieces of a part from a board, and the mass of all of them."""

    part: str
    board: str
    pieces: int
    mass_g: float


@dataclass(frozen=True, slots=True)
class Assignment:
    """One way to share the parts among the boards, with its layouts.

    `flying_mass_g` holds everything with tank full and ballast; `stiffness_share` is the mean over all
    pieces of stiffness over the stiffest board each could come from; `balance_mm` has one value per loading.
    """

    given: tuple[Given, ...]
    ballast_g: tuple[tuple[str, float], ...]
    flying_mass_g: float
    balance_mm: tuple[float, ...]
    stiffness_share: float
    layouts: tuple[BoardLayout, ...]
    pairs: tuple[PairResult, ...] = ()

    def board_of(self, part: str) -> tuple[str, ...]:
        """Return the boards that a part comes from."""
        return tuple(given.board for given in self.given if given.part == part)

    def as_json(self) -> dict[str, Any]:
        """Return the assignment as documented."""
        return {
            "parts": [
                {"part": g.part, "board": g.board, "pieces": g.pieces, "mass_g": round(g.mass_g, 4)} for g in self.given
            ],
            "ballast_g": dict(self.ballast_g),
            "flying_mass_g": self.flying_mass_g,
            "balance_mm": list(self.balance_mm),
            "stiffness_share": self.stiffness_share,
            "pairs": [pair.as_json() for pair in self.pairs],
        }


@dataclass(frozen=True, slots=True)
class Binding:
    """A constraint that costs something: without it the best would be better by `gain`, in `unit`."""

    what: str
    gain: float
    unit: str

    @property
    def text(self) -> str:
        """Return the binding as a sentence."""
        amount = f"{self.gain:.1f} g lighter" if self.unit == "g" else f"{self.gain:.1%} stiffer"
        return f"{self.what} binds: without it the best would be {amount}."


@dataclass(frozen=True, slots=True)
class AssignReport:
    """The best assignments, best first, and why they are not better.

    `is_proved` says that none is better as far as nesting finds room; else the search was cut short, and
    none can be better by more than `gap` (grams, or share of stiffness).
    """

    best: tuple[Assignment, ...]
    is_proved: bool
    gap: float
    bindings: tuple[Binding, ...]
    notes: tuple[Note, ...]
    rounds: int
    nestings: int
    caution: str = CAUTION

    def as_json(self) -> dict[str, Any]:
        """Return the documented `assign` output."""
        return {
            "best": [assignment.as_json() for assignment in self.best],
            "proved": self.is_proved,
            "gap": self.gap,
            "bindings": [{"what": b.what, "gain": b.gain, "unit": b.unit, "text": b.text} for b in self.bindings],
            "rounds": self.rounds,
            "nestings": self.nestings,
            "caution": self.caution,
            "notes": [note.as_json() for note in self.notes],
        }
