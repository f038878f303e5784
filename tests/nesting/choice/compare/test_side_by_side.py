import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.balance.balance_report import BalancePlan, balance_report
from nesting.balance.ballast import BallastPlace, Range
from nesting.balance.ledger import Ledger, entry
from nesting.choice.compare import compare_boards
from nesting.wood.board import BendTest, Board
from nesting.wood.needs import Need
from nesting.wood.part import Part
from vectorize.basics.errors import PartError, RackError
from vectorize.shapes.outline import Outline

LIGHT = Board("L", "balsa", 3.0, 1000, 100, mass_g=30.0, measured_thickness_mm=3.0)
HEAVY = Board("H", "balsa", 3.0, 1000, 100, mass_g=60.0, measured_thickness_mm=3.0)
PART = Part("tailplane", Outline.rectangle(0, 0, 250, 80), "balsa", 3.0)


def test_masses_differences_and_order():
    comparison = compare_boards(PART, [HEAVY, LIGHT])
    light, heavy = comparison.candidates
    assert (light.board.name, heavy.board.name) == ("L", "H")
    assert light.mass.value == pytest.approx(6.0)
    assert heavy.difference.value == pytest.approx(6.0)
    assert light.difference.sigma == 0.0


@pytest.mark.parametrize(("loading", "times"), [("flatwise", 2.0), ("edgewise", 2.0)])
def test_at_equal_thickness_density_buys_stiffness_and_strength_in_proportion(loading, times):
    # E and strength in proportion to density: Borrega & Gibson 2015, Mech. Mater. 84:75-90.
    _, heavy = compare_boards(PART, [LIGHT, HEAVY], need=Need(loading=loading)).candidates
    assert heavy.stiffness_ratio.value == pytest.approx(times)
    assert heavy.strength_ratio.value == pytest.approx(times)


def test_flatwise_a_lighter_thicker_board_wins_and_edgewise_it_does_not():
    # c.f. equal weight: density halved, thickness doubled: E I x4, bending moment x2 (derived, exact); edgewise x1.
    thick = Board("T", "balsa", 6.0, 1000, 100, mass_g=60.0, measured_thickness_mm=6.0)
    for loading, stiffer, stronger in (("flatwise", 4.0, 2.0), ("edgewise", 1.0, 1.0)):
        by_name = {c.board.name: c for c in compare_boards(PART, [HEAVY, thick], need=Need(loading=loading)).candidates}
        thick_over_heavy = by_name["T"].stiffness_ratio.value / by_name["H"].stiffness_ratio.value
        assert thick_over_heavy == pytest.approx(stiffer)
        assert by_name["T"].strength_ratio.value / by_name["H"].strength_ratio.value == pytest.approx(stronger)


def test_the_thickness_of_equal_stiffness_and_its_weight():
    # Density halved at equal flatwise stiffness: thickness x1.2599210, weight x0.6299605 (derived, exact).
    light, heavy = compare_boards(PART, [LIGHT, HEAVY]).candidates
    assert heavy.equal_thickness_mm.value == pytest.approx(3.0 / 1.2599210, rel=1e-7)
    assert light.equal_mass.value / heavy.equal_mass.value == pytest.approx(0.6299605, rel=1e-7)


def test_a_measured_modulus_is_used_and_marked():
    bent = Board("B", "balsa", 3.0, 1000, 75, mass_g=27.0, bend_test=BendTest(900, 50, 20.0))
    comparison = compare_boards(PART, [bent, HEAVY])
    by_name = {c.board.name: c for c in comparison.candidates}
    assert by_name["B"].modulus.is_measured
    assert not by_name["H"].modulus.is_measured
    assert [n.text for n in comparison.notes if n.code == "stiffness-by-trend"] == [
        "board H: stiffness is by the published trend with density; a bend test does better."
    ]


def tail_ledgers(base_mass=500.0, base_station=92.0, tail=550.0) -> dict[str, Ledger]:
    rest = entry("rest", base_mass, base_station)
    return {name: Ledger((rest, entry("tailplane", mass, tail))) for name, mass in (("L", 6.0), ("H", 12.0))}


