"""SVG, DXF and PDF drawings keep their exact curves, their units and their layers."""

from __future__ import annotations

import io
import math
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely
from reportlab.pdfgen.canvas import Canvas

from fixtures import drawn_plans, vectors
from fixtures.scanning import PlanMap
from vectorize.basics.errors import ScanError
from vectorize.page import Page, list_pages, read_page
from vectorize.page.plan_page import drawn_in
from vectorize.scale.fit_scale import fit_scale
from vectorize.shapes.outline import Ring
from vectorize.shapes.segment import Arc, Cubic

EXACT_MM = 2e-4  # numbers in the files have 6 decimals at least, pdfium's are single precision
PICTURE_PX = 1.0  # pdfium draws a picture from whole pixel to whole pixel
SVG = '<svg xmlns="http://www.w3.org/2000/svg" {head}>{body}</svg>'


def write_svg(file: Path, head: str, body: str) -> Path:
    file.write_text(SVG.format(head=head, body=body), encoding="utf-8")
    return file


def farthest(page: Page, plan_map: PlanMap, outline_points: np.ndarray) -> float:
    """Largest distance in mm from points of a true outline to any stroke of the page."""
    lines = []
    for stroke in page.strokes:
        points = [p for s in stroke.segments for p in s.flattened(1e-3 if page.width < 1000 else 1e-2)]
        lines.append(shapely.LineString([*points, stroke.segments[-1].end]))
    drawn = shapely.union_all(lines)
    spots = shapely.points(plan_map.to_pixels(outline_points))
    return float(shapely.distance(spots, drawn).max()) / plan_map.scale_at((50.0, 50.0))


@pytest.mark.parametrize(
    ("suffix", "write"),
    [
        ("pdf", vectors.write_pdf),
        ("svg", vectors.write_svg),
        ("svg", lambda plan, file: vectors.write_svg(plan, file, has_transforms=True)),
        ("dxf", vectors.write_dxf),
        ("dxf", lambda plan, file: vectors.write_dxf(plan, file, has_blocks=True)),
    ],
    ids=["pdf", "svg", "svg with transforms", "dxf", "dxf with blocks"],
)
def test_every_true_outline_lies_on_the_strokes(tmp_path: Path, suffix: str, write) -> None:
    plan = drawn_plans.workshop()
    plan_map = write(plan, tmp_path / f"plan.{suffix}")
    page = read_page(tmp_path / f"plan.{suffix}")
    assert page.grey is None
    assert page.is_y_up == (suffix == "dxf")
    for part in plan.parts:
        for ring in part.outline.rings:
            assert farthest(page, plan_map, ring.flattened(0.5)) < 0.002
    assert page.stated_px_per_mm == pytest.approx((plan_map.scale_at((9, 9)),) * 2, rel=1e-6)


def test_a_comparison_with_the_wrong_map_fails(tmp_path: Path) -> None:
    plan = drawn_plans.workshop()
    vectors.write_svg(plan, tmp_path / "plan.svg")
    page = read_page(tmp_path / "plan.svg")
    off = PlanMap(np.array([[1, 0, 0.1], [0, -1, plan.height], [0, 0, 1.0]]))
    assert farthest(page, off, plan.parts[0].outline.exterior.flattened(0.5)) > 0.05


def circle_of(page: Page) -> tuple[tuple[float, float], float]:
    (stroke,) = page.strokes
    assert stroke.is_closed
    found = Ring(stroke.segments).as_circle()
    assert found is not None
    return found


# SVG


@pytest.mark.parametrize(
    ("head", "px_per_mm"),
    [
        ('width="100mm" height="100mm" viewBox="0 0 100 100"', 1.0),
        ('width="10cm" height="10cm" viewBox="0 0 100 100"', 1.0),
        ('width="283.4645669pt" height="283.4645669pt" viewBox="0 0 100 100"', 1.0),
        ('width="2in" height="2in" viewBox="0 0 100 100"', 100 / 50.8),
        ('width="100mm" height="100mm"', 96 / 25.4),
        ('viewBox="0 0 100 100"', None),
        ('width="100" height="100" viewBox="0 0 100 100"', None),
        ('width="100px" height="100px"', None),
        ('width="100%" height="100%" viewBox="0 0 100 100"', None),
    ],
)
def test_units_of_an_svg_are_obeyed_or_asked_for(tmp_path: Path, head: str, px_per_mm: float | None) -> None:
    body = '<rect x="10" y="10" width="50" height="50" fill="none" stroke="black"/>'
    page = read_page(write_svg(tmp_path / "a.svg", head, body))
    assert page.stated_px_per_mm == (None if px_per_mm is None else pytest.approx((px_per_mm,) * 2, rel=1e-6))
    (stroke,) = page.strokes
    assert stroke.segments[0].start == pytest.approx((10, 10))
    codes = [note.code for note in page.notes]
    assert ("units-missing" if px_per_mm is None else "units-stated") in codes
    if px_per_mm is None:
        text = next(note.text for note in page.notes if note.code == "units-missing")
        assert "26 x 26 mm at 96" in text
        assert "100 x 100 mm in millimetres" in text


