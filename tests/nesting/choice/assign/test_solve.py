import itertools
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.balance.balance_report import BalancePlan
from nesting.balance.ballast import BallastPlace, Range, best_ballast
from nesting.balance.ledger import Ledger, entry
from nesting.balance.station import Seat
from nesting.choice.assign import Oracle, assign_boards, make_problem, nesting_lay
from nesting.choice.assign.oracle import load
from nesting.place.layout import BoardLayout, Placement
from nesting.place.layout_rules import NestRules
from nesting.place.proof import prove_layout
from nesting.wood.board import Board
from nesting.wood.needs import Need, Substitute
from nesting.wood.part import Part
from vectorize.basics.errors import NoSolutionError, NothingFoundError, PartError
from vectorize.shapes.outline import Outline, Pose


def shelves(parts: list[Part], board: Board) -> BoardLayout | None:
    """A simple nesting, quick and imperfect: boxes on shelves across the board, largest first."""
    boxes = sorted(((p.outline.size_mm, p.name, c) for p in parts for c in range(1, p.copies + 1)), reverse=True)
    placements, x, y, deep = [], 0.0, 0.0, 0.0
    for (length, width), name, copy in boxes:
        if y + width > board.width_mm:
            x, y, deep = x + deep, 0.0, 0.0
        if width > board.width_mm or x + length > board.length_mm:
            return None
        placements.append(Placement(name, copy, Pose(x, y)))
        y, deep = y + width, max(deep, length)
    return BoardLayout(board.name, tuple(placements), 0.5, x + deep)


def part(name: str, length: float, width: float, **more) -> Part:
    return Part(name, Outline.rectangle(0, 0, length, width), "balsa", 3.0, **more)


def board(name: str, mass_per_dm2: float, length: float = 300.0, width: float = 100.0) -> Board:
    return Board(name, "balsa", 3.0, length, width, mass_g=mass_per_dm2 * length * width / 1e4)


def brute_force(problem, oracle, *, objective="light", weight_limit_g=None):
    """Every way to share the units among the boards; the value of the best that fits and balances."""
    choices = [
        list(itertools.combinations_with_replacement([o for o in unit.options if o.objection is None], unit.count))
        for unit in problem.units
    ]
    best = None
    for combination in itertools.product(*choices):
        options = [option for group in combination for option in group]
        loads: dict[str, dict[str, int]] = {}
        for option in options:
            held = loads.setdefault(option.board, {})
            held[option.part] = held.get(option.part, 0) + 1
        if not all(oracle.fits(problem.board(name), load(held)) for name, held in loads.items()):
            continue
        wood = tuple(entry(o.part, o.mass_g, o.moment_g_mm / o.mass_g, stage="cut") for o in options)
        ledger = Ledger((*problem.fixed.entries, *wood))
        mass = ledger.mass().value
        if problem.plan.limits is not None:
            ballast = best_ballast(ledger, problem.plan.limits, problem.plan.places)
            if ballast is None or ballast.least is None:
                continue
            mass += ballast.least.value
        if weight_limit_g is not None and mass > weight_limit_g + 1e-9:
            continue
        value = mass if objective == "light" else -sum(o.stiffness_share for o in options) / len(options)
        best = value if best is None else min(best, value)
    return best


def random_case(seed: int, *, with_balance: bool):
    rng = random.Random(seed)
    parts = [
        part(f"p{i}", rng.choice([60, 90, 120, 150]), rng.choice([30, 45, 60, 100]), count=rng.choice([1, 1, 1, 2]))
        for i in range(rng.randint(2, 4))
    ]
    boards = [
        board(f"B{i}", rng.uniform(3, 8), length=rng.choice([150.0, 200.0, 300.0])) for i in range(rng.randint(2, 3))
    ]
    seats = {p.name: Seat(station_mm=rng.uniform(0, 600)) for p in parts}
    fixed = Ledger((entry("engine", 60, -40), entry("rest", 40, 100), entry("fuel", 10, 20, is_fuel=True)))
    plan = None
    if with_balance:
        low = rng.uniform(20, 100)
        places = (BallastPlace("nose", -60, most_g=rng.choice([15, 200])),)
        if rng.random() < 0.5:
            places = (*places, BallastPlace("tail", 600))
        # One place at a time is what the brute force tries, so the programme may use no more than one.
        plan = BalancePlan(limits=Range(low, low + rng.uniform(15, 40)), places=places)
    return make_problem(parts, boards, seats=seats, fixed=fixed, plan=plan)


VALUE_TOL = 1e-5  # grams: the tolerance of the solver in its constraints


