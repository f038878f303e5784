"""Of a drawing only that is read which shows on white paper, whatever programs put behind, over or into it.

What shows is worked by hand from SVG 2 (13.4 fill and stroke, 3.7.1 opacity, 14 masks, markers, patterns) and CSS 2
(9.2.4 display, 11.2 visibility).
"""

from __future__ import annotations

import io
from pathlib import Path

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name
from reportlab.pdfgen.canvas import Canvas

from fixtures import drawn_plans, vectors
from vectorize.basics.errors import ScanError
from vectorize.page import list_pages, read_page
from vectorize.page.strokes import bounds_of
from vectorize.scale.fit_scale import fit_scale
from vectorize.trace.trace_page import find_candidates

KEPT = '<circle cx="70" cy="45" r="10" fill="none" stroke="black"/>'
KEPT_BOUNDS = (60, 35, 80, 55)


def rect(attributes: str) -> str:
    return f'<rect x="10" y="10" width="40" height="20" {attributes}/>'


def drawing(file: Path, body: str) -> Path:
    head = 'xmlns="http://www.w3.org/2000/svg" width="90mm" height="60mm" viewBox="0 0 90 60"'
    file.write_text(f"<svg {head}>{body}</svg>", encoding="utf-8")
    return file


@pytest.mark.parametrize(
    "unseen",
    [
        '<rect width="100%" height="100%" fill="white"/>',
        '<rect x="-5" y="-5" width="100" height="70" style="fill:#fff;stroke:none"/>',
        rect('fill="rgb(250,250,250)"'),
        rect('fill="black" fill-opacity="0.02"'),
        rect('fill="none" stroke="none"'),
        rect('fill="transparent"'),
        rect('fill-opacity="0" stroke="black" stroke-opacity="0"'),
        rect('stroke="black" display="none"'),
        f'<style>.off {{ display: none }}</style>{rect("""class="off" stroke="black" """)}',
        f'<g style="display:none">{rect("""stroke="black" display="inline" """)}</g>',
        rect('stroke="black" style="visibility:hidden"'),
        rect('stroke="black" visibility="collapse"'),
        rect('stroke="black" opacity="0"'),
        rect('stroke="black" style="opacity: 0%"'),
        f'<g opacity="0">{rect("""stroke="black" opacity="1" """)}</g>',
        f'<defs><g id="a">{rect("""stroke="black" """)}</g></defs><use href="#a" opacity="0"/>',
        *(f'<{kind} id="a">{rect("")}</{kind}>' for kind in ("mask", "marker", "clipPath", "pattern", "symbol")),
    ],
)
def test_what_does_not_show_is_not_read(tmp_path: Path, unseen: str) -> None:
    for body in (unseen + KEPT, KEPT + unseen):
        (stroke,) = read_page(drawing(tmp_path / "plan.svg", body)).strokes
        assert bounds_of([stroke]) == pytest.approx(KEPT_BOUNDS)
    with pytest.raises(ScanError, match="holds no lines"):
        read_page(drawing(tmp_path / "plan.svg", unseen))


@pytest.mark.parametrize(
    "seen",
    [
        rect(""),
        rect('fill="white" stroke="black"'),
        rect('fill="#ddd"'),
        rect('fill="none" stroke="white"'),
        rect('stroke="black" opacity="0.3"'),
        f'<g visibility="hidden">{rect("""visibility="visible" """)}</g>',
        f'<mask id="m">{rect("""id="a" """)}</mask><use href="#a"/>',
    ],
)
def test_what_shows_is_read(tmp_path: Path, seen: str) -> None:
    shown, kept = read_page(drawing(tmp_path / "plan.svg", seen + KEPT)).strokes
    assert bounds_of([shown]) == pytest.approx((10, 10, 50, 30))
    assert bounds_of([kept]) == pytest.approx(KEPT_BOUNDS)


