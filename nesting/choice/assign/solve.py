"""Which part from which board: solve, nest, cut off what does not truly fit, and solve again."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import replace

from nesting.balance.ballast import loadings
from nesting.balance.ledger import Entry, entry
from nesting.choice.assign.assignment import Assignment, AssignReport, Given
from nesting.choice.assign.choices import AssignProblem, Option
from nesting.choice.assign.explain import bindings, what_to_relax
from nesting.choice.assign.oracle import Lay, Oracle
from nesting.choice.assign.pairs import PairResult, mismatch
from nesting.choice.assign.programme import Model, Objective, Solved
from nesting.choice.assign.room import room_bounds
from nesting.choice.assign.search import Outcome, Search
from nesting.place.layout import BoardLayout
from nesting.place.layout_rules import NestRules
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.basics.errors import NoSolutionError, NothingFoundError
from vectorize.basics.notes import Note

TOLERANCE = {"light": 0.01, "stiff": 1e-4}
"""An assignment counts as best when none can be better by more: grams, or share of stiffness."""
_SMALL_G = 1e-6
_SHARE_FOR_OTHERS, _SHARE_FOR_REASONS = 0.3, 0.1
"""Shares of the time kept for assignments that differ from the best, and for finding out what binds."""


def nesting_lay(rules: NestRules, *, seed: int = 0, max_sweeps: int | None = 0) -> Lay:
    """Return a `Lay` that asks the nesting engine."""

    def lay(parts: list[Part], board: Board) -> BoardLayout | None:
        from nesting.place.nest_parts import nest_parts

        try:
            layout = nest_parts(parts, [board], rules=rules, max_sweeps=max_sweeps, time_limit_s=None, seed=seed)
        except (NoSolutionError, NothingFoundError):
            return None
        is_sound = layout.proof.is_proved or bool(layout.unplaced)  # the proof of a part layout names what is missing
        return layout.boards[0] if is_sound and layout.boards else None

    return lay


def assign_boards(
    problem: AssignProblem,
    *,
    lay: Lay,
    rules: NestRules | None = None,
    objective: Objective = "light",
    weight_limit_g: float | None = None,
    best: int = 3,
    differing: int | None = None,
    time_limit_s: float = 60.0,
    tolerance: float | None = None,
    oracle: Oracle | None = None,
) -> AssignReport:
    """Return the best assignments of parts to boards, each with layouts that nesting found.

    Args:
        problem: Parts, boards, needs and balance as numbers.
        lay: Lays parts on a board; see `nesting_lay`.
        rules: Gap and margins, for a bound on how much a board can hold at all; without them only `lay` decides.
        objective: Least total weight with ballast (`light`), or greatest mean stiffness (`stiff`).
        weight_limit_g: Greatest flying weight, ballast included.
        best: How many assignments to return at most.
        differing: By how many units each must differ from those before it; by default a fifth of all.
        time_limit_s: For the whole search.
        tolerance: Stop when none can be better by more; default `TOLERANCE`.
        oracle: Remembered answers of `lay`; a new one by default.

    Raises:
        NoSolutionError: No assignment meets the constraints, with what to relax.
        NothingFoundError: None was found in the time allowed.
    """
    from nesting.place.nest_parts import compile_kernels

    compile_kernels()
    deadline = time.monotonic() + time_limit_s
    ask = oracle or Oracle(lay, lambda part, board, count: problem.unit(part).on(board, count))
    bounds = room_bounds([unit.part for unit in problem.units], problem.boards, rules) if rules is not None else ()
    model = Model(problem, objective, weight_limit_g, bounds)
    search = Search(model, ask, TOLERANCE[objective] if tolerance is None else tolerance)
    kept = _SHARE_FOR_REASONS + (_SHARE_FOR_OTHERS if best > 1 else 0.0)
    first = search.run(deadline - kept * time_limit_s)
    if first.best is None:
        raise _nothing(first, model)
    tight = bindings(model, first.best, is_proved=first.is_proved, time_limit_s=_SHARE_FOR_REASONS * time_limit_s)
    found = [first.best]
    while len(found) < best and time.monotonic() < deadline:
        model.demand_change(found[-1], differing or max(1, round(0.2 * sum(unit.count for unit in problem.units))))
        other = search.run(deadline).best
        if other is None:
            break
        found.append(other)
    found.sort(key=lambda solved: solved.value)
    return AssignReport(
        best=tuple(_assignment(problem, ask, solved) for solved in found),
        is_proved=first.is_proved,
        gap=first.gap,
        bindings=tight,
        notes=(*problem.notes, *_notes(first, objective)),
        rounds=search.rounds,
        nestings=ask.asked,
    )


def _nothing(outcome: Outcome, model: Model) -> NoSolutionError | NothingFoundError:
    if outcome.is_late:
        return NothingFoundError(
            "no assignment was found in the time allowed; give more time, add a board, or relax what the parts ask for."
        )
    return NoSolutionError(what_to_relax(model))


def _notes(outcome: Outcome, objective: Objective) -> Iterator[Note]:
    if outcome.is_late:
        gap = f"{outcome.gap:.1f} g lighter" if objective == "light" else f"{outcome.gap:.1%} stiffer"
        yield Note(
            "cut-short", f"time ran out; an assignment up to {gap} may exist. Give more time to find it.", "open"
        )


def _assignment(problem: AssignProblem, oracle: Oracle, solved: Solved) -> Assignment:
    chosen = [(option, count) for option, count in _chosen(problem, solved)]
    places = {place.name: place for place in problem.plan.places}
    extra: list[Entry] = [
        entry("ballast", grams, places[name].station_mm, what=name, lateral=places[name].lateral_mm)
        for name, grams in solved.ballast_g.items()
        if grams > _SMALL_G
    ]
    flying = problem.fixed.with_entries(*extra)
    wood_g = sum(option.mass_g * count for option, count in chosen)
    pieces = sum(count for _, count in chosen)
    return Assignment(
        given=tuple(_given(problem, option, count) for option, count in chosen),
        ballast_g=tuple((name, grams) for name, grams in solved.ballast_g.items() if grams > _SMALL_G),
        flying_mass_g=wood_g + (flying.mass().value if flying.entries else 0.0),
        balance_mm=_balances(flying.entries, chosen, loadings(problem.fixed)),
        stiffness_share=sum(option.stiffness_share * count for option, count in chosen) / pieces,
        layouts=tuple(_layouts(problem, oracle, solved)),
        pairs=tuple(_pairs(problem, chosen)),
    )


def _pairs(problem: AssignProblem, chosen: Sequence[tuple[Option, int]]) -> Iterator[PairResult]:
    """Yield each pair with its boards, the couple that differs most, and the moment of all its pieces."""
    for pair in dict.fromkeys(couple.pair for couple in problem.couples):
        couples = [couple for couple in problem.couples if couple.pair == pair]
        given = [(_on(chosen, couple.left), _on(chosen, couple.right)) for couple in couples]
        met = [(one.board, other.board) for mine, theirs in given for one, _ in mine for other, _ in theirs]
        if not met:
            continue  # one of the two is cut already
        apart = (mismatch(problem.board(one), problem.board(other), wood=problem.wood) for one, other in met)
        pieces = [piece for mine, theirs in given for piece in (*mine, *theirs)]
        is_seated = all(option.lateral_g_mm for option, _ in pieces)
        moment = sum(option.lateral_g_mm * count for option, count in pieces) if is_seated else None
        arm = couples[0].tip_arm_mm
        tip = None if moment is None or not arm else abs(moment) / arm
        yield PairResult(pair, tuple(dict.fromkeys(met)), max(apart, key=lambda one: one.worst), moment, tip)


def _on(chosen: Sequence[tuple[Option, int]], part: str) -> list[tuple[Option, int]]:
    return [(option, count) for option, count in chosen if option.part == part]


def _chosen(problem: AssignProblem, solved: Solved) -> Iterator[tuple[Option, int]]:
    for unit in problem.units:
        for option in unit.options:
            if count := solved.counts.get((option.part, option.board), 0):
                yield option, count


def _given(problem: AssignProblem, option: Option, count: int) -> Given:
    part = problem.unit(option.part).part
    return Given(option.part, option.board, count * part.copies // part.count, option.mass_g * count)


def _balances(
    entries: Sequence[Entry], chosen: Sequence[tuple[Option, int]], shares: Sequence[float]
) -> tuple[float, ...]:
    points = []
    for share in shares:
        weights = [(e.mass.value * (share if e.is_fuel else 1.0), e.station.value) for e in entries]
        mass = sum(w for w, _ in weights) + sum(option.located_g * count for option, count in chosen)
        moment = sum(w * x for w, x in weights) + sum(option.moment_g_mm * count for option, count in chosen)
        if mass > 0:
            points.append(moment / mass)
    return tuple(points)


def _layouts(problem: AssignProblem, oracle: Oracle, solved: Solved) -> Iterator[BoardLayout]:
    """Yield each board's layout, copies numbered on from board to board."""
    given: dict[str, int] = {}
    for board in problem.boards:
        wanted = solved.load_of(board.name)
        layout = oracle.layout(board, wanted) if wanted else None
        if layout is None:
            continue
        yield replace(
            layout,
            board=board.name,
            placements=tuple(replace(p, copy=p.copy + given.get(p.part, 0)) for p in layout.placements),
        )
        for part, count in wanted:
            made = oracle.make(part, board, count).copies
            given[part] = given.get(part, 0) + made
