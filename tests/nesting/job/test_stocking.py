"""Which parts come from strip, and the skin of a carved panel on the stock list."""

from dataclasses import replace

import pytest

from nesting.alter.edge_strip import EdgeStrip
from nesting.alter.step import Setting
from nesting.balance.entries import part_entries
from nesting.balance.station import Seat
from nesting.balance.weights import weigh_parts
from nesting.carve.panel import CarvedPanel
from nesting.carve.section import naca4
from nesting.job.deriving import carved_part
from nesting.job.folder import open_job, read_spec
from nesting.job.given import Given
from nesting.job.model_values import build_of, pieces_of
from nesting.job.rack_files import RackAtHand
from nesting.job.stocking import Takes, stock_list
from nesting.job.strip_stock import on_strips
from nesting.wood.board import Board
from nesting.wood.part import Part
from tests.nesting.carve.carved_panels import rectangle
from tests.nesting.carve.test_girth import naca_area, naca_face, naca_height
from vectorize.basics.errors import JobError
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
    given = Given(read_spec(STRIPS), RackAtHand(), {})
    (part,) = on_strips(given, strip_of(6.0))
    # Drawn 6 mm wide in a panel of 8 mm: the strip of 6 x 8 mm stands on edge.
    assert part.strip == Board("strip on its side, on edge", "basswood", 8.0, 900.0, 6.0)
    assert on_strips(given, strip_of(11.0)) == strip_of(11.0)
    assert on_strips(given, (PANEL,)) == (PANEL,)


def test_what_is_tied_to_a_board_or_pinned_comes_from_no_strip():
    given = Given(read_spec(STRIPS), RackAtHand(), {})
    (part,) = strip_of(6.0)
    for tied in (replace(part, board="B1"), replace(part, boards=("B1", "B2"))):
        assert on_strips(given, (tied,)) == (tied,)
    assert on_strips(replace(given, pinned=frozenset({part.name})), (part,)) == (part,)


def test_a_board_with_the_name_of_a_strip_is_refused():
    rack = RackAtHand((Board("Strip wide", "basswood", 8.0, 900.0, 80.0),))
    with pytest.raises(JobError, match="rename one"):
        on_strips(Given(read_spec(STRIPS), rack, {}), strip_of(6.0))


def test_coats_of_a_carved_panel_weigh_by_its_girth_in_the_stock_list_and_in_the_balance(tmp_path):
    """Both take g = g/m2 x girth x span: NACA 0012, chord 100 mm, span 300 mm, both faces alike.

    Sanding 0.1 mm off each face takes density x 0.1 mm x both faces. The ends are painted, and the edge behind.
    """
    text = (
        '[[part]]\nname = "wing"\npick = [[1, 1]]\n[[finish]]\nparts = ["wing"]\ntop = ["tissue"]\nboth = ["dope"]\n'
        'edges = ["paint"]\nsanding = "0.1 mm"\n'
    )
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    job = open_job(tmp_path)
    panel = CarvedPanel(rectangle(100, 300), 13.0, naca4("0012"))
    wing = carved_part(Part("wing", panel.planform.outline, "balsa", 13.0), panel)
    # 120 kg/m3, and thicker than drawn
    board = Board("B1", "balsa", 13.0, 900.0, 110.0, measured_thickness_mm=13.2, mass_g=0.12e-3 * 13.2 * 900 * 110)
    weights = weigh_parts((wing,), (board,))
    stock, _ = stock_list(Takes(job.spec, 0.5, (wing,), (), (board,), None, (), weights))
    lines = {line.what: line for line in stock.lines}
    face, ends = 100 * naca_face(0.12) * 300, 2 * naca_area(0.12) * 100**2 + naca_height(1.0) * 100 * 300
    assert lines["tissue"].needed == pytest.approx(face, rel=1e-3)
    assert lines["dope"].dry_g == pytest.approx(5.0e-6 * 2 * face, rel=1e-3)
    assert lines["paint"].dry_g == pytest.approx(25.0e-6 * ends, rel=5e-3)
    assert lines["tissue"].needed > 1.01 * panel.planform.outline.area_mm2
    build = build_of(job.spec, pieces_of(job.spec, (wing,)), ())
    entries, notes = part_entries(weights, (wing,), (board,), seats={"wing": Seat(station_mm=0.0)}, build=build)
    assert notes == ()
    weighed = {entry.what.removeprefix("wing 1, "): entry.mass.value for entry in entries}
    assert weighed["sanded off"] == pytest.approx(-0.12e-3 * 0.1 * 2 * face, rel=1e-3)
    assert weighed["dope on top"] + weighed["dope on bottom"] == pytest.approx(lines["dope"].dry_g, rel=1e-9)
    assert weighed["tissue on top"] == pytest.approx(lines["tissue"].dry_g, rel=1e-9)
    assert weighed["paint on edges"] == pytest.approx(lines["paint"].dry_g, rel=1e-9)
