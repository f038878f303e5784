"""The balance of a job's model, and what would bring it into its range for the least weight."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any, Literal

from nesting.balance.balance_report import BalanceReport, Trim, balance_report, trimmed
from nesting.balance.budget import Budget, spent_budget
from nesting.balance.ledger import Ledger, stage_notes, was_on_scale_with_model
from nesting.balance.named_stations import StationResult, stations_against_balance
from nesting.balance.weights import Weight, WeightTable
from nesting.job.model_values import Model
from nesting.wood.bent_wire import BentWire
from nesting.wood.estimate import Estimate

MOST_BOARDS_TRIED = 60
"""So many changes of a board are worked out, those that promise most first; the others are told by none."""
_LEAST_GAIN_G = 0.05


@dataclass(frozen=True, slots=True)
class Fix:
    """One way into the balance range: with its ballast the model then flies at `flying_mass`.

    `part` and `board` name the change of a board, `alternative` that of equipment; ballast alone has neither.
    """

    kind: Literal["ballast", "alternative", "board"]
    flying_mass: Estimate
    trim: Trim
    part: str | None = None
    board: str | None = None
    alternative: str | None = None

    @property
    def ballast_g(self) -> float:
        """Return how much ballast it still takes."""
        return self.trim.mass_g

    @property
    def place(self) -> str | None:
        """Return where ballast goes, None where none does."""
        return " and ".join(one.place.name for one in self.trim.parts) or None

    @property
    def text(self) -> str:
        """Return the fix as a sentence."""
        match self.kind:
            case "board":
                what = f"Cut {self.part} from {self.board}"
            case "alternative":
                what = f"Choose ‘{self.alternative}’"
            case _:
                what = "Change nothing"
        lead = f"{self.ballast_g:.1f} g of ballast at {self.place}" if self.place else "no ballast"
        return f"{what}: {lead}, {self.flying_mass.value:.1f} ± {self.flying_mass.sigma:.1f} g ready to fly."

    def as_json(self) -> dict[str, Any]:
        """Return the fix as documented in the `balance` output."""
        return {
            "kind": self.kind,
            "part": self.part,
            "board": self.board,
            "alternative": self.alternative,
            "ballast_g": self.ballast_g,
            "place": self.place,
            "flying_mass_g": self.flying_mass.value,
            "flying_sigma_g": self.flying_mass.sigma,
            "text": self.text,
        }


@dataclass(frozen=True, slots=True)
class Balanced:
    """What the pieces weigh, the balance report, and the fixes, cheapest first; none where none is needed."""

    table: WeightTable
    report: BalanceReport
    fixes: tuple[Fix, ...]
    budget: Budget | None = None
    stations: tuple[StationResult, ...] = ()
    wires: tuple[BentWire, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return the documented `balance` output."""
        budget = None if self.budget is None else self.budget.as_json()
        return self.report.as_json() | {
            "fixes": [fix.as_json() for fix in self.fixes],
            "budget": budget,
            "stations": [one.as_json() for one in self.stations],
            "wires": [wire.as_json() for wire in self.wires],
        }


def balance_model(model: Model) -> Balanced:
    """Return the balance of a model from the boards that its layout, or the job, chose.

    Raises:
        JobError: Nothing has mass, a budget that cannot be, or a ballast place or an alternative that makes no sense.
    """
    table = model.weights
    ledger, unseated = model.ledger(table)
    notes = (*model.notes, *table.notes, *model.need_notes(table), *unseated, *stage_notes(ledger.differences))
    report = balance_report(ledger, model.plan, notes=notes)
    budget = _budget(model, table, ledger)
    if budget is not None:
        report = replace(report, notes=(*report.notes, *budget.notes()))
    stations = stations_against_balance(model.named, report.loadings)
    return Balanced(table, report, cheapest_fixes(model, table, report), budget, stations, model.wires)


