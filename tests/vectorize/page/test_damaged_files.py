"""Whatever is done to a plan file, it is read or refused in one sentence; nothing else comes out."""

from __future__ import annotations

import io
import re
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from PIL import Image
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from vectorize.basics.errors import ScanError
from vectorize.page import list_pages, read_page

MUTANTS = 60
OF_THE_PROGRAM = re.compile(
    r"None|<class|has no attribute|subscript|unpack|object|index|argument|not supported|literal"
)
SHEET = np.full((60, 90), 240, np.uint8)
SHEET[20:24, 10:70] = 30


def picture(kind: str, **options) -> bytes:
    out = io.BytesIO()
    Image.fromarray(SHEET).save(out, kind, dpi=(200, 200), **options)
    return out.getvalue()


def pdf() -> bytes:
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(100, 80), invariant=1, pageCompression=0)
    canvas.line(10, 10, 80, 60)
    canvas.drawImage(ImageReader(Image.fromarray(SHEET)), 10, 10, 60, 40)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def svg() -> bytes:
    return (
        b'<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="60mm" viewBox="0 0 90 60">'
        b'<g id="a" transform="rotate(10)" stroke="black" fill="none">'
        b'<path d="M1,2 L30,4 A5,5 0 0 1 30,14 C3,4 5,6 1,2 Z"/>'
        b'<circle cx="40" cy="20" r="9" stroke="#333"/><rect width="5" height="9"/></g><use href="#a" x="3"/></svg>'
    )


def dxf() -> bytes:
    drawing = ezdxf.new("R2000")
    block = drawing.blocks.new("B")
    block.add_circle((0, 0), 5)
    space = drawing.modelspace()
    space.add_lwpolyline([(0, 0, 0.3), (50, 0, 0), (50, 40, 0)], format="xyb", close=True)
    space.add_blockref("B", (20, 20), dxfattribs={"xscale": 2})
    space.add_open_spline([(0, 0), (10, 20), (30, 20), (40, 0)])
    out = io.StringIO()
    drawing.write(out)
    return out.getvalue().encode()


SOURCES = {
    "plan.png": picture("PNG"),
    "plan.jpg": picture("JPEG"),
    "plan.tif": picture("TIFF"),
    "fax.tif": picture("TIFF", compression="tiff_lzw"),
    "plan.pdf": pdf(),
    "plan.svg": svg(),
    "plan.dxf": dxf(),
}


def mutant(source: bytes, rng: np.random.Generator) -> bytes:
    """Return the file with bytes changed, a stretch lost, doubled or overwritten, or the end cut off."""
    data = bytearray(source)
    for _ in range(int(rng.integers(1, 5))):
        at = int(rng.integers(0, max(1, len(data))))
        length = int(rng.integers(1, 40))
        match int(rng.integers(0, 6)):
            case 0:
                data[at : at + 1] = rng.bytes(1)
            case 1:
                del data[at : at + length]
            case 2:
                data[at:at] = data[at : at + length]
            case 3:
                data[at : at + length] = rng.bytes(length)
            case 4:
                data[at : at + length] = bytes(data[at : at + length]).replace(b"1", b"-9").replace(b"0", b"99999")
            case _:
                if len(data) > 200:
                    del data[max(100, at) :]
    return bytes(data)


@pytest.mark.parametrize("name", sorted(SOURCES))
def test_the_unharmed_file_is_read(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_bytes(SOURCES[name])
    assert read_page(tmp_path / name).width > 0


@pytest.mark.filterwarnings("ignore")  # the decoders warn about what they mend
@pytest.mark.parametrize("name", sorted(SOURCES))
def test_a_harmed_file_gives_a_page_or_one_sentence(tmp_path: Path, name: str) -> None:
    rng = np.random.default_rng(sum(name.encode()))
    file = tmp_path / name
    messages = []
    for _ in range(MUTANTS if "dxf" not in name else MUTANTS // 2):
        file.write_bytes(mutant(SOURCES[name], rng))
        for use in (read_page, list_pages):
            try:
                use(file)
            except ScanError as error:
                messages.append(str(error))
    assert messages
    for message in messages:
        assert name in message
        assert "\n" not in message
        assert not OF_THE_PROGRAM.search(message)
        assert message.endswith((".", ")"))


def test_what_a_library_says_of_its_own_insides_is_not_passed_on(tmp_path: Path) -> None:
    """A group code that is a decimal number leaves a line type without a name."""
    file = tmp_path / "plan.dxf"
    drawing = ezdxf.new("R2010", setup=True)
    drawing.modelspace().add_line((0, 0), (10, 0))
    drawing.saveas(file)
    text = file.read_text(encoding="utf-8")
    assert "AcDbLinetypeTableRecord\n  2\n" in text
    file.write_text(
        text.replace("AcDbLinetypeTableRecord\n  2\n", "AcDbLinetypeTableRecord\n1.5\n", 1), encoding="utf-8"
    )

    with pytest.raises(ScanError) as caught:
        read_page(file)

    assert str(caught.value) == "plan.dxf cannot be read as DXF; export it again."
