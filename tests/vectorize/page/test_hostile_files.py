"""Files that mean harm, or are simply something else: one sentence, soon, and no more memory than a plan takes."""

from __future__ import annotations

import io
import struct
import zlib
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from PIL import Image
from reportlab.pdfgen.canvas import Canvas

from vectorize.basics.errors import ScanError
from vectorize.page import list_pages, read_page
from vectorize.page.strokes import bounds_of


def saved(kind: str) -> bytes:
    out = io.BytesIO()
    Image.fromarray(np.full((40, 60), 240, np.uint8)).save(out, kind)
    return out.getvalue()


def refusal(file: Path, data: bytes) -> str:
    file.write_bytes(data)
    with pytest.raises(ScanError) as caught:
        read_page(file)
    return str(caught.value)


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("plan.gif", saved("GIF"), "is a GIF picture, which is not read; save it as PNG or JPEG"),
        ("plan.bmp", saved("BMP"), "is a BMP picture"),
        ("plan.webp", saved("WEBP"), "is a WebP picture"),
        ("photo.heic", b"\0\0\0\x18ftypheic" + bytes(90), "is an HEIF picture"),
        ("plan.dwg", b"AC1027" + bytes(300), "is a DWG drawing, which is not read; export it as DXF"),
        ("plan.dxf", b"AC1027" + bytes(300), "is a DWG drawing"),
        ("plan.svg", b"\x1f\x8b\x08" + bytes(90), "is compressed with gzip"),
        ("plan.dxf", b"PK\x03\x04" + bytes(90), "is a ZIP archive"),
        ("plan.png", saved("PNG")[:40], "is damaged or cut short"),
        ("plan.tif", saved("TIFF")[:8], "is damaged or cut short"),
    ],
)
def test_what_a_file_is_instead_is_said(tmp_path: Path, name: str, data: bytes, said: str) -> None:
    assert refusal(tmp_path / name, data).startswith(f"{name} {said}")