PLAN = BalancePlan(limits=Range(80, 90), places=(BallastPlace("nose", -30),))


def test_a_heavier_tail_costs_its_weight_and_then_its_ballast():
    # Derived: ballast B = W (x_target - x_cg) / (x_ballast - x_target); 6 g more at 550 mm about a limit of
    # 90 mm, with the ballast 120 mm ahead of that: 6 x 460/120 = 23 g more in the nose.
    light, heavy = compare_boards(PART, [LIGHT, HEAVY], ledgers=tail_ledgers(), plan=PLAN).candidates
    assert light.balanced is not None
    assert heavy.balanced is not None
    assert heavy.balanced.flying_mass is not None
    assert light.balanced.flying_mass is not None
    assert heavy.balanced.flying_mass.value - light.balanced.flying_mass.value == pytest.approx(6 + 23)
    assert heavy.balanced.shift.value == pytest.approx((500 * 92 + 12 * 550) / 512 - (500 * 92 + 6 * 550) / 506)


def test_ballast_at_a_tip_counts_as_the_balance_counts_it():
    # A panel 200 mm out on the left, 6 or 12 g: ballast at the right tip, 400 mm out, of half that (moments about the
    # middle), and then, with it aboard, B = W (x_target - x_cg) / (x_ballast - x_target) in the nose.
    def ledger(mass: float) -> Ledger:
        return Ledger((entry("rest", 500.0, 92.0), entry("tailplane", mass, 550.0, lateral=-200.0)))

    places = (BallastPlace("nose", -30), BallastPlace("right tip", 150.0, lateral_mm=400.0))
    plan = BalancePlan(limits=Range(80, 90), lateral=Range(0.0, 5.0), places=places)
    ledgers = {"L": ledger(6.0), "H": ledger(12.0)}
    light, heavy = compare_boards(PART, [LIGHT, HEAVY], ledgers=ledgers, plan=plan).candidates
    for candidate, panel, tip in ((light, 6.0, 3.0), (heavy, 12.0, 6.0)):
        nose = (500 * (92 - 90) + panel * (550 - 90) + tip * (150 - 90)) / (90 + 30)
        assert candidate.balanced is not None
        assert candidate.balanced.trim.mass_g == pytest.approx(tip + nose)
        assert candidate.balanced.flying_mass is not None
        assert candidate.balanced.flying_mass.value == pytest.approx(500 + panel + tip + nose)
        report = balance_report(ledgers[candidate.board.name], plan)
        assert report.best_tip is not None
        assert report.best is not None
        assert report.best_tip.least.value + report.best.least.value == pytest.approx(tip + nose)  # type: ignore[union-attr]
        assert candidate.balanced.flying_mass.value == pytest.approx(report.flying_mass.value)  # type: ignore[union-attr]


def test_the_advice_names_the_board_and_gives_the_figures_that_decide():
    comparison = compare_boards(PART, [LIGHT, HEAVY], ledgers=tail_ledgers(), plan=PLAN)
    assert comparison.advice.startswith("Take L for tailplane: the model with its ballast is 29.0")
    assert comparison.advice.count(".") >= 1
    assert comparison.advice.endswith(".")


def test_each_priority_may_take_another_board():
    # A nose-heavy model: the heavier tail saves ballast behind and still costs weight in the part itself.
    plan = BalancePlan(limits=Range(80, 90), places=(BallastPlace("tail post", 600),))
    ledgers = tail_ledgers(base_station=60.0)
    took = {
        priority: compare_boards(PART, [LIGHT, HEAVY], ledgers=ledgers, plan=plan, priority=priority).advice.split()[1]
        for priority in ("light", "stiff", "balanced")
    }
    assert took == {"light": "L", "stiff": "H", "balanced": "H"}


