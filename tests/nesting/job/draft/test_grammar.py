"""What one line of lettering says, in the ways that draughtsmen write it and readers of letters misread it."""

import pytest

from nesting.job.draft.accepting import is_accepted
from nesting.job.draft.grammar import is_metric, said
from nesting.job.draft.vocabulary import load_vocabulary
from vectorize.marks.lettering import Reading, Text

WORDS = load_vocabulary()
CORNERS = ((0.0, 0.0), (100.0, 0.0), (100.0, 20.0), (0.0, 20.0))


def text(*readings):
    read = tuple(Reading(words, sure) for words, sure in readings)
    return Text(read[0].text, CORNERS, 0.0, read[0].sure, read)


def values(line, *, metric=True):
    """Return what a line says, read without doubt."""
    one = said(0, text((line, 1.0)), WORDS, is_metric=metric)
    kinds = ("name", "material", "thickness_mm", "count", "hand", "size")
    return {kind: getattr(one, kind).value for kind in kinds if getattr(one, kind) is not None}


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("1/16 SHEET BALSA", {"material": "balsa", "thickness_mm": 25.4 / 16}),  # 1 in = 25.4 mm, ISO 31
        ("3 mm ply", {"material": "ply", "thickness_mm": 3.0}),
        ("PLY 1.5", {"material": "ply", "thickness_mm": 1.5}),
        ("2 REQ'D", {"count": 2}),
        ("2 OFF", {"count": 2}),
        ("MAKE 8", {"count": 8}),
        ("(4)", {"count": 4}),
        ("x2", {"count": 2}),
        ("R3", {"name": "R3"}),
        ("F1 & F2", {"name": "F1 & F2"}),
        ("FULL SIZE", {"size": "1:1"}),
        ("SCALE 1:2", {"size": "1:2"}),
        ("HALF SIZE", {"size": "1:2"}),
        ("1/2 SIZE", {"size": "1:2"}),
        ("L.H. & R.H.", {"hand": "pair"}),
        ("1 PAIR", {"count": 1, "hand": "pair"}),
        ("2 OFF L.H. & R.H.", {"count": 1, "hand": "pair"}),
        ("WING RIGHT", {"name": "WING RIGHT", "hand": "right"}),
        ("1 x 2.5 balsa", {"material": "balsa", "thickness_mm": 2.5, "count": 1}),
        ("GEAR PLATE", {"name": "GEAR PLATE"}),
        ("fin-post", {"name": "fin-post"}),
        ("2.5 MM BALSA - MAKE-2", {"material": "balsa", "thickness_mm": 2.5, "count": 2}),
        ("2.5 MM|PLY, 2 OFF", {"material": "ply", "thickness_mm": 2.5, "count": 2}),
        ("1x3p|y", {"material": "ply", "thickness_mm": 3.0, "count": 1}),
        ("2 x 2 ba|lsa", {"material": "balsa", "thickness_mm": 2.0, "count": 2}),
        ("1.5 MM PIY", {"material": "ply", "thickness_mm": 1.5}),
        ("RI", {"name": "R1"}),
        ("R]", {"name": "R1"}),
        ("gl", {"name": "g1"}),
        ("1.5 MM PLY-MAKE 4", {"material": "ply", "thickness_mm": 1.5, "count": 4}),
        (
            "FUSELAGE - 1/8 SHEET BALSA, 2 OFF",
            {"name": "FUSELAGE", "material": "balsa", "thickness_mm": 3.175, "count": 2},
        ),
    ],
)
def test_labels_are_read_as_builders_write_them(line, expected):
    assert values(line) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("10MMBALSA 1OFF", {"material": "balsa", "thickness_mm": 10.0, "count": 1}),
        ("20FF", {"count": 2}),
        ("I OFF", {"count": 1}),
        ("I/16 SHEET", {"thickness_mm": 25.4 / 16}),
        ("3/32SHEETBALSA 2REQ'D", {"material": "balsa", "thickness_mm": 25.4 * 3 / 32, "count": 2}),
        ("4x1.5 ply", {"material": "ply", "thickness_mm": 1.5, "count": 4}),
        ("1.5 MM BASA-MAKE4", {"material": "balsa", "thickness_mm": 1.5, "count": 4}),
        ("HATCH1.5 MM PLY", {"name": "HATCH", "material": "ply", "thickness_mm": 1.5}),
        ("RUDDER.2.5 MM BALSA", {"name": "RUDDER", "material": "balsa", "thickness_mm": 2.5}),
        ("SKID 1.5 M PLY", {"name": "SKID", "material": "ply"}),
        ("W43 MM BALSA", {"name": "W4", "material": "balsa", "thickness_mm": 3.0}),
        ("W4 2 MM BAL$A", {"name": "W4", "material": "balsa", "thickness_mm": 2.0}),
        ("MOTORBRACKET", {"name": "MOTOR BRACKET"}),
        ("MOTOR_BRACKET", {"name": "MOTOR BRACKET"}),
        ("TANK PLAITE", {"name": "TANK PLATE"}),
    ],
)
def test_lost_spaces_and_letters_taken_for_figures_are_put_right(line, expected):
    assert values(line) == pytest.approx(expected)


