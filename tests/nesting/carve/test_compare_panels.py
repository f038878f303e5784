import pytest

from nesting.carve.compare_panels import compare_panels, weigh_panel
from tests.nesting.carve.carved_panels import naca_panel, rectangle
from vectorize.basics.errors import PartError

PANEL = naca_panel(rectangle(100, 300), "0012")
SURFACE = 100.0 * 300.0


def test_mass_and_arm_follow_from_the_solid() -> None:
    # 0.6850833 t c² times span, 160 kg/m³: the NACA polynomial integrated.
    weight = weigh_panel(PANEL, 160.0, name="left", root_arm_mm=15.0)
    assert weight.mass_g == pytest.approx(0.6850833 * 0.12 * 1e4 * 300 * 160e-6, rel=1e-3)
    assert weight.arm_mm == pytest.approx(165.0)
    assert sum(weight.zones_g) == pytest.approx(weight.mass_g)
    assert weight.zones_g[0] == pytest.approx(weight.zones_g[2])


def test_the_heavier_panel_loses_what_the_target_asks() -> None:
    left, right = weigh_panel(PANEL, 170.0, name="left"), weigh_panel(PANEL, 160.0, name="right")
    result = compare_panels(left, right, surface_mm2=SURFACE, density_kg_m3=170.0)
    assert result.heavy == "left"
    assert result.difference_g == pytest.approx(left.mass_g - right.mass_g)
    after = left.moment_g_mm - result.take_off_g * left.arm_mm
    assert after == pytest.approx(right.moment_g_mm)
    assert result.sanded_mm == pytest.approx(result.take_off_g / 170e-6 / SURFACE)
    assert sum(result.zones_g) == pytest.approx(result.difference_g)


def test_a_lateral_target_can_ask_the_lighter_panel_to_lose_more() -> None:
    left, right = weigh_panel(PANEL, 162.0, name="left"), weigh_panel(PANEL, 160.0, name="right")
    result = compare_panels(left, right, surface_mm2=SURFACE, density_kg_m3=160.0, target_g_mm=300.0)
    assert result.heavy == "right"
    after = left.moment_g_mm - (right.moment_g_mm - result.take_off_g * right.arm_mm)
    assert after == pytest.approx(300.0)


def test_equal_panels_need_nothing() -> None:
    one = weigh_panel(PANEL, 160.0, name="left")
    result = compare_panels(one, weigh_panel(PANEL, 160.0, name="right"), surface_mm2=SURFACE, density_kg_m3=160.0)
    assert (result.heavy, result.take_off_g, result.sanded_mm) == (None, 0.0, 0.0)


def test_more_than_sanding_can_give_is_refused() -> None:
    left, right = weigh_panel(PANEL, 240.0, name="left"), weigh_panel(PANEL, 120.0, name="right")
    with pytest.raises(PartError, match=r"panel left would have to lose \d+\.\d\d g, \d\.\d\d mm all over"):
        compare_panels(left, right, surface_mm2=SURFACE, density_kg_m3=240.0)
