from __future__ import annotations

import io
import math

import ezdxf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Polygon

from nesting.job.bring_in import bring_in
from nesting.patterns.pattern_settings import PatternSettings
from nesting.patterns.sheets import part_pattern
from nesting.wood.part import Part
from tests.nesting.patterns.pattern_shapes import F_POINTS, letter_f, long_part, rounded
from vectorize.basics.errors import InputError
from vectorize.shapes.outline import Outline, Ring
from vectorize.shapes.segment import Arc, Cubic

AREA_SHARE = 0.0002
SAME_MM = 0.02


def assert_same_shape(found: Outline, wanted: Outline) -> None:
    def at_origin(outline: Outline) -> Polygon:
        polygon = outline.to_polygon()
        return affinity.translate(polygon, -polygon.bounds[0], -polygon.bounds[1])

    a, b = at_origin(found), at_origin(wanted)
    assert len(found.cutouts) == len(wanted.cutouts)
    assert found.area_mm2 == pytest.approx(wanted.area_mm2, rel=AREA_SHARE)
    assert a.symmetric_difference(b).buffer(-SAME_MM / 2).is_empty


def written(part: Part, kind: str, **options) -> bytes:
    made = part_pattern(part, settings=PatternSettings(**options), formats=(kind,))
    return next(iter(made.values()))


@pytest.mark.parametrize("part", [letter_f(), rounded(), long_part()], ids=lambda part: part.name)
@pytest.mark.parametrize(
    ("kind", "options"),
    [("svg", {}), ("dxf", {}), ("dxf", {"dxf_version": "R2000"}), ("dxf", {"dxf_version": "R12"})],
    ids=["svg", "R2010", "R2000", "R12"],
)
def test_what_we_wrote_comes_back_as_the_same_part(part, kind, options):
    found = bring_in(written(part, kind, **options), name="pattern")
    assert found.notes == ()
    (outline,) = found.outlines
    assert_same_shape(outline, part.outline)


@settings(max_examples=15, deadline=None)
@given(
    corners=st.lists(st.floats(8, 60), min_size=3, max_size=9),
    hole=st.floats(0.5, 3.0),
    bulge=st.floats(-0.25, 0.9).filter(lambda b: abs(b) > 0.01),
    kind=st.sampled_from(["svg", "dxf"]),
)
def test_any_star_shape_with_arcs_survives_writing_and_bringing_in(corners, hole, bulge, kind):
    n = len(corners)
    points = [(r * math.cos(2 * math.pi * i / n), r * math.sin(2 * math.pi * i / n)) for i, r in enumerate(corners)]
    straight = Ring.from_points(points)
    first = straight.segments[0]
    exterior = Ring((Arc(first.start, first.end, bulge), *straight.segments[1:]))
    outline = Outline(exterior, (Ring.circle((0.0, 0.0), hole),))
    if not outline.to_polygon(0.01).is_valid:
        return
    (found,) = bring_in(written(Part("star", outline, "balsa", 3.0), kind), name="pattern").outlines
    assert_same_shape(found, outline)


def test_arcs_and_splines_come_back_as_arcs_and_splines_from_svg():
    (outline,) = bring_in(written(rounded(), "svg"), name="pattern").outlines
    kinds = [type(segment) for segment in outline.exterior.segments]
    assert Arc in kinds
    assert Cubic in kinds


def foreign_dxf(draw, *, units: int | None = 4) -> bytes:
    document = ezdxf.new("R2010")
    if units is None:
        del document.header["$INSUNITS"]
    else:
        document.header["$INSUNITS"] = units
    draw(document)
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode("utf-8")


def test_loose_lines_and_arcs_from_elsewhere_are_joined():
    def draw(document):
        space = document.modelspace()
        space.add_line((0, 0), (30, 0))
        space.add_arc((30, 10), 10, 270, 90)
        space.add_line((0, 20), (30.01, 20))  # ends a hair off, and runs the other way
        space.add_line((0, 20), (0, 0))
        space.add_circle((30, 10), 4)
        space.add_text("not an edge")

    (outline,) = bring_in(foreign_dxf(draw), name="a.dxf").outlines
    assert outline.area_mm2 == pytest.approx(600 + 50 * math.pi - 16 * math.pi, abs=0.2)
    assert len(outline.cutouts) == 1