@pytest.mark.parametrize(
    "line",
    [
        "WING SEAT, 2 DEG INCIDENCE",
        "18 DIA FOR NOSE WEIGHT",
        "HIGH POINT OF SECTION",
        'DRILL 3/32"',
        "4 HOLES 3.5",
        "1/8 SQ",
        "3 SQ SPRUCE",
        "1/8 x 1/4 SPRUCE",
        "CEMENT ALL JOINTS TWICE",
        "LAMINATE FROM 3 STRIPS",
        "1 OF 1",
        "SHEET 1",
        "16-9-59",
        "req'd",
        "80.5",
        "O",
    ],
)
def test_remarks_holes_strips_and_figures_are_no_labels(line):
    assert values(line) == {}


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("4 Stk. Balsa 2 mm", {"material": "balsa", "thickness_mm": 2.0, "count": 4}),
        ("SEITENLEITWERK", {"name": "SEITENLEITWERK"}),
        ("contreplaqué 1,5 mm", {"material": "ply", "thickness_mm": 1.5}),
        ("2 pièces", {"count": 2}),
        ("contrachapado 3 mm 2 piezas", {"material": "ply", "thickness_mm": 3.0, "count": 2}),
        ("CENTINA 3", {"name": "CENTINA 3"}),
        ("バルサ 2mm 2枚", {"material": "balsa", "thickness_mm": 2.0, "count": 2}),
    ],
)
def test_other_languages_are_read(line, expected):
    assert values(line) == pytest.approx(expected)


def test_a_value_is_as_sure_as_all_readings_that_give_it():
    one = said(3, text(("2.5 MM BALSA", 0.5), ("2.5 MMBALSA", 0.3), ("25 MM BALSA", 0.2)), WORDS, is_metric=True)
    assert one.thickness_mm.value == 2.5
    assert one.thickness_mm.sure == pytest.approx(0.8)
    assert one.thickness_mm.others == ((25.0, pytest.approx(0.2)),)
    assert one.material.sure == pytest.approx(1.0)
    assert one.thickness_mm.text == 3


def test_what_the_reader_hardly_saw_is_hardly_believed():
    sure, faint = (said(0, text(("F1", share)), WORDS, is_metric=True).name.sure for share in (0.99, 0.1))
    assert sure > 0.9
    assert faint < 0.2


def test_of_several_readings_a_word_of_plans_is_far_likelier_than_letters_that_are_none():
    keel = said(0, text(("KEEL", 0.6), ("KEFL", 0.25), ("KFEL", 0.1)), WORDS, is_metric=True)
    assert keel.name.value == "KEEL"
    assert is_accepted(keel.name)
    faint = said(0, text(("MLB", 0.5), ("RIB", 0.1)), WORDS, is_metric=True)
    assert faint.name.value == "RIB"
    assert not is_accepted(faint.name)


def test_of_several_readings_each_mark_is_as_likely_as_it_was_read():
    mark = said(0, text(("W3", 0.6), ("W8", 0.35)), WORDS, is_metric=True)
    assert mark.name.value == "W3"
    assert mark.name.sure == pytest.approx(0.97 * 0.6, abs=0.02)  # 0.97: a plain mark is a name


def test_a_ring_beside_a_mark_makes_it_doubtful():
    assert said(0, text(("OR2", 0.99)), WORDS, is_metric=True).name.sure < 0.8


@pytest.mark.parametrize(("line", "metric", "thickness_mm"), [(".062 BALSA", False, 1.5748), ("0.8 BALSA", True, 0.8)])
def test_a_bare_decimal_is_in_the_unit_of_the_sheet(line, metric, thickness_mm):
    assert values(line, metric=metric)["thickness_mm"] == pytest.approx(thickness_mm)


def test_the_unit_of_a_sheet_is_the_one_that_most_of_its_sizes_have():
    assert is_metric([text(("3 MM", 1.0)), text(("120 mm", 1.0)), text(("1/2", 1.0))])
    assert not is_metric([text(('1/16" BALSA', 1.0)), text(("7 1/2", 1.0))])


@pytest.mark.parametrize(
    "line", ["<script>alert(1)</script>", "\x1b[31m2 OFF", "9" * 400, "A" * 10_000, "x" * 3000, "((("]
)
def test_hostile_lettering_is_read_or_left(line):
    said(0, text((line, 1.0)), WORDS, is_metric=True)


@pytest.mark.parametrize(
    ("line", "name", "is_taken"),
    [
        ("TALPLANE - 2.5 MM BALSA", "TAILPLANE", False),
        ("talplane", "tailplane", False),
        ("TAILPLANE", "TAILPLANE", True),
        ("GUSSETS", "GUSSETS", True),
        ("BLARKE", "BLARKE", False),
        ("TAILPLANET", "TAILPLANET", False),
    ],
)
def test_a_word_with_a_letter_wrong_is_put_right_and_offered(line, name, is_taken):
    one = said(0, text((line, 1.0)), WORDS, is_metric=True)
    assert one.name.value == name
    assert is_accepted(one.name) == is_taken


@pytest.mark.parametrize("line", ["\u00d8 CRANK PLATE", "\u00d8CRANK PLATE", "CRANK PLATE \u00f8 3"])
def test_the_sign_of_a_diameter_is_no_part_of_a_name(line):
    assert values(line)["name"] == "CRANK PLATE"
