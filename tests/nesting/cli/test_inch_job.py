"""A job in inches speaks inches: no command says a metric figure without the imperial one."""

import re
import shutil
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import pypdfium2
import pytest
from rich.console import Console

import nesting.job.demo

from .test_wood_commands import MODEL

# Told in both systems, or a name of a thing: the check bars of a page are of 100 mm and of 4 in, metric stock is
# sold as such, and a DXF is in millimetres whatever the job speaks.
BOTH = r"\bin \([^()]*\bmm\)|\boz \([^()]*\bg\)|lb/ft3 \([^()]*kg/m3\)"
ALLOWED = re.compile(rf"{BOTH}|100 mm|[\d.]+ mm (?:balsa|birch ply|basswood)|drawn in millimetres.*")
METRIC = re.compile(r"(?<![\w/])(?:mm[²³⁴2]?|cm[²³]|g|kg/m[3³])(?![\w/])")


def bare(text):
    """The lines that say something in metric units alone."""
    return [line for line in text.splitlines() if METRIC.search(ALLOWED.sub("", line))]


def test_the_check_finds_what_is_metric():
    assert bare("3/32 in (2.4 mm)\n0.07 oz (1.9 g)\nlength used in") == []
    for text in ("12 mm wide", "length used mm", "1.9 g", "area cm²", "160 kg/m3", "3/32 in (2.4 mm) and 2 mm"):
        assert bare(text) == [text]


@pytest.fixture(autouse=True)
def wide(monkeypatch):
    """A table as wide as it likes: no figure is folded away from its unit."""
    monkeypatch.setattr("rich.console.Console", lambda **options: Console(**(options | {"width": 400})))


@pytest.fixture
def square(small_job):
    small_job.edit('name = "Square"', 'name = "Square"\nunits = "in"')
    path = small_job.folder / "job.toml"
    path.write_text(path.read_text(encoding="utf-8") + MODEL, encoding="utf-8")
    return small_job.folder


COMMANDS = [
    ("trace",),
    ("scale",),
    ("weigh",),
    ("compare", "plate"),
    ("balance",),
    ("assign", "--time", "1s"),
    ("rack",),
    ("rack", "want"),
    ("nest", "--time", "1s"),
    ("nest", "--time", "1s", "--on", "light"),
    ("pattern", "--time", "1s"),
    ("run", "--time", "1s"),
    ("rack", "cut"),
]


def called(sheetwood, words, folder):
    where = 2 if words[0] == "rack" and len(words) > 1 else 1
    return sheetwood(*words[:where], folder, *words[where:])


def test_every_command_speaks_inches(sheetwood, square):
    for words in COMMANDS:
        done = called(sheetwood, words, square)
        assert done.code in (0, 4) or words[0] == "assign", done.err  # what it finds depends on the time it has
        assert bare(done.out + done.err) == [], words
    assert_files_speak_inches(square / "out")


def assert_files_speak_inches(out):
    for path in sorted(out.iterdir()):
        read = {".pdf": _pdf_text, ".svg": _svg_text, ".dxf": _dxf_text}.get(path.suffix)
        if read is not None:
            assert bare(read(path)) == [], path.name


def _pdf_text(path):
    document = pypdfium2.PdfDocument(path)
    # A sentence goes on over the end of a line.
    lines = (" ".join(page.get_textpage().get_text_bounded().split()) for page in document)
    return "\n".join(line.replace(". ", ".\n") for line in lines)


def _svg_text(path):
    return "\n".join(element.text or "" for element in ElementTree.parse(path).iter() if element.tag.endswith("text"))


def _dxf_text(path):
    return "\n".join(text.dxf.text for text in ezdxf.readfile(path).modelspace().query("TEXT"))


def test_errors_are_told_in_inches_too(sheetwood, square):
    (square / "rack.csv").write_text(
        "name,material,thickness,length,width,mass\nsmall,balsa,3 mm,60 mm,30 mm,1 g\n", encoding="utf-8"
    )
    done = sheetwood("nest", square)
    assert done.code in (3, 5)
    assert bare(done.err) == []
    assert " in" in done.err


def test_a_rack_in_inches_stays_so_when_boards_are_cut(sheetwood, square):
    path = square / "rack.csv"
    path.write_text(
        "name,material,thickness,length,width,mass,bend span,bend load,bend sag\n"
        "B1,balsa,1/8 in,12 in,3 1/4 in,1/4 oz,6 in,7 oz,0.013 in\n"
        "B2,balsa,1/8 in,12 in,3 1/4 in,1/2 oz,6 in,7 oz,0.0065 in\n",
        encoding="utf-8",
    )
    job = square / "job.toml"
    job.write_text(job.read_text(encoding="utf-8").replace('"3 mm"\ngrain', '"1/8 in"\ngrain'), encoding="utf-8")
    before = {board["name"]: board for board in sheetwood("rack", square, "--json").json["boards"]}
    assert sheetwood("nest", square, "--time", "1s").code == 0
    cut = sheetwood("rack", "cut", square, "--json")
    assert cut.code == 0, cut.err
    offcuts = cut.json["offcuts"]
    heading = path.read_text(encoding="utf-8").splitlines()[0]
    assert "length (in)" in heading
    assert "mass (oz)" in heading
    assert not re.search(r"\((?:mm|g)\)", heading)
    after = {board["name"]: board for board in sheetwood("rack", square, "--json").json["boards"]}
    for name, pieces in offcuts.items():
        assert pieces
        for piece in pieces:  # of the same wood: as stiff as the board that it was cut from
            assert after[piece]["modulus_mpa"] == pytest.approx(before[name]["modulus_mpa"], rel=1e-4)


@pytest.mark.slow
def test_a_trainer_with_carved_wings_speaks_inches(sheetwood, tmp_path):
    folder = tmp_path / "teasel"
    shutil.copytree(Path(nesting.job.demo.__file__).parent / "teasel", folder)
    job = folder / "job.toml"
    job.write_text(job.read_text(encoding="utf-8").replace('units = "mm"', 'units = "in"'), encoding="utf-8")
    for words in (("run", "--time", "1s"), ("weigh",), ("rack",), ("rack", "want")):
        done = called(sheetwood, words, folder)
        assert done.code in (0, 4), done.err
        assert bare(done.out + done.err) == [], words
    assert_files_speak_inches(folder / "out")
