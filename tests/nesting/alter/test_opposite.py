import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.alter.axis import Axis
from nesting.alter.frame import PlanFrame
from nesting.alter.opposite import Opposite, Pair
from nesting.alter.step import Setting
from nesting.wood.part import Part
from tests.nesting.alter.part_shapes import BODY
from vectorize.basics.errors import PartError

MIRROR_TOL_MM = 1e-9  # a reflection is exact but for rounding
COORDINATE = st.floats(-200, 200)


@settings(max_examples=40, deadline=None)
@given(x0=COORDINATE, y0=COORDINATE, turn=st.floats(0, 360))
def test_a_pair_are_mirror_images(x0: float, y0: float, turn: float) -> None:
    across = ((x0, y0), (x0 + 50 * math.cos(math.radians(turn)), y0 + 50 * math.sin(math.radians(turn))))
    part = Part("tip", BODY, "balsa", 3.0, grain_deg=20.0, hand="left")
    (other,) = Opposite(across).applied(part, Setting()).parts
    normal = np.array([-(across[1][1] - y0), across[1][0] - x0]) / 50
    here = BODY.exterior.flattened(0.1)
    there = other.outline.exterior.flattened(0.1)
    # Each point and its image lie the same distance from the line, on opposite sides.
    height = lambda points: np.sort((points - across[0]) @ normal)  # noqa: E731
    assert height(here) == pytest.approx(np.sort(-height(there)), abs=MIRROR_TOL_MM)
    assert other.outline.area_mm2 == pytest.approx(BODY.area_mm2, abs=MIRROR_TOL_MM * BODY.perimeter_mm)
    assert other.hand == "right"


def test_twice_mirrored_is_the_part_again() -> None:
    part = Part("tip", BODY, "balsa", 3.0, grain_deg=20.0, finished_centroid=(10.0, 5.0), finished_share=0.5)
    step = Opposite(((3.0, 4.0), (80.0, 60.0)))
    (once,) = step.applied(part, Setting()).parts
    (twice,) = step.applied(once, Setting()).parts
    assert twice.outline.exterior.flattened(0.1) == pytest.approx(BODY.exterior.flattened(0.1), abs=MIRROR_TOL_MM)
    assert twice.grain_deg == pytest.approx(20.0)
    assert twice.finished_centroid == pytest.approx((10.0, 5.0))


def test_by_default_the_axis_is_the_mirror() -> None:
    part = Part("tip", BODY, "balsa", 3.0)
    (other,) = Opposite().applied(part, Setting(PlanFrame(axis=Axis((0.0, -10.0), 0.0)))).parts
    assert other.outline.centroid == pytest.approx((BODY.centroid[0], -20 - BODY.centroid[1]))


def test_a_pair_from_one_is_cut_in_both_hands() -> None:
    (part,) = Pair().applied(Part("tip", BODY, "balsa", 3.0), Setting()).parts
    assert (part.hand, part.copies) == ("pair", 2)


def test_a_mirror_line_without_length_is_refused() -> None:
    with pytest.raises(PartError, match="no length"):
        Opposite(((1.0, 1.0), (1.0, 1.0))).check("tip", Setting())
