"""Parts that must match, such as the two halves of a wing: how far their wood differs, and what is left over."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from nesting.wood.board import Board
from nesting.wood.density import USUAL, Wood, areal_density, board_gradient, board_thickness
from nesting.wood.stiffness import board_modulus

WITHIN_SHARE = 0.10
"""So far the wood of a pair may differ unless the job says otherwise (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Couple:
    """Two parts, or two pieces of theirs that answer each other, whose wood is to match within a share.

    `pair` is what the two belong to, in words; `tip_arm_mm` is how far out of the middle a tip weight would sit, None
    where nobody knows.
    """

    left: str
    right: str
    pair: str
    within: float = WITHIN_SHARE
    tip_arm_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Mismatch:
    """How far two boards differ: weight per area and stiffness flatwise as shares, change of density along them."""

    weight: float
    stiffness: float
    gradient: float

    @property
    def worst(self) -> float:
        """Return the greatest of the three: what a pair is judged by."""
        return max(self.weight, self.stiffness, self.gradient)


def mismatch(one: Board, other: Board, *, wood: Wood = USUAL) -> Mismatch:
    """Return how far two boards differ, as shares of their mean; nothing for one and the same board."""
    if one.name == other.name:
        return Mismatch(0.0, 0.0, 0.0)
    areal = [areal_density(board, wood=wood).value for board in (one, other)]
    stiff = [
        board_modulus(board, wood=wood).value.value * board_thickness(board, accuracy=wood.accuracy).value ** 3
        for board in (one, other)
    ]
    slopes = [board_gradient(board, wood=wood).change.value / board.length_mm * 1000 for board in (one, other)]
    return Mismatch(_apart(*areal), _apart(*stiff), abs(slopes[0] - slopes[1]))


def _apart(one: float, other: float) -> float:
    return abs(one - other) / ((one + other) / 2)


@dataclass(frozen=True, slots=True)
class PairResult:
    """A pair as it was given boards: how far its wood differs, and the moment about the middle that is left over.

    `moment_g_mm` is to the right where positive, of all pieces of both parts, None where one has no station or place
    across. `tip_weight_g` at the lighter tip takes it away.
    """

    pair: str
    boards: tuple[tuple[str, str], ...]
    mismatch: Mismatch
    moment_g_mm: float | None
    tip_weight_g: float | None

    def as_json(self) -> dict[str, Any]:
        """Return the pair as documented in the `assign` output."""
        return {
            "pair": self.pair,
            "boards": [list(both) for both in self.boards],
            "weight_apart": self.mismatch.weight,
            "stiffness_apart": self.mismatch.stiffness,
            "gradient_apart": self.mismatch.gradient,
            "moment_g_mm": self.moment_g_mm,
            "tip_weight_g": self.tip_weight_g,
        }


def matching(couple: Couple, one: Board, others: Iterable[Board], *, wood: Wood = USUAL) -> tuple[str, ...]:
    """Return the names of the boards whose wood matches one board's as a couple asks."""
    return tuple(other.name for other in others if mismatch(one, other, wood=wood).worst <= couple.within)


def couples_of(
    left: str, right: str, pieces: Mapping[str, tuple[str, ...]], *, within: float, tip_arm_mm: float | None
) -> tuple[Couple, ...]:
    """Return the couples of a pair: the two parts, or pieces of theirs with the same name behind the part's own."""
    pair = f"{left} and {right}"
    mine = {piece.removeprefix(left): piece for piece in pieces[left]}
    theirs = {piece.removeprefix(right): piece for piece in pieces[right]}
    return tuple(Couple(mine[tail], theirs[tail], pair, within, tip_arm_mm) for tail in mine if tail in theirs)
