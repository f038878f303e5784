"""Time to share 40 parts among 12 boards with nesting checks: `python -m tests.benchmarks.assign [SEED …]`.

Asked for: under 30 s on two cores. Says quality and time together: flying weight, how far it can be from the
best, rounds of the programme, nestings tried. The first nesting of a process compiles its kernels or loads
them; that is timed apart.
"""

from __future__ import annotations

import platform
import random
import sys
import time

from nesting.balance import BallastPlace, Ledger, Range, Seat, entry
from nesting.balance.balance_report import BalancePlan
from nesting.choice.assign import assign_boards, make_problem, nesting_lay
from nesting.place.layout_rules import NestRules
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline

RULES = NestRules()


def shape(rng: random.Random, length: float, width: float) -> Outline:
    """A tapered panel with one corner cut, such as ribs, tips and tail halves are."""
    tip = rng.uniform(0.4, 1.0)
    return Outline.from_points(
        [
            (0, 0),
            (length, width * (1 - tip) / 2),
            (length, width * (1 + tip) / 2),
            (length * 0.2, width),
            (0, width * 0.8),
        ]
    )


def case(seed: int):
    """40 parts of three thicknesses and a rack of 12 boards, a light, two middling and a heavy one of each."""
    rng = random.Random(seed)
    parts, seats = [], {}
    for number in range(40):
        thickness = (2.0, 3.0, 5.0)[number % 3]
        length, width = rng.uniform(120, 420), rng.uniform(25, 95)
        parts.append(Part(f"part {number}", shape(rng, length, width), "balsa", thickness))
        seats[f"part {number}"] = Seat(station_mm=rng.uniform(0, 700))
    boards = [
        Board(f"{thickness:g} mm {word}", "balsa", thickness, 1000, 100, mass_g=round(0.1 * thickness * density, 1))
        for thickness in (2.0, 3.0, 5.0)
        for word, density in (("light", 95), ("fair", 120), ("middling", 145), ("heavy", 190))
    ]
    fixed = Ledger((entry("engine", 60, -40), entry("fuel", 30, 40, is_fuel=True), entry("gear", 25, 90)))
    plan = BalancePlan(limits=Range(150, 180), places=(BallastPlace("nose", -60), BallastPlace("tail", 680)))
    return make_problem(parts, boards, seats=seats, fixed=fixed, plan=plan)


def main() -> None:
    seeds = [int(word) for word in sys.argv[1:]] or [1, 2, 3]
    print(f"{platform.processor() or platform.machine()}, Python {platform.python_version()}")
    lay = nesting_lay(RULES)
    started = time.perf_counter()
    problem = case(0)
    lay([problem.units[0].part], problem.board("2 mm light"))
    print(f"first nesting (compiling or loading kernels): {time.perf_counter() - started:.1f} s")
    for seed in seeds:
        started = time.perf_counter()
        report = assign_boards(case(seed), lay=lay, rules=RULES, best=1, time_limit_s=28.0)
        best = report.best[0]
        quality = "proved" if report.is_proved else f"within {report.gap:.2f} g"
        print(
            f"seed {seed}: {best.flying_mass_g:.1f} g, {quality}, {len(best.layouts)} boards, "
            f"{report.rounds} rounds, {report.nestings} nestings, {time.perf_counter() - started:.1f} s"
        )


if __name__ == "__main__":
    main()