def png_of_size(width: int, height: int) -> bytes:
    """A PNG that says it is huge and holds next to nothing."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 99)) + chunk(b"IEND", b"")


def test_a_picture_of_absurd_size_is_never_decoded(tmp_path: Path) -> None:
    side = 2**31 - 1
    assert "the limit is 500 million" in refusal(tmp_path / "plan.png", png_of_size(side, side))
    (info,) = list_pages(tmp_path / "plan.png")
    assert (info.width, info.height) == (side, side)


def drawing() -> ezdxf.document.Drawing:
    document = ezdxf.new("R2010")
    document.units = 4
    return document


def written(document: ezdxf.document.Drawing) -> bytes:
    out = io.StringIO()
    document.write(out)
    return out.getvalue().encode()


def test_a_block_that_stands_in_itself_is_read_once(tmp_path: Path) -> None:
    document = drawing()
    block = document.blocks.new("A")
    block.add_line((0, 0), (30, 20))
    for at in ((1, 0), (0, 1)):
        block.add_blockref("A", at)
    document.modelspace().add_blockref("A", (5, 5))
    (tmp_path / "plan.dxf").write_bytes(written(document))
    page = read_page(tmp_path / "plan.dxf")
    assert bounds_of(page.strokes) == pytest.approx((5, 5, 35, 25))
    assert "2 blocks in themselves" in page.notes[-1].text


@pytest.mark.parametrize("has_lines", [True, False])
def test_blocks_that_multiply_beyond_any_plan_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, has_lines: bool
) -> None:
    monkeypatch.setattr("vectorize.page.dxf_entities.MOST_ENTITIES", 500)
    document = drawing()
    for level in range(6):
        block = document.blocks.new(f"B{level}")
        if level == 0 and has_lines:
            block.add_line((0, 0), (1, 1))
        for at in range(10 if level else 0):
            block.add_blockref(f"B{level - 1}", (at, 0))
    document.modelspace().add_blockref("B5", (0, 0))
    assert "holds more than 500 entities" in refusal(tmp_path / "plan.dxf", written(document))


def test_an_array_of_absurd_size_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("vectorize.page.dxf_entities.MOST_ENTITIES", 500)
    document = drawing()
    document.blocks.new("A").add_line((0, 0), (1, 1))
    rows = {"row_count": 30000, "column_count": 30000, "row_spacing": 3, "column_spacing": 3}
    document.modelspace().add_blockref("A", (0, 0), dxfattribs=rows)
    assert "holds more than 500 entities" in refusal(tmp_path / "plan.dxf", written(document))


def test_a_drawing_on_paper_layouts_only_says_where_it_is(tmp_path: Path) -> None:
    document = drawing()
    document.paperspace().add_line((0, 0), (50, 20))
    assert "on paper layouts" in refusal(tmp_path / "plan.dxf", written(document))


RECT = '<rect x="10" y="10" width="40" height="20" fill="none" stroke="black"/>'


def svg(body: str) -> bytes:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'width="90mm" height="60mm" viewBox="0 0 90 60">{body}</svg>'
    ).encode()


# Worked by hand from SVG 2: use of a symbol, viewports and their fitting, percentages, stroke-opacity, defs.
@pytest.mark.parametrize(
    ("body", "bounds"),
    [
        (
            '<symbol id="s" viewBox="0 0 10 10"><rect width="10" height="10" fill="none" stroke="black"/></symbol>'
            '<use xlink:href="#s" x="20" y="10" width="30" height="30"/>',
            (20, 10, 50, 40),
        ),
        (
            '<symbol id="s"><rect width="10" height="5" fill="none" stroke="black"/></symbol>'
            '<g transform="translate(5 0)"><use href="#s" x="20" y="10" transform="scale(2)"/></g>',
            (45, 20, 65, 30),
        ),
        (
            '<svg x="10" y="10" width="40" height="20" viewBox="0 0 400 100">'
            '<rect width="400" height="100" fill="none" stroke="black"/></svg>',
            (10, 15, 50, 25),
        ),
        (
            '<svg x="10" y="10" width="40" height="20" viewBox="5 0 400 100" preserveAspectRatio="none">'
            '<rect x="5" width="400" height="100" fill="none" stroke="black"/></svg>',
            (10, 10, 50, 30),
        ),
        (f'<symbol id="s"><circle r="30" stroke="black"/></symbol>{RECT}', (10, 10, 50, 30)),
        ('<rect x="10%" y="10%" width="50%" height="50%" fill="none" stroke="black"/>', (9, 6, 54, 36)),
        (f'<rect width="80" height="50" fill="none" stroke="black" stroke-opacity="0"/>{RECT}', (10, 10, 50, 30)),
        (f'<defs><g id="g">{RECT}</g></defs><use href="#g" transform="scale(0.5)" x="10"/>', (10, 5, 30, 15)),
    ],
)
def test_what_is_used_is_shown_where_it_is_used_and_nothing_else(
    tmp_path: Path, body: str, bounds: tuple[float, ...]
) -> None:
    (tmp_path / "plan.svg").write_bytes(svg(body))
    assert bounds_of(read_page(tmp_path / "plan.svg").strokes) == pytest.approx(bounds)


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (f'<g id="a"><use href="#a"/>{RECT}</g>', "holds an element that uses itself"),
        ("<g>" * 3000 + RECT + "</g>" * 3000, "nests its groups deeper than can be read"),
        (
            f'<defs><g id="a0">{RECT}</g>'
            + "".join(f'<g id="a{n}">' + f'<use href="#a{n - 1}"/>' * 10 + "</g>" for n in range(1, 8))
            + '</defs><use href="#a7"/>',
            "holds more than 300000 elements",
        ),
    ],
)
def test_an_svg_without_end_is_refused_in_words(tmp_path: Path, body: str, said: str) -> None:
    assert said in refusal(tmp_path / "plan.svg", svg(body))


# 2e9 units: a sheet of 2000 km in mm. Points at a fixed step along it took all memory.
FAR = 2e9


def far_pdf() -> bytes:
    out = io.BytesIO()
    canvas = Canvas(out)
    canvas.rect(100, 100, 200, 200)
    canvas.line(0, 0, FAR, 5)
    canvas.save()
    return out.getvalue()


def far_dxf() -> bytes:
    document = drawing()
    document.units = 0
    document.modelspace().add_circle((0, 0), 40)
    document.modelspace().add_circle((0, 0), FAR, dxfattribs={"layer": "far"})
    return written(document)


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("plan.svg", svg(f'{RECT}<path d="M0,0 H{FAR:.0f} V9 Z"/>'), "plan.svg has a line through (2e+09, 0)"),
        ("plan.svg", svg(f'{RECT}<path d="M0,0 C{FAR:.0f},0 5,9 9,9 Z"/>'), "has a line through (2e+09, 0)"),
        ("plan.svg", svg(f'{RECT}<circle r="{FAR:.0f}"/>'), "has a line through (2e+09, 0)"),
        ("plan.pdf", far_pdf(), "plan.pdf: page 1 has a line through (8.33333e+09, "),
        ("plan.dxf", far_dxf(), "plan.dxf has a line on layer 'far' through (2e+09, 0)"),
    ],
)
def test_a_line_farther_out_than_any_plan_reaches_is_refused_with_its_place(
    tmp_path: Path, name: str, data: bytes, said: str
) -> None:
    assert said in refusal(tmp_path / name, data)
