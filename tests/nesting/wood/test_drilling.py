"""Drills and the wood beside holes, by plain distances."""

import pytest

from nesting.wood.drilling import Hole, drill_words, nearest_drill_mm, round_holes, thin_notes, thin_places
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline, Ring


def plate(*cutouts):
    return Outline(Ring.rectangle(0, 0, 60, 30), tuple(cutouts))


def hole(x, y, diameter):
    return Ring.circle((x, y), diameter / 2).reversed()


SLOT = Ring.rectangle(30, 10, 50, 20).reversed()


def test_holes_are_found_from_left_to_right_and_openings_are_none():
    found = round_holes(plate(hole(25, 8, 4), SLOT, hole(10, 15, 3)))
    assert [(one.at, one.diameter_mm) for one in found] == [
        (pytest.approx((10, 15)), pytest.approx(3.0)),
        (pytest.approx((25, 8)), pytest.approx(4.0)),
    ]


@pytest.mark.parametrize(
    ("cutouts", "width", "beside"),
    [
        ((hole(3.0, 15, 5),), 0.5, "the edge"),
        ((hole(10, 15, 5), hole(15.4, 15, 5)), 0.4, "another hole"),
        ((SLOT, hole(26, 15, 6)), 1.0, "an opening"),
        ((hole(26, 15, 6), SLOT), 1.0, "an opening"),
    ],
)
def test_the_thinnest_place_is_told_with_its_width(cutouts, width, beside):
    (place,) = thin_places(plate(*cutouts))
    assert place.width_mm == pytest.approx(width, abs=0.01)
    assert place.beside == beside


def test_enough_wood_is_no_matter_and_an_opening_alone_neither():
    assert thin_places(plate(hole(10, 15, 5))) == ()
    assert thin_places(plate(Ring.rectangle(0.5, 10, 20, 20).reversed())) == ()
    assert len(thin_places(plate(hole(4, 15, 5)), least_mm=1.6)) == 1


def test_the_warning_names_part_hole_and_how_much_is_enough():
    part = Part("fuselage", plate(hole(10, 15, 3.2), hole(13.6, 15, 3.2), hole(2.0, 5, 3.2)), "balsa", 10.0)
    (note,) = thin_notes([part])
    assert (note.code, note.state, note.part) == ("thin-web", "fixed", "fuselage")
    assert "only 0.40 mm" in note.text
    assert "3.2 mm" in note.text
    assert "and at 1 more places too little" in note.text


@pytest.mark.parametrize(
    ("diameter", "units", "at_hand", "words"),
    [
        (3.2, "mm", (), "drill 3.2 mm"),
        (3.175, "mm", (), "drill 3.2 mm (+0.03 mm)"),
        (3.175, "in", (), "drill 1/8 in"),
        (3.1, "in", (), "drill 1/8 in (+0.0030 in)"),
        (3.2, "mm", (3.0, 3.5), "drill 3 mm (-0.20 mm)"),
        (20.0, "mm", (), "20.0 mm (0.787 in): saw or bore"),
    ],
)
def test_the_nearest_drill_in_the_units_of_the_job(diameter, units, at_hand, words):
    """Series: ISO 235 in 0.1 mm, ASME B94.11M in 1/64 in (both from memory)."""
    said = drill_words(Hole((0, 0), diameter), units=units, at_hand_mm=at_hand)
    assert said == words


def test_of_two_drills_equally_near_the_larger_is_taken():
    assert nearest_drill_mm(3.25, units="mm", at_hand_mm=(3.0, 3.5)) == 3.5
