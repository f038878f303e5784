"""The trainer of the second demonstration, from its scan to parts made from parts, against the drawn truth."""

import math

import pytest

from fixtures.draw_teasel import fuselage, wing
from nesting.job.folder import open_job
from nesting.job.new_job import copy_demo
from nesting.job.stages import Stages

AREA_TOL = 0.003  # the accuracy that traces of clean scans are held to


@pytest.fixture(scope="module")
def stages(tmp_path_factory):
    folder = tmp_path_factory.mktemp("teasel")
    copy_demo(folder, name="teasel")
    return Stages(open_job(folder))


@pytest.fixture(scope="module")
def made(stages):
    return stages.made


@pytest.mark.slow
def test_lettering_on_the_wings_leaves_no_part_doubtful(stages):
    """INBOARD, OUTBOARD and HARDWOOD LEADING EDGE stand in them; a D and a G run into each other."""
    assert [note.text for note in stages.trace.notes if note.state == "open"] == []


@pytest.mark.slow
def test_every_part_is_made_and_nothing_stays_open(made):
    pieces = ["plank 1", "plank 2", "edge strip"]
    wings = [f"wing {side} {piece}" for side in ("left", "right") for piece in pieces]
    names = ["fuselage", "doubler left", "doubler right", *wings, "tailplane", "fin"]
    assert sorted(part.name for part in made.parts) == sorted(names)
    assert [note.text for note in made.notes if note.state == "open"] == []


@pytest.mark.slow
def test_the_fuselage_has_its_slots_and_bolts(made):
    body = next(part for part in made.parts if part.name == "fuselage")
    circles = [circle for ring in body.outline.cutouts if (circle := ring.as_circle())]
    assert [2 * radius for _, radius in circles] == pytest.approx([3.2] * 8, abs=1e-6)
    xs = sorted(x for (x, _), _ in circles)
    assert xs[4] - xs[0] == pytest.approx(50.0, abs=0.1)  # the second pattern, 50 mm aft of the first
    bearer = 26 * 62 - (2 - math.pi / 2) * 9 / 1  # two inner corners of 3 mm
    wing_slot = next(abs(r.signed_area_mm2) for r in body.outline.cutouts if abs(r.signed_area_mm2) > 400)
    removed = bearer + wing_slot + 8 * math.pi * 1.6**2 + 70.1 * 3.2
    assert body.outline.area_mm2 == pytest.approx(fuselage().area_mm2 - removed, rel=AREA_TOL)


@pytest.mark.slow
@pytest.mark.parametrize(("name", "span"), [("wing left", 340.0), ("wing right", 330.0)])
def test_planks_and_strip_make_up_the_wing_that_was_drawn(made, name, span):
    carving = next(carving for carving in made.carvings if carving.name == name)
    assert carving.panel.planform.outline.area_mm2 == pytest.approx(wing(span).area_mm2, rel=AREA_TOL)
    blank = sum(piece.outline.area_mm2 for piece in carving.pieces)
    flies = sum(piece.outline.area_mm2 * piece.finished_share for piece in carving.pieces)
    assert flies * 8 == pytest.approx(carving.panel.solid().volume_mm3, rel=0.005)
    assert 0.6 < flies / blank < 0.75
