import pytest
import shapely

from nesting.alter.edge_strip import EdgeStrip
from nesting.alter.step import Setting
from nesting.part import Part
from vectorize.curve import Cubic, Line
from vectorize.errors import PartError
from vectorize.outline import Outline, Ring

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
        EdgeStrip(((130.0, 96.0),), 0.0, "basswood")
    with pytest.raises(PartError, match="a point on the edge"):
        EdgeStrip((), 5.0, "basswood")
