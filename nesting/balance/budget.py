"""The weight budget: what wood, glue, covering, paint, equipment and ballast weigh, and what is still free."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from nesting.balance.ledger import Entry
from nesting.wood.covering import Stage
from nesting.wood.estimate import Estimate, total
from vectorize.basics.errors import JobError
from vectorize.basics.notes import Note

Group = Literal["wood", "glue", "covering", "paint", "equipment", "fuel", "ballast", "built and weighed"]
GROUPS: tuple[Group, ...] = ("wood", "glue", "covering", "paint", "equipment", "fuel", "ballast", "built and weighed")
"""`built and weighed` is what stood on the scale with more than bare wood: it cannot be told apart any more."""

_GROUP_OF_STAGE: Mapping[Stage, Group] = {
    "sawn": "wood",
    "cut": "wood",
    "joined": "glue",
    "glued": "glue",
    "covered": "covering",
    "painted": "paint",
    "fitted": "equipment",
}
_ONLY_WOOD: tuple[Stage, ...] = ("sawn", "cut")


@dataclass(frozen=True, slots=True)
class BudgetPlan:
    """What the model may weigh ready to fly, tank full: a limit, a target, and what groups may take of it, in g.

    Raises:
        JobError: A mass that is not above zero, or a target above the limit.
    """

    limit_g: float | None = None
    target_g: float | None = None
    groups_g: Mapping[Group, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        said = [("limit", self.limit_g), ("target", self.target_g), *self.groups_g.items()]
        for what, mass in said:
            if mass is not None and not mass > 0:
                raise JobError(f"[budget], {what} is {mass:g} g; it must be above zero.")
        if self.limit_g is not None and self.target_g is not None and self.target_g > self.limit_g:
            raise JobError(
                f"[budget], the target of {self.target_g:g} g is above the limit of {self.limit_g:g} g; "
                "give a target below it."
            )


@dataclass(frozen=True, slots=True)
class Spent:
    """What a group weighs, and what it may weigh, if anybody said."""

    group: Group
    mass: Estimate
    allowed_g: float | None = None


@dataclass(frozen=True, slots=True)
class Budget:
    """What is spent and what is free. `weighed` is what the scale has said of the model so far.

    `has_ballast` is False where no ballast brings the model into its range, so that none is counted.
    """

    plan: BudgetPlan
    groups: tuple[Spent, ...]
    weighed: Estimate
    has_ballast: bool = True

    @property
    def flying(self) -> Estimate:
        """Return what the model weighs ready to fly, tank full."""
        return total(spent.mass for spent in self.groups)

    def free_to(self, mass_g: float | None) -> Estimate | None:
        """Return what is left to spend up to a mass; None where none is given."""
        return None if mass_g is None else mass_g - self.flying

    def notes(self) -> tuple[Note, ...]:
        """Return an open note where the limit is overstepped, and one for each group that takes more than it may."""
        found = []
        over = self.free_to(self.plan.limit_g)
        if over is not None and over.value < 0:
            found.append(
                f"the model is {-over.value:.1f} ± {over.sigma:.1f} g over its limit of {self.plan.limit_g:g} g; "
                "choose lighter boards or less covering, or move what ballast balances."
            )
        found += [
            f"{spent.group} takes {spent.mass.value:.1f} g of the {spent.allowed_g:g} g that it may; "
            f"save {spent.mass.value - spent.allowed_g:.1f} g there or allow it more."
            for spent in self.groups
            if spent.allowed_g is not None and spent.mass.value > spent.allowed_g
        ]
        return tuple(Note("over-budget", text, "open") for text in found)

    def as_json(self) -> dict[str, Any]:
        """Return the budget as documented in the `balance` output."""
        target, limit = self.free_to(self.plan.target_g), self.free_to(self.plan.limit_g)
        return {
            "limit_g": self.plan.limit_g,
            "target_g": self.plan.target_g,
            "groups": [
                {"group": s.group, "mass_g": s.mass.value, "sigma_g": s.mass.sigma, "allowed_g": s.allowed_g}
                for s in self.groups
            ],
            "flying_g": self.flying.value,
            "sigma_g": self.flying.sigma,
            "weighed_g": self.weighed.value,
            "free_to_limit_g": None if limit is None else limit.value,
            "free_to_target_g": None if target is None else target.value,
            "with_ballast": self.has_ballast,
        }


def spent_budget(plan: BudgetPlan, entries: Iterable[Entry], ballast: Iterable[Entry] | None) -> Budget:
    """Return the budget with everything that has mass; `ballast` is what balances it, None where nothing does."""
    masses: dict[Group, list[Estimate]] = {}
    weighed: list[Estimate] = []
    for entry in entries:
        masses.setdefault(_group(entry), []).append(entry.mass)
        if entry.is_weighed:
            weighed.append(entry.mass)
    if ballast is not None:
        masses["ballast"] = [entry.mass for entry in ballast]
    groups = tuple(
        Spent(group, total(masses.get(group, ())), plan.groups_g.get(group))
        for group in GROUPS
        if masses.get(group) or group in plan.groups_g
    )
    return Budget(plan, groups, total(weighed), ballast is not None)


def _group(entry: Entry) -> Group:
    if entry.is_fuel:
        return "fuel"
    if entry.is_weighed and entry.stage not in _ONLY_WOOD:
        return "built and weighed"
    # What sanding takes off is wood, though it comes off when the part is glued.
    return "wood" if entry.mass.value < 0 else _GROUP_OF_STAGE[entry.stage]
