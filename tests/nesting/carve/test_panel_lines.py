import numpy as np
import pytest

from nesting.carve.panel_lines import contours, high_point_line, share_line
from nesting.carve.planform import Planform
from tests.nesting.carve.carved_panels import high_point_panel, naca_panel, rounded, taper
from vectorize.shapes.outline import Outline

STRAIGHT_TOL_MM = 1e-6


def _bow(line: tuple[tuple[float, float], ...]) -> float:
    points = np.array(line)
    along = points[-1] - points[0]
    away = points - points[0]
    return float(np.abs(away[:, 0] * along[1] - away[:, 1] * along[0]).max() / np.hypot(*along))


def test_a_straight_taper_with_its_high_point_at_30_percent_has_a_straight_high_point_line() -> None:
    # Common practice, no source.
    line = high_point_line(high_point_panel(taper(120, 60, 400, 20)))
    assert _bow(line) < STRAIGHT_TOL_MM
    assert line[0] == pytest.approx((0.0, -36.0))
    assert line[-1] == pytest.approx((400.0, -38.0), abs=1e-3)


#   root  |-----------------------/   the tip leans by so much over its chord of 60 mm
LEANS_MM = (0.001, -0.001, 0.03, -0.03, 0.3)
LEAN_TOL_MM = 0.05
"""A lean of 0.3 mm, led on level where the trailing edge comes in by 0.1 a mm: 0.03 mm at the edge, less before it."""


@pytest.mark.parametrize("lean", LEANS_MM)
@pytest.mark.parametrize("end", ["tip", "root"])
def test_an_end_a_little_out_of_square_does_not_bend_the_lines(lean: float, end: str) -> None:
    tip, root = (lean, 0.0) if end == "tip" else (0.0, lean)
    outline = Outline.from_points([(0 + root, -120), (400 + tip, -80), (400, -20), (0, 0)])
    panel = high_point_panel(Planform(outline))
    for share, line in ((0.30, high_point_line(panel)), (0.5, share_line(panel, 0.5)), (0.9, share_line(panel, 0.9))):
        assert _bow(line) < LEAN_TOL_MM
        assert line[-1] == pytest.approx((400.0, -20 - 60 * share), abs=abs(lean) + LEAN_TOL_MM)
        assert line[0] == pytest.approx((0.0, -120 * share), abs=abs(lean) + LEAN_TOL_MM)
    square = high_point_panel(taper(120, 60, 400, 20)).solid()
    # A triangle of lean x chord / 2, of at most 120 mm chord and 8 mm thickness, comes or goes.
    assert panel.solid().volume_mm3 == pytest.approx(square.volume_mm3, abs=abs(lean) * 120 / 2 * 8)


def test_on_a_round_tip_it_bends() -> None:
    assert _bow(high_point_line(high_point_panel(rounded()))) > 1.0


def test_contours_lie_at_their_depth_below_the_blank() -> None:
    panel = high_point_panel()
    found = contours(panel, step_mm=1.0)
    assert [c.depth_mm for c in found] == pytest.approx([1, 2, 3, 4, 5, 6, 7])  # 7 mm only at the tip's nose
    for contour in found:
        for line in contour.lines:
            for x, y in line[::15]:
                chord, lead = panel.planform.chord(np.array([x]))[0], panel.planform.leading_edge(np.array([x]))[0]
                upper, _ = panel.heights(x, np.array([(-y - lead) / chord]))
                assert 8.0 - upper[0] == pytest.approx(contour.depth_mm, abs=0.01)


def test_both_sides_of_a_symmetrical_section_have_the_same_contours() -> None:
    panel = naca_panel()
    upper, lower = contours(panel, side="upper", count=21), contours(panel, side="lower", count=21)
    assert len(upper) == len(lower) > 2
    for a, b in zip(upper, lower, strict=True):
        assert np.array(a.lines[0]) == pytest.approx(np.array(b.lines[0]))


def test_a_share_of_the_chord_is_a_line_from_root_to_tip() -> None:
    line = share_line(high_point_panel(), 0.5)
    assert line[0] == pytest.approx((0.0, -60.0))
    assert _bow(line) < STRAIGHT_TOL_MM
