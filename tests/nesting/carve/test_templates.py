import numpy as np
import pytest
import shapely

from nesting.carve.panel import CarvedPanel
from nesting.carve.section import naca4
from nesting.carve.templates import template_strips
from tests.nesting.carve.carved_panels import high_point_panel, naca_panel, taper
from vectorize.basics.errors import PartError
from vectorize.shapes.outline import check_outline

GAP_TOL_MM = 0.02
THICK_TAIL = CarvedPanel(taper(), 14.0, naca4("0009"), trailing_mm=1.5)
PANELS = [high_point_panel(), naca_panel(), CarvedPanel(taper(), 14.0, naca4("2410")), THICK_TAIL]


@pytest.mark.parametrize("panel", PANELS)
@pytest.mark.parametrize("station", [0.0, 137.0, 390.0])
def test_a_template_laid_on_the_panels_own_solid_leaves_no_gap(panel: CarvedPanel, station: float) -> None:
    chord = float(panel.planform.chord(np.array([station]))[0])
    b = np.linspace(0, np.pi, 400)
    shares = (1 - np.cos(b)) / 2
    upper, lower = panel.heights(station, shares)
    for strip in template_strips(panel, (station,)):
        check_outline(strip.outline)
        shape = strip.outline.to_polygon()
        surface = np.column_stack([chord * shares, upper if strip.side == "upper" else lower])
        # Every point of the solid's surface touches the template, and nothing of the solid lies in it.
        assert shapely.distance(shapely.points(surface), shape).max() < GAP_TOL_MM
        under = np.column_stack([chord * shares, lower])[::-1]
        solid = shapely.Polygon(np.vstack([np.column_stack([chord * shares, upper]), under]))
        assert solid.intersection(shape).area < GAP_TOL_MM * chord


def test_both_halves_meet_at_their_ears_and_the_pair_holds_the_section() -> None:
    upper, lower = template_strips(naca_panel(), (100.0,))
    touch = upper.outline.to_polygon().intersection(lower.outline.to_polygon())
    assert touch.area < 1e-3
    assert touch.length == pytest.approx(2 * 12.0, abs=0.01) or touch.length == pytest.approx(4 * 12.0, abs=0.01)


def test_a_flat_bottom_needs_no_lower_half_and_its_template_stands_on_the_bench() -> None:
    (strip,) = template_strips(high_point_panel(), (100.0,))
    assert strip.side == "upper"
    assert strip.outline.bounds[1] == pytest.approx(0.0)


def test_covering_widens_the_cut_all_round() -> None:
    (plain,), (covered,) = (template_strips(high_point_panel(), (100.0,), covering_mm=c) for c in (0.0, 0.1))
    chord = 105.0
    x = np.array([0.2, 0.5, 0.8])
    upper, _ = high_point_panel().heights(100.0, x)
    away = shapely.distance(shapely.points(np.column_stack([chord * x, upper])), covered.outline.to_polygon())
    assert away == pytest.approx([0.1] * 3, abs=0.003)
    assert covered.outline.area_mm2 < plain.outline.area_mm2 + 12 * 0.1 * 20


def test_it_says_where_it_belongs() -> None:
    strips = template_strips(naca_panel(), (0.0, 200.0))
    assert strips[0].words == ("1 upper", "station 0 mm, chord 120.0 mm, high point 36.0 mm")
    assert strips[2].words[0] == "2 upper"
    assert len(strips[0].marks) == 5


def test_stations_without_chord_or_off_the_panel_are_refused() -> None:
    with pytest.raises(PartError, match="off the panel"):
        template_strips(naca_panel(), (600.0,))
    pointed = CarvedPanel(taper(120, 1, 400, 0), 12.0, naca4("0009"))
    with pytest.raises(PartError, match=r"the chord is 1\.0 mm; a template needs 10 mm"):
        template_strips(pointed, (400.0,))
    with pytest.raises(PartError, match="covering -1 mm"):
        template_strips(naca_panel(), (0.0,), covering_mm=-1)
