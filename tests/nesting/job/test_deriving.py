"""What a job's tables make of traced parts."""

import pytest

from nesting.alter.axis import Axis
from nesting.alter.frame import PlanFrame
from nesting.job.deriving import all_parts, owner_of
from nesting.job.folder import Job, read_spec
from nesting.job.given import given_by
from nesting.wood.part import Part
from tests.nesting.alter.part_shapes import FUSELAGE
from vectorize.basics.errors import JobError
from vectorize.shapes.outline import Outline

# Pixels are half a millimetre, rows run down from 100 mm.
FRAME = PlanFrame(lambda p: (p[0] / 2, 100 - p[1] / 2), Axis((0.0, 20.0), 0.0))
HEAD = """
[[plan]]
file = "plan.png"
[[part]]
name = "fuselage"
pick = [[100, 160]]
material = "balsa"
thickness = "10 mm"
"""
WING = """
[[part]]
name = "wing"
pick = [[100, 160]]
material = "balsa"
thickness = "8 mm"
"""
TRACED = [
    Part("fuselage", FUSELAGE, "balsa", 10.0, is_grain_assumed=False),
    Part("wing", Outline.from_points([(0, 0), (400, 30), (400, 90), (0, 120)]), "balsa", 8.0),
]
RACK = """\
name,material,thickness,measured thickness,length,width,mass,cut,bow,notes
B,balsa,8 mm,8.1 mm,900 mm,75 mm,60 g,,,
"""


SPACED = [((i / 20) ** 2) for i in range(21)]


def _made(tmp_path, text, traced=TRACED):
    (tmp_path / "rack.csv").write_text(RACK, encoding="utf-8")
    job = Job(tmp_path, read_spec(HEAD + text), "")
    return all_parts(given_by(job), [p for p in traced if f'name = "{p.name}"' in HEAD + text], lambda table: FRAME)


def test_steps_on_a_part_and_a_part_made_from_it(tmp_path):
    made = _made(
        tmp_path,
        """
[[part.step]]
make = "bolts"
at = [{ station = "40 mm" }, { station = "90 mm" }]
pitch = ["14 mm", "16 mm"]
diameter = "3 mm"

[[part]]
name = "doubler"
from = "fuselage"
material = "birch ply"
thickness = "0.8 mm"
[[part.step]]
make = "doubler"
stations = ["0 mm", "150 mm"]
margin = "1 mm"
""",
    )
    names = {part.name: part for part in made.parts}
    assert list(names) == ["fuselage", "doubler left", "doubler right"]
    assert len(names["fuselage"].outline.cutouts) == len(names["doubler left"].outline.cutouts) == 8
    assert names["doubler left"].material == "birch ply"


def test_every_kind_of_step_can_be_written(tmp_path):
    steps = """
[[part.step]]
make = "hole"
at = [[80, 160]]
diameter = "4 mm"
[[part.step]]
make = "opening"
at = [340, 156]
length = "20 mm"
width = "6 mm"
corner = "1 mm"
[[part.step]]
make = "bearer slot"
at = { station = "0 mm" }
width = "10 mm"
depth = "25 mm"
corner = "2 mm"
[[part.step]]
make = "wing seat"
at = [160, 156]
chord = "70 mm"
section = "NACA 0009"
incidence = "1 deg"
[[part.step]]
make = "grow"
by = "0.3 mm"
[[part.step]]
make = "stretch"
station = "200 mm"
by = "10 mm"
[[part.step]]
make = "opposite"
[[part.step]]
make = "pair"
"""
    (part,) = _made(tmp_path, steps).parts
    assert part.hand == "pair"
    assert len(part.outline.cutouts) == 3


def test_a_carved_panel_with_strip_and_planks_flies_lighter(tmp_path):
    made = _made(
        tmp_path,
        WING
        + """
[[part.step]]
make = "edge strip"
along = [[400, -30]]
width = "8 mm"
material = "spruce"
[[part.step]]
make = "planks"
[part.carve]
section = { high_point = "30 %", nose = "1 mm", trailing = "1 mm", bottom = "flat" }
span = [[0, -40], [800, -40]]
leading = [0, -100]
thickness = ["8 mm", "5 mm"]
templates = ["0 mm", "200 mm"]
""",
    )
    pieces = [part for part in made.parts if part.name.startswith("wing")]
    assert [p.name for p in pieces] == ["wing plank 1", "wing plank 2", "wing edge strip"]
    assert all(p.finished_share < 0.9 for p in pieces)
    (carving,) = made.carvings
    assert carving.panel.planform.span == pytest.approx((0, 400))
    assert carving.panel.heights(0.0, [0.3])[0] == pytest.approx([8.0])
    assert "of its blank flies" in made.notes[-1].text