@pytest.mark.parametrize("with_balance", [False, True])
@pytest.mark.parametrize("seed", range(12))
def test_the_optimum_is_that_of_brute_force_with_the_same_nesting(seed, with_balance):
    problem = random_case(seed, with_balance=with_balance)
    oracle = Oracle(shelves, lambda name, b, count: problem.unit(name).on(b, count))
    try:
        report = assign_boards(problem, lay=shelves, oracle=oracle, best=1, tolerance=0.0)
    except NoSolutionError:
        report = None
    expected = brute_force(problem, oracle)
    if report is None:
        assert expected is None
    else:
        assert report.is_proved
        assert report.best[0].flying_mass_g == pytest.approx(expected, abs=VALUE_TOL)


@pytest.mark.parametrize("seed", range(20, 26))
def test_the_stiffest_within_a_weight_limit_is_that_of_brute_force(seed):
    problem = random_case(seed, with_balance=False)
    oracle = Oracle(shelves, lambda name, b, count: problem.unit(name).on(b, count))
    lightest = brute_force(problem, oracle)
    if lightest is None:
        pytest.skip("nothing fits in this case")
    limit = lightest + 3.0
    report = assign_boards(
        problem, lay=shelves, oracle=oracle, objective="stiff", weight_limit_g=limit, best=1, tolerance=0.0
    )
    expected = brute_force(problem, oracle, objective="stiff", weight_limit_g=limit)
    assert report.best[0].stiffness_share == pytest.approx(
        -expected, abs=1e-4
    )  # the tie-break on mass weighs 1e-6 a gram
    assert report.best[0].flying_mass_g <= limit + VALUE_TOL


TIGHT = NestRules(kerf_mm=0.0, clearance_mm=0.0, ends_mm=0.0, edges_mm=0.0)


def small(plan=None, needs=None, **more):
    parts = [part("rib", 140, 50), part("fin", 140, 50), part("tip", 140, 50)]
    boards = [board("L", 3.0, 150.0, 100.0), board("H", 6.0, 300.0, 100.0)]
    seats = {p.name: Seat(station_mm=s) for p, s in zip(parts, (100, 500, 100), strict=True)}
    fixed = Ledger((entry("engine", 60, -40), entry("rest", 60, 150)))
    return make_problem(parts, boards, seats=seats, fixed=fixed, plan=plan, needs=needs, **more)


def test_what_does_not_fit_on_the_light_board_goes_to_the_heavy_one_and_the_report_says_why():
    report = assign_boards(small(), lay=shelves, best=1)
    (assignment,) = report.best
    assert sorted(g.board for g in assignment.given) == ["H", "L", "L"]
    assert report.bindings[0].what.startswith("room on 3.0 mm")
    assert report.bindings[0].gain == pytest.approx(0.7 * 3.0)  # 0.7 dm2 at 3 g/dm2 less
    assert "binds: without it the best would be 2.1 g lighter" in report.bindings[0].text


def test_the_light_board_goes_to_the_tail_when_ballast_counts():
    # Balance is at the limit: every gram at the fin costs more in the nose than a gram at the rib.
    plan = BalancePlan(limits=Range(40, 70), places=(BallastPlace("nose", -60),))
    (assignment,) = assign_boards(small(plan), lay=shelves, best=1).best
    assert assignment.board_of("fin") == ("L",)
    assert assignment.balance_mm[0] <= 70 + 1e-6


def test_the_next_best_differ_and_come_in_order():
    report = assign_boards(small(), lay=shelves, best=3)
    choices = {tuple((g.part, g.board) for g in a.given) for a in report.best}
    assert len(choices) == len(report.best) == 3
    masses = [a.flying_mass_g for a in report.best]
    assert masses == sorted(masses)


def test_what_a_part_asks_for_is_kept_and_what_it_costs_is_told():
    needs = {"fin": Need(density_kg_m3=(150, 300))}
    report = assign_boards(small(needs=needs), lay=shelves, best=1)
    assert report.best[0].board_of("fin") == ("H",)
    tight = small(needs={name: Need(density_kg_m3=(150, 300)) for name in ("fin", "rib")})
    told = assign_boards(tight, lay=shelves, best=1).bindings
    assert any(b.what.startswith("what fin asks for (L is 100 kg/m3") for b in told)


def test_a_tie_is_kept():
    parts = [part("rib", 140, 50, board="H"), part("fin", 140, 50)]
    problem = make_problem(parts, [board("L", 3.0), board("H", 6.0)])
    assert assign_boards(problem, lay=shelves, best=1).best[0].board_of("rib") == ("H",)


def test_a_substitute_is_taken_where_it_is_lighter():
    ply = Board("P", "birch ply", 0.8, 300, 100, mass_g=10.0)
    problem = make_problem(
        [part("doubler", 140, 50)],
        [board("H", 6.0), ply],
        needs={"doubler": Need(substitutes=(Substitute("ply", 0.8),))},
    )
    assert assign_boards(problem, lay=shelves, best=1).best[0].board_of("doubler") == ("P",)


