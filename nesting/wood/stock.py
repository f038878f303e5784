"""The stock list: everything that a job takes, each with its waste and, where prices are named, its cost.

What is lost of what is taken is a share of it: a pack of 100 g with 30 % waste is good for 70 g.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from nesting.wood.strip_cutting import CuttingPlan
from vectorize.basics.units import measure

Kind = Literal["board", "strip", "wire", "covering", "paint", "glue"]
Unit = Literal["mm", "mm2", "g", "pieces"]


WASTE_WORDS = (
    "'Waste' is the share of what is taken that is lost. Covering is measured round the section, both faces. Paint and "
    "glue are what stays on the model once dry; what is taken of them is as it is poured, where the job says how much "
    "of it stays."
)


@dataclass(frozen=True, slots=True)
class Pack:
    """What covering, paint or glue is sold in: `size` in mm² or g, its price, and the share of a liquid that stays."""

    size: float
    price: float | None = None
    solids: float = 1.0


@dataclass(frozen=True, slots=True)
class StockLine:
    """One thing that the job takes.

    Args:
        kind: What group it belongs to.
        what: Its name, and its size where that tells it from others.
        needed: What is built in: mm of strip and wire, mm² of covering, g of paint and glue as dry, pieces of boards.
        unit: Of `needed` and `taken`.
        waste: The share of `taken` that is lost.
        taken: With waste; of a liquid of which the share that stays is known, as it is poured.
        parts: What it is for.
        dry_g: What of covering, paint and glue stays on the model.
        packs: So many whole packs, lengths or boards are taken, None where that is not known.
        cost: In the currency of the job; None where no price is known.
        problem: What stands against it.
    """

    kind: Kind
    what: str
    needed: float
    unit: Unit
    waste: float
    taken: float
    parts: tuple[str, ...] = ()
    dry_g: float | None = None
    packs: int | None = None
    cost: float | None = None
    problem: str = ""

    def as_json(self) -> dict[str, Any]:
        """Return the line as documented in the `rack want` output."""
        return {
            "kind": self.kind,
            "what": self.what,
            "needed": self.needed,
            "unit": self.unit,
            "waste_share": self.waste,
            "taken": self.taken,
            "dry_g": self.dry_g,
            "packs": self.packs,
            "cost": self.cost,
            "parts": list(self.parts),
            "problem": self.problem,
        }


@dataclass(frozen=True, slots=True)
class StripStock:
    """Strip, dowel or wire as it is sold: its name, the length of a new one, and what that costs."""

    name: str
    length_mm: float
    price: float | None = None


@dataclass(frozen=True, slots=True)
class StripPlan:
    """How the pieces of one strip stock are cut."""

    stock: StripStock
    plan: CuttingPlan

    def as_json(self) -> dict[str, Any]:
        """Return the plan as documented in the `rack want` output."""
        return {
            "strip": self.stock.name,
            "lengths": [length.as_json() for length in self.plan.lengths],
            "bought": self.plan.bought,
            "least_bought": self.plan.least_bought,
            "proved": self.plan.is_proved,
            "left_out": [{"piece": p.name, "length_mm": p.length_mm} for p in self.plan.left_out],
        }


@dataclass(frozen=True, slots=True)
class StockList:
    """All lines of a job, how its strips are cut, and its currency."""

    lines: tuple[StockLine, ...]
    strips: tuple[StripPlan, ...] = ()
    currency: str = ""

    @property
    def cost(self) -> float | None:
        """Return what all lines with a price cost together; None where none has one."""
        costs = [line.cost for line in self.lines if line.cost is not None]
        return sum(costs) if costs else None

    @property
    def unpriced(self) -> tuple[str, ...]:
        """Return what no price is known of."""
        return tuple(line.what for line in self.lines if line.cost is None)

    def as_json(self) -> dict[str, Any]:
        """Return the list as documented in the `rack want` output."""
        return {
            "lines": [line.as_json() for line in self.lines],
            "strips": [strip.as_json() for strip in self.strips],
            "cost": self.cost,
            "unpriced": list(self.unpriced),
            "currency": self.currency,
        }


def packed_line(
    kind: Kind,
    what: str,
    *,
    area_mm2: float,
    dry_g: float,
    waste: float,
    parts: Sequence[str],
    pack: Pack | None = None,
) -> StockLine:
    """Return a line for covering by its area, for paint and glue by their mass, in whole packs where they are known."""
    needed, unit = (area_mm2, "mm2") if kind == "covering" else (dry_g, "g")
    taken = needed / (1 - waste) / (pack.solids if pack else 1.0)
    packs = None if pack is None else math.ceil(taken / pack.size - 1e-9)
    cost = None if pack is None or pack.price is None or packs is None else packs * pack.price
    return StockLine(kind, what, needed, unit, waste, taken, tuple(parts), dry_g, packs, cost)  # type: ignore[arg-type]


def strip_line(strip: StripPlan, kind: Kind = "strip") -> StockLine:
    """Return the line of a strip stock: the lengths of its pieces, and of the lengths that are begun for them."""
    plan, stock = strip.plan, strip.stock
    needed = sum(size for length in plan.lengths for _, size in length.cuts)
    taken = sum(length.length_mm for length in plan.lengths)
    names = dict.fromkeys(name for length in plan.lengths for name, _ in length.cuts)
    problem = ""
    if plan.left_out:
        problem = f"longer than any length: {', '.join(piece.name for piece in plan.left_out)}"
    elif not plan.is_proved:
        problem = f"not proved the best: {plan.least_bought} new lengths might do"
    cost = None if stock.price is None else plan.bought * stock.price
    waste = 1 - needed / taken if taken else 0.0
    return StockLine(kind, stock.name, needed, "mm", waste, taken, tuple(names), None, plan.bought, cost, problem)


def stock_heads(currency: str) -> tuple[str, ...]:
    """Return the heads of the columns of `stock_row`."""
    return ("what", "built in", "waste", "take", "to buy", f"cost {currency}".strip(), "for")


def stock_row(line: StockLine, *, units: str = "mm") -> tuple[str, ...]:
    """Return the cells of a line under `stock_heads`."""
    return (
        line.what,
        amount_words(line.needed, line.unit, units),
        f"{line.waste:.0%}",
        amount_words(line.taken, line.unit, units),
        "" if line.packs is None else str(line.packs),
        "" if line.cost is None else f"{line.cost:.2f}",
        ", ".join(line.parts) + (f" ({line.problem})" if line.problem else ""),
    )


def amount_words(amount: float, unit: Unit, units: str) -> str:
    """Return an amount with its unit, in the job's own system."""
    match unit:
        case "pieces":
            return f"{amount:.2f}"
        case "mm":
            return measure(amount, "length", units=units, decimals=0)
        case "mm2":
            return measure(amount, "area", units=units, decimals=0)
        case "g":
            return measure(amount, "mass", units=units)


def cutting_words(strip: StripPlan, *, units: str = "mm") -> tuple[str, ...]:
    """Return for each length of a strip what is cut from it, in a sentence."""

    def mm(length: float) -> str:
        return measure(length, "length", units=units)

    return tuple(
        f"{strip.stock.name}, {'a new length' if length.origin == 'new' else length.origin} of {mm(length.length_mm)}: "
        + ", ".join(f"{name} {mm(size)}" for name, size in length.cuts)
        + f"; {mm(length.rest_mm)} is left."
        for length in strip.plan.lengths
    )


def total_words(stock: StockList) -> str:
    """Return what all costs together, and of what no price is known."""
    if stock.cost is None:
        return ""
    unpriced = f"; without a price: {', '.join(stock.unpriced)}" if stock.unpriced else ""
    return f"Together {stock.cost:.2f} {stock.currency}".rstrip() + f"{unpriced}."
