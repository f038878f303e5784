import math

import numpy as np
import pytest

from nesting.carve.planform import Planform, stretches_at
from tests.nesting.carve.carved_panels import rectangle, rounded, taper
from vectorize.basics.errors import PartError
from vectorize.shapes.outline import Outline, Pose, Ring
from vectorize.shapes.segment import Cubic, Line


def test_edges_and_chord_of_a_taper() -> None:
    planform = taper(120, 60, 400, 20)
    v = np.array([0.0, 100, 400])
    assert planform.leading_edge(v) == pytest.approx([0, 5, 20])
    assert planform.chord(v) == pytest.approx([120, 105, 60])
    assert planform.span == pytest.approx((0, 400))


# Worked cases: chord at the root, at the tip, semi-span, leading edge of the tip aft of the root's; mean chord, its
# station, its leading edge. Sources: public-domain aeronautical software notes (first); a teaching page (second);
# MAC = 2/3 cr (1 + L + L²)/(1 + L), y = s/3 (1 + 2L)/(1 + L) as in aircraft design texts (the others).
MEAN_CHORDS = [
    ((400, 200, 1000, 600), (311.1111, 444.4444, 266.6667)),
    ((8, 4, 10, 0), (6.2222, None, None)),
    ((100, 100, 500, 0), (100.0, 250.0, 0.0)),
    ((100, 0, 500, 0), (66.6667, 166.6667, 0.0)),
    ((250, 150, 600, 50), (204.1667, 275.0, 22.9167)),
]


@pytest.mark.parametrize(("shape", "expected"), MEAN_CHORDS)
def test_mean_chord_of_the_worked_cases(
    shape: tuple[float, float, float, float], expected: tuple[float | None, ...]
) -> None:
    root, tip, span, sweep = shape
    planform = Planform(Outline.from_points([(0, -root), (span, -sweep - tip), (span, -sweep), (0, 0)]))
    for value, wanted in zip(planform.mean_chord(), expected, strict=True):
        if wanted is not None:
            assert value == pytest.approx(wanted, abs=0.001)


@pytest.mark.parametrize("angle", [0.0, 37.0, 90.0, 200.0])
def test_the_plan_may_be_turned(angle: float) -> None:
    turned = Planform(taper().outline.placed(Pose(50, -20, angle)), span_deg=angle, aft_deg=angle - 90)
    assert turned.mean_chord() == pytest.approx(taper().mean_chord(), abs=1e-9)
    at = np.array([[12.0, 34.0]])
    assert turned.to_panel(turned.to_plan(at)) == pytest.approx(at)


def test_stations_count_from_the_root_given() -> None:
    planform = Planform(taper().outline, root=(-30.0, 0.0))
    assert planform.span == pytest.approx((30, 430))


def test_area_is_the_integral_of_the_chord() -> None:
    for planform in (rectangle(), taper(), rounded()):
        v, weights = planform.quadrature()
        assert float(weights @ planform.chord(v)) == pytest.approx(planform.outline.area_mm2, rel=2e-4)


def test_an_elliptic_tip_is_read_to_its_point() -> None:
    k = 4 / 3 * (math.sqrt(2) - 1)
    aft, fore = (Cubic((0, -50), (300 * k, -50), (300, -50 * k), (300, 0)),
                 Cubic((300, 0), (300, 50 * k), (300 * k, 50), (0, 50)))  # fmt: skip
    quarter = Outline(Ring((aft, fore, Line((0, 50), (0, -50)))))
    planform = Planform(quarter)
    # An ellipse of half axes 300 and 50; its quarter circles as cubics are true to 3e-4.
    assert planform.chord(np.array([150.0]))[0] == pytest.approx(100 * math.sqrt(0.75), rel=1e-3)


def test_cutouts_part_the_wood_at_their_stations() -> None:
    holed = Planform(Outline(rectangle().outline.exterior, (Ring.rectangle(50, -60, 80, -40),)))
    rings = holed.rings_of(holed.outline)
    assert stretches_at(rings, 65.0) == (pytest.approx((0.0, 40.0)), pytest.approx((60.0, 100.0)))
    assert stretches_at(rings, 90.0) == (pytest.approx((0.0, 100.0)),)


def test_an_edge_that_turns_back_is_refused_with_its_station() -> None:
    #  ___________
    # |      _____|   a notch that opens towards the root
    # |_____|
    hooked = Outline.from_points([(0, -100), (200, -100), (120, -60), (300, -50), (300, 0), (0, 0)])
    with pytest.raises(PartError, match=r"turns back at span station 200\.0 mm"):
        Planform(hooked)


def test_stations_off_the_panel_and_slanting_directions_are_refused() -> None:
    with pytest.raises(PartError, match=r"500\.0 mm is off the panel, which runs from 0\.0 to 400\.0 mm"):
        taper().checked_station(500)
    with pytest.raises(PartError, match="right angles"):
        Planform(taper().outline, span_deg=0, aft_deg=-80)


def test_a_root_that_is_not_quite_square_still_has_a_root_chord() -> None:
    # By 0.1 degrees it is square: the chord is whole from the innermost point on.
    hardly = Planform(Outline.from_points([(0.2, -120), (400, -80), (400, -20), (0, 0)]))
    assert hardly.root_station == pytest.approx(0.0)
    assert hardly.chord(np.array([0.0]))[0] == pytest.approx(120.0)
    # By 1.4 degrees it is raked: at its innermost point there is no chord.
    slanting = Planform(Outline.from_points([(3.0, -120), (400, -80), (400, -20), (0, 0)]))
    assert slanting.chord(np.array(slanting.span))[0] == pytest.approx(0.0, abs=1e-9)
    assert slanting.chord(np.array([slanting.root_station]))[0] > 117.0
    assert slanting.root_station < 3.1
    assert taper().root_station == 0.0


def test_a_hairline_spur_of_a_trace_does_not_count() -> None:
    #  _________\  a spur of 0.6 mm, far thinner than it is long, at the upper corner of the tip
    spurred = Outline.from_points([(0, -100), (300, -90), (300, -10), (300.6, -9.98), (299.8, -9.96), (0, 0)])
    planform = Planform(spurred)
    assert planform.chord(np.array([150.0]))[0] == pytest.approx(90.0, abs=0.1)
    assert planform.span[1] == pytest.approx(300.0, abs=0.7)
