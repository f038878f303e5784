import math

import pytest

from nesting.alter.rescale import Rescale
from nesting.alter.step import Setting
from nesting.wood.part import Part
from vectorize.basics.errors import PartError
from vectorize.shapes.outline import Outline, Ring, check_outline

#        | |  open slot for 3 mm stock at the top
#   _____| |_______
#  |               |
#  |  []    o   ( )|   closed slot 3.1 x 12, bolt 4 mm, hole 10 mm
#  |_______________|
RIB = Outline(
    Ring.from_points([(0, 0), (80, 0), (80, 30), (41.5, 30), (41.5, 15), (38.5, 15), (38.5, 30), (0, 30)]),
    (Ring.rectangle(8, 8, 11.1, 20), Ring.circle((50, 10), 2), Ring.circle((68, 15), 5)),
)
PART = Part("rib", RIB, "balsa", 2.0)


@pytest.mark.parametrize("factor", [0.6, 1.5, 2.0])
def test_a_scaled_part_keeps_its_stock_slots_and_bolts(factor: float) -> None:
    change = Rescale(factor, about=(0.0, 0.0), stock_mm=(3.0,)).applied(PART, Setting())
    (part,) = change.parts
    check_outline(part.outline)
    closed, bolt, hole = (Outline(ring) for ring in part.outline.cutouts)
    assert closed.size_mm == pytest.approx((3.1, 12 * factor))
    assert closed.centroid == pytest.approx((9.55 * factor, 14 * factor))
    assert bolt.size_mm == pytest.approx((4.0, 4.0))
    assert hole.size_mm == pytest.approx((10 * factor, 10 * factor))
    from shapely.geometry import LineString

    across = part.outline.to_polygon().intersection(LineString([(-1, 25 * factor), (200, 25 * factor)]))
    left, right = sorted(line.bounds for line in across.geoms)
    assert right[0] - left[2] == pytest.approx(3.0, abs=1e-9)
    assert (right[0] + left[2]) / 2 == pytest.approx(40 * factor)
    floor = part.outline.to_polygon().intersection(LineString([(40 * factor, -1), (40 * factor, 200)]))
    assert floor.bounds[3] == pytest.approx(15 * factor)
    assert "2 slots kept their stock thickness and 1 round holes" in change.notes[0].text


def test_without_stock_everything_scales() -> None:
    (part,) = Rescale(2.0, about=(0.0, 0.0), stock_mm=(9.0,)).applied(PART, Setting()).parts
    bolt_area = math.pi * (16 - 4)
    assert part.outline.area_mm2 == pytest.approx(4 * RIB.area_mm2 + bolt_area)


def test_a_factor_beyond_reason_is_refused() -> None:
    with pytest.raises(PartError, match="scale factor of 0"):
        Rescale(0).check("part", Setting())
