import math

import numpy as np
import pytest

from nesting.carve.section import naca4
from vectorize.basics.errors import PartError

# Ordinates of NACA 0012 in % of chord: the thickness formula of NACA Report 460 (Jacobs, Ward and Pinkerton 1933)
# for t = 0.12; they match two public coordinate files to 6e-8 chord.
ORDINATES = {
    0.0125: 1.893903, 0.025: 2.61472, 0.05: 3.554686, 0.075: 4.199903, 0.1: 4.68277, 0.15: 5.34516, 0.2: 5.737543,
    0.25: 5.941242, 0.3: 6.001727, 0.4: 5.803011, 0.5: 5.294025, 0.6: 4.563369, 0.7: 3.663907, 0.8: 2.623118,
    0.9: 1.447717, 0.95: 0.806559, 1.0: 0.126,
}  # fmt: skip
# Points read from a public coordinate file of NACA 0012, x and y in chords, given to seven digits.
FILE_POINTS = [
    (1.0000000, 0.0012600), (0.9045085, 0.0139143), (0.8035813, 0.0258337), (0.6996823, 0.0366700),
    (0.5120819, 0.0521620), (0.3003177, 0.0600172), (0.1257446, 0.0506513), (0.0954915, 0.0460489),
    (0.0465628, 0.0344792), (0.0093149, 0.0164706), (0.0005839, 0.0042603),
]  # fmt: skip


@pytest.mark.parametrize(("x", "percent"), ORDINATES.items())
def test_ordinates_of_0012_are_those_of_the_report(x: float, percent: float) -> None:
    upper, lower = naca4("0012").heights(np.array([x]))
    assert 100 * upper[0] == pytest.approx(percent, abs=0.001)
    assert lower[0] == -upper[0]


def test_points_of_a_public_file_lie_on_0012() -> None:
    x, y = np.array(FILE_POINTS).T
    assert naca4("0012").heights(x)[0] == pytest.approx(y, abs=1e-6)


def test_greatest_thickness_is_a_hair_over_nominal_near_30_percent() -> None:
    # Derived from the report's formula: 12.0034546 % at 29.98 % of chord.
    thickness, at = naca4("0012").greatest_thickness
    assert thickness / 2 == pytest.approx(0.060017273, abs=1e-7)
    assert at == pytest.approx(0.2998, abs=0.001)


def test_nose_radius_is_that_of_the_report() -> None:
    # r = 1.1019 t² (NACA Report 460, read in public code; re-derived as half of (0.2969 t / 0.2)²).
    assert naca4("0012").nose_radius == pytest.approx(0.01586736, abs=1e-6)


@pytest.mark.parametrize("digits", ["0009", "0012", "0018"])
def test_area_is_the_integral_of_the_formula(digits: str) -> None:
    # 0.6850833 t c² with the open trailing edge: the report's polynomial integrated by hand.
    section = naca4(digits)
    assert section.area == pytest.approx(0.6850833 * section.thickness, rel=1e-6)


def test_perimeter_of_0012() -> None:
    # 2.039272 chords for both surfaces, open edge: derived from the report's formula.
    ring = naca4("0012").ring(chord_mm=100.0)
    assert ring.perimeter_mm / 100 - 2 * 0.00126 == pytest.approx(2.039272, abs=1e-4)


def test_a_cambered_section_lays_its_thickness_normal_to_the_mean_line() -> None:
    # Both surfaces of NACA 2412 at half the mean line, as the documentation of a public aerofoil library prints them.
    upper, lower = naca4("2412").surfaces(np.array([0.5]))
    assert upper[0] == pytest.approx((0.5005881887154037, 0.07238142883077964), abs=1e-12)
    assert lower[0] == pytest.approx((0.4994118112845963, -0.03349253994189075), abs=1e-12)


@pytest.mark.parametrize("digits", ["2412", "4415", "6409"])
def test_heights_over_the_chord_are_the_surface_points(digits: str) -> None:
    section = naca4(digits)
    for side, points in enumerate(section.surfaces(np.linspace(0.02, 1.0, 60))):
        inside = (points[:, 0] > 0) & (points[:, 0] <= 1)
        heights = section.heights(points[inside, 0])[side]
        assert heights == pytest.approx(points[inside, 1], abs=1e-9)


def test_the_closed_curve_encloses_the_area_and_meets_the_ordinates() -> None:
    section = naca4("2412")
    ring = section.ring(chord_mm=150.0)
    assert ring.signed_area_mm2 == pytest.approx(section.area * 150**2, rel=2e-5)
    x, y = ring.flattened(0.001).T / 150
    upper = section.heights(np.clip(x, 0, 1))[0]
    on_top = (y > section.mean_line(np.clip(x, 0, 1))[0] + 1e-3) & (x > 0.002) & (x < 0.999)  # clear of the bulge
    assert np.abs(y - upper)[on_top].max() < 2e-5


def test_bending_inertia_agrees_with_a_fine_sum() -> None:
    section = naca4("0012")
    x = (np.arange(200_000) + 0.5) / 200_000
    half = section.half_thickness(x)
    assert section.bending_inertia == pytest.approx(float(np.mean(2 * half**3 / 3)), rel=1e-6)


def test_another_thickness_is_another_member_of_the_family() -> None:
    assert naca4("2412").resized(thickness=0.09) == naca4("2409")
    thick = naca4("0012").resized(trailing=0.02)
    assert thick.trailing_thickness == pytest.approx(0.02)


@pytest.mark.parametrize("digits", ["12", "00a2", "0000", "2012", "23012", ""])
def test_what_is_not_a_four_digit_section_is_refused(digits: str) -> None:
    with pytest.raises(PartError, match="four-digit"):
        naca4(digits)


def test_the_name_says_the_designation() -> None:
    assert naca4("2412").name == "NACA 2412"
    assert naca4("0012").resized(thickness=0.105).name == "NACA 0010.5"
    assert not math.isnan(naca4("0006").area)
