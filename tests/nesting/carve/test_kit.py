import io
import itertools

import ezdxf
import pypdfium2
import pytest
import svgpathtools

from nesting.carve.kit import KitChoices, carving_kit
from nesting.carve.kit_drawings import draw_templates, panel_view
from nesting.carve.planform import Planform
from nesting.carve.templates import template_strips
from nesting.patterns.drawing import Layer
from nesting.patterns.pattern_settings import PatternSettings
from tests.nesting.carve.carved_panels import high_point_panel, naca_panel, taper
from vectorize.basics.errors import CallError, PartError
from vectorize.shapes.outline import Pose

CHOICES = KitChoices(stations_mm=(0.0, 200.0))
SETTINGS = PatternSettings(model="Trial")


def test_the_kit_is_one_pdf_with_a_picture_and_a_drawing_of_each_kind_to_cut_by() -> None:
    files = carving_kit("wing", high_point_panel(), CHOICES, settings=SETTINGS)
    kinds = [f"carving-wing-{what}.{form}" for what in ("pattern", "templates", "flats") for form in ("svg", "dxf")]
    assert set(files) == {"carving-wing.pdf", "carving-wing.png", *kinds}
    document = pypdfium2.PdfDocument(files["carving-wing.pdf"])
    words = document[0].get_textpage().get_text_range()
    assert "above the table" in words
    assert "wear a mask" in words
    assert len(document) >= 4


def test_templates_in_svg_have_the_area_of_the_strips() -> None:
    panel = naca_panel()
    files = carving_kit("wing", panel, CHOICES, settings=SETTINGS, formats=("svg",))
    text = io.StringIO(files["carving-wing-templates.svg"].decode())
    # svgpathtools, an independent reader; closed paths only are cut lines here.
    paths, _ = svgpathtools.svgstr2paths(text.getvalue())
    areas = sorted(abs(path.area()) for path in paths if path.isclosed() and path.length() > 100)
    expected = sorted(strip.outline.area_mm2 for strip in template_strips(panel, CHOICES.stations_mm))
    assert areas == pytest.approx(expected, rel=2e-4)


def test_the_dxf_is_in_millimetres_and_has_the_chord() -> None:
    files = carving_kit("wing", high_point_panel(), CHOICES, settings=SETTINGS, formats=("dxf",))
    document = ezdxf.read(io.StringIO(files["carving-wing-pattern.dxf"].decode()))
    assert document.header["$INSUNITS"] == 4
    edges = [e for e in document.modelspace().query("LWPOLYLINE") if "OUTLINE" in e.dxf.layer]
    xs = [x for e in edges for x, *_ in e.get_points()]
    assert max(xs) - min(xs) == pytest.approx(400.0)


@pytest.mark.parametrize("angle", [0.0, 90.0, 213.0])
@pytest.mark.parametrize("aft", [-90.0, 90.0])
def test_the_pattern_is_turned_but_never_turned_over(angle: float, aft: float) -> None:
    shape = taper().outline if aft < 0 else taper().outline.mapped(lambda p: (p[0], -p[1]), mirrors=True)
    panel = naca_panel(Planform(shape.placed(Pose(10, 20, angle)), angle, angle + aft))
    view = panel_view(panel)
    assert not view.is_mirror
    x0, y0, x1, y1 = panel.planform.outline.mapped(view).bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((400.0, 120.0))


def test_every_template_is_drawn_once_and_apart_from_the_others() -> None:
    recorder = draw_templates("wing", naca_panel(), (0.0, 200.0), covering_mm=0.0)
    strokes = recorder.on(Layer.OUTLINE)
    assert len(strokes) == 4
    boxes = [s.segments for s in strokes]  # type: ignore[union-attr]
    lows = sorted(min(p.start[1] for p in box) for box in boxes)
    assert all(b - a > 10 for a, b in itertools.pairwise(lows))


def test_stations_are_chosen_where_none_are_given() -> None:
    assert KitChoices().stations_of(naca_panel()) == pytest.approx((0, 200, 360))
    with pytest.raises(PartError, match="off the panel"):
        KitChoices((900.0,)).stations_of(naca_panel())


def test_an_unknown_format_is_refused() -> None:
    with pytest.raises(CallError, match="'stl' is not known"):
        carving_kit("wing", naca_panel(), CHOICES, settings=SETTINGS, formats=("stl",))  # type: ignore[arg-type]
