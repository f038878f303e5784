"""The glue of joints that steps make: areas and places worked out by hand."""

import math

import pytest

from nesting.alter.doubler import Doubler
from nesting.alter.edge_strip import EdgeStrip
from nesting.alter.evaluate import Recipe, evaluate
from nesting.alter.long_joints import Laminate, Scarf, Splice
from nesting.alter.planks import Planks
from nesting.balance.entries import Build, part_entries
from nesting.balance.ledger import Reading, with_readings
from nesting.balance.station import Datum, Seat
from nesting.balance.weights import weigh_parts
from nesting.wood.board import Board
from nesting.wood.covering import GLUES
from nesting.wood.estimate import Estimate
from nesting.wood.glued_seams import carved_seam
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline, Ring

WING = Part("wing", Outline.rectangle(0, 0, 400, 180), "balsa", 8.0)
SPINE = Part("spine", Outline.rectangle(0, 0, 1400, 60), "balsa", 10.0)
AREA_REL = 1e-4
"""Outlines are flattened to 0.01 mm before they are measured."""


def seams_of(part, *steps):
    return evaluate({part.name: part}, [Recipe(part.name, steps=steps)]).seams


def test_white_glue_adds_what_the_trade_takes_for_it():
    # 150 g/m2 wet at 48 % solids: 72 g/m2 dry (common practice, no source).
    assert GLUES["white glue"].g_per_m2 == pytest.approx(150 * 0.48)


def test_planks_are_glued_along_their_whole_length_and_depth():
    # Three planks of 60 mm: two seams of 400 x 8 mm, at 60 and 120 mm.
    seams = seams_of(WING, Planks(70.0))
    assert [seam.area_mm2 for seam in seams] == pytest.approx([3200.0, 3200.0], rel=AREA_REL)
    assert [seam.at for seam in seams] == [pytest.approx((200.0, 60.0)), pytest.approx((200.0, 120.0))]
    assert seams[0].parts == ("wing plank 1", "wing plank 2")


def test_a_seam_stops_at_an_opening():
    # A hole of 100 x 20 mm on the middle line takes a quarter of the seam.
    holed = Part("wing", Outline(WING.outline.exterior, (Ring.rectangle(250, 80, 350, 100),)), "balsa", 8.0)
    (seam,) = seams_of(holed, Planks(100.0))
    assert seam.area_mm2 == pytest.approx(300 * 8, rel=AREA_REL)
    assert seam.at[0] == pytest.approx((250 * 125 + 50 * 375) / 300, abs=0.01)


def test_a_strip_is_glued_along_its_inner_edge():
    seams = seams_of(WING, EdgeStrip(((200.0, 180.0),), 8.0, "spruce", glue="epoxy"), Planks(100.0))
    strip = next(seam for seam in seams if seam.glue == "epoxy")
    assert strip.area_mm2 == pytest.approx(400 * 8, rel=1e-3)
    assert strip.at == pytest.approx((200.0, 172.0), abs=0.05)
    assert strip.parts[0] == "wing edge strip"
    assert set(strip.parts[1:]) == {"wing plank 1", "wing plank 2"}


def test_a_scarf_is_glued_over_its_slope():
    # 1:8 on 10 mm: a slope of 80 mm, sqrt(80² + 10²) long, 60 mm wide.
    (seam,) = seams_of(SPINE, Scarf())
    assert seam.area_mm2 == pytest.approx(60 * math.hypot(80, 10))
    assert seam.at == pytest.approx((700.0, 30.0), abs=1.0)


def test_a_splice_is_glued_at_its_butt_and_under_its_plates():
    # Plates reach six thicknesses to either side: 120 x 60 mm each, two of them; the butt is 60 x 10 mm.
    plates, butt = seams_of(SPINE, Splice())
    assert plates.area_mm2 == pytest.approx(2 * 120 * 60)
    assert butt.area_mm2 == pytest.approx(60 * 10, rel=AREA_REL)


