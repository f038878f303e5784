import math
from dataclasses import replace

import pytest

from nesting.alter.bearers import Bearers
from nesting.alter.openings import BoltPattern
from nesting.alter.step import Setting
from nesting.job.folder import read_spec
from nesting.job.given import Given
from nesting.job.rack_files import RackAtHand
from nesting.job.strip_stock import on_strips
from nesting.wood.part import Part
from vectorize.basics.errors import PartError
from vectorize.shapes.outline import Outline

#  0                    300
#  +---------------------+ 60
#  |==== bearer 2 (50)   |
#  |==== bearer 1 (20)   |
#  +---------------------+ 0
BODY = Part("fuselage", Outline.rectangle(0, 0, 300, 60), "balsa", 10.0)
BEARERS = Bearers(at=((0.0, 20.0), (0.0, 50.0)), length_mm=70.0, width_mm=9.5, material="basswood", glue="epoxy")


def test_the_part_loses_what_the_bearers_fill():
    change = BEARERS.applied(BODY, Setting())
    (body,), bearers = change.parts, change.extras
    assert [bearer.name for bearer in bearers] == ["fuselage bearer 1", "fuselage bearer 2"]
    assert body.outline.area_mm2 == pytest.approx(300 * 60 - 2 * 70 * 9.5)
    assert bearers[0].outline.bounds == pytest.approx((0, 15.25, 70, 24.75))
    assert {(b.material, b.thickness_mm, b.grain_deg) for b in bearers} == {("basswood", 10.0, 0.0)}
    # Glued along both sides and the aft end, 10 mm deep; the fore end is free.
    assert [seam.area_mm2 for seam in change.seams] == pytest.approx([(2 * 70 + 9.5) * 10] * 2, rel=1e-3)
    assert {seam.glue for seam in change.seams} == {"epoxy"}


def test_bolts_that_were_drilled_before_go_through_the_bearers():
    bolted = BoltPattern(at=((40.0, 35.0),), pitch_mm=(14.0, 30.0), diameter_mm=3.0).applied(BODY, Setting()).parts[0]
    change = BEARERS.applied(bolted, Setting())
    assert [len(bearer.outline.cutouts) for bearer in change.extras] == [2, 2]
    assert change.parts[0].outline.cutouts == ()
    assert change.extras[0].outline.area_mm2 == pytest.approx(70 * 9.5 - 2 * math.pi * 1.5**2, rel=1e-5)


def test_one_that_stands_ahead_of_the_nose_stays_whole():
    change = replace(BEARERS, at=((-20.0, 20.0),)).applied(BODY, Setting())
    assert change.extras[0].name == "fuselage bearer"
    assert change.extras[0].outline.area_mm2 == pytest.approx(70 * 9.5)
    assert change.parts[0].outline.area_mm2 == pytest.approx(300 * 60 - 50 * 9.5)


def test_bearers_are_cut_from_strip_stock():
    strip = (
        '[[strip]]\nname = "hard 10"\nmaterial = "basswood"\nthickness = "10 mm"\nwidth = "10 mm"\nlength = "500 mm"\n'
    )
    found = on_strips(Given(read_spec(strip), RackAtHand(), {}), BEARERS.applied(BODY, Setting()).extras)
    assert [part.name for part in found if part.strip is not None] == ["fuselage bearer 1", "fuselage bearer 2"]


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"at": ((400.0, 20.0),)}, "misses the part"),
        ({"length_mm": 400.0}, "leaves 3 pieces|leaves 2 pieces"),
        ({"width_mm": 0.0}, "width of 0 mm"),
        ({"thickness_mm": -1.0}, "thickness of -1 mm"),
        ({"at": ()}, "fore end of each"),
    ],
)
def test_what_cannot_be_let_in_is_refused(changes, said):
    with pytest.raises(PartError, match=said):
        checked_and_applied(replace(BEARERS, **changes))


def checked_and_applied(step):
    step.check("fuselage", Setting())
    step.applied(BODY, Setting())


def test_an_opening_that_cuts_a_bearer_in_two_is_refused():
    slotted = replace(
        BODY, outline=Outline(BODY.outline.exterior, (Outline.rectangle(30, 10, 40, 30).exterior.reversed(),))
    )
    with pytest.raises(PartError, match="leave 2 pieces"):
        BEARERS.applied(slotted, Setting())