def test_a_white_shape_shows_on_what_was_filled_before_it(tmp_path: Path) -> None:
    """```
    white sheet, then ####### then a white hole in it,   and one beside it.
                      ##(  )#                       (  )
    ```"""
    sheet = '<rect width="90" height="60" fill="white"/>'
    hole, beside = (f'<circle cx="{x}" cy="20" r="5" fill="white"/>' for x in (20, 80))
    body = sheet + beside + rect('fill="black"') + hole + beside
    solid, round_hole = read_page(drawing(tmp_path / "plan.svg", body)).strokes
    assert bounds_of([solid]) == pytest.approx((10, 10, 50, 30))
    assert bounds_of([round_hole]) == pytest.approx((15, 15, 25, 25))


def test_a_sheet_behind_the_drawing_is_no_part(tmp_path: Path) -> None:
    plan = drawn_plans.workshop()
    vectors.write_svg(plan, tmp_path / "bare.svg")
    text = (tmp_path / "bare.svg").read_text(encoding="utf-8")
    head, rest = text[: text.index(">", text.index("<svg")) + 1], text[text.index(">", text.index("<svg")) + 1 :]
    (tmp_path / "backed.svg").write_text(
        f'{head}<rect width="100%" height="100%" style="fill:#ffffff;stroke:none"/>{rest}', encoding="utf-8"
    )
    areas = []
    for name in ("bare.svg", "backed.svg"):
        page = read_page(tmp_path / name)
        parts = find_candidates(page, fit_scale(page, accepts_stated_size=True)).parts
        areas.append([part.outline.area_mm2 for part in parts])
    assert len(areas[0]) >= len(plan.parts)
    assert areas[1] == pytest.approx(areas[0])


def test_a_white_hole_in_a_pdf_is_kept_and_the_sheet_behind_is_not(tmp_path: Path) -> None:
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(300, 200), invariant=1)
    for grey, box in ((1, (0, 0, 300, 200)), (0, (50, 50, 100, 80)), (1, (80, 80, 20, 20)), (1, (200, 20, 30, 30))):
        canvas.setFillGray(grey)
        canvas.rect(*box, stroke=0, fill=1)
    canvas.setStrokeColorRGB(0, 0, 0, alpha=0)
    canvas.rect(210, 100, 20, 30, stroke=1, fill=0)
    canvas.showPage()
    canvas.save()
    (tmp_path / "plan.pdf").write_bytes(out.getvalue())
    k = 300 / 72
    found = [bounds_of([stroke]) for stroke in read_page(tmp_path / "plan.pdf").strokes]
    assert len(found) == 2
    for (x, y, w, h), bounds in zip(((50, 50, 100, 80), (80, 80, 20, 20)), found, strict=True):
        expected = (x * k - 0.5, (200 - y - h) * k - 0.5, (x + w) * k - 0.5, (200 - y) * k - 0.5)
        assert bounds == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize("by_base_state", [False, True])
def test_layers_of_a_pdf_that_are_off_are_not_read(tmp_path: Path, by_base_state: bool) -> None:
    """ISO 32000-1, 8.11.4.3: the default configuration lists the groups that are off, or those that are on."""
    document = pikepdf.new()
    shown, hidden = (document.make_indirect(Dictionary(Type=Name.OCG, Name=name)) for name in ("Ribs", "Notes"))
    page = document.add_blank_page(page_size=(300, 200))
    page.obj.Contents = document.make_stream(b"/OC /a BDC 10 10 m 100 100 l S EMC /OC /b BDC 10 50 m 200 50 l S EMC")
    page.obj.Resources = Dictionary(Properties=Dictionary(a=shown, b=hidden))
    state = Dictionary(BaseState=Name.OFF, ON=Array([shown])) if by_base_state else Dictionary(OFF=Array([hidden]))
    document.Root.OCProperties = Dictionary(OCGs=Array([shown, hidden]), D=state)
    document.save(tmp_path / "plan.pdf")
    (stroke,) = read_page(tmp_path / "plan.pdf").strokes
    assert stroke.layer == "Ribs"
    assert list_pages(tmp_path / "plan.pdf")[0].layers == ("Ribs",)
