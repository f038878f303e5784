"""Named places against the balance point: distances, an axle's angle and a line's, by plain trigonometry."""

import math

import pytest

from nesting.balance.balance_report import Loading
from nesting.balance.named_stations import NamedStation, stations_against_balance
from nesting.wood.estimate import Estimate
from vectorize.basics.errors import JobError


def loading(balance, share=0.0):
    return Loading(share, Estimate(500.0), Estimate.measured(balance, 0.8, "balance"), Estimate(0.0), None)


EMPTY, FULL = loading(70.0), loading(66.0, 1.0)


def test_distances_from_the_balance_point_for_every_loading():
    hook, guide = stations_against_balance([NamedStation("guide", 74.0), NamedStation("hook", 55.0)], [EMPTY, FULL])
    assert [one.named.name for one in (hook, guide)] == ["hook", "guide"]
    assert [at.from_balance_mm.value for at in hook.at] == [-15.0, -11.0]
    assert [at.from_balance_mm.value for at in guide.at] == [4.0, 8.0]
    assert guide.at[0].from_balance_mm.sigma == pytest.approx(0.8)
    assert guide.at[0].ahead_deg is None


def test_an_axle_is_told_by_its_angle_ahead_of_the_balance_point():
    """30 mm ahead and 30 sqrt(3) below is 30 degrees."""
    axle = NamedStation("wheels", 40.0, 8.0 - 30 * math.sqrt(3), is_axle=True, balance_height_mm=8.0)
    (found,) = stations_against_balance([axle], [EMPTY, loading(40.0, 1.0)])
    assert [at.ahead_deg for at in found.at] == pytest.approx([30.0, 0.0])


@pytest.mark.parametrize(
    ("first", "second", "degrees"),
    [
        ((0, 0), (100, -2), math.degrees(math.atan(0.02))),  # nose up: up thrust
        ((100, -2), (0, 0), math.degrees(math.atan(0.02))),
        ((0, 0), (100, 2), -math.degrees(math.atan(0.02))),
        ((20, 5), (120, 5), 0.0),
        ((50, 0), (50, 30), 90.0),  # a hinge line
    ],
)
def test_a_line_is_told_by_its_angle_to_the_datum_line(first, second, degrees):
    assert abs(NamedStation("line", *first, to=second).line_deg) == pytest.approx(abs(degrees))
    if abs(degrees) < 90:
        assert NamedStation("line", *first, to=second).line_deg == pytest.approx(degrees)


def test_what_cannot_be_is_refused():
    with pytest.raises(JobError, match="'thrust': its two points are one"):
        NamedStation("thrust", 0.0, 0.0, to=(0.0, 0.05))
    with pytest.raises(JobError, match="is a line and an axle"):
        NamedStation("wheels", 0.0, 0.0, to=(10.0, 0.0), is_axle=True)
    with pytest.raises(JobError, match="the axle is 5 mm above the balance point"):
        stations_against_balance([NamedStation("wheels", 40.0, 5.0, is_axle=True)], [EMPTY])
