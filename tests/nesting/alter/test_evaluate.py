import pytest

from nesting.alter.doubler import Doubler
from nesting.alter.edge_strip import EdgeStrip
from nesting.alter.evaluate import Recipe, evaluate
from nesting.alter.interlock import Slot
from nesting.alter.openings import RoundHole
from nesting.alter.opposite import Opposite
from nesting.alter.planks import Planks
from nesting.alter.resize import Grow, Stretch
from nesting.wood.board import Board
from nesting.wood.part import Part
from tests.nesting.alter.part_shapes import FUSELAGE
from vectorize.basics.errors import JobError
from vectorize.shapes.outline import Outline

BODY = Part("fuselage", FUSELAGE, "balsa", 10.0, grain_deg=3.0, is_grain_assumed=False, plan="sheet 1")
PARTS = {"fuselage": BODY}


def test_steps_stand_on_a_traced_part_and_on_parts_made_from_it() -> None:
    recipes = [
        # Given before what they are made from: order is found, not demanded.
        Recipe("light doubler", "doubler", (Grow(-1.0),)),
        Recipe("doubler", "fuselage", (Doubler((-5, 150), sides="left"),), material="birch ply", thickness_mm=0.8),
        Recipe("fuselage", steps=(RoundHole(((50.0, 20.0),), 4.0),)),
    ]
    made = {part.name: part for part in evaluate(PARTS, recipes).parts}
    assert set(made) == {"fuselage", "doubler", "light doubler"}
    assert len(made["doubler"].outline.cutouts) == 1  # the hole drilled in the fuselage is carried through
    assert (made["doubler"].material, made["doubler"].grain_deg, made["doubler"].plan) == ("birch ply", 3.0, "sheet 1")
    assert made["light doubler"].outline.area_mm2 < made["doubler"].outline.area_mm2


def test_parts_are_made_anew_when_their_source_changes() -> None:
    recipes = [Recipe("doubler", "fuselage", (Doubler((-5, 150), sides="left"),))]
    before = evaluate(PARTS, recipes).parts[-1]
    longer = evaluate(PARTS, [Recipe("fuselage", steps=(Stretch(60.0, 20.0),)), *recipes]).parts[-1]
    assert longer.outline.area_mm2 > before.outline.area_mm2


def test_they_stay_where_they_are_on_the_plan() -> None:
    (made,) = evaluate({}, []).parts or evaluate(PARTS, []).parts
    assert made.outline == FUSELAGE
    doubler = evaluate(PARTS, [Recipe("d", "fuselage", (Doubler((80, 150), sides="left"),))]).parts[-1]
    assert doubler.outline.to_polygon().within(FUSELAGE.to_polygon().buffer(0.002))


def test_a_strip_and_planks_appear_as_parts_of_their_own() -> None:
    wing = Part("wing", Outline.rectangle(0, 0, 400, 180), "balsa", 6.0)
    made = evaluate(
        {"wing": wing}, [Recipe("wing", steps=(EdgeStrip(((200.0, 180.0),), 8.0, "spruce"), Planks(100.0)))]
    )
    assert [p.name for p in made.parts] == ["wing plank 1", "wing plank 2", "wing edge strip"]
    assert sum(p.outline.area_mm2 * p.finished_share for p in made.parts) == pytest.approx(400 * 180)


def test_what_is_made_from_a_planked_part_is_made_from_the_whole() -> None:
    wing = Part("wing", Outline.rectangle(0, 0, 400, 180), "balsa", 6.0)
    recipes = [Recipe("wing", steps=(Planks(100.0),)), Recipe("other wing", "wing", (Opposite(),))]
    other = evaluate({"wing": wing}, recipes).parts[-1]
    assert (other.name, other.outline.bounds) == ("other wing", pytest.approx((0, -180, 400, 0)))


def test_a_step_that_cannot_be_done_spoils_only_what_hangs_on_it() -> None:
    recipes = [
        Recipe("doubler", "fuselage", (Doubler((500, 600)),)),
        Recipe("other doubler", "doubler", (Opposite(),)),
        Recipe("copy", "fuselage", (Grow(1.0),)),
    ]
    made = evaluate(PARTS, recipes)
    assert [part.name for part in made.parts] == ["fuselage", "copy"]
    assert made.failed == ("doubler", "other doubler")
    assert [note.state for note in made.notes] == ["open", "open"]
    assert "because doubler is not" in made.notes[1].text


def test_a_circle_is_named() -> None:
    recipes = [Recipe("a", "b"), Recipe("b", "c"), Recipe("c", "a")]
    with pytest.raises(JobError, match=r"in a circle: '(a|b|c)' from '(a|b|c)' from '(a|b|c)' from '(a|b|c)'"):
        evaluate({}, recipes)


def test_a_circle_through_a_slot_is_named_too() -> None:
    sheet = Outline.rectangle(0, 0, 100, 30)
    parts = {"a": Part("a", sheet, "balsa", 3.0), "b": Part("b", sheet, "balsa", 3.0)}
    recipes = [Recipe("a", steps=(Slot((50.0, 15.0), "b", 5.0),)), Recipe("b", steps=(Slot((50.0, 15.0), "a", 5.0),))]
    with pytest.raises(JobError, match="circle"):
        evaluate(parts, recipes)


@pytest.mark.parametrize(
    ("recipe", "words"),
    [
        (Recipe("doubler", "fuselgae"), "made from 'fuselgae', which is not there; parts: fuselage"),
        (Recipe("doubler"), "neither a pick nor 'from'"),
        (Recipe("fuselage", "fuselage"), "two parts are named 'fuselage'"),
    ],
)
def test_a_vanished_source_is_named(recipe: Recipe, words: str) -> None:
    with pytest.raises(JobError, match=words):
        evaluate(PARTS, [recipe])


def test_slots_take_the_thickness_of_the_boards_given() -> None:
    spar = Part("spar", Outline.rectangle(0, 0, 100, 10), "balsa", 3.0)
    boards = [Board("B1", "balsa", 3.0, 915, 100, measured_thickness_mm=3.2)]
    made = evaluate(
        {**PARTS, "spar": spar}, [Recipe("fuselage", steps=(Slot((100.0, 20.0), "spar", 10.0),))], boards=boards
    )
    assert Outline(made.parts[0].outline.cutouts[0]).size_mm[1] == pytest.approx(3.3)


def test_a_shape_that_cannot_be_overlaid_spoils_no_other_part() -> None:
    bow = Part("bow", Outline.from_points([(0, 0), (10, 10), (10, 0), (0, 7)]), "balsa", 3.0)
    made = evaluate(PARTS | {"bow": bow}, [Recipe("bow", steps=(RoundHole(((5.0, 4.0),), 1.0),))])
    assert [part.name for part in made.parts] == ["fuselage"]
    (note,) = made.notes
    assert (note.code, note.part) == ("not-made", "bow")
    assert note.text.startswith("part bow: ")
