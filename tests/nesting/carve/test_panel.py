import numpy as np
import pytest

from nesting.alter.edge_strip import EdgeStrip
from nesting.alter.glued_outline import glued_outlines
from nesting.alter.planks import Planks
from nesting.alter.step import Setting
from nesting.carve.panel import CarvedPanel
from nesting.carve.planform import Planform
from nesting.carve.section import HighPoint, naca4
from nesting.job.deriving import carved_part
from nesting.wood.part import Part
from tests.nesting.carve.carved_panels import high_point_panel, naca_panel, rectangle, rounded, taper
from vectorize.basics.errors import PartError
from vectorize.shapes.outline import Outline, Ring

VOLUME_TOL = 1e-3
# Area of a four-digit section: 0.6850833 t c² with the open trailing edge, NACA Report 460's polynomial integrated.
AREA_0012 = 0.6850833 * 0.12


def test_a_rectangular_panel_of_0012_is_section_times_span() -> None:
    solid = CarvedPanel(rectangle(100, 300), 13.0, naca4("0012")).solid()
    assert solid.volume_mm3 == pytest.approx(AREA_0012 * 100**2 * 300, rel=VOLUME_TOL)
    u, v, z = solid.centroid
    assert v == pytest.approx(150.0)
    assert z == pytest.approx(6.5)
    # The section's centre at 42.0 % of chord: the report's polynomial, first moment over area, worked here by a sum.
    x = (np.arange(100_000) + 0.5) / 100_000
    half = naca4("0012").half_thickness(x)
    assert u == pytest.approx(100 * float((x * half).sum() / half.sum()), rel=VOLUME_TOL)
    assert solid.removed_share == pytest.approx(1 - AREA_0012 * 100 / 13.0, rel=VOLUME_TOL)


@pytest.mark.parametrize(("root", "tip"), [(120.0, 60.0), (150.0, 150.0), (100.0, 20.0)])
def test_a_straight_taper_is_its_closed_form(root: float, tip: float) -> None:
    span, sweep, k = 400.0, 20.0, 0.6850833 * 0.09
    solid = CarvedPanel(taper(root, tip, span, sweep), 14.0, naca4("0009")).solid()
    # V = k ∫ c² dy, with c linear: k s (cr² + cr ct + ct²) / 3;
    # the centre's station is k s² (cr² + 2 cr ct + 3 ct²) / 12 / V.
    volume = k * span * (root**2 + root * tip + tip**2) / 3
    assert solid.volume_mm3 == pytest.approx(volume, rel=VOLUME_TOL)
    station = k * span**2 * (root**2 + 2 * root * tip + 3 * tip**2) / 12 / volume
    assert solid.centroid[1] == pytest.approx(station, rel=VOLUME_TOL)


def test_volume_agrees_with_a_block_of_small_columns() -> None:
    panel = high_point_panel()
    step = 1.0
    total = 0.0
    for v in np.arange(step / 2, 400, step):
        shares = (np.arange(2000) + 0.5) / 2000
        upper, lower = panel.heights(float(v), shares)
        total += float((upper - lower).mean()) * float(panel.planform.chord(np.array([v]))[0]) * step
    assert panel.solid().volume_mm3 == pytest.approx(total, rel=VOLUME_TOL)


def test_cut_outs_take_their_wood_with_them() -> None:
    shape = rectangle(100, 300).outline
    holed = Planform(Outline(shape.exterior, (Ring.rectangle(100, -60, 140, -20),)))
    whole, less = (CarvedPanel(p, 13.0, naca4("0012")).solid() for p in (rectangle(100, 300), holed))
    x = 0.2 + 0.4 * (np.arange(4000) + 0.5) / 4000
    upper, lower = naca4("0012").heights(x)
    gone = float((upper - lower).mean()) * 100 * 40 * 40
    assert whole.volume_mm3 - less.volume_mm3 == pytest.approx(gone, rel=1e-3)


def test_thickness_tapers_linearly_and_the_trailing_edge_stays() -> None:
    panel = high_point_panel()
    for station, thickness in ((0.0, 8.0), (200.0, 6.5), (400.0, 5.0)):
        upper, lower = panel.heights(station, np.array([0.30, 1.0]))
        assert upper[0] - lower[0] == pytest.approx(thickness)
        assert upper[1] - lower[1] == pytest.approx(1.0)
        assert lower[0] == pytest.approx(0.0)