def test_halves_of_a_pair_come_from_one_board():
    problem = make_problem(
        [part("wing", 140, 50, hand="pair"), part("fin", 140, 50)], [board("L", 3.0, 150), board("H", 6.0)]
    )
    (assignment,) = assign_boards(problem, lay=shelves, best=1).best
    wing = [g for g in assignment.given if g.part == "wing"]
    assert [(g.board, g.pieces) for g in wing] == [("L", 2)]


@pytest.mark.parametrize(
    ("plan", "needs", "options", "words"),
    [
        (
            BalancePlan(limits=Range(300, 310)),
            None,
            {},
            "widen the balance range or add a place for ballast (without it",
        ),
        (None, {"fin": Need(density_kg_m3=(300, 400))}, {}, "relax what fin asks for (L is 100 kg/m3"),
        (None, None, {"objective": "stiff", "weight_limit_g": 100.0}, "raise the weight limit by"),
    ],
)
def test_when_nothing_works_the_message_says_what_to_relax(plan, needs, options, words):
    with pytest.raises(NoSolutionError) as caught:
        assign_boards(small(plan, needs), lay=shelves, **options)
    assert words in str(caught.value)


def test_too_little_wood_asks_for_a_board():
    parts = [part(f"p{i}", 140, 50) for i in range(8)]
    with pytest.raises(NoSolutionError, match=r"add a board: there is not enough room on 3\.0 mm"):
        assign_boards(make_problem(parts, [board("L", 3.0, 150), board("H", 6.0)]), lay=shelves, rules=TIGHT)


def test_two_obstacles_at_once_are_told_as_such():
    plan = BalancePlan(limits=Range(300, 310))
    with pytest.raises(NoSolutionError, match="relaxing no single one helps"):
        assign_boards(small(plan, {"fin": Need(density_kg_m3=(300, 400))}), lay=shelves)


def test_no_time_is_not_the_same_as_no_solution():
    with pytest.raises(NothingFoundError):
        assign_boards(small(), lay=shelves, time_limit_s=0.0)


def test_a_search_cut_short_gives_its_best_and_how_much_better_another_may_be():
    hard = make_problem(
        [part(f"p{i}", 60 + 7 * i, 20 + 5 * i) for i in range(9)], [board("L", 3.0, 150), board("H", 6.0, 600)]
    )
    calls = itertools.count()

    def lay(parts, b):
        if next(calls) == 40:  # time runs out in the middle of the search, whatever the machine
            raise TimeoutError
        return shelves(parts, b)

    report = assign_boards(hard, lay=lay, best=1)
    assert not report.is_proved
    assert 0 < report.gap < float("inf")
    assert [note.code for note in report.notes] == ["cut-short"]
    assert "g lighter may exist" in report.notes[0].text


def test_a_part_that_no_board_could_ever_make_is_refused_at_once():
    with pytest.raises(PartError, match=r"only in 3\.0 mm"):
        make_problem([Part("x", Outline.rectangle(0, 0, 50, 50), "balsa", 5.0)], [board("L", 3.0)])


@settings(max_examples=20, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 3), st.integers(0, 3), st.integers(0, 3)), min_size=1, max_size=12))
def test_the_oracle_never_contradicts_itself(questions):
    answers = random.Random(repr(questions))
    problem = small()
    erratic = Oracle(
        lambda parts, b: shelves(parts, b) if answers.random() < 0.5 else None,
        lambda name, b, count: problem.unit(name).on(b, count),
    )
    b = problem.boards[0]
    asked = [load(dict(zip(("fin", "rib", "tip"), q, strict=True))) for q in questions]
    first = [erratic.fits(b, wanted) for wanted in asked]
    assert [erratic.fits(b, wanted) for wanted in asked] == first
    for (one, fits_one), (other, fits_other) in itertools.combinations(zip(asked, first, strict=True), 2):
        if all(dict(other).get(p, 0) >= n for p, n in one):
            assert fits_one or not fits_other


def test_layouts_are_proved_by_the_real_nesting_and_keep_their_parts():
    rules = NestRules(kerf_mm=0.5, clearance_mm=0.5, ends_mm=2.0, edges_mm=1.0)
    parts = [part("rib", 140, 45, count=2), part("fin", 140, 45), part("tip", 60, 45)]
    boards = [board("L", 3.0, 150.0, 100.0), board("H", 6.0, 300.0, 100.0)]
    problem = make_problem(parts, boards)
    (assignment,) = assign_boards(problem, lay=nesting_lay(rules), rules=rules, best=1, time_limit_s=900.0).best
    loads = {layout.board: layout for layout in assignment.layouts}
    assert sum(len(layout.placements) for layout in loads.values()) == 4
    assert len(loads["L"].placements) == 2
    proof = prove_layout(assignment.layouts, parts, boards, rules)
    assert proof.is_proved