def test_a_part_that_cannot_be_carved_is_noted_and_kept_whole(tmp_path):
    carve = '[part.carve]\nsection = "NACA 0012"\nspan = [[0, -40], [800, -40]]\nleading = [0, -100]\n'
    made = _made(tmp_path, WING + carve)
    assert made.notes[-1].code == "not-carved"
    assert "blank of 8 mm" in made.notes[-1].text
    assert made.parts[-1].finished_share == 1.0


def test_what_a_section_file_left_out_is_told_with_the_part(tmp_path):
    heights = [(x, 0.2969 * x**0.5 - 0.126 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1036 * x**4) for x in SPACED]
    upper, lower = ([f"{x:.5f} {sign * 0.6 * y:.5f}" for x, y in heights] for sign in (1, -1))
    text = "\n".join(["TWELVE", *upper[::-1], *lower[1:], "measured by hand"])  # thickness: NACA Report 460, 1935
    (tmp_path / "twelve.dat").write_text(text, encoding="utf-8")
    carve = '[part.carve]\nsection = { file = "twelve.dat" }\nspan = [[0, -40], [800, -40]]\nleading = [0, -100]\n'
    (note,) = [note for note in _made(tmp_path, WING + carve).notes if note.code == "section-left-out"]
    assert note.part == "wing"
    assert note.text == "part wing, twelve.dat: line 43, 'measured by hand', left out: no point."


def test_what_hangs_on_an_outline_that_was_lost_is_noted(tmp_path):
    text = '\n[[part]]\nname = "doubler"\nfrom = "fuselage"\n[[part.step]]\nmake = "grow"\nby = "1 mm"\n'
    job = Job(tmp_path, read_spec(HEAD + text), "")
    made = all_parts(given_by(job), [], lambda table: FRAME)
    assert made.parts == ()
    assert [note.text for note in made.notes] == ["part doubler is not made, because fuselage is not."]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[[part]]\nname = "a"\nfrom = "keel"\n', "'a' is made from 'keel', which is not there"),
        ('[[part]]\nname = "a"\nfrom = "b"\n[[part]]\nname = "b"\nfrom = "a"\n', "circle: 'a' from 'b' from 'a'"),
        (
            '[[part]]\nname = "a"\nfrom = "fuselage"\npick = [[1, 2]]\n',
            "made from another has no 'plan', 'pick'",
        ),
        ('[[part.step]]\nmake = "bolts"\nat = [[1, 2]]\npich = "3 mm"\n', "did you mean 'pitch'"),
        ('[[part.step]]\nmake = "doublr"\n', "make"),
        ('[[part.step]]\nmake = "stretch"\nstation = 5\nby = "3 mm"\n', "without a unit"),
    ],
)
def test_tables_that_cannot_be_are_refused_with_the_place(tmp_path, text, words):
    with pytest.raises(JobError, match=words):
        _made(tmp_path, text)


def test_the_leading_point_must_lie_beside_the_span(tmp_path):
    carve = '[part.carve]\nsection = "NACA 0003"\nspan = [[0, 0], [800, 0]]\nleading = [10, 0]\n'
    with pytest.raises(JobError, match="'leading' lies on the line 'span'"):
        _made(tmp_path, WING + carve)


def test_a_piece_belongs_to_the_part_it_is_named_after():
    names = ["wing", "wing left", "fin"]
    assert owner_of("wing left plank 2", names) == "wing left"
    assert owner_of("wing splice plate", names) == "wing"
    assert owner_of("fin", names) == "fin"
    assert owner_of("fines", names) is None


def test_a_hole_is_drilled_where_there_is_no_rack_yet(tmp_path):
    text = '\n[[part.step]]\nmake = "hole"\nat = [{ station = "40 mm" }]\ndiameter = "3 mm"\n'
    job = Job(tmp_path, read_spec(HEAD + text), "")
    (part,) = all_parts(given_by(job), TRACED[:1], lambda table: FRAME).parts
    assert len(part.outline.cutouts) == 1


def test_the_root_bevel_of_a_foreshortened_panel_goes_by_the_measured_board(tmp_path):
    text = '\n[[part.step]]\nmake = "foreshortened"\ndihedral = "5 deg"\nspan = [[0, 160], [100, 160]]\n'
    made = _made(tmp_path, WING + text)
    (note,) = [note for note in made.notes if note.code == "foreshortened"]
    assert "over 8.1 mm of thickness" in note.text