def test_a_circle_of_an_svg_stays_a_circle_under_turn_and_mirror(tmp_path: Path) -> None:
    body = (
        '<g transform="rotate(30) scale(-2 2)"><g transform="translate(7 3)">'
        '<circle cx="5" cy="4" r="10" fill="none" stroke="#000"/></g></g>'
    )
    centre, radius = circle_of(read_page(write_svg(tmp_path / "a.svg", 'viewBox="0 0 100 100"', body)))
    x, y = -2 * 12, 2 * 7
    cos, sin = math.cos(math.pi / 6), math.sin(math.pi / 6)
    assert radius == pytest.approx(20, abs=1e-9)
    assert centre == pytest.approx((cos * x - sin * y, sin * x + cos * y), abs=1e-9)


ARC = "M10,10 L40,10 A15,15 0 0 1 40,40 A20,10 25 1 0 12,35 Q5,30 8,20 C9,15 4,14 10,10 Z"


@pytest.mark.parametrize("transform", ["", "rotate(17)", "scale(-1.5 1.5)", "skewX(12)", "matrix(1 0.2 -0.7 2 3 4)"])
def test_every_kind_of_path_piece_agrees_with_another_reader(tmp_path: Path, transform: str) -> None:
    # svgpathtools, an independent reader and evaluator of SVG paths.
    import svgpathtools
    from svgpathtools.parser import parse_transform

    page = read_page(
        write_svg(
            tmp_path / "a.svg",
            'viewBox="0 0 50 50"',
            f'<path transform="{transform}" d="{ARC}" stroke="red" fill="none"/>',
        )
    )
    (stroke,) = page.strokes
    matrix = parse_transform(transform)
    other = svgpathtools.parse_path(ARC)
    expected = np.array([piece.point(t) for piece in other for t in np.linspace(0, 1, 60)])
    expected = (matrix @ np.vstack([expected.real, expected.imag, np.ones(len(expected))]))[:2].T
    ours = Ring(stroke.segments).flattened(1e-5)
    line = shapely.LineString(np.vstack([ours, ours[:1]]))
    assert shapely.distance(shapely.points(expected), line).max() < 1e-4
    other_line = shapely.LineString(np.vstack([expected, expected[:1]]))
    assert shapely.distance(shapely.points(ours[::7]), other_line).max() < 0.05  # its chords


def test_layers_of_an_svg_are_listed_and_chosen(tmp_path: Path) -> None:
    body = (
        '<g id="outline"><path d="M0,0 L10,0 L10,10 Z" stroke="black" fill="none"/></g>'
        '<g id="dims"><g id="inner"><path d="M0,20 L10,20" stroke="black"/></g></g>'
        '<text x="1" y="2">A</text><defs><path id="p" d="M0,0 L5,5" stroke="black"/></defs>'
        '<use href="#p" x="3"/>'
    )
    file = write_svg(tmp_path / "a.svg", 'viewBox="0 0 50 50"', body)
    assert list_pages(file)[0].layers == ("", "dims", "outline")
    page = read_page(file, layers=("outline",))
    assert [stroke.layer for stroke in page.strokes] == ["outline"]
    with pytest.raises(ScanError, match=r"no layer 'ribs'.*'dims', 'outline'"):
        read_page(file, layers=("ribs",))


