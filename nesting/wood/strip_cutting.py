"""Cutting lengths of strip, dowel or wire to pieces: one-dimensional cutting stock with kerf.

A piece of length l takes l and a kerf of its length, but the last cut may fall on the end: pieces fit a length L
where the sum of (l + kerf) is at most L + kerf. What is at hand goes first: as few new lengths as possible are bought,
then as few whole lengths are begun, then as little of offcuts as does it. An integer programme decides (Kantorovich
1960, doi:10.1287/mnsc.6.4.366, with the lengths in order); where it stops at its limit of steps, the bound says how
few new lengths there might be.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from scipy.optimize import LinearConstraint

MOST_STEPS = 20_000
"""Nodes of the search; the jobs of one model take a few hundred at most."""
ROUNDING_MM = 1e-6

Origin = Literal["offcut", "at hand", "new"]


@dataclass(frozen=True, slots=True)
class StripPiece:
    """A piece to be cut: what it is for, how long, how often."""

    name: str
    length_mm: float
    count: int = 1


@dataclass(frozen=True, slots=True)
class CutLength:
    """One length with what is cut from it, longest first, and what is left over."""

    length_mm: float
    origin: Origin
    cuts: tuple[tuple[str, float], ...]
    rest_mm: float

    def as_json(self) -> dict[str, Any]:
        """Return the length as documented in the `rack want` output."""
        cuts = [{"piece": name, "length_mm": length} for name, length in self.cuts]
        return {"length_mm": self.length_mm, "origin": self.origin, "cuts": cuts, "rest_mm": self.rest_mm}


@dataclass(frozen=True, slots=True)
class CuttingPlan:
    """Every length that is cut, pieces that are longer than any, and whether no plan is better.

    `least_bought` is a proved lower bound of the new lengths.
    """

    lengths: tuple[CutLength, ...]
    left_out: tuple[StripPiece, ...]
    least_bought: int
    is_proved: bool

    @property
    def bought(self) -> int:
        """Return how many new lengths are needed."""
        return sum(length.origin == "new" for length in self.lengths)


def cut_strips(
    pieces: Sequence[StripPiece],
    *,
    new_mm: float,
    offcuts_mm: Sequence[float] = (),
    at_hand: int = 0,
    kerf_mm: float = 0.0,
    most_steps: int = MOST_STEPS,
) -> CuttingPlan:
    """Return how to cut pieces from offcuts, whole lengths at hand and new ones of `new_mm`.

    The same input gives the same plan. A piece that fits no length is left out.
    """
    stock: list[tuple[float, Origin]] = [(length, "offcut") for length in sorted(offcuts_mm)]
    stock += [(new_mm, "at hand")] * at_hand
    longest = max([new_mm, *offcuts_mm])
    fit = [piece for piece in pieces if piece.length_mm <= longest + ROUNDING_MM]
    left_out = tuple(piece for piece in pieces if piece not in fit)
    names = _by_length(fit)
    sizes = sorted(names, reverse=True)
    first = _first_fit(sizes, [len(names[size]) for size in sizes], stock, new_mm, kerf_mm)
    stock += [(new_mm, "new")] * (len(first) - len(stock))
    solved = _programme(sizes, [len(names[size]) for size in sizes], stock, kerf_mm, at_hand, most_steps)
    amounts, least, is_proved = solved or (first, 0, False)
    lengths = tuple(
        _length(length, origin, sizes, counts, names, kerf_mm)
        for (length, origin), counts in zip(stock, amounts, strict=False)
        if any(counts)
    )
    return CuttingPlan(lengths, left_out, least, is_proved)


def _by_length(pieces: Iterable[StripPiece]) -> dict[float, list[str]]:
    names: dict[float, list[str]] = {}
    for piece in pieces:
        names.setdefault(round(piece.length_mm, 6), []).extend([piece.name] * piece.count)
    return names


def _first_fit(
    sizes: Sequence[float], counts: Sequence[int], stock: Sequence[tuple[float, Origin]], new_mm: float, kerf_mm: float
) -> list[list[int]]:
    """Return how often each size is cut from each length, longest pieces first into the first length with room."""
    free = [length + kerf_mm for length, _ in stock]
    amounts = [[0] * len(sizes) for _ in stock]
    for number, (size, count) in enumerate(zip(sizes, counts, strict=True)):
        for _ in range(count):
            at = next((k for k, room in enumerate(free) if size + kerf_mm <= room + ROUNDING_MM), None)
            if at is None:
                at = len(free)
                free.append(new_mm + kerf_mm)
                amounts.append([0] * len(sizes))
            free[at] -= size + kerf_mm
            amounts[at][number] += 1
    return amounts


def _programme(
    sizes: Sequence[float],
    counts: Sequence[int],
    stock: Sequence[tuple[float, Origin]],
    kerf_mm: float,
    at_hand: int,
    most_steps: int,
) -> tuple[list[list[int]], int, bool] | None:
    """Return (how often each size is cut from each length, least new lengths, whether proved); None without a plan.

    Columns: for every length the number of each size, then whether it is begun.
    """
    if not sizes:
        return [], 0, True
    import numpy as np
    from scipy.optimize import Bounds, milp

    cost, most = np.zeros((len(stock), len(sizes) + 1)), np.tile([*counts, 1], (len(stock), 1))
    cost[:, -1] = _weights(stock, at_hand)
    found = milp(
        cost.ravel(),
        integrality=np.ones(cost.size, dtype=np.int64),
        bounds=Bounds(0, most.ravel()),
        constraints=_constraints(sizes, counts, stock, kerf_mm),
        options={"node_limit": most_steps, "mip_rel_gap": 0.0},
    )
    if found.x is None:
        return None
    amounts = np.rint(found.x.reshape(cost.shape)[:, :-1]).astype(int).tolist()
    is_proved = found.status == 0
    begun = sum(any(counts) for counts, (_, origin) in zip(amounts, stock, strict=True) if origin == "new")
    new = _new_weight(at_hand)
    bound = begun if is_proved else max(0, math.ceil((found.mip_dual_bound - (new - 1)) / new - 1e-6))
    return amounts, bound, is_proved


def _constraints(
    sizes: Sequence[float], counts: Sequence[int], stock: Sequence[tuple[float, Origin]], kerf_mm: float
) -> LinearConstraint:
    """Return that every piece is cut, that no length holds too much, and that of equal ones the first go first."""
    import numpy as np
    from scipy.optimize import LinearConstraint

    lengths = [length + kerf_mm for length, _ in stock]
    twins = [bar for bar in range(1, len(stock)) if stock[bar] == stock[bar - 1]]
    rows = np.zeros((len(sizes) + len(stock) + len(twins), len(stock), len(sizes) + 1))
    for number in range(len(sizes)):
        rows[number, :, number] = 1
    for bar, length in enumerate(lengths):
        rows[len(sizes) + bar, bar] = [*(size + kerf_mm for size in sizes), -length]
    for number, bar in enumerate(twins, start=len(sizes) + len(stock)):
        rows[number, bar, -1], rows[number, bar - 1, -1] = 1, -1
    low = [*counts, *[-np.inf] * (len(stock) + len(twins))]
    high = [*counts, *[ROUNDING_MM] * len(stock), *[0.0] * len(twins)]
    return LinearConstraint(rows.reshape(len(rows), -1), low, high)


def _weights(stock: Sequence[tuple[float, Origin]], at_hand: int) -> list[float]:
    """Return what it costs to begin each length: all that is at hand together costs less than one new length."""
    offcuts = sum(length for length, origin in stock if origin == "offcut")
    by_origin = {"at hand": 2.0, "new": _new_weight(at_hand)}
    return [length / offcuts if origin == "offcut" else by_origin[origin] for length, origin in stock]


def _new_weight(at_hand: int) -> float:
    return 2.0 * at_hand + 2.0


def _length(
    length_mm: float,
    origin: Origin,
    sizes: Sequence[float],
    counts: Sequence[int],
    names: dict[float, list[str]],
    kerf_mm: float,
) -> CutLength:
    """Return a length with its cuts by name; each name is taken off `names`, so that it is given once."""
    cuts = tuple((names[size].pop(0), size) for size, count in zip(sizes, counts, strict=True) for _ in range(count))
    rest = length_mm - sum(size + kerf_mm for _, size in cuts)
    return CutLength(length_mm, origin, cuts, max(0.0, rest))
