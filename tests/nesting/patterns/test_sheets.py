from __future__ import annotations

import re
import tempfile
from pathlib import Path

import numpy as np
import pyogrio
import pypdfium2
import pytest
from shapely.geometry import Polygon
from shapely.ops import unary_union

from nesting.patterns.pattern_settings import PatternSettings
from nesting.patterns.sheets import board_pattern, file_stem, part_pattern, pattern_notes, small_parts_pattern
from nesting.place.layout import BoardLayout, Placement
from nesting.wood.board import Board
from nesting.wood.part import Part
from tests.nesting.patterns.pattern_shapes import (
    F_POINTS,
    letter_f,
    net_area,
    pdf_pages,
    read_dxf,
    rounded,
    svg_rings,
    white_regions,
)
from vectorize.basics.errors import CallError, InputError
from vectorize.shapes.outline import Outline, Pose, Ring

SETTINGS = PatternSettings(model="Sedge")
AREA_SHARE = 0.0002  # what the files may differ from the source in area: 0.02 %
SAME_MM = 0.02  # nowhere may two shapes differ by more: far below a saw line


def differs(a: Polygon, b: Polygon) -> bool:
    """Whether the symmetric difference holds anything wider than SAME_MM."""
    return not a.symmetric_difference(b).buffer(-SAME_MM / 2).is_empty


def at_origin(ring: np.ndarray) -> Polygon:
    return Polygon(ring - ring.min(axis=0))


def test_the_comparison_itself_sees_a_mirrored_part():
    f = Polygon(F_POINTS)
    mirrored = Polygon([(40 - x, y) for x, y in F_POINTS])
    assert differs(f, mirrored)
    assert not differs(f, f)


@pytest.mark.parametrize("part", [letter_f(), rounded()], ids=["F", "rounded"])
def test_svg_read_by_another_library_has_the_area_and_the_hand_of_the_part(part):
    svg = part_pattern(part, settings=SETTINGS, formats=("svg",))[f"part-{part.name}.svg"]
    rings = svg_rings(svg, "outline-cut")
    holes = svg_rings(svg, "opening-cut") + svg_rings(svg, "drill-hole")
    assert len(rings) == 1
    assert net_area(rings + holes) == pytest.approx(part.outline.area_mm2, rel=AREA_SHARE)
    assert not differs(at_origin(rings[0]), at_origin(part.outline.exterior.flattened()))


def test_svg_states_millimetres_and_puts_no_transform_on_a_path():
    svg = part_pattern(rounded(), settings=SETTINGS, formats=("svg",))["part-rounded.svg"].decode("utf-8")
    width, height = re.search(r'width="([\d.]+)mm" height="([\d.]+)mm"', svg).groups()
    assert f'viewBox="0 0 {width} {height}"' in svg
    assert not re.search(r"<(path|g)\b[^>]*\btransform", svg)
    assert re.search(r"A10 10 0 0 0 ", svg), "the quarter arc is an arc"


@pytest.mark.parametrize("version", ["R12", "R2000", "R2010"])
@pytest.mark.parametrize("part", [letter_f(), rounded()], ids=["F", "rounded"])
def test_dxf_passes_the_audit_and_another_reader_finds_the_same_area(part, version):
    settings = PatternSettings(dxf_version=version)
    dxf = part_pattern(part, settings=settings, formats=("dxf",))[f"part-{part.name}.dxf"]
    read_dxf(dxf)
    rings = ogr_rings(dxf, "OUTLINE_CUT")
    holes = ogr_rings(dxf, "OPENING_CUT") + ogr_rings(dxf, "DRILL_HOLE")
    assert len(rings) == 1
    # The reader flattens arcs by itself, to about a hundredth of a millimetre.
    assert net_area(rings + holes) == pytest.approx(part.outline.area_mm2, rel=AREA_SHARE)
    assert not differs(at_origin(rings[0]), at_origin(part.outline.exterior.flattened()))


def ogr_rings(dxf: bytes, layer: str) -> list[np.ndarray]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "pattern.dxf"
        path.write_bytes(dxf)
        pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.5"})
        info, _, geometry, fields = pyogrio.raw.read(path, columns=["Layer"])
    names = fields[list(info["fields"]).index("Layer")]
    from shapely import from_wkb, get_coordinates

    return [get_coordinates(from_wkb(g)) for g, name in zip(geometry, names, strict=True) if name == layer]


def test_dxf_header_says_millimetres():
    document = read_dxf(part_pattern(letter_f(), settings=SETTINGS, formats=("dxf",))["part-F.dxf"])
    assert document.header["$INSUNITS"] == 4  # DXF Reference: 4 is millimetres
    assert document.header["$MEASUREMENT"] == 1  # DXF Reference: 1 is metric
    assert any("40.00 x 60.00 mm" in text.dxf.text for text in document.modelspace().query("TEXT"))


def board_and_layout():
    gusset = Part("gusset", Outline.from_points([(0, 0), (30, 0), (0, 18)]), "balsa", 3.0, count=2)
    board = Board("B2", "balsa", 3.0, 300.0, 75.0)
    placements = (
        Placement("F", 1, Pose(10, 5)),
        Placement("F", 2, Pose(110, 5, 0, True)),
        Placement("gusset", 1, Pose(120, 5)),
        Placement("gusset", 2, Pose(190, 40, 180)),
    )
    return board, BoardLayout("B2", placements, 0.3, 190.0), [letter_f(hand="pair"), gusset]


