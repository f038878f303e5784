import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from nesting.balance.ballast import BallastPlace, Range, ballast_to, best_ballast, find_ballast, plug_diameter_mm
from nesting.balance.ledger import Ledger, entry
from nesting.wood.estimate import Estimate
from vectorize.basics.errors import JobError


def model(mass: float, balance: float) -> Ledger:
    return Ledger((entry("model", mass, balance),))


@pytest.mark.parametrize(
    ("mass", "balance", "target", "station", "expected", "tolerance"),
    [
        (4954, 30.5, 32.0, 162, 57.1615, 0.001),  # an explained examination question (57.16 quoted)
        (1876, 32.2, 33.0, 228, 7.6964, 0.001),  # FAA-H-8083-1B ch. 5; limit and answer from memory, arithmetic checked
        (500, 92, 85, -30, 30.4347826, 3e-6),  # derived from the formula; total balances at 85.0
        (850, 70, 75, 620, 7.7981651, 8e-7),  # derived likewise; total balances at 75.0
    ],
)
def test_worked_ballast_cases(mass, balance, target, station, expected, tolerance):
    found = ballast_to(target, Estimate(mass), Estimate(balance), station)
    assert found.value == pytest.approx(expected, abs=tolerance)
    assert model(mass, balance).with_entries(entry("b", found, station)).balance().value == pytest.approx(target)


def test_moving_a_known_weight_is_ballast_there_and_less_here():
    # FAA-H-8083-25 (PHAK), weight and balance: 7800 at 81.5; 65.0 moved from 150 to 30 gives 80.5.
    ledger = Ledger((entry("rest", 7800 - 65, (7800 * 81.5 - 65 * 150) / (7800 - 65)), entry("bag", 65, 30)))
    assert ledger.balance().value == pytest.approx(80.5)


@pytest.mark.parametrize("axis", ["station", "lateral"])
def test_nothing_that_has_mass_cannot_be_balanced(axis):
    with pytest.raises(JobError, match="no balance point"):
        find_ballast(Ledger(()), Range(80, 90), BallastPlace("nose", -30.0), axis=axis)
    with pytest.raises(JobError, match="no balance point"):
        Ledger(()).lateral_balance()


def test_ballast_at_the_target_is_refused():
    with pytest.raises(JobError, match="move nothing"):
        ballast_to(85, Estimate(500), Estimate(92), 85)


def test_ballast_at_the_balance_point_is_refused():
    with pytest.raises(JobError, match="balance point itself"):
        find_ballast(model(500, 92), Range(80, 90), BallastPlace("seat", 92))


@pytest.mark.parametrize("limits", [(90, 80), (85, 85), (float("nan"), 90)])
def test_an_empty_range_is_refused(limits):
    with pytest.raises(JobError, match="is empty"):
        Range(*limits)


def test_a_model_inside_its_range_needs_none():
    found = find_ballast(model(500, 85), Range(80, 90), BallastPlace("nose", -30))
    assert found.least is not None
    assert found.least.value == 0.0
    assert found.entry() is None


def test_a_place_on_the_wrong_side_says_so():
    found = find_ballast(model(500, 92), Range(80, 90), BallastPlace("tail", 600))
    assert found.least is None
    assert found.problem == "the model is tail-heavy, and ballast there would make it more so"


@pytest.mark.parametrize("wrong", [{"most_g": 0.0}, {"most_g": -5.0}, {"depth_mm": 0.0}, {"most_g": float("nan")}])
def test_a_place_that_holds_nothing_is_refused(wrong):
    with pytest.raises(JobError, match=r"ballast place nose: .* must be above zero"):
        BallastPlace("nose", -30, **wrong)


def test_a_place_that_is_too_small_says_how_much_it_lacks():
    found = find_ballast(model(500, 92), Range(80, 85), BallastPlace("nose", -30, most_g=20))
    assert found.least is None
    assert found.problem == "30.4 g would be needed, and the place holds 20 g"


def fuelled(empty_mass: float, empty_balance: float, fuel: float, tank: float) -> Ledger:
    return Ledger((entry("model", empty_mass, empty_balance), entry("fuel", fuel, tank, is_fuel=True)))


def test_fuel_that_moves_the_balance_more_than_the_range_is_wide_is_told():
    found = find_ballast(fuelled(500, 92, 100, -50), Range(85, 88), BallastPlace("nose", -60))
    assert "fuel alone moves the balance point by" in found.problem


@given(
    st.floats(200, 2000), st.floats(20, 150), st.floats(0, 150), st.floats(-50, 150), st.floats(-100, 500),
    st.floats(50, 100), st.floats(2, 40),
)  # fmt: skip
def test_the_least_ballast_brings_every_loading_in_and_a_little_less_does_not(
    mass, balance, fuel, tank, station, low, width
):
    ledger, limits = fuelled(mass, balance, fuel, tank), Range(low, low + width)
    assume(min(abs(station - e) for e in (low, low + width)) > 1)
    assume(all(abs(station - ledger.balance(fuel_share=s).value) > 1e-3 for s in (0, 1)))
    least = find_ballast(ledger, limits, BallastPlace("place", station)).least
    if least is None:
        return
    for share in (0.0, 1.0):
        ballasted = ledger.with_entries(entry("b", least, station)).balance(fuel_share=share).value
        assert limits.low_mm - 1e-6 <= ballasted <= limits.high_mm + 1e-6
    if least.value > 1e-3:
        shy = ledger.with_entries(entry("b", least.value * 0.99, station))
        assert not all(limits.holds(shy.balance(fuel_share=share).value) for share in (0.0, 1.0))


def test_the_place_that_needs_least_is_best():
    near, far = BallastPlace("firewall", 20), BallastPlace("nose", -30)
    best = best_ballast(model(500, 92), Range(80, 85), [near, far])
    assert best is not None
    assert best.place is far
    assert best_ballast(model(500, 92), Range(80, 85), [BallastPlace("tail", 600)]) is None


def test_tip_weight_works_sideways():
    ledger = Ledger((entry("model", 400, 80, lateral=0.0),))
    tip = find_ballast(ledger, Range(2, 6), BallastPlace("outer tip", 90, lateral_mm=400), axis="lateral")
    assert tip.least is not None
    # Derived: B (400 - 2) = 400 x 2.
    assert tip.least.value == pytest.approx(800 / 398)


def test_a_lead_plug_has_the_volume_of_its_mass():
    # 11.34 g/cm3 is from memory; the geometry is not: 10 g through 10 mm.
    diameter = plug_diameter_mm(10, 10)
    assert math.pi / 4 * diameter**2 * 10 * 11.34e-3 == pytest.approx(10)
    ballast = find_ballast(model(500, 92), Range(80, 85), BallastPlace("nose", -30, depth_mm=10))
    assert ballast.plug_diameter_mm == pytest.approx(plug_diameter_mm(30.4347826, 10))
    with pytest.raises(JobError):
        plug_diameter_mm(10, 0)


def test_ballast_carries_the_doubt_of_mass_and_balance():
    mass, balance = Estimate.measured(500, 5, "mass"), Estimate.measured(92, 1, "balance")
    # Derived: dB/dW = B/W, dB/dx = W/115.
    expected = math.hypot(30.4347826 / 500 * 5, 500 / 115)
    assert ballast_to(85, mass, balance, -30).sigma == pytest.approx(expected)
