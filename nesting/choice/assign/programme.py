"""The choice as a mixed-integer programme, solved by `scipy.optimize.milp` (HiGHS).

For each unit i and board b a chain of binaries y(i, b, k), k = 1 … count, stands for 'at least k of it from
b'; ballast at each place is a continuous variable. Balance is linear in both: for every loading
low (W + B) <= M + B x <= high (W + B).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

import numpy as np

from nesting.balance.ballast import loadings

if TYPE_CHECKING:
    from scipy.sparse import csr_array
from nesting.choice.assign.choices import AssignProblem, Option
from nesting.choice.assign.oracle import Load, face_of, load
from nesting.choice.assign.pairs import matching
from nesting.choice.assign.room import RoomBound

Objective = Literal["light", "stiff"]
Row = dict[int, float]
_MASS_TIE = 1e-6
"""Weight of mass, per gram, beside stiffness: among equally stiff choices the lighter one wins."""


@dataclass(frozen=True, slots=True)
class Constraint:
    """low <= sum of coefficient x variable <= high; `group` says in words what it stands for."""

    row: Row
    low: float
    high: float
    group: str


@dataclass(frozen=True, slots=True)
class Solved:
    """One optimum: how many units of each part come from each board, ballast by place, and its value."""

    counts: Mapping[tuple[str, str], int]
    ballast_g: Mapping[str, float]
    value: float

    def load_of(self, board: str) -> Load:
        """Return what one board carries."""
        return load({part: count for (part, name), count in self.counts.items() if name == board})


def need_group(part: str) -> str:
    """Return the name of the group that keeps a part off the boards that do not suit it."""
    return f"what {part} asks for"


@dataclass
class Model:
    """Variables, constraints and objective of one assignment problem; cuts are added as nesting finds them."""

    problem: AssignProblem
    objective: Objective = "light"
    weight_limit_g: float | None = None
    bounds: tuple[RoomBound, ...] = ()
    constraints: list[Constraint] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.options: list[tuple[int, Option]] = [(i, o) for i, u in enumerate(self.problem.units) for o in u.options]
        self.column: dict[tuple[str, str, int], int] = {}
        for i, option in self.options:
            for k in range(1, self.problem.units[i].count + 1):
                self.column[option.part, option.board, k] = len(self.column)
        first = len(self.column)
        self.places = self.problem.plan.places
        self.place_column = {place.name: first + number for number, place in enumerate(self.places)}
        self.size = first + len(self.places)
        self.constraints += [
            *self._chains(),
            *self._every_piece(),
            *self._objections(),
            *self._space(),
            *self._balance(),
            *self._weight(),
            *self._couples(),
        ]

    def cells(self, option: Option) -> list[int]:
        """Return the columns of one option, in the order of k."""
        count = self.problem.unit(option.part).count
        return [self.column[option.part, option.board, k] for k in range(1, count + 1)]

    def _spread(self, value: Mapping[int, float]) -> Row:
        """Return a row with a value per option on each of its columns."""
        return {c: value[n] for n, (_, o) in enumerate(self.options) if value[n] for c in self.cells(o)}

    def _chains(self) -> Iterable[Constraint]:
        for _, option in self.options:
            cells = self.cells(option)
            for before, after in pairwise(cells):
                yield Constraint({before: 1.0, after: -1.0}, 0.0, math.inf, "order")

    def _every_piece(self) -> Iterable[Constraint]:
        for unit in self.problem.units:
            row = {cell: 1.0 for option in unit.options for cell in self.cells(option)}
            yield Constraint(row, unit.count, unit.count, f"part {unit.part.name}")

    def _objections(self) -> Iterable[Constraint]:
        for _, option in self.options:
            if option.objection is not None:
                row = dict.fromkeys(self.cells(option), 1.0)
                yield Constraint(row, 0.0, 0.0, need_group(option.part))

    def _couples(self) -> Iterable[Constraint]:
        """Yield for every couple and every two boards that differ too much: not one piece from each."""
        boards = {board.name: board for board in self.problem.boards}
        for couple in self.problem.couples:
            mine, theirs = ([o for _, o in self.options if o.part == part] for part in (couple.left, couple.right))
            for one in mine:
                matches = matching(couple, boards[one.board], boards.values(), wood=self.problem.wood)
                for other in theirs:
                    if other.board not in matches:
                        cells = (self.column[one.part, one.board, 1], self.column[other.part, other.board, 1])
                        yield Constraint(dict.fromkeys(cells, 1.0), -math.inf, 1.0, f"the match of {couple.pair}")

    def _space(self) -> Iterable[Constraint]:
        for bound in self.bounds:
            for board, room in bound.room.items():
                here = [option for _, option in self.options if option.board == board]
                row = {cell: bound.need[o.part] for o in here for cell in self.cells(o) if bound.need[o.part] > 0}
                if sum(row.values()) > room:
                    yield Constraint(row, -math.inf, room, f"room on {board}")

    def _balance(self) -> Iterable[Constraint]:
        plan, fixed = self.problem.plan, self.problem.fixed
        mass = {n: option.located_g for n, (_, option) in enumerate(self.options)}
        for limits, kind, words in (
            (plan.limits, "station", "balance range"),
            (plan.lateral, "lateral", "lateral target"),
        ):
            if limits is None:
                continue
            is_station = kind == "station"
            moment = {n: o.moment_g_mm if is_station else o.lateral_g_mm for n, (_, o) in enumerate(self.options)}
            for share in loadings(fixed):
                base_mass = fixed.mass(fuel_share=share).value
                base = (fixed.moment if is_station else fixed.lateral_moment)(fuel_share=share).value
                for limit, sign in ((limits.low_mm, 1.0), (limits.high_mm, -1.0)):
                    row = self._spread({n: sign * (moment[n] - limit * mass[n]) for n in moment})
                    for place in self.places:
                        arm = place.station_mm if is_station else place.lateral_mm
                        row[self.place_column[place.name]] = sign * (arm - limit)
                    yield Constraint(row, sign * (limit * base_mass - base), math.inf, words)

    def _weight(self) -> Iterable[Constraint]:
        if self.weight_limit_g is not None:
            yield Constraint(self._mass_row(), -math.inf, self.weight_limit_g - self.fixed_mass_g(), "weight limit")

    def _mass_row(self) -> Row:
        row = self._spread({n: option.mass_g for n, (_, option) in enumerate(self.options)})
        return row | dict.fromkeys(self.place_column.values(), 1.0)

    def fixed_mass_g(self) -> float:
        """Return what is in the ledger besides the parts, with the tank full."""
        return self.problem.fixed.mass().value if self.problem.fixed.entries else 0.0

    def costs(self) -> np.ndarray:
        """Return the objective to be made small: mass with ballast, or minus the mean stiffness share."""
        cost = np.zeros(self.size)
        if self.objective == "light":
            for cell, mass in self._mass_row().items():
                cost[cell] = mass
            return cost
        pieces = sum(unit.count for unit in self.problem.units)
        shares = self._spread({n: -option.stiffness_share / pieces for n, (_, option) in enumerate(self.options)})
        for cell, share in shares.items():
            cost[cell] = share
        for cell, mass in self._mass_row().items():
            cost[cell] += _MASS_TIE * mass
        return cost

    def balance_of(self, solved: Solved, *, is_station: bool) -> float | None:
        """Return where a solution balances with the tank full, in mm; None when nothing has a station."""
        fixed = self.problem.fixed
        mass, moment = fixed.mass().value, (fixed.moment if is_station else fixed.lateral_moment)().value
        for _, option in self.options:
            count = solved.counts.get((option.part, option.board), 0)
            mass += count * option.located_g
            moment += count * (option.moment_g_mm if is_station else option.lateral_g_mm)
        for place in self.places:
            mass += solved.ballast_g[place.name]
            moment += solved.ballast_g[place.name] * (place.station_mm if is_station else place.lateral_mm)
        return moment / mass if mass > 0 else None

    def forbid(self, board_name: str, core: Load) -> None:
        """Add the cut that a load and all that hold it do not fit, on this board and on every one with its face."""
        face = face_of(self.problem.board(board_name))
        for board in self.problem.boards:
            columns = [self.column.get((part, board.name, count)) for part, count in core]
            if face_of(board) == face and None not in columns:
                row = {column: 1.0 for column in columns if column is not None}
                self.constraints.append(Constraint(row, -math.inf, len(row) - 1.0, f"nesting on {board.name}"))

    def demand_change(self, solved: Solved, differing: int) -> None:
        """Add the cut that at least so many pieces come from another board than in a solution."""
        taken = [
            self.column[part, board, k] for (part, board), count in solved.counts.items() for k in range(1, count + 1)
        ]
        self.constraints.append(Constraint(dict.fromkeys(taken, 1.0), -math.inf, len(taken) - differing, "difference"))

    def groups(self) -> tuple[str, ...]:
        """Return the groups of constraints that may be relaxed, in a fixed order."""
        kept = ("order", "difference")
        return tuple(
            sorted({c.group for c in self.constraints if c.group not in kept and not c.group.startswith("part ")})
        )

    def evaluated(self, counts: Mapping[tuple[str, str], int], *, time_limit_s: float) -> Solved | None:
        """Return the given choice of boards with the ballast it needs, or None if it breaks a constraint."""
        fixed = {
            column: 1.0 if k <= counts.get((part, board), 0) else 0.0
            for (part, board, k), column in self.column.items()
        }
        try:
            return self.solve(time_limit_s=time_limit_s, fixed=fixed)
        except TimeoutError:
            return None

    def solve(
        self,
        *,
        without: frozenset[str] = frozenset(),
        time_limit_s: float = 30.0,
        fixed: Mapping[int, float] | None = None,
        room_share: float = 1.0,
    ) -> Solved | None:
        """Return the optimum, leaving out constraints of the named groups; None when there is none.

        `fixed` holds columns at given values; `room_share` shrinks the room on every board.

        Raises:
            TimeoutError: The solver did not finish in time.
        """
        from scipy.optimize import Bounds, LinearConstraint, milp  # slow to load

        used = [constraint for constraint in self.constraints if constraint.group not in without]
        matrix, low, high = _matrix(used, self.size)
        high = np.where([c.group.startswith("room on ") for c in used], high * room_share, high) if used else high
        upper = np.ones(self.size)
        for place in self.places:
            upper[self.place_column[place.name]] = place.most_g
        lower = np.zeros(self.size)
        for column, value in (fixed or {}).items():
            lower[column] = upper[column] = value
        integrality = np.ones(self.size, dtype=np.int64)
        integrality[list(self.place_column.values())] = 0
        cost = self.costs()
        result = milp(
            cost,
            constraints=LinearConstraint(matrix, low, high) if used else None,
            integrality=integrality,
            bounds=Bounds(lower, upper),
            options={"time_limit": time_limit_s, "mip_rel_gap": 0.0},
        )
        if result.status == 1:
            raise TimeoutError
        return None if result.x is None else self._solved(result.x, cost)

    def _solved(self, x: np.ndarray, cost: np.ndarray) -> Solved:
        counts: dict[tuple[str, str], int] = {}
        for (part, board, _), column in self.column.items():
            if x[column] > 0.5:
                counts[part, board] = counts.get((part, board), 0) + 1
        ballast = {name: max(0.0, float(x[column])) for name, column in self.place_column.items()}
        exact = np.where(np.arange(self.size) < len(self.column), np.round(x), x)
        return Solved(counts, ballast, float(cost @ exact))


def _matrix(constraints: list[Constraint], size: int) -> tuple[csr_array, np.ndarray, np.ndarray]:
    from scipy.sparse import csr_array

    rows, columns, values = [], [], []
    for number, constraint in enumerate(constraints):
        for column, value in constraint.row.items():
            rows.append(number)
            columns.append(column)
            values.append(value)
    matrix = csr_array((values, (rows, columns)), shape=(len(constraints), size))
    return matrix, np.array([c.low for c in constraints]), np.array([c.high for c in constraints])
