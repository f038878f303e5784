import math
from dataclasses import replace

import pytest
import shapely

from nesting.alter.edge_strip import EdgeStrip
from nesting.alter.step import Setting
from nesting.place.layout_rules import NestRules
from nesting.place.nest_parts import nest_parts
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.basics.errors import PartError
from vectorize.shapes.outline import Outline, Ring
from vectorize.shapes.segment import Cubic, Line

#    ___________________
#   /                    \      leading edge at the top, bent tip
#  |______________________)
TIP = Cubic((280, 20), (310, 40), (300, 80), (270, 90))
PANEL = Outline(Ring((Line((0, 0), (280, 20)), TIP, Line((270, 90), (0, 100)), Line((0, 100), (0, 0)))))
PART = Part("wing", PANEL, "balsa", 6.0, grain_deg=0.0)


def test_the_panel_shrinks_and_the_strip_appears_in_its_place() -> None:
    change = EdgeStrip(((130.0, 96.0),), 6.0, "basswood", ends=((270.0, 90.0),)).applied(PART, Setting())
    (panel,), (strip,) = change.parts, change.extras
    assert panel.outline.area_mm2 + strip.outline.area_mm2 == pytest.approx(PANEL.area_mm2, rel=1e-6)
    assert (strip.name, strip.material, strip.thickness_mm) == ("wing edge strip", "basswood", 6.0)
    # 6 mm at right angles to the edge, everywhere along it.
    inner = [s for s in strip.outline.exterior.segments if isinstance(s, Line) and s.length > 200]
    edge = shapely.LineString([(0, 100), (270, 90)])
    away = sorted(edge.distance(shapely.Point(s.point_at(0.5))) for s in inner)
    assert away == pytest.approx([0.0, 6.0], abs=1e-6)
    assert strip.grain_deg == pytest.approx(177.9, abs=1.5)


def test_weights_follow_each_ones_own_wood() -> None:
    change = EdgeStrip(((130.0, 96.0),), 6.0, "basswood", thickness_mm=8.0).applied(PART, Setting())
    assert change.extras[0].thickness_mm == 8.0
    assert change.parts[0].material == "balsa"


def test_a_strip_wider_than_the_panel_is_refused() -> None:
    with pytest.raises(PartError, match="nothing is left after letting in a strip of 150 mm"):
        EdgeStrip(((130.0, 96.0),), 150.0, "basswood").applied(PART, Setting())
    with pytest.raises(PartError, match="more than zero"):
        EdgeStrip(((130.0, 96.0),), 0.0, "basswood").check("p", Setting())
    with pytest.raises(PartError, match="a point on the edge"):
        EdgeStrip((), 5.0, "basswood").check("p", Setting())


@pytest.mark.parametrize(("panel", "deg"), [(Outline.rectangle(0.0, 0.0, 120.0, 60.0), 0.0), (PANEL, 177.8789)])
def test_grain_runs_along_the_strip_not_along_its_diagonal(panel: Outline, deg: float) -> None:
    # The panel's leading edge falls by 10 mm over 270 mm: atan2(-10, 270).
    # A strip of 10 mm on a panel of 120 mm: its diagonal runs 4.8 degrees off, out of the grain's tolerance of 3.
    near, ends = ((60.0, 60.0), ()) if deg == 0 else ((130.0, 96.0), ((270.0, 90.0),))
    (strip,) = EdgeStrip((near,), 10.0, "basswood", ends=ends).applied(replace(PART, outline=panel), Setting()).extras
    off = abs((strip.grain_deg - deg + 90.0) % 180.0 - 90.0)
    assert off < 1e-3


def test_round_a_corner_grain_runs_along_the_longer_leg() -> None:
    panel = replace(PART, outline=Outline.rectangle(0.0, 0.0, 300.0, 100.0))
    (strip,) = EdgeStrip(((150.0, 100.0), (300.0, 50.0)), 6.0, "basswood").applied(panel, Setting()).extras
    assert strip.grain_deg % 180.0 == pytest.approx(0.0, abs=1e-6)


def test_two_strips_run_each_along_its_own_edge() -> None:
    #   ______/   leading edge level, trailing edge slanting
    outline = Outline.from_points([(0.0, 0.0), (200.0, 40.0), (200.0, 100.0), (0.0, 100.0)])
    strips = EdgeStrip(((100.0, 100.0), (100.0, 20.0)), 5.0, "basswood").applied(
        replace(PART, outline=outline), Setting()
    ).extras  # fmt: skip
    along = sorted(strip.grain_deg % 180.0 for strip in strips)
    assert along == pytest.approx([0.0, math.degrees(math.atan2(40.0, 200.0))], abs=1e-6)


@pytest.mark.parametrize(("stock_mm", "edges_mm"), [(12.1, 1.0), (10.0, 0.0)])
def test_strip_stock_is_wide_enough_for_the_strip(stock_mm: float, edges_mm: float) -> None:
    panel = replace(PART, outline=Outline.rectangle(0.0, 0.0, 120.0, 60.0))
    (strip,) = EdgeStrip(((60.0, 60.0),), 10.0, "basswood").applied(panel, Setting()).extras
    stock = Board("strip stock", "basswood", 6.0, 900.0, stock_mm)
    rules = NestRules.for_tool("saw", edges_mm=edges_mm)
    layout = nest_parts([strip], [stock], rules=rules, time_limit_s=None, max_sweeps=20)
    assert layout.proof.is_proved
    assert not layout.unplaced