def test_polylines_splines_and_ellipses_within_scaled_and_mirrored_blocks_are_read():
    def draw(document):
        block = document.blocks.new("rib")
        block.add_lwpolyline(
            [(0, 0, 0), (10, 0, math.tan(math.pi / 8)), (12, 2, 0), (12, 8, 0), (0, 8, 0)], format="xyb", close=True
        )
        space = document.modelspace()
        space.add_blockref("rib", (100, 50), dxfattribs={"xscale": -2, "yscale": 2})
        space.add_ellipse((0, 0), (20, 0), 0.5)
        space.add_rational_spline([(100, 0), (120, 0), (120, 20)], weights=[1, math.sqrt(0.5), 1], degree=2)
        space.add_lwpolyline([(120, 20), (100, 20), (100, 0)])
        space.add_open_spline([(0, 60), (10, 80), (20, 80), (30, 60)])
        space.add_line((30, 60), (0, 60))

    found = bring_in(foreign_dxf(draw), name="a.dxf")
    rib = 4 * (12 * 8 - (4 - math.pi))  # the quarter arc of radius 2 takes 4 - pi off a corner; scaled 2 × 2
    ellipse = math.pi * 20 * 10
    # A rational quadratic with the weight cos 45° is a quarter circle of radius 20 about (100, 20).
    quarter = math.pi * 20**2 / 4
    # Bezier over the base 0 … 30 with handles 20 up: x = 30 t, area = 20 · 3 · 30 · ∫ t (1 - t) dt.
    spline = 20 * 3 * 30 / 6
    assert sorted(o.area_mm2 for o in found.outlines) == pytest.approx(
        sorted([rib, ellipse, quarter, spline]), rel=AREA_SHARE
    )


# DXF Reference: $INSUNITS 1 inch, 4 mm, 5 cm, 6 m.
@pytest.mark.parametrize(("units", "size_mm"), [(1, 25.4 * 40), (4, 40.0), (5, 400.0)])
def test_the_unit_in_the_header_is_obeyed(units, size_mm):
    data = foreign_dxf(lambda d: d.modelspace().add_lwpolyline(F_POINTS, close=True), units=units)
    assert bring_in(data, name="f.dxf").outlines[0].size_mm[0] == pytest.approx(size_mm)


def test_a_drawing_without_unit_is_asked_about_with_both_sizes_and_the_answer_is_taken():
    data = foreign_dxf(lambda d: d.modelspace().add_lwpolyline(F_POINTS, close=True), units=0)
    with pytest.raises(
        InputError, match=r"40\.0 × 60\.0 mm with --unit '1 mm', 1016\.0 × 1524\.0 mm with --unit '1 in'"
    ):
        bring_in(data, name="f.dxf")
    assert bring_in(data, name="f.dxf", unit_mm=25.4).outlines[0].size_mm == pytest.approx((1016, 1524))


def test_an_absurd_size_is_refused():
    data = foreign_dxf(lambda d: d.modelspace().add_lwpolyline(F_POINTS, close=True), units=6)
    with pytest.raises(InputError, match="states a unit that makes it no plan; it would be 40"):
        bring_in(data, name="f.dxf")
    with pytest.raises(InputError, match=r"f\.dxf is 4e\+04 × 6e\+04 mm overall, which no parts are"):
        bring_in(data, name="f.dxf", unit_mm=1000.0)


SQUARE = '<rect x="10" y="20" width="100" height="50"/>'


@pytest.mark.parametrize(
    ("header", "width_mm"),
    [
        ('width="200mm" height="200mm" viewBox="0 0 200 200"', 100.0),
        ('width="20cm" height="20cm" viewBox="0 0 200 200"', 100.0),
        ('width="200pt" height="200pt" viewBox="0 0 200 200"', 100 * 25.4 / 72),
        ('width="2in" height="2in" viewBox="0 0 200 200"', 25.4),
    ],
)
def test_svg_units_are_obeyed(header, width_mm):
    data = f'<svg xmlns="http://www.w3.org/2000/svg" {header}>{SQUARE}</svg>'.encode()
    assert bring_in(data, name="a.svg").outlines[0].size_mm[0] == pytest.approx(width_mm)


@pytest.mark.parametrize(
    "header", ['viewBox="0 0 200 200"', 'width="200" height="200"', 'width="200px" height="200px"']
)
def test_svg_without_a_unit_of_length_is_asked_about(header):
    data = f'<svg xmlns="http://www.w3.org/2000/svg" {header}>{SQUARE}</svg>'.encode()
    with pytest.raises(
        InputError, match=r"100\.0 × 50\.0 mm with --unit '1 mm', .*, 26\.5 × 13\.2 mm with --unit '1/96 in'"
    ):
        bring_in(data, name="a.svg")
    assert bring_in(data, name="a.svg", unit_mm=1.0).outlines[0].size_mm == pytest.approx((100, 50))


def test_svg_transforms_groups_and_hidden_parts():
    body = (
        '<g transform="translate(5 5) rotate(90) scale(-2 1)"><path d="M0,0 H12 V20 H30 V32 H12 V48 H40 V60 H0 Z"/></g>'
        '<g style="display:none" display="none"><circle r="5"/></g>'
    )
    data = f'<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">{body}</svg>'
    (outline,) = bring_in(data.encode(), name="a.svg").outlines
    assert outline.area_mm2 == pytest.approx(2 * Polygon(F_POINTS).area, rel=AREA_SHARE)
    assert outline.size_mm == pytest.approx((60, 80))


