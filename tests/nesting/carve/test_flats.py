import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.carve.flats import planing_flats
from tests.nesting.carve.carved_panels import high_point_panel, naca_panel
from vectorize.basics.errors import PartError


@settings(max_examples=12, deadline=None)
@given(station=st.floats(0, 395), fore=st.integers(1, 4), aft=st.integers(1, 4))
def test_no_flat_cuts_into_the_section(station: float, fore: int, aft: int) -> None:
    panel = high_point_panel()
    (flats,) = planing_flats(panel, (station,), fore=fore, aft=aft)
    assert len(flats.bevels) == fore + aft
    chord = float(panel.planform.chord(np.array([station]))[0])
    shares = np.linspace(0, 1, 500)
    upper, _ = panel.heights(station, shares)
    for bevel in flats.bevels:
        (x0, z0), (x1, z1) = bevel.begin, bevel.end
        inside = (shares * chord >= x0) & (shares * chord <= x1)
        plane = z0 + (shares[inside] * chord - x0) / (x1 - x0) * (z1 - z0)
        assert np.all(plane >= upper[inside] - 0.01)  # the hull has 600 points


def test_widths_are_those_of_the_plane_and_edges_run_from_nose_to_tail() -> None:
    (flats,) = planing_flats(high_point_panel(), (100.0,))
    assert flats.bevels[0].begin[0] == 0.0
    assert flats.bevels[-1].end == pytest.approx((105.0, 1.0), abs=0.35)
    for bevel in flats.bevels:
        assert bevel.width_mm == pytest.approx(np.hypot(*np.subtract(bevel.end, bevel.begin)))
    # Ahead and behind the top that stays as the blank's own face.
    assert flats.bevels[1].end[1] == pytest.approx(flats.bevels[2].begin[1])


def test_more_flats_leave_less_to_sand() -> None:
    panel = naca_panel()
    left = [planing_flats(panel, (100.0,), fore=n, aft=n)[0].leaves_mm for n in (1, 2, 4)]
    assert left[0] > left[1] > left[2] > 0
    assert left[2] < 0.6


def test_edges_between_flats_are_straight_on_a_straight_taper() -> None:
    panel = naca_panel()
    rows = planing_flats(panel, (0.0, 200.0, 400.0))
    for edges in zip(*([b.end[0] for b in row.bevels] for row in rows), strict=True):
        assert edges[1] == pytest.approx((edges[0] + edges[2]) / 2, abs=0.2)


def test_the_lower_side_is_planed_with_the_panel_turned_over() -> None:
    panel = naca_panel()
    upper, lower = (planing_flats(panel, (100.0,), side=side)[0] for side in ("upper", "lower"))  # type: ignore[arg-type]
    assert [b.width_mm for b in upper.bevels] == pytest.approx([b.width_mm for b in lower.bevels])


def test_a_station_off_the_panel_is_refused() -> None:
    with pytest.raises(PartError, match="off the panel"):
        planing_flats(high_point_panel(), (600.0,))