def test_a_board_pattern_holds_every_copy_where_the_layout_put_it():
    board, layout, parts = board_and_layout()
    svg = board_pattern(board, layout, parts, settings=SETTINGS, formats=("svg",))["board-B2.svg"]
    drawn = unary_union([Polygon(ring) for ring in svg_rings(svg, "outline-cut")])
    edge = Polygon(svg_rings(svg, "board-edge")[0])
    x0, y0 = edge.bounds[:2]
    by_name = {part.name: part for part in parts}
    wanted = unary_union([by_name[p.part].outline.placed(p.pose).to_polygon() for p in layout.placements])
    from shapely import affinity

    assert not differs(affinity.translate(drawn, -x0, -y0), wanted)


def test_the_same_layout_gives_the_same_bytes():
    board, layout, parts = board_and_layout()
    assert board_pattern(board, layout, parts, settings=SETTINGS) == board_pattern(
        board, layout, parts, settings=SETTINGS
    )


def test_file_names_are_board_or_part_and_the_name():
    board, layout, parts = board_and_layout()
    assert set(board_pattern(board, layout, parts, settings=SETTINGS)) == {
        "board-B2.pdf", "board-B2.svg", "board-B2.dxf", "board-B2.png",
    }  # fmt: skip
    assert file_stem("Höhe 1/2: links") == "Höhe-1-2-links"
    assert file_stem("???") == "unnamed"


def test_a_placement_of_an_unknown_part_is_named():
    board, layout, parts = board_and_layout()
    with pytest.raises(CallError, match="'gusset'"):
        board_pattern(board, layout, parts[:1], settings=SETTINGS)


def test_a_spar_of_6_m_is_tiled_and_previewed():
    spar = Part("spar", Outline.rectangle(0, 0, 6000, 12), "spruce", 6.0)
    made = part_pattern(spar, settings=SETTINGS)
    assert len(made) == 4
    # An A4 window shows 263 mm upright and shares 10: (6001 - 10) / 253 = 23.7, so 24 pages.
    settings = PatternSettings(most_pages=5)
    with pytest.raises(InputError, match=r"6001 × 13 mm and would take 24 pages; the limit is 5"):
        part_pattern(spar, settings=settings, formats=("pdf",))


def test_what_the_typeface_lacks_and_what_the_tool_cannot_cut_are_open_notes():
    slit = Outline(Ring.rectangle(0, 0, 40, 20), (Ring.rectangle(10, 5, 10.1, 15),))
    notes = pattern_notes([Part("翼 slit", slit, "balsa", 3.0)], settings=PatternSettings(tool="laser", kerf_mm=0.2))
    assert [(note.code, note.state, note.part) for note in notes] == [
        ("kerf-cut-out", "open", "翼 slit"),
        ("missing-character", "open", "翼 slit"),
    ]
    assert pattern_notes([letter_f()], settings=SETTINGS) == ()


def test_mirrored_files_are_turned_over_and_their_words_can_still_be_read():
    made = part_pattern(letter_f(), settings=PatternSettings(is_mirrored=True), formats=("svg", "dxf"))
    mirrored = Polygon([(40 - x, y) for x, y in F_POINTS])
    assert not differs(at_origin(svg_rings(made["part-F.svg"], "outline-cut")[0]), mirrored)
    assert not differs(at_origin(ogr_rings(made["part-F.dxf"], "OUTLINE_CUT")[0]), mirrored)
    assert "scale(-1" not in made["part-F.svg"].decode("utf-8")


def test_small_parts_share_pages_and_no_joint_runs_through_any():
    fins = Part("fin", Outline.from_points([(0, 0), (90, 0), (60, 70), (20, 70)]), "balsa", 2.5, count=7)
    big = Part("big", Outline.rectangle(0, 0, 300, 20), "balsa", 3.0)
    made = small_parts_pattern([fins, letter_f(hand="pair"), big], settings=SETTINGS)
    assert made["small-parts.png"].startswith(b"\x89PNG")
    assert set(small_parts_pattern([fins], settings=SETTINGS, formats=("pdf",))) <= {"small-parts.pdf"}
    pages = pdf_pages(made["small-parts.pdf"], 100)
    mm = (210 / pages[0].shape[1], 297 / pages[0].shape[0])
    regions = [region for page in pages for region in white_regions(page, mm)]
    fin_area = fins.outline.area_mm2
    found = [region for region in regions if abs(region.area - fin_area) < 0.05 * fin_area]
    assert len(found) == 7
    f_area = Polygon(F_POINTS).area
    assert sum(abs(region.area - f_area) < 0.05 * f_area for region in regions) == 2
    assert len(pages) == 3  # a fin of 90 mm fills a row of 167 mm; three rows of 70 and 16 mm fill a page


def test_one_small_part_needs_no_sheet_of_its_own():
    assert small_parts_pattern([letter_f()], settings=SETTINGS) == {}
    assert small_parts_pattern([letter_f(hand="pair")], settings=SETTINGS, formats=("svg",)) == {}


def test_inches_and_ounces_come_first_where_the_job_says_so():
    board, layout, parts = board_and_layout()
    settings = PatternSettings(units="in")
    made = board_pattern(board, layout, parts, settings=settings, weights={("F", 1): 2.835}, formats=("pdf",))
    document = pypdfium2.PdfDocument(made["board-B2.pdf"])
    words = " ".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    assert "0.10 oz" in words
    assert "1.575 in × 2.362 in" in words  # 40 × 60 mm
