"""Girths against an arc length worked out by another method from the published polynomial."""

import numpy as np
import pytest
from scipy.integrate import quad

from nesting.carve.girth import edge_area_mm2, face_areas_mm2, face_girths_mm
from nesting.carve.panel import CarvedPanel
from nesting.carve.section import naca4
from tests.nesting.carve.carved_panels import rectangle, taper
from vectorize.shapes.outline import Outline


def naca_face(thickness: float, begin: float = 0.0, end: float = 1.0) -> float:
    """Arc length in chords of one face of a symmetrical four-digit section, the integral of its speed.

    y = t/0.2 (0.2969 √x − 0.1260 x − 0.3516 x² + 0.2843 x³ − 0.1015 x⁴): Jacobs, Ward and Pinkerton, NACA Report 460
    (1933). With x = s², dy/ds stays finite at the nose.
    """

    def speed(s: float) -> float:
        dy = 0.2969 - 2 * 0.1260 * s - 4 * 0.3516 * s**3 + 6 * 0.2843 * s**5 - 8 * 0.1015 * s**7
        return float(np.hypot(2 * s, thickness / 0.2 * dy))

    return float(quad(speed, begin**0.5, end**0.5, epsabs=1e-12, epsrel=1e-12)[0])


def naca_height(x: float, thickness: float = 0.12) -> float:
    """How thick a section of unit chord is at x: twice the same polynomial."""
    return 2 * thickness / 0.2 * (0.2969 * x**0.5 - 0.1260 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1015 * x**4)


def naca_area(thickness: float) -> float:
    """Area of a section of unit chord: the integral of its height from 0 to 1."""
    return 2 * thickness / 0.2 * (0.2969 * 2 / 3 - 0.1260 / 2 - 0.3516 / 3 + 0.2843 / 4 - 0.1015 / 5)


@pytest.mark.parametrize("number", ["0006", "0012", "0018"])
def test_the_girth_of_a_section_is_the_arc_length_of_its_formula(number: str) -> None:
    panel = CarvedPanel(rectangle(100, 300), 20.0, naca4(number))
    share = int(number[2:]) / 100
    assert face_girths_mm(panel, 150.0) == pytest.approx((100 * naca_face(share),) * 2, rel=2e-4)
    some = 100 * naca_face(share, 0.2, 0.7)
    assert face_girths_mm(panel, 150.0, 0.2, 0.7) == pytest.approx((some, some), rel=2e-4)


def test_a_tapered_panel_has_the_girth_of_its_mean_chord() -> None:
    panel = CarvedPanel(taper(120.0, 60.0, 400.0, 20.0), 16.0, naca4("0012"))
    whole = naca_face(0.12) * 90.0 * 400.0
    assert face_areas_mm2(panel) == pytest.approx((whole, whole), rel=1e-3)
    flat = panel.planform.outline.area_mm2
    assert whole > 1.015 * flat  # the flat area would be short by as much


def test_a_cut_out_takes_off_its_own_skin() -> None:
    panel = CarvedPanel(rectangle(100, 300), 20.0, naca4("0012"))
    # The panel lies with its span along x and aft down y.
    x0, _, _, y1 = panel.planform.outline.bounds
    hole = Outline.rectangle(x0 + 100, y1 - 60, x0 + 150, y1 - 30)
    holed = Outline(panel.planform.outline.exterior, (hole.exterior.reversed(),))
    taken = face_areas_mm2(panel)[0] - face_areas_mm2(panel, holed)[0]
    assert taken == pytest.approx(50 * 100 * naca_face(0.12, 0.3, 0.6), rel=1e-3)


def test_edges_of_a_panel_are_its_ends_and_the_blunt_edge_behind() -> None:
    panel = CarvedPanel(rectangle(100, 300), 13.0, naca4("0012"))
    ends = 2 * naca_area(0.12) * 100**2
    assert edge_area_mm2(panel) == pytest.approx(ends + naca_height(1.0) * 100 * 300, rel=5e-3)
    # A slot from 0.4 to 0.6 of the chord, 40 mm along the span, has four edges more.
    slot = Outline.rectangle(100, -60, 140, -40).exterior.reversed()
    more = edge_area_mm2(panel, Outline(panel.planform.outline.exterior, (slot,))) - edge_area_mm2(panel)
    across = quad(naca_height, 0.4, 0.6)[0] * 100**2
    assert more == pytest.approx(40 * 100 * (naca_height(0.4) + naca_height(0.6)) + 2 * across, rel=2e-3)
