"""Pieces of strip and bent wire weigh where the job says that they sit; what has no place counts by its mass alone."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from nesting.job.folder import open_job, read_spec
from nesting.job.loose_pieces import loose_pieces
from nesting.job.model_values import wires_of
from nesting.job.places import Places
from nesting.job.plans import open_plans
from nesting.wood.density import USUAL
from nesting.wood.material import MATERIALS

SEDGE = Path(__file__).parents[3] / "nesting" / "job" / "demo" / "sedge"
LOOSE = """
[[strip]]
name = "spruce 3 x 5"
material = "spruce"
thickness = "3 mm"
width = "5 mm"
length = "1000 mm"

[[strip.piece]]
name = "spar"
length = "600 mm"
count = 2
station = "120 mm"
lateral = "4 mm"

[[strip]]
name = "tube 4"
material = "carbon"
diameter = "4 mm"
length = "1000 mm"
mass = "12 g"

[[strip.piece]]
name = "boom"
length = "400 mm"
station = "300 mm"

[[strip]]
name = "rod 2"
material = "carbon"
diameter = "2 mm"
length = "1000 mm"

[[strip.piece]]
name = "pushrod"
length = "300 mm"
station = "250 mm"

[[strip.piece]]
name = "thread"
length = "40 mm"

[[strip]]
name = "rod 5"
material = "spruce"
diameter = "5 mm"
length = "1000 mm"
mass = "17.5 g"

[[strip.piece]]
name = "peg"
length = "40 mm"

[[strip.piece]]
name = "tow hook"
length = "40 mm"

[[strip]]
name = "wire 2"
material = "steel wire"
diameter = "2 mm"
length = "1000 mm"

[[strip.piece]]
name = "axle"
length = "80 mm"
station = "60 mm"

[[wire]]
name = "skid"
diameter = "2 mm"
radius = "5 mm"
station = "200 mm"
lateral = "-3 mm"
points = [["0 mm", "0 mm", "0 mm"], ["100 mm", "0 mm", "0 mm"], ["100 mm", "0 mm", "-60 mm"]]

[[wire]]
name = "hook"
diameter = "2 mm"
radius = "5 mm"
points = [["0 mm", "0 mm", "0 mm"], ["100 mm", "0 mm", "0 mm"], ["100 mm", "0 mm", "-60 mm"]]
"""


@pytest.fixture(scope="module")
def loose():
    job = open_job(SEDGE)
    spec = read_spec((SEDGE / "job.toml").read_text(encoding="utf-8") + LOOSE)
    places = Places(replace(job, spec=spec), open_plans(job), ())
    return loose_pieces(spec, places, wires_of(spec), USUAL)


def test_pieces_of_strip_weigh_where_they_are_said_to_be(loose):
    spar, boom, axle, _ = loose.seated
    # Two of 600 x 3 x 5 mm at the density that the table of materials gives spruce, with its spread.
    spruce = MATERIALS["spruce"]
    assert spar.mass.value == pytest.approx(2 * 600 * 15 * spruce.density_kg_m3 * 1e-6)
    assert spar.mass.relative_sigma >= 0.9 * spruce.density_spread
    assert (spar.station.value, spar.lateral.value, spar.stage) == (120.0, 4.0, "cut")
    assert boom.mass.value == pytest.approx(12 * 0.4)
    # Steel of 7.85 g/cm3, from memory; handbooks give 7.8 to 7.9.
    assert axle.mass.value == pytest.approx(np.pi * 80 * 7.85e-3)


def test_bent_wire_weighs_at_its_own_centre_of_mass(loose):
    """A leg of 100 and one of 60 mm at right angles, bent by 6 mm of its middle line.

    Straight 94 mm about 47, straight 54 mm at 100, and a quarter of a circle whose centroid is 2 r / pi from its
    centre at 94 mm.
    """
    skid = loose.seated[-1]
    arc = 3 * np.pi
    length = 94 + 54 + arc
    assert skid.mass.value == pytest.approx(np.pi * length * 7.85e-3)
    assert skid.station.value == pytest.approx(200 + (94 * 47 + 54 * 100 + arc * (94 + 12 / np.pi)) / length)
    assert (skid.lateral.value, skid.stage) == (-3.0, "fitted")


def test_what_has_no_place_or_no_mass_is_told(loose):
    pushrod, thread, homeless = loose.notes
    assert [note.code for note in loose.notes] == ["no-balance-entry", "no-balance-entry", "no-station"]
    assert "pushrod is left out" in pushrod.text
    assert "thread is left out" in thread.text
    # Sedge has a budget, so that a mass which nobody knows is asked for even without a place.
    assert (pushrod.state, thread.state, homeless.state) == ("open", "open", "fixed")
    assert "peg (0.7 g), hook (3.9 g)" in homeless.text
    # The tow hook is listed as equipment and counts there alone.
    assert [(entry.part, entry.stage) for entry in loose.homeless] == [("peg", "cut"), ("hook", "fitted")]
