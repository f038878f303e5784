import pytest

from nesting.carve.tape import tape_plan, trailing_wire, zone
from tests.nesting.carve.panels import high_point_panel, naca_panel


def test_each_step_masks_what_it_does_not_work() -> None:
    panel = naca_panel()
    steps = tape_plan(panel)
    assert [step.side for step in steps] == ["upper"] * 3 + ["lower"] * 3
    for step in steps:
        for mask in step.masked:
            assert step.worked.to_polygon().intersection(mask.to_polygon()).area < 0.5
    whole = panel.planform.outline.area_mm2
    first = steps[0]
    assert first.worked.area_mm2 + sum(m.area_mm2 for m in first.masked) == pytest.approx(whole, rel=1e-4)


def test_a_flat_bottom_is_not_worked() -> None:
    assert {step.side for step in tape_plan(high_point_panel())} == {"upper"}


def test_the_trailing_edge_is_given_as_a_wire_that_shops_sell() -> None:
    wire = trailing_wire(high_point_panel(), 0.0)
    assert (wire.diameter_mm, round(wire.wanted_mm, 6)) == (1.0, 1.0)
    # NACA 0009 at 120 mm: 2 x 0.00945 x 0.1 x 120 = 0.227 mm of open trailing edge.
    assert trailing_wire(naca_panel(), 0.0).diameter_mm == 0.5


def test_a_zone_is_the_share_of_the_planform() -> None:
    panel = naca_panel()
    assert zone(panel, 0.25, 0.75).area_mm2 == pytest.approx(panel.planform.outline.area_mm2 / 2, rel=1e-5)