def test_dashes_fills_and_hidden_shapes_of_an_svg_are_told_apart(tmp_path: Path) -> None:
    body = (
        '<path d="M0,0 L10,0" stroke="black" stroke-dasharray="2 1" stroke-width="0.4"/>'
        '<rect width="5" height="5"/>'
        '<rect width="6" height="6" fill="none" stroke="none"/>'
        '<rect width="7" height="7" display="none" stroke="black"/>'
        '<rect width="8" height="8" style="fill:none;stroke:#00f;stroke-width:2" transform="scale(2)"/>'
    )
    dashed, filled, drawn = read_page(write_svg(tmp_path / "a.svg", 'viewBox="0 0 50 50"', body)).strokes
    assert (dashed.is_dashed, dashed.is_filled, dashed.is_closed) == (True, False, False)
    assert dashed.pen_width == pytest.approx(0.4)
    assert (filled.is_filled, filled.is_closed, filled.pen_width) == (True, True, 0.0)
    assert (drawn.is_filled, drawn.is_closed) == (False, True)
    assert drawn.pen_width == pytest.approx(4)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("<svg><path d='M0,0 L1", "not sound SVG"),
        ("<svg xmlns='http://www.w3.org/2000/svg'><text>A</text></svg>", "holds no lines"),
        ("<!DOCTYPE svg [<!ENTITY a 'b'>]><svg xmlns='http://www.w3.org/2000/svg'>&a;</svg>", "XML entities"),
        ("<html><svg/></html>", "not sound SVG"),
    ],
)
def test_an_unsound_svg_is_refused_in_a_sentence(tmp_path: Path, text: str, message: str) -> None:
    (tmp_path / "a.svg").write_text(text, encoding="utf-8")
    with pytest.raises(ScanError, match=message):
        read_page(tmp_path / "a.svg")


def test_a_second_page_of_a_drawing_does_not_exist(tmp_path: Path) -> None:
    file = write_svg(tmp_path / "a.svg", 'viewBox="0 0 9 9"', '<path d="M0,0 L9,9" stroke="black"/>')
    with pytest.raises(ScanError, match="has 1 page; page 2 does not exist"):
        read_page(file, page=2)


# DXF


def dxf_file(tmp_path: Path, draw, *, insunits: int | None = 4, version: str = "R2010") -> Path:
    drawing = ezdxf.new(version)
    if insunits is not None:
        drawing.header["$INSUNITS"] = insunits
    draw(drawing)
    drawing.saveas(tmp_path / "a.dxf")
    return tmp_path / "a.dxf"


def square(drawing) -> None:
    drawing.modelspace().add_lwpolyline([(0, 0), (100, 0), (100, 100), (0, 100)], close=True)


@pytest.mark.parametrize(
    ("insunits", "mm", "code"),
    [
        # DXF Reference, $INSUNITS: 0 none, 1 inches, 4 millimetres, 5 centimetres, 6 metres.
        (4, 100.0, "units-stated"),
        (1, 2540.0, "units-stated"),
        (5, 1000.0, "units-stated"),
        (6, None, "units-not-credible"),
        (0, None, "units-missing"),
    ],
)
def test_units_of_a_dxf_are_obeyed_said_or_asked_for(
    tmp_path: Path, insunits: int, mm: float | None, code: str
) -> None:
    file = dxf_file(tmp_path, square, insunits=insunits)
    page = read_page(file)
    assert code in [note.code for note in page.notes]
    assert page.stated_size_mm == (None if mm is None else pytest.approx((mm, mm)))
    assert list_pages(file)[0].size_mm == page.stated_size_mm


@pytest.mark.parametrize(("unit", "side"), [("mm", 100.0), ("in", 2540.0), ("cm", 1000.0)])
def test_the_unit_of_a_drawing_can_be_named(tmp_path: Path, unit: str, side: float) -> None:
    page = drawn_in(read_page(dxf_file(tmp_path, square, insunits=0)), unit)
    scale = fit_scale(page, accepts_stated_size=True)
    assert scale.page_mm == pytest.approx((side, side))
    assert scale.is_true_size


def test_a_drawing_without_units_is_taken_for_millimetres_and_small_ones_for_inches(tmp_path: Path) -> None:
    large = fit_scale(read_page(dxf_file(tmp_path, square, insunits=0)))
    assert large.page_mm == pytest.approx((100, 100))
    assert "taken to be drawn in mm, 100 x 100 mm, until you name its unit (--unit mm" in large.notes[0].text
    small = fit_scale(read_page(dxf_file(tmp_path, lambda d: d.modelspace().add_line((0, 0), (8, 4)), insunits=0)))
    assert small.page_mm == pytest.approx((8 * 25.4, 4 * 25.4))
    assert not small.is_true_size


def test_a_page_that_states_its_size_is_drawn_in_no_unit(tmp_path: Path) -> None:
    vectors.write_pdf(drawn_plans.workshop(), tmp_path / "plan.pdf")
    with pytest.raises(ScanError, match="states its size itself, so it is not drawn in mm"):
        drawn_in(read_page(tmp_path / "plan.pdf"), "mm")


