"""Which parts come from strip, and the skin of a carved panel on the stock list."""

import pytest

from nesting.alter.edge_strip import EdgeStrip
from nesting.alter.step import Setting
from nesting.carve.panel import CarvedPanel
from nesting.carve.section import naca4
from nesting.job.deriving import AllParts, Carving
from nesting.job.folder import open_job, read_spec
from nesting.job.stocking import Takes, stock_list
from nesting.job.strip_stock import parts_on_strips
from nesting.wood.part import Part
from tests.nesting.carve.carved_panels import rectangle
from tests.nesting.carve.test_girth import naca_face
from vectorize.shapes.outline import Outline

STRIPS = """
[[strip]]
name = "too narrow"
material = "basswood"
thickness = "8 mm"
width = "5 mm"
length = "900 mm"

[[strip]]
name = "wide"
material = "basswood"
thickness = "8 mm"
width = "10 mm"
length = "900 mm"

[[strip]]
name = "on its side"
material = "basswood"
thickness = "6 mm"
width = "8 mm"
length = "900 mm"

[[strip]]
name = "other wood"
material = "spruce"
thickness = "8 mm"
width = "6 mm"
length = "900 mm"
"""
PANEL = Part("wing", Outline.rectangle(0, 0, 300, 100), "balsa", 8.0)


def strip_of(width_mm):
    step = EdgeStrip(along=((150.0, 100.0),), width_mm=width_mm, material="basswood")
    return step.applied(PANEL, Setting()).extras


def test_an_edge_strip_finds_the_smallest_strip_of_its_wood_either_way_round():
    parts = strip_of(6.0)
    assert {name: strip.name for name, strip in parts_on_strips(read_spec(STRIPS), parts, None).items()} == {
        "wing edge strip": "on its side"
    }
    assert parts_on_strips(read_spec(STRIPS), strip_of(11.0), None) == {}
    assert parts_on_strips(read_spec(STRIPS), (PANEL,), None) == {}


def test_covering_of_a_carved_panel_goes_by_its_girth(tmp_path):
    text = '[[part]]\nname = "wing"\npick = [[1, 1]]\n[[finish]]\nparts = ["wing"]\ntop = ["tissue"]\nboth = ["dope"]\n'
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    panel = CarvedPanel(rectangle(100, 300), 13.0, naca4("0012"))
    wing = Part("wing", panel.planform.outline, "balsa", 13.0)
    made = AllParts((wing,), (), (Carving("wing", panel, None, (wing,)),))
    stock, _ = stock_list(Takes(open_job(tmp_path), made, (), None, ()))
    lines = {line.what: line for line in stock.lines}
    face = 100 * naca_face(0.12) * 300
    assert lines["tissue"].needed == pytest.approx(face, rel=1e-3)
    assert lines["dope"].dry_g == pytest.approx(5.0e-6 * 2 * face, rel=1e-3)
    assert lines["tissue"].needed > 1.01 * panel.planform.outline.area_mm2