def _budget(model: Model, table: WeightTable, ledger: Ledger) -> Budget | None:
    """Return the budget with all that has mass, what has no place in the balance too; ballast is the least that does.

    What has no place and stood on the scale with the whole model is in that reading.
    """
    if model.budget is None:
        return None
    seated = {owner for entry in ledger.entries for owner in entry.owners}
    lost = {part.name for part in model.parts} - seated
    unseated = (*(entry for entry in model.masses(table).entries if entry.owners <= lost), *model.homeless)
    missing = [entry for entry in unseated if not was_on_scale_with_model(entry, model.readings)]
    flying = trimmed(ledger, model.plan).flying
    ballast = None if flying is None else [entry for entry in flying.entries if entry not in ledger.entries]
    return spent_budget(model.budget, (*ledger.entries, *missing), ballast)


def cheapest_fixes(model: Model, table: WeightTable, report: BalanceReport, *, most: int = 4) -> tuple[Fix, ...]:
    """Return ways into the balance range by what the model then weighs ready to fly, least first.

    Ballast alone, each alternative of the job, and another board for one part that is not cut yet.
    Whether that board has room is for nesting to say. Nothing is returned where the model is in its range.
    """
    if model.plan.limits is None or all(loading.is_in_range for loading in report.loadings):
        return ()
    alone = trimmed(report.ledger, model.plan)
    ballast = [] if alone.flying_mass is None else [Fix("ballast", alone.flying_mass, alone)]
    alternatives = [
        Fix("alternative", result.flying_mass, result.trim, alternative=result.name)
        for result in report.alternatives
        if result.flying_mass is not None
    ]
    limit_g = ballast[0].flying_mass.value - _LEAST_GAIN_G if ballast else float("inf")
    better = [fix for fix in (*alternatives, *_boards(model, table, report)) if fix.flying_mass.value < limit_g]
    return (*sorted(better, key=_mass)[: most - len(ballast)], *ballast)


def _mass(fix: Fix) -> float:
    return fix.flying_mass.value


def _boards(model: Model, table: WeightTable, report: BalanceReport) -> Iterator[Fix]:
    """Give the best other board of each part that is not cut yet, all its copies together."""
    options = sorted(_options(model, table, report), key=lambda option: -option[0])
    best: dict[str, Fix] = {}
    for _, part, board in options[:MOST_BOARDS_TRIED]:
        ledger, _ = model.ledger(_from_board(table, part, board))
        trim = trimmed(ledger, model.plan)
        if trim.flying_mass is None:
            continue
        fix = Fix("board", trim.flying_mass, trim, part, board)
        if part not in best or _mass(fix) < _mass(best[part]):
            best[part] = fix
    yield from best.values()


def _options(model: Model, table: WeightTable, report: BalanceReport) -> Iterator[tuple[float, str, str]]:
    """Give (how much mass and moment it changes, part, board) for every change of a board."""
    centre_mm = report.loadings[-1].balance.value
    for part in model.parts:
        if part.name in model.done or part.name not in model.seats:
            continue
        rows = table.of(part.name)
        now = next((row for row in rows if row.is_chosen), None)
        for row in rows:
            if part.boards and row.board not in part.boards:
                continue
            if now is not None and row.board != now.board and not row.is_substitute:
                arm_mm = abs(_station_mm(report.ledger, part.name) - centre_mm)
                yield abs(row.mass_g - now.mass_g) * part.copies * (1.0 + arm_mm), part.name, row.board


def _station_mm(ledger: Ledger, part: str) -> float:
    return next((entry.station.value for entry in ledger.entries if entry.part == part), 0.0)


def _from_board(table: WeightTable, part: str, board: str) -> WeightTable:
    return replace(table, weights=tuple(_as_chosen(table.weights, part, board)))


def _as_chosen(weights: Iterable[Weight], part: str, board: str) -> Iterator[Weight]:
    for weight in weights:
        yield weight if weight.part != part else replace(weight, is_chosen=weight.board == board)