def test_an_old_dxf_without_units_asks_for_a_known_dimension(tmp_path: Path) -> None:
    page = read_page(
        dxf_file(tmp_path, lambda d: d.modelspace().add_line((0, 0), (90, 40)), insunits=None, version="R12")
    )
    text = next(note.text for note in page.notes if note.code == "units-missing")
    assert "90 x 40 mm in millimetres" in text
    assert page.stated_px_per_mm is None


def test_bulges_keep_their_sign_and_arcs_their_side(tmp_path: Path) -> None:
    # DXF Reference, LWPOLYLINE code 42: the bulge is positive where the arc runs counter-clockwise, so
    # +1 from (0, 0) to (10, 0) is the half circle below the chord.
    def draw(drawing) -> None:
        drawing.modelspace().add_lwpolyline([(0, 0, 1), (10, 0, 0), (10, 20, 0)], format="xyb")
        drawing.modelspace().add_arc((50, 50), 10, 90, 180)

    bulged, arc = read_page(dxf_file(tmp_path, draw)).strokes
    assert isinstance(bulged.segments[0], Arc)
    assert bulged.segments[0].point_at(0.5) == pytest.approx((5, -5))
    assert arc.segments[0].point_at(0.5) == pytest.approx((50 - 10 / math.sqrt(2), 50 + 10 / math.sqrt(2)))


def test_a_mirrored_block_mirrors_its_arcs(tmp_path: Path) -> None:
    def draw(drawing) -> None:
        block = drawing.blocks.new("F")
        block.add_lwpolyline([(0, 0, 0.4), (10, 0, 0), (10, 30, 0)], format="xyb")
        block.add_circle((4, 8), 2)
        block.add_ellipse((5, 5), (4, 0), 0.5, 0, math.pi / 2)
        drawing.modelspace().add_blockref("F", (100, 0), dxfattribs={"xscale": -1})

    bulged, circle, ellipse = read_page(dxf_file(tmp_path, draw)).strokes
    assert isinstance(bulged.segments[0], Arc)
    assert bulged.segments[0].point_at(0.5) == pytest.approx((95, -2))
    assert Ring(circle.segments).as_circle() == (pytest.approx((96, 8)), pytest.approx(2))
    ends = {tuple(round(v, 6) for v in ellipse.segments[0].start), tuple(round(v, 6) for v in ellipse.segments[-1].end)}
    assert ends == {(91.0, 5.0), (95.0, 7.0)}


def test_nested_and_unevenly_scaled_blocks_are_resolved(tmp_path: Path) -> None:
    def draw(drawing) -> None:
        inner = drawing.blocks.new("inner")
        inner.add_circle((1, 0), 1)
        outer = drawing.blocks.new("outer")
        outer.add_blockref("inner", (2, 0), dxfattribs={"rotation": 90})
        drawing.modelspace().add_blockref("outer", (10, 20), dxfattribs={"xscale": 3, "yscale": 1})

    (stroke,) = read_page(dxf_file(tmp_path, draw)).strokes
    points = np.array([p for s in stroke.segments for p in s.flattened(1e-5)])
    # The circle about (2, 1) in the outer block becomes an ellipse about (16, 21), 6 wide and 2 high.
    np.testing.assert_allclose(((points - (16, 21)) / (3, 1)) ** 2 @ (1, 1), 1, atol=1e-4)


CONTROLS = [(0, 0), (10, 20), (30, 20), (40, 0)]


def test_the_usual_plane_may_be_written_out_with_every_entity(tmp_path: Path) -> None:
    # DXF Reference, group codes 210, 220, 230: the extrusion is (0, 0, 1) unless given; giving it changes nothing.
    def draw(drawing, usual: dict[str, tuple[int, int, int]]) -> None:
        space = drawing.modelspace()
        space.add_arc((10, 10), 5, 30, 120, dxfattribs=usual)
        space.add_circle((30, 10), 4, dxfattribs=usual)
        space.add_lwpolyline([(0, 0, 0.5), (10, 0, 0), (10, 5, 0)], format="xyb", close=True, dxfattribs=usual)
        space.add_polyline2d([(20, 20), (30, 20), (30, 30)], close=True, dxfattribs=usual)
        space.add_line((0, 0), (40, 0), dxfattribs=usual)

    written = read_page(dxf_file(tmp_path, lambda d: draw(d, {"extrusion": (0, 0, 1)}))).strokes
    plain = read_page(dxf_file(tmp_path, lambda d: draw(d, {}))).strokes
    assert len(plain) == 5
    assert written == plain


