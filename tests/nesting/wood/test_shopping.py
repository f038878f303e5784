import pytest

from nesting.wood.needs import Need
from nesting.wood.part import Part
from nesting.wood.shopping import wanted_boards
from vectorize.shapes.outline import Outline


def part(name="side", length=300.0, width=60.0, thickness=3.0, material="balsa", **more):
    return Part(name, Outline.rectangle(0, 0, length, width), material, thickness, **more)


def test_parts_of_one_kind_share_a_line_with_enough_boards():
    (line,) = wanted_boards([(part("a"), 4), (part("b"), 2)])
    assert (line.length_mm, line.width_mm) == (1000, 100)
    assert line.boards == 2  # 6 x 180 cm2 = 1,080 cm2; one board of 1,000 cm2 is never enough
    assert line.parts == ("a", "b")


def test_the_weight_window_is_the_density_range_times_the_volume():
    (line,) = wanted_boards([(part(), 1)], needs={"side": Need(density_kg_m3=(96, 120))})
    # Derived: 1000 x 100 x 3 mm is 0.3 dm3: 28.8 g at 96 kg/m3, 36 g at 120 kg/m3.
    assert line.mass_window_g == pytest.approx((28.8, 36.0))
    assert line.is_asked_for


def test_a_least_stiffness_asks_for_a_least_density():
    (line,) = wanted_boards([(part(), 1)], needs={"side": Need(least_modulus_mpa=3000)})
    assert line.density_kg_m3[0] == pytest.approx(3000 / 20)


def test_parts_that_ask_for_different_things_get_boards_of_their_own():
    needs = {
        "a": Need(density_kg_m3=(80, 100)),
        "b": Need(density_kg_m3=(150, 200)),
        "c": Need(density_kg_m3=(90, 110)),
    }
    lines = wanted_boards([(part("a"), 1), (part("b"), 1), (part("c"), 1)], needs=needs)
    assert [(line.parts, line.density_kg_m3) for line in lines] == [(("a", "c"), (90, 100)), (("b",), (150, 200))]


def test_long_or_wide_parts_get_larger_sheets_and_too_large_ones_are_told():
    assert wanted_boards([(part(width=130.0), 1)])[0].width_mm == 150
    assert wanted_boards([(part(width=90.0), 1)], in_inches=True)[0].width_mm == pytest.approx(101.6)
    assert "larger than sheets are sold" in wanted_boards([(part(length=1500.0), 1)])[0].problem


def test_nothing_missing_is_nothing_to_buy():
    assert wanted_boards([]) == ()
