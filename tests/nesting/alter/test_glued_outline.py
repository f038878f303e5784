"""Planks and lengths without what is trued off them, against the part that they make up."""

import pytest

from nesting.alter.glued_outline import glued_outlines
from nesting.alter.planks import Planks
from nesting.alter.step import Setting
from nesting.wood.part import Part
from vectorize.shapes.boolean import united
from vectorize.shapes.outline import Outline

WING = Part("wing", Outline.from_points([(0, 0), (300, 10), (290, 90), (0, 100)]), "balsa", 6.0, grain_deg=8.0)


def test_planks_meet_without_lying_in_each_other():
    planks = Planks(width_mm=40.0).applied(WING, Setting()).parts
    glued = glued_outlines(planks)
    assert len(glued) == len(planks) >= 2
    assert sum(one.area_mm2 for one in glued.values()) == pytest.approx(WING.outline.area_mm2, rel=1e-6)
    (whole,) = united(*glued.values())
    assert whole.area_mm2 == pytest.approx(WING.outline.area_mm2, rel=1e-6)
    for plank in planks:
        assert glued[plank.name].area_mm2 == pytest.approx(plank.outline.area_mm2 * plank.finished_share, rel=1e-6)


def test_a_part_of_one_piece_stays_as_it_is():
    assert glued_outlines([WING]) == {}