def test_layers_are_glued_over_the_whole_face():
    seams = seams_of(SPINE, Laminate((5.0, 2.5, 2.5), longest_mm=800))
    assert [seam.area_mm2 for seam in seams] == pytest.approx([1400 * 60.0] * 2)
    assert seams[0].at == pytest.approx((700.0, 30.0))
    # 84 000 mm² at 72 g/m2 are 6.05 g a seam: no laminate is glued for nothing.
    board = [Board(str(t), "balsa", t, 900.0, 100.0, mass_g=t * 10) for t in (5.0, 2.5)]
    made = evaluate({"spine": SPINE}, [Recipe("spine", steps=(Laminate((5.0, 2.5, 2.5), longest_mm=800),))])
    seats = {part.name: Seat() for part in made.parts}
    entries, _ = part_entries(
        weigh_parts(made.parts, board), made.parts, board, seats=seats, datum=Datum((0.0, 0.0)),
        build=Build(seams=made.seams),
    )  # fmt: skip
    glue = [entry for entry in entries if entry.what.startswith("glue in layers")]
    assert [entry.mass.value for entry in glue] == pytest.approx([84e-3 * 72] * 2)
    assert [entry.station.value for entry in glue] == pytest.approx([700.0] * 2)


def glued(grams=None, **said):
    """Return the ledger of a planked wing of 8 mm balsa at 100 kg/m3, weighed as a whole if at all."""
    boards = [Board("B", "balsa", 8.0, 1000.0, 100.0, mass_g=80.0)]
    made = evaluate({"wing": WING}, [Recipe("wing", steps=(Planks(98.0, trued_mm=0.0),))])
    names = tuple(part.name for part in made.parts)
    entries, _ = part_entries(
        weigh_parts(made.parts, boards), made.parts, boards, seats=dict.fromkeys(names, Seat()),
        datum=Datum((0.0, 0.0)), build=Build(seams=made.seams),
    )  # fmt: skip
    return with_readings(entries, [Reading(names, Estimate(grams), **said)] if grams else [])


def test_the_glue_of_a_part_is_on_the_scale_with_it():
    # 400 x 180 x 8 mm at 100 kg/m3 are 57.6 g; the seam of 400 x 8 mm takes 3200e-6 m² x 72 g/m2 = 0.2304 g.
    assert glued().mass().value == pytest.approx(57.6 + 0.2304, rel=1e-5)
    assert glued(60.0, stage=None, is_joined=True).mass().value == pytest.approx(60.0)
    # Weighed as loose planks, they are still to be glued.
    assert glued(60.0, stage="cut").mass().value == pytest.approx(60.2304, rel=1e-5)


def test_a_doubler_is_glued_over_the_face_that_it_has_after_all_steps():
    body = Part("body", Outline.rectangle(0, 0, 300, 50), "balsa", 10.0)
    recipe = Recipe("doubler", "body", (Doubler((-5, 100), rake_deg=0, stagger_mm=0),), thickness_mm=1.5)
    derived = evaluate({"body": body}, [recipe])
    (seam,) = derived.seams
    assert seam.parts == ("doubler", "body")
    assert seam.area_mm2 == pytest.approx(100 * 50.0)
    assert seam.at == pytest.approx((50.0, 25.0))
    boards = [Board("A", "balsa", 10.0, 900.0, 100.0, mass_g=90.0), Board("P", "balsa", 1.5, 900.0, 100.0, mass_g=20.0)]
    entries, _ = part_entries(
        weigh_parts(derived.parts, boards), derived.parts, boards, datum=Datum((0.0, 0.0)),
        seats={"body": Seat(), "doubler": Seat()}, build=Build(seams=derived.seams),
    )  # fmt: skip
    # One on each side: two faces of 5000 mm² at 72 g/m2.
    assert [e.mass.value for e in entries if e.stage == "glued"] == pytest.approx([5e-3 * 72] * 2)


def test_an_upright_seam_is_carved_with_the_wood_and_a_flat_one_is_not():
    (upright,) = seams_of(WING, Planks(100.0))
    flat = seams_of(SPINE, Laminate((5.0, 5.0)))[0]
    assert carved_seam(upright, {"wing plank 1": 0.6, "wing plank 2": 0.5}).left_share == pytest.approx(0.55)
    assert carved_seam(flat, {"spine layer 1": 0.5, "spine layer 2": 0.5}).left_share == 1.0