def test_a_line_that_stays_open_is_told_with_its_place_and_the_others_are_given():
    def draw(document):
        document.modelspace().add_circle((0, 0), 10)
        document.modelspace().add_lwpolyline([(50, 0), (60, 0), (60, 10), (50, 9.5)])

    found = bring_in(foreign_dxf(draw), name="a.dxf")
    assert len(found.outlines) == 1
    (note,) = found.notes
    assert note.code == "open-line"
    assert "(50.0, 0.0)" in note.text


def test_rings_within_rings_alternate_between_wood_and_air():
    def draw(document):
        for side in (100, 80, 60, 40):
            half = side / 2
            document.modelspace().add_lwpolyline(
                [(-half, -half), (half, -half), (half, half), (-half, half)], close=True
            )

    found = bring_in(foreign_dxf(draw), name="a.dxf").outlines
    assert sorted(outline.area_mm2 for outline in found) == pytest.approx([60**2 - 40**2, 100**2 - 80**2])


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "neither"),
        (b"%PDF-1.7", "neither"),
        (b'<svg xmlns="http://www.w3.org/2000/svg" width="10mm" viewBox="0 0 1 1"><g', "is not sound SVG"),
        (b"0\nSECTION\n2\nENTITIES\n0\nLINE", "pattern"),
        (
            b'<svg xmlns="http://www.w3.org/2000/svg" width="10mm" height="10mm" viewBox="0 0 10 10"/>',
            "holds no lines",
        ),
        (
            b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9">'
            b'<path fill="none" stroke="red" d="M1,1L9,9"/></svg>',
            "no closed shape",
        ),
    ],
)
def test_what_cannot_be_read_is_told_in_a_sentence(data, words):
    with pytest.raises(InputError, match=words):
        bring_in(data, name="pattern")


# SVG 2, the symbol element: it is shown in a viewport of the use's size, its viewBox fitted into that.
def test_a_symbol_is_as_large_as_where_it_is_used():
    data = (
        b'<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" viewBox="0 0 200 100">'
        b'<symbol id="fin" viewBox="0 0 50 20"><rect width="50" height="20"/></symbol>'
        b'<use href="#fin" x="10" y="10" width="100" height="40"/></svg>'
    )
    (outline,) = bring_in(data, name="a.svg").outlines
    assert outline.size_mm == pytest.approx((100, 40))


# The corners of a 40 x 10 rectangle turned by 30 degrees, then stretched 2 to 1: worked out with sin 30 and cos 30.
def test_a_block_that_is_turned_within_a_stretched_one_keeps_its_shape():
    def draw(document):
        document.blocks.new("rib").add_lwpolyline([(0, 0), (40, 0), (40, 10), (0, 10)], close=True)
        document.blocks.new("wing").add_blockref("rib", (0, 0), dxfattribs={"rotation": 30})
        document.modelspace().add_blockref("wing", (0, 0), dxfattribs={"xscale": 2})

    (outline,) = bring_in(foreign_dxf(draw), name="a.dxf").outlines
    cos, sin = math.sqrt(3) / 2, 0.5
    assert outline.area_mm2 == pytest.approx(2 * 400)
    assert outline.size_mm == pytest.approx((2 * (40 * cos + 10 * sin), 40 * sin + 10 * cos))


def test_uses_that_multiply_without_end_are_refused():
    uses = "".join(f'<g id="u{n}">' + f'<use href="#u{n - 1}"/>' * 10 + "</g>" for n in range(1, 12))
    data = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9">'
        f'<defs><rect id="u0" width="5" height="5"/>{uses}</defs><use href="#u11"/></svg>'
    )
    with pytest.raises(InputError, match="holds more than 300000 elements"):
        bring_in(data.encode(), name="a.svg")


def test_our_cut_lines_are_found_within_the_layers_that_a_drawing_program_puts_round_them():
    data = written(rounded(), "svg").decode()
    head = data.index("<g ")
    wrapped = f'{data[:head]}<g id="layer1">{data[head:].replace("</svg>", "</g></svg>")}'
    (outline,) = bring_in(wrapped.encode(), name="a.svg").outlines
    assert_same_shape(outline, rounded().outline)


def test_a_shape_that_crosses_itself_is_refused_with_the_place():
    def draw(document):
        document.modelspace().add_lwpolyline([(0, 0), (40, 40), (40, 0), (0, 30)], close=True)

    with pytest.raises(
        InputError, match=r"a shape in a\.dxf is no simple shape: its edge crosses itself at \(17.1, 17.1\)"
    ):
        bring_in(foreign_dxf(draw), name="a.dxf")