def test_splines_and_ellipses_of_a_dxf_are_exact(tmp_path: Path) -> None:
    def draw(drawing) -> None:
        space = drawing.modelspace()
        space.add_open_spline(CONTROLS)
        space.add_spline(fit_points=[(0, 50), (20, 60), (40, 50), (60, 65)])
        space.add_rational_spline([(50, 0), (60, 0), (60, 10)], [1, math.sqrt(0.5), 1], degree=2)
        space.add_ellipse((100, 50), (30, 0), 0.5)

    bezier, fitted, rational, ellipse = read_page(dxf_file(tmp_path, draw)).strokes
    (cubic,) = bezier.segments
    assert isinstance(cubic, Cubic)
    for point, expected in zip((cubic.start, cubic.first, cubic.second, cubic.end), CONTROLS, strict=True):
        assert point == pytest.approx(expected, abs=1e-6)
    assert fitted.segments[0].start == pytest.approx((0, 50))
    assert fitted.segments[-1].end == pytest.approx((60, 65))
    quarter = np.array([s.point_at(0.5) for s in rational.segments if isinstance(s, Cubic)])
    np.testing.assert_allclose(np.hypot(*(quarter - (50, 10)).T), 10, atol=1e-5)
    assert ellipse.is_closed
    assert Ring(ellipse.segments).signed_area_mm2 == pytest.approx(math.pi * 30 * 15, rel=1e-6)


def test_layers_line_types_and_weights_of_a_dxf(tmp_path: Path) -> None:
    def draw(drawing) -> None:
        drawing.linetypes.add("HIDDEN", [3.0, 2.0, -1.0])
        drawing.layers.add("outline", lineweight=50)
        drawing.layers.add("hidden", linetype="HIDDEN")
        drawing.layers.add("frozen").freeze()
        drawing.layers.add("off").off()
        space = drawing.modelspace()
        block = drawing.blocks.new("B")
        block.add_line((0, 0), (5, 5), dxfattribs={"layer": "0"})
        space.add_blockref("B", (0, 0), dxfattribs={"layer": "outline"})
        space.add_line((0, 0), (10, 0), dxfattribs={"layer": "hidden"})
        space.add_line((0, 0), (0, 10), dxfattribs={"layer": "frozen"})
        space.add_line((0, 0), (0, 20), dxfattribs={"layer": "off"})
        space.add_text("RIB", dxfattribs={"layer": "text"})
        space.add_linear_dim(base=(0, 30), p1=(0, 0), p2=(10, 0)).render()

    file = dxf_file(tmp_path, draw)
    page = read_page(file)
    in_block, hidden = page.strokes
    assert (in_block.layer, in_block.pen_width, in_block.is_dashed) == ("outline", 0.5, False)
    assert (hidden.layer, hidden.is_dashed) == ("hidden", True)
    left_out = next(note.text for note in page.notes if note.code == "left-out")
    assert "1 DIMENSION" in left_out
    assert "1 TEXT" in left_out
    assert "2 on hidden layers" in left_out
    assert [s.layer for s in read_page(file, layers=("hidden",)).strokes] == ["hidden"]
    with pytest.raises(ScanError, match="no layer 'cut'"):
        read_page(file, layers=("cut",))


def test_a_dxf_with_text_only_says_so(tmp_path: Path) -> None:
    with pytest.raises(ScanError, match="holds no lines in its model space, only 1 TEXT"):
        read_page(dxf_file(tmp_path, lambda d: d.modelspace().add_text("A")))


def test_a_cut_off_dxf_is_refused_or_read_without_a_traceback(tmp_path: Path) -> None:
    file = dxf_file(tmp_path, square)
    file.write_bytes(file.read_bytes()[:400])
    with pytest.raises(ScanError, match=r"a\.dxf"):
        read_page(file)


def test_a_binary_dxf_is_read(tmp_path: Path) -> None:
    drawing = ezdxf.new("R2010")
    drawing.header["$INSUNITS"] = 4
    square(drawing)
    drawing.saveas(tmp_path / "binary.dxf", fmt="bin")
    assert len(read_page(tmp_path / "binary.dxf").strokes) == 1


# PDF


def pdf_bytes(draw, size: tuple[float, float] = (612, 792)) -> bytes:
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=size, invariant=1)
    draw(canvas)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def flag(canvas: Canvas) -> None:
    """An F-like zigzag that no turn or mirror maps onto itself, and a picture beside it."""
    path = canvas.beginPath()
    path.moveTo(120, 150)
    for point in ((120, 400), (250, 400), (250, 370), (150, 370), (150, 150)):
        path.lineTo(*point)
    canvas.drawPath(path)


