"""`balance` and the bench card tell how wire is cut and bent."""

import math

import pypdfium2
import pytest

from .test_wood_commands import MODEL

WIRE = """
[[wire]]
name = "leg"
diameter = "2 mm"
radius = "5 mm"
points = [["0 mm", "0 mm", "0 mm"], ["0 mm", "60 mm", "0 mm"], ["0 mm", "60 mm", "-80 mm"]]
"""


@pytest.fixture
def wired(small_job):
    small_job.edit("[nest]\n", f"{MODEL}{WIRE}\n[nest]\n")
    return small_job


def test_the_wire_is_told_as_json_and_on_the_card(sheetwood, wired):
    (wire,) = sheetwood("balance", wired.folder, "--json").json["wires"]
    assert wire["length_mm"] == pytest.approx(54 + 74 + 3 * math.pi)
    assert wire["straights_mm"] == pytest.approx([54, 74])
    text = pypdfium2.PdfDocument(wired.folder / "out" / "bench-card.pdf")[0].get_textpage().get_text_range()
    assert "leg: cut 137.4 mm of 2.0 mm wire" in " ".join(text.split())


def test_the_pattern_has_the_wire_straightened_out(sheetwood, wired):
    assert sheetwood("nest", wired.folder, "--sweeps", "1").code in (0, 4)
    assert sheetwood("pattern", wired.folder, "--as", "pdf").code in (0, 4)
    text = pypdfium2.PdfDocument(wired.folder / "out" / "wire-leg.pdf")[0].get_textpage().get_text_range()
    assert "cut 137.4 mm of 2.0 mm wire" in " ".join(text.split())


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('["0 mm", "60 mm", "-80 mm"]', '["0 mm", "60 mm", "-3 mm"]', "too short for its bends"),
        ('radius = "5 mm"', 'radius = "-5 mm"', "zero or more"),
        ("diameter", "diametre", "diameter"),
    ],
)
def test_wire_that_cannot_be_bent_is_refused(sheetwood, wired, old, new, said):
    wired.edit(old, new)
    done = sheetwood("balance", wired.folder)
    assert done.code == 3
    assert said in " ".join(done.err.split())
