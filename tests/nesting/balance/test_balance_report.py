import json

import pytest

from nesting.balance.aerodynamic_chord import Section, mean_chord
from nesting.balance.balance_report import Alternative, BalancePlan, Change, balance_report
from nesting.balance.ballast import BallastPlace, Range
from nesting.balance.entries import Build, part_entries
from nesting.balance.ledger import Ledger, Reading, entry, with_readings
from nesting.balance.station import Datum, Seat
from nesting.balance.weights import weigh_parts
from nesting.wood.board import Board
from nesting.wood.covering import Finish, Joint
from nesting.wood.estimate import Estimate
from nesting.wood.part import Part
from vectorize.basics.errors import JobError
from vectorize.shapes.outline import Outline

NOSE = BallastPlace("nose", -30, depth_mm=10)
TIP = BallastPlace("outer tip", 90, lateral_mm=400)
LEDGER = Ledger((entry("model", 440, 110), entry("engine", 60, -40)))
PLAN = BalancePlan(limits=Range(80, 85), places=(NOSE,))


def test_ballast_and_flying_mass_belong_together():
    report = balance_report(LEDGER, PLAN)
    assert report.loadings[0].balance.value == pytest.approx(92)
    assert report.best is not None
    assert report.best.least is not None
    assert report.best.least.value == pytest.approx(30.4347826)  # derived: 500 g at 92, target 85, ballast at -30
    assert report.flying_mass is not None
    assert report.flying_mass.value == pytest.approx(530.4347826)


def test_tip_weight_is_settled_before_the_nose():
    report = balance_report(LEDGER, BalancePlan(limits=Range(80, 85), lateral=Range(2, 6), places=(NOSE, TIP)))
    assert report.best_tip is not None
    assert report.best_tip.place is TIP
    flying = report.flying_mass
    assert flying is not None
    tip = 1000 / 398  # derived: B (400 - 2) = 500 x 2
    moment = 500 * 92 + tip * 90
    assert flying.value == pytest.approx(500 + tip + (moment - 85 * (500 + tip)) / 115)


def test_alternatives_stand_side_by_side_and_small_ones_say_so():
    plan = BalancePlan(
        limits=Range(80, 95),
        alternatives=(
            Alternative("engine 10 mm aft", (Change("engine", station_mm=-30),)),
            Alternative("engine 5 mm aft", (Change("engine", station_mm=-35),)),
            Alternative("lighter engine", (Change("engine", mass_g=40),)),
        ),
    )
    results = balance_report(LEDGER, plan).alternatives
    # Derived: dx = w d / W (FAA-H-8083-25), 60 x 10 / 500.
    assert results[0].shift.value == pytest.approx(1.2)
    assert [result.is_measurable for result in results] == [True, False, True]
    assert results[2].mass.value == pytest.approx(480)


def test_an_alternative_of_an_unknown_item_is_refused():
    plan = BalancePlan(alternatives=(Alternative("x", (Change("motor", mass_g=1),)),))
    with pytest.raises(JobError, match="items are model, engine"):
        balance_report(LEDGER, plan)


def test_a_range_that_no_place_reaches_is_an_open_note():
    report = balance_report(LEDGER, BalancePlan(limits=Range(80, 85), places=(BallastPlace("tail", 600),)))
    assert report.flying_mass is None
    assert [note.state for note in report.notes] == ["open"]
    assert "no place for ballast is given" in balance_report(LEDGER, BalancePlan(limits=Range(80, 85))).notes[0].text


def test_the_range_may_be_given_in_percent_of_the_mean_chord():
    chord = mean_chord([Section(0, 250, 40), Section(600, 150, 90)])
    plan = BalancePlan(limits=Range(chord.station_mm(0.2), chord.station_mm(0.3)), chord=chord)
    data = balance_report(LEDGER, plan).as_json()
    assert data["loadings"][0]["balance_share_of_chord"] == pytest.approx((92 - 62.9167) / 204.1667, abs=1e-5)


BOARD = Board("L", "balsa", 3.0, 1000, 100, mass_g=36.0)
FUSELAGE = Part("fuselage", Outline.rectangle(0, 0, 600, 50), "balsa", 3.0)
FIN = Part("fin", Outline.rectangle(700, 0, 780, 80), "balsa", 3.0)
SEATS = {"fuselage": Seat(), "fin": Seat(station_mm=560)}


def ledger_of(build=Build(), seats=SEATS, readings=()):  # noqa: B008 - frozen
    parts = (FUSELAGE, FIN)
    entries, notes = part_entries(
        weigh_parts(parts, [BOARD]), parts, [BOARD], seats=seats, datum=Datum((0.0, 0.0)), build=build
    )
    return with_readings(entries, readings), notes


def test_parts_come_to_the_ledger_with_their_wood_finish_and_glue():
    build = Build(
        finishes={"fin": Finish(top=("tissue", "dope", "dope"), bottom=("tissue",), edges=("dope",), sanding_mm=0.1)},
        joints=(Joint("fin root", ("fuselage", "fin"), "white glue", 80 * 3),),
    )
    bare, _ = ledger_of()
    finished, _ = ledger_of(build)
    coat = {c.name: c.g_per_m2 for c in build.coats.values()}
    faces, edges = 80 * 80e-6, 4 * 80 * 3e-6
    added = faces * (2 * coat["tissue"] + 2 * coat["dope"]) + edges * coat["dope"]
    sanded = 36.0 * 6400 / 1e5 * 0.2 / 3
    glue = 240e-6 * build.glues["white glue"].g_per_m2
    assert finished.mass().value - bare.mass().value == pytest.approx(added - sanded + glue)
    assert any(
        e.what == "glue in fin root" and e.station.value == pytest.approx((300 + 560) / 2) for e in finished.entries
    )


def test_a_part_without_a_place_is_left_out_and_told():
    ledger, notes = ledger_of(seats={"fuselage": Seat()})
    assert {e.part for e in ledger.entries} == {"fuselage"}
    assert [(note.state, note.part) for note in notes] == [("open", "fin")]


def test_parts_of_one_board_share_its_error_in_the_total():
    ledger, _ = ledger_of()
    effects = dict(ledger.mass().doubts)
    assert effects["scale reading of L"] == pytest.approx(0.1 / 12**0.5 * (30000 + 6400) / 1e5)


def test_what_was_weighed_as_one_is_listed_under_all_its_parts():
    wood = [entry(f"wing {hand}", 11.0, 100.0, stage="cut") for hand in ("left", "right")]
    cover = entry("wing right", 2.0, 110.0, what="cover", stage="covered")
    glued = with_readings([*wood, cover], [Reading(("wing right", "wing left"), Estimate.reading(23.0, 0.1, "scale"))])
    data = balance_report(glued, BalancePlan()).as_json()
    masses = {one["heading"]: one["mass_g"] for one in data["entries"] if one["mass_g"] > 0}
    assert masses == {"wing left + wing right": pytest.approx(23.0), "wing right": pytest.approx(2.0)}


def test_a_reading_of_the_model_is_what_the_rest_of_the_plan_follows():
    reading = Reading(("model",), Estimate.reading(14.0, 0.1, "model"), "cut", Estimate(350.0))
    ledger, _ = ledger_of(readings=[reading])
    report = balance_report(ledger, BalancePlan())
    assert report.loadings[0].mass.value == pytest.approx(14.0)
    assert report.loadings[0].balance.value == pytest.approx(350.0)
    data = report.as_json()
    assert json.loads(json.dumps(data))["as_built"][0]["difference_g"] == pytest.approx(14.0 - 36.0 * 0.364)