def turned(data: bytes, **changes) -> bytes:
    import pikepdf

    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(data)) as document:
        for key, value in changes.items():
            document.pages[0].obj[f"/{key}"] = pikepdf.Array(value) if isinstance(value, list) else value
        document.save(out)
    return out.getvalue()


def points_of(page: Page) -> np.ndarray:
    return np.array([s.start for stroke in page.strokes for s in stroke.segments])


K = 300 / 72


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
@pytest.mark.parametrize("crop", [None, [100, 100, 300, 500]])
def test_turned_and_cropped_pages_show_strokes_where_a_viewer_does(
    tmp_path: Path, turn: int, crop: list[float] | None
) -> None:
    changes = {"Rotate": turn, **({} if crop is None else {"CropBox": crop})}
    (tmp_path / "a.pdf").write_bytes(turned(pdf_bytes(flag), **changes))
    page = read_page(tmp_path / "a.pdf")
    x0, y0, x1, y1 = crop or [0, 0, 612, 792]
    width, height = x1 - x0, y1 - y0
    assert (page.width, page.height) == pytest.approx(
        (width * K, height * K) if turn % 180 == 0 else (height * K, width * K)
    )
    # The first point, turned clockwise by hand within the shown box.
    x, y = 120 - x0, 150 - y0
    shown = {0: (x, height - y), 90: (y, x), 180: (width - x, y), 270: (height - y, width - x)}[turn]
    assert points_of(page)[0] == pytest.approx(np.multiply(shown, K) - 0.5, abs=1e-3)


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_the_picture_of_a_mixed_page_lies_under_its_strokes(tmp_path: Path, turn: int) -> None:
    from PIL import Image
    from reportlab.lib.utils import ImageReader

    def draw(canvas: Canvas) -> None:
        flag(canvas)
        canvas.drawImage(ImageReader(Image.new("L", (40, 40), 0)), 400, 600, 37.3, 41.7)

    # A page whose sides are no whole points: rounding them would shift the far side by pixels.
    data = turned(pdf_bytes(draw, (595.276, 841.89)), Rotate=turn)
    (tmp_path / "a.pdf").write_bytes(data)
    page = read_page(tmp_path / "a.pdf")
    assert page.grey is not None
    assert list_pages(tmp_path / "a.pdf")[0].kind == "mixed"
    x0, y0, x1, y1 = 400, 600, 437.3, 641.7
    w, h = 595.276, 841.89
    box = {
        0: (x0, h - y1, x1, h - y0),
        90: (y0, x0, y1, x1),
        180: (w - x1, y0, w - x0, y1),
        270: (h - y1, w - x1, h - y0, w - x0),
    }[turn]
    dark = (255.0 - page.grey) / 255.0
    left, top, right, bottom = (v * K - 0.5 for v in box)
    window = dark[int(top) - 20 : int(bottom) + 20, int(left) - 20 : int(right) + 20]
    assert window.sum() == pytest.approx((right - left) * (bottom - top), rel=PICTURE_PX * 3 / (right - left))
    rows, columns = np.mgrid[0 : window.shape[0], 0 : window.shape[1]]
    assert (columns * window).sum() / window.sum() + int(left) - 20 == pytest.approx((left + right) / 2, abs=PICTURE_PX)
    assert (rows * window).sum() / window.sum() + int(top) - 20 == pytest.approx((top + bottom) / 2, abs=PICTURE_PX)


def test_user_unit_multiplies_the_page(tmp_path: Path) -> None:
    # ISO 32000: UserUnit gives the size of a unit in multiples of 1/72 in.
    (tmp_path / "a.pdf").write_bytes(turned(pdf_bytes(flag), UserUnit=2.5))
    page = read_page(tmp_path / "a.pdf")
    assert page.stated_size_mm == pytest.approx((612 * 2.5 / 72 * 25.4, 792 * 2.5 / 72 * 25.4))
    assert points_of(page)[0][0] == pytest.approx(120 * 2.5 * K - 0.5, abs=1e-3)


def test_hairlines_and_nested_forms_are_strokes(tmp_path: Path) -> None:
    def draw(canvas: Canvas) -> None:
        canvas.beginForm("f")
        canvas.setLineWidth(0)
        canvas.setDash(6, 3)
        canvas.line(0, 0, 100, 0)
        canvas.endForm()
        canvas.translate(50, 60)
        canvas.scale(2, 2)
        canvas.doForm("f")

    (tmp_path / "a.pdf").write_bytes(pdf_bytes(draw))
    (stroke,) = read_page(tmp_path / "a.pdf").strokes
    assert stroke.pen_width == 0
    assert stroke.is_dashed
    assert stroke.segments[0].start == pytest.approx((50 * K - 0.5, (792 - 60) * K - 0.5), abs=1e-3)
    assert stroke.segments[0].end == pytest.approx((250 * K - 0.5, (792 - 60) * K - 0.5), abs=1e-3)


