import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.balance.ledger import Entry, Ledger, Reading, entry, with_readings
from nesting.wood.estimate import Estimate
from vectorize.basics.errors import JobError


def test_moving_a_load_moves_the_balance_point():
    # FAA-H-8083-25 (PHAK): 8000 at moment 616000; 100 moved from 30 to 150: 78.5, moment 628000.
    ledger = Ledger((entry("rest", 7900, (616000 - 3000) / 7900), entry("load", 100, 150)))
    assert ledger.moment().value == pytest.approx(628000)
    assert ledger.balance().value == pytest.approx(78.5)


def test_the_same_from_a_teaching_page():
    # 4000 at 80.0; 100 moved from 55 to 145: 82.25 (a teaching page on the same handbook).
    ledger = Ledger((entry("rest", 3900, (4000 * 80 - 100 * 55) / 3900), entry("load", 100, 145)))
    assert ledger.balance().value == pytest.approx(82.25)


def test_fuel_counts_by_its_share():
    ledger = Ledger((entry("model", 400, 80), entry("fuel", 100, 30, is_fuel=True)))
    assert ledger.balance(fuel_share=0).value == pytest.approx(80)
    assert ledger.balance(fuel_share=1).value == pytest.approx(70)
    assert ledger.mass(fuel_share=0.5).value == pytest.approx(450)


def test_an_empty_ledger_has_no_balance_point():
    with pytest.raises(JobError, match="no balance point"):
        Ledger(()).balance()


@given(st.lists(st.tuples(st.floats(1, 100), st.floats(-100, 500)), min_size=1, max_size=8), st.floats(-50, 50))
def test_moving_the_datum_moves_the_balance_point_with_it(masses, shift):
    here = Ledger(tuple(entry(str(i), m, x) for i, (m, x) in enumerate(masses)))
    there = Ledger(tuple(entry(str(i), m, x + shift) for i, (m, x) in enumerate(masses)))
    assert there.balance().value - here.balance().value == pytest.approx(shift, abs=1e-6)


def wood(part: str, mass: float, station: float, stage="cut") -> Entry:
    return entry(
        part, Estimate.measured(mass, 0.1 * mass, f"wood of {part}"), station, stage=stage, what=f"{part} {stage}"
    )


WING = (wood("left", 20, 80), wood("right", 20, 84), wood("left", 2, 80, "covered"), wood("right", 2, 84, "covered"))
FIN = wood("fin", 3, 500)
ENGINE = entry("engine", 60, -20)


def read(*parts: str, grams: float, stage="cut", balance=None) -> Reading:
    return Reading(parts, Estimate.reading(grams, 0.1, f"reading of {parts}"), stage, balance)


def test_a_reading_replaces_what_was_on_the_scale_and_keeps_what_comes_later():
    ledger = with_readings((*WING, FIN), [read("left", grams=23.0)])
    assert ledger.mass().value == pytest.approx(23 + 20 + 2 + 2 + 3)
    (difference,) = ledger.differences
    assert difference.difference_g == pytest.approx(3.0)
    assert difference.difference_share == pytest.approx(0.15)
    assert not difference.is_surprising


def test_an_assembly_keeps_its_own_balance_point_unless_one_was_read():
    ledger = with_readings(WING, [read("left", "right", grams=46.0, stage="covered")])
    assert ledger.mass().value == pytest.approx(46.0)
    assert ledger.balance().value == pytest.approx(82.0)
    told = with_readings(WING, [read("left", "right", grams=46.0, stage="covered", balance=Estimate(90.0))])
    assert told.balance().value == pytest.approx(90.0)


def test_a_later_reading_of_the_whole_replaces_an_earlier_one_of_a_part():
    ledger = with_readings((*WING, FIN), [read("left", grams=23.0), read("left", "right", grams=50.0, stage="covered")])
    assert ledger.mass().value == pytest.approx(53.0)
    assert ledger.differences[1].estimated.value == pytest.approx(23 + 20 + 4)


def test_the_model_on_the_scale_leaves_out_fuel_and_what_is_not_done():
    fuel = entry("fuel", 30, 10, is_fuel=True)
    ledger = with_readings((*WING, FIN, ENGINE, fuel), [read("model", grams=120.0, stage="fitted")])
    assert ledger.mass(fuel_share=0).value == pytest.approx(120.0)
    assert ledger.mass().value == pytest.approx(150.0)


def test_a_difference_that_the_estimate_did_not_allow_is_surprising():
    assert with_readings((FIN,), [read("fin", grams=4.2)]).differences[0].is_surprising


def test_a_reading_narrows_the_doubt():
    before, after = Ledger((FIN,)).mass(), with_readings((FIN,), [read("fin", grams=3.1)]).mass()
    assert after.sigma < before.sigma / 5


@pytest.mark.parametrize(
    ("readings", "words"),
    [
        ([read("rudder", grams=5)], "'rudder' was weighed, but is not in the ledger; known are fin, left, right"),
        ([read("fin", grams=0)], "above zero"),
        ([read("left", "right", grams=45, stage="covered"), read("left", grams=22, stage="covered")], "hold all of it"),
    ],
)
def test_readings_that_contradict_are_refused(readings, words):
    with pytest.raises(JobError, match=words):
        with_readings((*WING, FIN), readings)
