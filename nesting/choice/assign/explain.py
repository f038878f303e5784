"""Why an assignment is not better, and what to relax when there is none."""

from __future__ import annotations

import time
from collections.abc import Mapping

from nesting.choice.assign.assignment import Binding
from nesting.choice.assign.programme import Model, Solved, need_group
from vectorize.basics.units import format_length

_LEAST_GAIN = {"light": 0.05, "stiff": 0.005}
"""What is gained by less is not told: grams, or share of stiffness."""
_TIME_S = 5.0


def bindings(model: Model, best: Solved, *, is_proved: bool, time_limit_s: float) -> tuple[Binding, ...]:
    """Return the groups of constraints without which the best would be better, with the gain, greatest first.

    Room on a board counts together with what nesting found on it. The gain is what the programme says
    without the group; whether the parts would then truly fit is not tried. Where the best is not proved,
    the gain is counted from what the programme holds possible with the group.
    """
    deadline = time.monotonic() + time_limit_s
    found = []
    try:
        base = best if is_proved else model.solve(time_limit_s=time_limit_s)
        for words, groups in _reasons(model).items():
            without = model.solve(without=groups, time_limit_s=max(0.05, deadline - time.monotonic()))
            gain = base.value - without.value if without is not None and base is not None else 0.0
            if gain > _LEAST_GAIN[model.objective]:
                found.append(Binding(words, gain, "g" if model.objective == "light" else "share"))
    except TimeoutError:
        pass  # what was found till then is told
    return tuple(sorted(found, key=lambda binding: -binding.gain))


def what_to_relax(model: Model) -> str:
    """Return a sentence for a problem without solution: each constraint that alone stands in the way."""
    ways = []
    for words, groups in _reasons(model).items():
        try:
            without = model.solve(without=groups, time_limit_s=_TIME_S)
        except TimeoutError:
            continue
        if without is not None:
            ways.append(_way(model, words, without))
    if not ways:
        return (
            "no assignment meets all constraints, and relaxing no single one helps; "
            "add boards, or relax the balance range together with what the parts ask for."
        )
    return f"no assignment meets all constraints; it helps to {', or to '.join(ways)}."


def _reasons(model: Model) -> Mapping[str, frozenset[str]]:
    """Return constraints as a builder sees them: words, and the groups that belong together."""
    reasons: dict[str, frozenset[str]] = {}
    for group in model.groups():
        words = group
        if group.startswith(("room on ", "nesting on ")):
            board = model.problem.board(group.split(" on ", 1)[1])
            words = f"room on {format_length(board.thickness_mm)} {board.material}"
        elif group.startswith("what "):
            words = _need_words(model, group)
        reasons[words] = reasons.get(words, frozenset()) | {group}
    return reasons


def _need_words(model: Model, group: str) -> str:
    why = [o.objection for _, o in model.options if o.objection and need_group(o.part) == group]
    return f"{group} ({'; '.join(why)})"


def _way(model: Model, words: str, without: Solved) -> str:
    if words == "weight limit":
        lightest = Model(model.problem, "light", None, model.bounds)
        lightest.constraints += [c for c in model.constraints if c.group.startswith("nesting on ")]
        solved = lightest.solve(time_limit_s=_TIME_S)
        if solved is not None and model.weight_limit_g is not None:
            over = solved.value + lightest.fixed_mass_g() - model.weight_limit_g
            return f"raise the weight limit by {max(over, 0.0):.1f} g"
    if words in ("balance range", "lateral target"):
        return f"widen the {words} or add a place for ballast{_miss(model, without, words)}"
    if words.startswith("room on "):
        return f"add a board: there is not enough {words}"
    return f"relax {words}"


def _miss(model: Model, without: Solved, words: str) -> str:
    """Return how far outside its range the model would balance."""
    plan, is_station = model.problem.plan, words == "balance range"
    limits = plan.limits if is_station else plan.lateral
    point = model.balance_of(without, is_station=is_station)
    if limits is None or point is None or limits.holds(point):
        return ""
    miss = limits.low_mm - point if point < limits.low_mm else point - limits.high_mm
    return f" (without it the balance lies {miss:.1f} mm outside)"