def test_circles_and_fillets_of_a_pdf_come_back_as_arcs(tmp_path: Path) -> None:
    # A circle in four cubics, as every program writes it, off the true one by 2.7e-4 of the radius.
    def draw(canvas: Canvas) -> None:
        canvas.circle(300, 400, 90)
        canvas.circle(500, 700, 4)
        canvas.roundRect(100, 100, 200, 80, 12)

    (tmp_path / "a.pdf").write_bytes(pdf_bytes(draw))
    large, small, plate = read_page(tmp_path / "a.pdf").strokes
    for stroke, centre, radius in ((large, (300, 400), 90), (small, (500, 700), 4)):
        found = Ring(stroke.segments).as_circle()
        assert found is not None
        assert found[0] == pytest.approx((centre[0] * K - 0.5, (792 - centre[1]) * K - 0.5), abs=5e-3)
        assert found[1] == pytest.approx(radius * K, rel=3e-4)
    assert sorted(type(s).__name__ for s in plate.segments) == ["Arc"] * 4 + ["Line"] * 4
    assert all(s.radius == pytest.approx(12 * K, rel=1e-3) for s in plate.segments if isinstance(s, Arc))


def test_a_curve_that_is_no_arc_stays_a_cubic(tmp_path: Path) -> None:
    def draw(canvas: Canvas) -> None:
        canvas.bezier(100, 100, 150, 180, 220, 190, 300, 120)
        canvas.ellipse(100, 300, 300, 400)

    (tmp_path / "a.pdf").write_bytes(pdf_bytes(draw))
    free, ellipse = read_page(tmp_path / "a.pdf").strokes
    assert all(isinstance(s, Cubic) for s in (*free.segments, *ellipse.segments))


def test_white_fills_are_no_shapes_and_dark_ones_are(tmp_path: Path) -> None:
    def draw(canvas: Canvas) -> None:
        canvas.setFillGray(1)
        canvas.rect(10, 10, 50, 50, stroke=0, fill=1)
        canvas.setFillGray(0.2)
        canvas.rect(100, 100, 50, 50, stroke=0, fill=1)

    (tmp_path / "a.pdf").write_bytes(pdf_bytes(draw))
    (stroke,) = read_page(tmp_path / "a.pdf").strokes
    assert stroke.is_filled
    assert stroke.is_closed


def test_a_picture_that_fills_part_of_the_page_keeps_its_place_and_size(tmp_path: Path) -> None:
    from PIL import Image
    from reportlab.lib.utils import ImageReader

    mm = 72 / 25.4
    picture = np.full((1000, 1000), 255, np.uint8)
    picture[400:600, 300:310] = 0

    def draw(canvas: Canvas) -> None:
        canvas.drawImage(ImageReader(Image.fromarray(picture)), 50 * mm, 80 * mm, 100 * mm, 100 * mm)

    (tmp_path / "a.pdf").write_bytes(pdf_bytes(draw, (210 * mm, 297 * mm)))
    assert list_pages(tmp_path / "a.pdf")[0].kind == "picture"
    page = read_page(tmp_path / "a.pdf")
    assert page.grey is not None
    rows, columns = np.nonzero(page.grey < 128)
    # The bar is 1 mm by 20 mm, its middle 50 + 30.5 mm from the left and 297 - 80 - 100 + 50 mm from the top.
    px_per_mm = 300 / 25.4
    assert np.ptp(columns) + 1 == pytest.approx(px_per_mm, abs=1)
    assert np.ptp(rows) + 1 == pytest.approx(20 * px_per_mm, abs=1)
    assert columns.mean() == pytest.approx(80.5 * px_per_mm - 0.5, abs=0.5)
    assert rows.mean() == pytest.approx(167 * px_per_mm - 0.5, abs=0.5)


def test_a_pdf_that_lost_its_resolution_shows_the_size_it_implies(tmp_path: Path) -> None:
    from PIL import Image

    # Pillow sizes a page at 72 dpi where nobody says otherwise: A4 at 300 dpi becomes 875 x 1237 mm.
    Image.new("1", (2480, 3508), 1).save(tmp_path / "big.pdf")
    (info,) = list_pages(tmp_path / "big.pdf")
    assert info.size_mm == pytest.approx((874.9, 1237.5), abs=0.2)