def test_a_board_that_it_does_not_fit_on_or_that_fails_its_need_is_not_advised():
    assert "Take H" in compare_boards(PART, [LIGHT, HEAVY], fits={"L": False, "H": True}).advice
    strict = Need(density_kg_m3=(150, 300))
    comparison = compare_boards(PART, [LIGHT, HEAVY], need=strict)
    assert comparison.advice == "Take H for tailplane: it is the only one that will do."
    none = compare_boards(PART, [LIGHT, HEAVY], need=Need(density_kg_m3=(300, 400)))
    assert none.advice.startswith("None of these boards will do")


def test_a_board_that_ballast_cannot_save_is_no_choice_while_another_can():
    plan = BalancePlan(limits=Range(80, 97.6), places=())
    comparison = compare_boards(PART, [LIGHT, HEAVY], ledgers=tail_ledgers(), plan=plan, priority="stiff")
    assert comparison.advice == "Take L for tailplane: it is the only one that will do."


def test_boards_that_cannot_be_told_apart_by_weight_say_so():
    twin = Board("K", "balsa", 3.0, 1000, 100, mass_g=30.05, measured_thickness_mm=3.0)
    assert "weight cannot tell it from" in compare_boards(PART, [LIGHT, twin]).advice


def test_run_out_costs_stiffness_by_hankinson():
    comparison = compare_boards(PART, [LIGHT, HEAVY], run_out_deg=10.0)
    # Hankinson with E across 0.015 of E along, power 2: 0.015 / (sin^2 + 0.015 cos^2) at 10 degrees.
    assert comparison.candidates[0].run_out_share == pytest.approx(0.015 / (0.0301537 + 0.015 * 0.9698463), rel=1e-5)
    assert any("Hankinson" in note.text for note in comparison.notes)


def test_the_caution_is_always_there():
    data = compare_boards(PART, [LIGHT, HEAVY]).as_json()
    assert "never an approval to fly" in data["caution"]
    assert json.loads(json.dumps(data))["boards"][0]["board"] == "L"


def test_one_board_cannot_be_compared_and_a_bad_one_is_refused():
    with pytest.raises(PartError, match="at least two"):
        compare_boards(PART, [LIGHT])
    with pytest.raises(RackError, match="would be"):
        compare_boards(PART, [LIGHT, Board("X", "balsa", 3.0, 1000, 100, mass_g=3000.0)])


@given(st.floats(30, 100), st.floats(30, 100), st.floats(1, 12), st.floats(1, 12))
def test_ratios_are_against_the_lightest_whatever_the_order(m1, m2, t1, t2):
    a = Board("A", "balsa", t1, 1000, 100, mass_g=m1 * t1 / 3)
    b = Board("B", "balsa", t2, 1000, 100, mass_g=m2 * t2 / 3)
    one, two = compare_boards(PART, [a, b]), compare_boards(PART, [b, a])
    assert one.candidates[0].stiffness_ratio.value == pytest.approx(1.0)
    assert sorted(c.stiffness_ratio.value for c in one.candidates) == pytest.approx(
        sorted(c.stiffness_ratio.value for c in two.candidates)
    )


def test_a_carved_part_is_as_thick_from_every_board():
    """E goes as density (the trend), so by the trend a carved part's stiffness goes as density, whatever was sawn."""
    panel = Part("wing", Outline.rectangle(0, 0, 200, 80), "balsa", 8.0, finished_share=0.6, carved_blank_mm=8.0)
    thin, thick = (
        Board(name, "balsa", 8.0, 900, 100, measured_thickness_mm=t, mass_g=t * 9e4 * rho * 1e-6)
        for name, t, rho in (("thin", 8.0, 120.0), ("thick", 8.4, 150.0))
    )
    light, firm = compare_boards(panel, [thin, thick]).candidates
    assert (light.board.name, firm.board.name) == ("thin", "thick")
    assert firm.stiffness_ratio.value == pytest.approx(150 / 120)
    assert firm.strength_ratio.value == pytest.approx(150 / 120)
    assert firm.mass.value / light.mass.value == pytest.approx(150 / 120)
