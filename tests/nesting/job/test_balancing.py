"""What brings a model into its range: ballast, equipment elsewhere, or lighter wood where it counts most."""

from dataclasses import replace

import pytest

from nesting.balance.balance_report import Alternative, BalancePlan, Change
from nesting.balance.ballast import BallastPlace, Range
from nesting.balance.budget import BudgetPlan
from nesting.balance.entries import Build
from nesting.balance.ledger import MODEL, Reading, entry
from nesting.balance.station import Seat
from nesting.balance.weights import weigh_parts
from nesting.job.balancing import balance_model
from nesting.job.model_values import Model
from nesting.place.layout_rules import NestRules
from nesting.wood.board import Board
from nesting.wood.density import USUAL
from nesting.wood.estimate import Estimate
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline

LIGHT, HEAVY = (Board(name, "balsa", 3.0, 1000.0, 100.0, mass_g=mass) for name, mass in (("L", 24.0), ("H", 48.0)))


RANGE = Range(55.0, 65.0)


def model_of(*, limits=RANGE, readings=()):
    """Return a model of a fore and a tail part of 100 cm² each, both tied to the heavy board, with an engine."""
    parts = tuple(
        Part(name, Outline.rectangle(0, 0, 200, 50), "balsa", 3.0, is_grain_assumed=False, board="H")
        for name in ("fore", "tail")
    )
    engine = entry("engine", Estimate(10.0), 10.0, what="engine")
    return Model(
        parts=parts, boards=(LIGHT, HEAVY), wood=USUAL, needs={}, build=Build(),
        seats={"fore": Seat(station_mm=40.0), "tail": Seat(station_mm=300.0)}, datum=None, items=(engine,),
        readings=readings, layout=None, weights=weigh_parts(parts, (LIGHT, HEAVY)), rules=NestRules(), notes=(),
        plan=BalancePlan(
            limits=limits,
            places=(BallastPlace("nose", 0.0),),
            alternatives=(Alternative("engine forward", (Change("engine", station_mm=-20.0),)),),
        ),
    )  # fmt: skip


def test_lighter_wood_at_the_tail_beats_the_ballast_that_it_saves():
    balanced = balance_model(model_of())
    first, *_, last = balanced.fixes

    # By hand: 100 cm² of H weigh 4.8 g, of L 2.4 g; ballast at the nose brings 60 mm within 65 mm.
    heavy_g = (4.8 * 40 + 4.8 * 300 + 10 * 10) / 65 - (4.8 + 4.8 + 10)
    light_g = (4.8 * 40 + 2.4 * 300 + 10 * 10) / 65 - (4.8 + 2.4 + 10)
    assert (first.kind, first.part, first.board) == ("board", "tail", "L")
    assert first.ballast_g == pytest.approx(max(light_g, 0.0), abs=1e-6)
    assert first.flying_mass.value == pytest.approx(17.2 + max(light_g, 0.0), rel=1e-6)
    assert (last.kind, last.ballast_g) == ("ballast", pytest.approx(heavy_g, rel=1e-6))
    assert last.text.startswith(f"Change nothing: {heavy_g:.1f} g of ballast at nose, {19.6 + heavy_g:.1f} ± ")
    masses = [fix.flying_mass.value for fix in balanced.fixes]
    assert masses == sorted(masses)
    assert "alternative" in {fix.kind for fix in balanced.fixes}


@pytest.mark.parametrize("grams", [None, 4.8], ids=["cut", "weighed"])
def test_no_other_board_is_offered_for_a_part_that_is_cut(grams):
    readings = () if grams is None else (Reading(("tail",), Estimate.reading(grams, 0.1, "reading of tail")),)

    fixes = balance_model(replace(model_of(readings=readings), done=frozenset({"tail"}))).fixes

    assert "tail" not in {fix.part for fix in fixes}


def test_a_model_within_its_range_needs_no_fix():
    assert balance_model(model_of(limits=Range(60.0, 120.0))).fixes == ()
    assert balance_model(replace(model_of(), plan=BalancePlan())).fixes == ()


def test_fixes_are_told_with_the_report():
    told = balance_model(model_of()).as_json()

    assert told["fixes"][0] | {"flying_sigma_g": 0, "text": ""} == {
        "kind": "board", "part": "tail", "board": "L", "alternative": None, "ballast_g": told["fixes"][0]["ballast_g"],
        "place": told["fixes"][0]["place"], "flying_mass_g": told["fixes"][0]["flying_mass_g"], "flying_sigma_g": 0,
        "text": "",
    }  # fmt: skip
    assert told["loadings"]


def test_ways_into_the_range_count_ballast_at_a_tip_too():
    model = model_of()
    places = (*model.plan.places, BallastPlace("left tip", 100.0, lateral_mm=-300.0))
    plan = replace(model.plan, places=places, lateral=Range(-0.5, 0.0))
    seats = model.seats | {"fore": Seat(station_mm=40.0, lateral_mm=50.0)}
    balanced = balance_model(replace(model, plan=plan, seats=seats))
    # By hand: the fore part's 4.8 g lie 50 mm to the right; 240 g mm by 300 mm are 0.8 g at the left tip, and
    # half of that where it comes from the lighter board.
    for fix in balanced.fixes:
        assert [one.place.name for one in fix.trim.parts if one.place.lateral_mm] == ["left tip"]
        assert sum(one.least.value for one in fix.trim.parts if one.place.lateral_mm) == pytest.approx(
            0.4 if fix.part == "fore" else 0.8
        )
        assert fix.text.endswith("g ready to fly.")
    assert balanced.fixes[-1].flying_mass.value == pytest.approx(balanced.report.flying_mass.value)
    assert "at nose and left tip" in balanced.fixes[-1].text


@pytest.mark.parametrize(
    ("stage", "free_g"),
    [(None, 100 - 19.6 - 2.5 - 5.0), ("cut", 100 - 40.0 - 10.0 - 5.0), ("fitted", 100 - 40.0)],
    ids=["not weighed", "wood weighed", "all weighed"],
)
def test_what_has_no_place_counts_in_the_budget_once(stage, free_g):
    """A strip of 2.5 g and a wire of 5 g have no place: in the model's reading they are as much as it had on it."""
    readings = () if stage is None else (Reading((MODEL,), Estimate.reading(40.0, 0.1, "model"), stage),)
    loose = (entry("peg", 2.5, 0.0, stage="cut"), entry("wire", 5.0, 0.0))
    model = replace(model_of(readings=readings), plan=BalancePlan(), budget=BudgetPlan(limit_g=100), homeless=loose)

    budget = balance_model(model).budget

    assert budget.free_to(100.0).value == pytest.approx(free_g)