def test_pages_of_a_pdf_are_listed_with_kind_and_size(tmp_path: Path) -> None:
    out = tmp_path / "set.pdf"
    canvas = Canvas(str(out), invariant=1)
    for size in ((595, 842), (842, 1190)):
        canvas.setPageSize(size)
        canvas.line(10, 10, 200, 200)
        canvas.showPage()
    canvas.save()
    pages = list_pages(out)
    assert [p.kind for p in pages] == ["drawing", "drawing"]
    assert pages[1].size_mm == pytest.approx((842 / 72 * 25.4, 1190 / 72 * 25.4))
    assert any(note.code == "page-of-many" for note in read_page(out, page=2).notes)
    with pytest.raises(ScanError, match="has 2 pages; page 3 does not exist"):
        read_page(out, page=3)


def test_owner_locks_are_no_hindrance_and_passwords_are_asked_for(tmp_path: Path) -> None:
    import pikepdf

    with pikepdf.open(io.BytesIO(pdf_bytes(flag))) as document:
        document.save(tmp_path / "owner.pdf", encryption=pikepdf.Encryption(owner="x", user=""))
        document.save(tmp_path / "user.pdf", encryption=pikepdf.Encryption(owner="x", user="u"))
    assert len(read_page(tmp_path / "owner.pdf").strokes) == 1
    for opened in (read_page, list_pages):
        with pytest.raises(ScanError, match=r"user\.pdf is locked: .* save or print it as a PDF without one"):
            opened(tmp_path / "user.pdf")
    with pytest.raises(ScanError, match="does not open with that password"):
        list_pages(tmp_path / "user.pdf", password="wrong")
    assert len(read_page(tmp_path / "user.pdf", password="u").strokes) == 1


def test_a_pdf_locked_in_a_way_that_is_not_read_is_said_to_be_locked(tmp_path: Path) -> None:
    import pikepdf

    with pikepdf.open(io.BytesIO(pdf_bytes(flag))) as document:
        document.save(tmp_path / "a.pdf", encryption=pikepdf.Encryption(owner="x", user=""))
    data = (tmp_path / "a.pdf").read_bytes()
    assert data.count(b"/Filter /Standard") == 1
    # ISO 32000-1, 7.6: the name of the security handler; another one, such as that of certificates.
    (tmp_path / "a.pdf").write_bytes(data.replace(b"/Filter /Standard", b"/Filter /Certific"))
    with pytest.raises(ScanError, match=r"a\.pdf is locked"):
        read_page(tmp_path / "a.pdf")


def test_an_empty_page_and_a_cut_off_pdf_are_refused(tmp_path: Path) -> None:
    (tmp_path / "empty.pdf").write_bytes(pdf_bytes(lambda canvas: canvas.drawString(50, 50, "text only")))
    with pytest.raises(ScanError, match="holds neither lines nor pictures"):
        read_page(tmp_path / "empty.pdf")
    (tmp_path / "cut.pdf").write_bytes(pdf_bytes(flag)[:60])
    with pytest.raises(ScanError, match=r"cut\.pdf is damaged or not a PDF"):
        read_page(tmp_path / "cut.pdf")


def test_a_huge_picture_page_meets_the_limit_before_it_is_drawn(tmp_path: Path) -> None:
    from PIL import Image

    Image.new("1", (3000, 3000), 1).save(tmp_path / "big.pdf", resolution=20)
    with pytest.raises(ScanError, match=r"the limit is 500 million"):
        read_page(tmp_path / "big.pdf")


def test_layers_of_a_pdf_come_from_its_optional_content(tmp_path: Path) -> None:
    import pikepdf

    content = b"/OC /oc1 BDC 0 0 m 100 100 l S EMC 0 50 m 90 50 l S"
    with pikepdf.open(io.BytesIO(pdf_bytes(flag))) as document:
        group = document.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.OCG, Name="Ribs"))
        document.pages[0].Contents = document.make_stream(content)
        document.pages[0].Resources = pikepdf.Dictionary(Properties=pikepdf.Dictionary(oc1=group))
        document.save(tmp_path / "a.pdf")
    assert list_pages(tmp_path / "a.pdf")[0].layers == ("", "Ribs")
    (stroke,) = read_page(tmp_path / "a.pdf", layers=("Ribs",)).strokes
    assert stroke.segments[0].end == pytest.approx((100 * K - 0.5, 692 * K - 0.5), abs=1e-3)
