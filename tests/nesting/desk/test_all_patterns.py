"""All patterns in one PDF and all machine files in one archive are those of the single files."""

import io
import zipfile

import pypdfium2
import pytest

from nesting.job.bundle import archive, joined_pdf
from nesting.job.folder import open_job
from nesting.job.laying import Effort
from nesting.job.making import run_job
from tests.nesting.desk.conftest import finished, open_desk
from tests.nesting.desk.jobs import JOB, make_job

TEMPLATES = """
[[part.step]]
make = "hole"
at = [[200, 150]]
diameter = "5 mm"

[drill]

[[wire]]
name = "skid"
diameter = "2 mm"
radius = "4 mm"
points = [["0 mm", "-40 mm", "0 mm"], ["0 mm", "0 mm", "0 mm"], ["0 mm", "0 mm", "40 mm"]]

[balance]
"""


def sizes(data):
    document = pypdfium2.PdfDocument(data)
    return [tuple(round(side, 3) for side in document[k].get_size()) for k in range(len(document))]


def words(data):
    document = pypdfium2.PdfDocument(data)
    return [document[k].get_textpage().get_text_range() for k in range(len(document))]


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    """Return a desk whose patterns are drawn, by the command."""
    folder = make_job(tmp_path_factory.mktemp("drawn") / "job", job=JOB + TEMPLATES)
    effort = Effort(max_sweeps=20, time_limit_s=None)
    run_job(open_job(folder), effort=effort, is_forced=False, progress=lambda *said: None)
    opened = open_desk(folder)
    opened.workshop.follow()
    finished(opened.workshop, "follow")
    yield opened
    opened.workshop.close()


def test_all_pages_come_at_their_own_size_boards_first(drawn):
    answer = drawn.get("all-patterns.pdf")
    assert answer.headers["content-type"] == "application/pdf"
    assert "attachment" not in answer.headers.get("content-disposition", "")
    single = [path.read_bytes() for path in sorted((drawn.folder / "out").glob("board-*.pdf"))]
    assert single
    count = sum(len(sizes(data)) for data in single)
    assert sizes(answer.content)[:count] == [size for data in single for size in sizes(data)]
    assert words(answer.content)[:count] == [text for data in single for text in words(data)]
    assert pypdfium2.PdfDocument(answer.content).get_metadata_dict()["Title"] == "Plate: all patterns"
    assert drawn.get("all-patterns.pdf").content == answer.content


def test_templates_for_drills_and_wire_are_printed_too(drawn):
    names = {path.name for path in (drawn.folder / "out").glob("*.pdf")}
    assert {"drill-plate.pdf", "wire-skid.pdf"} <= names
    whole = words(drawn.get("all-patterns.pdf").content)
    for name in ("drill-plate.pdf", "wire-skid.pdf"):
        single = words((drawn.folder / "out" / name).read_bytes())
        assert any(whole[k : k + len(single)] == single for k in range(len(whole)))


def test_the_archive_holds_every_drawing_as_it_is(drawn):
    answer = drawn.get("machine-files.zip")
    with zipfile.ZipFile(io.BytesIO(answer.content)) as whole:
        found = {name: whole.read(name) for name in whole.namelist()}
        assert whole.testzip() is None
    out = drawn.folder / "out"
    there = [path for path in out.iterdir() if path.suffix in (".svg", ".dxf")]
    assert found == {
        path.name: path.read_bytes() for path in there if path.name.startswith(("board-", "part-", "carving-"))
    }
    assert any(name.endswith(".dxf") for name in found)


def test_nothing_is_given_before_patterns_are_drawn(desk):
    for address in ("all-patterns.pdf", "machine-files.zip"):
        answer = desk.get(address)
        assert answer.status_code == 400
        assert "draw the patterns first" in answer.json()["error"]["text"]


def test_the_same_files_give_the_same_archive_and_none_no_pdf():
    assert archive({"b": b"2", "a": b"1"}) == archive({"a": b"1", "b": b"2"})
    with pytest.raises(ValueError, match="nothing"):
        joined_pdf([], title="none")
