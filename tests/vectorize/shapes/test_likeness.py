"""Six ribs drawn the same are one shape six times."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fixtures import outline_shapes
from tests.vectorize.inked_lines import Sheet
from vectorize.scale.fit_scale import fit_scale
from vectorize.shapes.likeness import Shape, alike
from vectorize.shapes.outline import Outline, Pose, Ring
from vectorize.trace.trace_page import PartPick, trace_picks

SIGMA_MM = 0.02
RIB = outline_shapes.rib(72, 13, notches=((20.0, 3.0, 4.0),), holes=((36.0, 2.5),))


def turned_over(outline: Outline) -> Outline:
    exterior, *cutouts = (ring.mapped(lambda p: (-p[0], p[1]), mirrors=True) for ring in outline.rings)
    return Outline(exterior, tuple(cutouts))


def named(**outlines: Outline) -> list[Shape]:
    return [Shape(name, outline, SIGMA_MM) for name, outline in outlines.items()]


def test_equal_parts_are_one_shape_wherever_and_however_they_lie() -> None:
    found = alike(named(first=RIB, there=RIB.placed(Pose(80, 40, 0)), turned=RIB.placed(Pose(10, 90, -137))))
    assert [(like.name, like.same_as, like.is_mirrored) for like in found] == [
        ("there", "first", False),
        ("turned", "first", False),
    ]
    assert max(like.worst_mm for like in found) < SIGMA_MM


def test_a_part_drawn_for_the_other_hand_is_named_as_such() -> None:
    (like,) = alike(named(left=RIB, right=turned_over(RIB).placed(Pose(150, 10, 33))))
    assert (like.name, like.same_as, like.is_mirrored) == ("right", "left", True)


def test_a_part_that_is_its_own_mirror_image_is_not_turned_over() -> None:
    former = outline_shapes.former()
    (like,) = alike(named(one=former, other=turned_over(former)))
    assert not like.is_mirrored


@pytest.mark.parametrize(
    "other",
    [
        outline_shapes.rib(72.6, 13, notches=((20.0, 3.0, 4.0),), holes=((36.0, 2.5),)),
        outline_shapes.rib(72, 13, notches=((20.0, 3.0, 4.5),), holes=((36.0, 2.5),)),
        outline_shapes.rib(72, 13, notches=((20.0, 3.0, 4.0),), holes=((36.5, 2.5),)),
        outline_shapes.rib(72, 13, notches=((20.0, 3.0, 4.0),)),
    ],
    ids=["chord", "notch", "hole", "no hole"],
)
def test_half_a_millimetre_makes_another_shape(other: Outline) -> None:
    assert alike(named(one=RIB, other=other)) == ()


def test_the_uncertainty_of_both_decides() -> None:
    longer = outline_shapes.rib(72.6, 13, notches=((20.0, 3.0, 4.0),), holes=((36.0, 2.5),))
    (like,) = alike([Shape("sharp", RIB, 0.02), Shape("faint", longer, 0.15)])
    assert like.worst_mm == pytest.approx(0.6, abs=0.1)


def test_a_square_lies_on_a_square() -> None:
    square = Outline.rectangle(0, 0, 20, 20)
    corners = np.array([(30, 0), (30 + 20 * 0.8, 20 * 0.6), (30 + 20 * 0.2, 20 * 1.4), (30 - 20 * 0.6, 20 * 0.8)])
    (like,) = alike(named(one=square, two=Outline.from_points(corners)))
    assert like.worst_mm < SIGMA_MM


def test_ribs_traced_from_one_sheet_are_known_as_one_shape() -> None:
    """Some lie turned by a few degrees, so that their edges meet other pixels."""
    sheet = Sheet(120, 80, dpi=200, pen_mm=0.45)
    places = [Pose(8, 12, 0), Pose(66, 14, 4), Pose(10, 46, -6)]
    small = outline_shapes.rib(46, 12, notches=((14.0, 3.0, 4.0),), holes=((24.0, 2.0),))
    for pose in places:
        sheet.shape(*(ring.flattened(0.005) for ring in small.placed(pose).rings))
    page = sheet.page(seed=1)
    picks = [
        PartPick(f"rib {k}", (sheet.pick(*small.placed(pose).exterior.flattened(0.1).mean(axis=0)),))
        for k, pose in enumerate(places)
    ]
    parts = trace_picks(page, fit_scale(page, sheet.known()), picks).parts
    found = alike([Shape(part.name, part.outline, part.sigma_edge_mm) for part in parts])
    assert [(like.same_as, like.is_mirrored) for like in found] == [("rib 0", False)] * 2


@pytest.mark.parametrize("first", range(7))
@pytest.mark.parametrize("angle", [0.0, 33.3, 180.0])
def test_a_copy_that_begins_at_another_corner_is_one(first: int, angle: float) -> None:
    corners = [(0, 0), (60, 0), (60, 12), (35, 18), (35, 30), (8, 26), (0, 14)]
    turned = complex(math.cos(math.radians(angle)), math.sin(math.radians(angle)))

    def moved(x: float, y: float) -> tuple[float, float]:
        at = complex(x, y) * turned + 200
        return at.real, at.imag

    copy = [moved(*corner) for corner in (*corners[first:], *corners[:first])]
    one = Shape("one", Outline(Ring.from_points(corners), (Ring.circle((20, 10), 3),)), 0.001)
    other = Shape("other", Outline(Ring.from_points(copy), (Ring.circle(moved(20, 10), 3),)), 0.001)
    (likeness,) = alike([one, other])
    assert likeness.same_as == "one"
    assert not likeness.is_mirrored
    assert likeness.worst_mm < 0.01