def test_a_flat_bottom_lies_on_the_bench_and_a_symmetrical_section_in_the_middle() -> None:
    assert high_point_panel().heights(100.0, np.array([0.5]))[1] == pytest.approx([0.0])
    upper, lower = naca_panel().heights(100.0, np.array([0.5]))
    assert (upper + lower) / 2 == pytest.approx([6.0])
    low = CarvedPanel(taper(), 12.0, naca4("0009"), seat="bottom").heights(100.0, np.linspace(0, 1, 101))[1]
    assert low.min() == pytest.approx(0.0, abs=1e-3)


def test_towards_a_round_tip_the_section_thins_with_the_chord() -> None:
    section = HighPoint(0.08, nose=0.008)
    panel = CarvedPanel(rounded(), 8.0, section, thickness_mm=(8.0, 8.0), trailing_mm=1.0)
    end = panel.planform.span[1]
    chord = float(panel.planform.chord(np.array([end - 0.2]))[0])
    assert panel.thickness_at(end - 0.2) <= 0.18 * chord + 1e-9
    assert 0 < panel.solid().removed_share < 0.6


def test_a_carved_part_weighs_and_balances_as_it_flies() -> None:
    panel = high_point_panel()
    part = carved_part(Part("wing", panel.planform.outline, "balsa", 8.0), panel)
    solid = panel.solid()
    assert part.finished_share == pytest.approx(solid.volume_mm3 / (panel.planform.outline.area_mm2 * 8))
    x, y = part.centroid
    assert (x, -y) == pytest.approx((solid.centroid[1], solid.centroid[0]))
    assert -y < -panel.planform.outline.centroid[1]  # the wood that is left lies ahead of the blank's middle


def test_pieces_of_a_panel_weigh_and_balance_as_the_panel() -> None:
    panel = high_point_panel()
    outline = panel.planform.outline
    strip = EdgeStrip(((200.0, -10.0),), 8.0, "spruce").applied(Part("wing", outline, "balsa", 8.0), Setting())
    planks = Planks(60.0).applied(strip.parts[0], Setting()).parts
    glued = glued_outlines(planks)
    pieces = [carved_part(piece, panel, glued=glued.get(piece.name)) for piece in (*planks, *strip.extras)]
    net = [piece.outline.area_mm2 * 8 * piece.finished_share for piece in pieces]
    whole = panel.solid()
    assert sum(net) == pytest.approx(whole.volume_mm3, rel=1e-5)
    v = sum(n * piece.centroid[0] for n, piece in zip(net, pieces, strict=True)) / sum(net)
    assert v == pytest.approx(whole.centroid[1], rel=1e-5)


def test_bending_stiffness_of_the_section_is_less_than_the_blanks() -> None:
    panel = naca_panel(rectangle(100, 300), "0012")
    # A solid rectangle of the same size would have c t³ / 12; a NACA section has about 0.0376 c t³ (numerical).
    inertia = panel.bending_inertia_mm4(150.0)
    assert inertia < 100 * 12**3 / 12
    x = (np.arange(200_000) + 0.5) / 200_000
    half = 100 * naca4("0012").half_thickness(x)
    assert inertia == pytest.approx(100 * float(np.mean(2 * half**3 / 3)), rel=1e-5)


THIN, SHEET = naca4("0003"), HighPoint(0.05, nose=0.005)


@pytest.mark.parametrize(
    ("panel", "words"),
    [
        ((8.0, naca4("0009"), None, None), r"station 0\.0 mm the section is 10\.80 mm thick .* blank of 8 mm"),
        ((5.0, THIN, None, 6.0), "trailing edge of 6 mm from a blank of 5 mm"),
        ((8.0, SHEET, (8.0, 0.0), None), "0 mm thick cannot be"),
        ((0.0, THIN, None, None), "blank 0 mm thick"),
    ],
)
def test_what_the_blank_does_not_hold_is_refused_with_the_numbers(panel, words: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(PartError, match=words):
        CarvedPanel(taper(), *panel)
