"""What `sheetwood pattern` can be asked for, on the small job: a plate with a hole and a pair of fins."""

from __future__ import annotations

import json

import pypdfium2
import pytest

from nesting.job.bring_in import bring_in
from vectorize.shapes.outline import Outline

TRACE_TOL_MM = 0.25  # one pixel of the small plan, which has 4 to the millimetre


@pytest.fixture
def pattern(small_job, sheetwood):
    def run(*arguments):
        return sheetwood("pattern", small_job.folder, "--time", "1s", *arguments)

    return run


def text_of(pdf):
    document = pypdfium2.PdfDocument(pdf)
    words = " ".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    return " ".join(words.split())


def test_every_kind_of_pattern_is_written_for_boards_parts_small_parts_and_the_plan(pattern, small_job):
    answer = pattern("--json")
    assert answer.code == 0, answer.err
    files = set(answer.json["files"])
    assert {f"part-plate.{kind}" for kind in ("pdf", "svg", "dxf", "png")} <= files
    assert {"board-light.pdf", "small-parts.pdf", "overlay-sheet.pdf", "overlay-sheet.png"} <= files
    assert "Print at 100 % (actual size), then measure the bars." in text_of(
        small_job.folder / "out" / "part-plate.pdf"
    )


def test_a_single_part_in_a_single_format_on_other_paper(pattern, small_job):
    answer = pattern("--part", "fin", "--as", "pdf", "--paper", "Letter", "--json")
    assert answer.json["files"] == ["part-fin.pdf", "overlay-sheet.pdf"]
    document = pypdfium2.PdfDocument(small_job.folder / "out" / "part-fin.pdf")
    assert document[0].get_size() == pytest.approx((612, 792))  # Letter: 8.5 × 11 in
    document.close()


def test_mirror_and_printer_are_said_on_the_page(pattern, small_job):
    assert pattern("--part", "fin", "--as", "pdf", "--mirror", "--printer", "99.2 mm", "100.4 mm").code == 0
    words = text_of(small_job.folder / "out" / "part-fin.pdf")
    assert "MIRRORED" in words
    assert "99.2 × 100.4" in words


def test_the_job_file_sets_the_printer_once_and_for_all(pattern, small_job):
    small_job.edit("[nest]", '[pattern]\nprinter = ["99,2 mm", "100.4 mm"]\nmirror = true\n[nest]')
    assert pattern("--part", "fin", "--as", "pdf").code == 0
    assert "99.2 × 100.4" in text_of(small_job.folder / "out" / "part-fin.pdf")
    assert pattern("--part", "fin", "--as", "pdf", "--no-mirror").code == 0
    assert "MIRRORED" not in text_of(small_job.folder / "out" / "part-fin.pdf")


def test_a_laser_path_lies_half_a_kerf_outside_the_part(pattern, small_job):
    assert pattern("--part", "fin", "--as", "svg").code == 0
    path = small_job.folder / "out" / "part-fin.svg"
    drawn = bring_in(path.read_bytes(), name="fin").outlines[0]
    assert pattern("--part", "fin", "--as", "svg", "--tool", "laser").code == 0
    burnt = bring_in(path.read_bytes(), name="fin").outlines[0]
    grown = [b - a for a, b in zip(drawn.size_mm, burnt.size_mm, strict=True)]
    assert grown == pytest.approx([0.2, 0.2], abs=0.001)  # twice half of 0.2 mm


def test_a_router_wider_than_the_gaps_of_a_knife_layout_is_refused(pattern):
    answer = pattern("--tool", "router")
    assert answer.code == 2
    assert 'set tool = "router" under [nest]' in answer.err


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ('without = ["grane"]', "marks are"),
        ('margin = "3 mm"', "margin is 3 mm"),
        ('printer = ["90 mm", "100 mm"]', "bar across is 90 mm"),
        ('papper = "A4"', "paper"),
        ("pages = 0", "pages"),
        ('formats = ["pfd"]', "pdf"),
    ],
)
def test_what_the_job_file_gets_wrong_is_told_in_a_sentence(pattern, small_job, line, words):
    small_job.edit("[nest]", f"[pattern]\n{line}\n[nest]")
    answer = pattern("--part", "fin")
    assert answer.code in (2, 3)
    assert words in answer.err
    assert "Traceback" not in answer.err


def test_marks_for_the_builder_come_from_the_job(pattern, small_job):
    mark = '[[part.mark]]\nkind = "balance"\nat = [[300, 120]]\ntext = "balance 65 mm"\n'
    small_job.edit('[[part]]\nname = "fin"', f'{mark}\n[[part]]\nname = "fin"')
    small_job.edit(
        "[nest]", "[[pattern.blade]]\nwidth = '0.9 mm'\nthickness = '0.4 mm'\nkerf = '0.5 mm'\nteeth = 18\n[nest]"
    )
    assert pattern("--part", "plate", "--as", "pdf").code == 0
    assert "balance 65 mm" in text_of(small_job.folder / "out" / "part-plate.pdf")


def test_a_doubler_made_from_a_part_is_drawn_where_it_sits(pattern, small_job):
    doubler = (
        '[[part]]\nname = "brace"\nfrom = "plate"\nmaterial = "balsa"\nthickness = "3 mm"\n'
        '[[part.step]]\nmake = "doubler"\nsides = "left"\nwithin = [[200, 60], [400, 60], [400, 180], [200, 180]]\n'
    )
    small_job.edit("[nest]", f"{doubler}\n[nest]")
    answer = pattern("--part", "plate", "--as", "pdf")
    assert answer.code == 0, answer.err
    assert "brace" in text_of(small_job.folder / "out" / "part-plate.pdf")


def test_an_edited_pattern_becomes_the_outline_of_its_part(pattern, small_job):
    assert pattern("--part", "fin", "--as", "svg").code == 0
    written = (small_job.folder / "out" / "part-fin.svg").read_text(encoding="utf-8")
    before = bring_in(written.encode(), name="fin").outlines[0]
    edited = small_job.folder / "fin-edited.svg"
    left, high = before.bounds[0], -before.bounds[3]
    # A round hole of 6 mm, 10 mm from the upper left corner, added as a drawing program would.
    hole = f'<circle cx="{left + 10:.4f}" cy="{high + 10:.4f}" r="3"/>'
    edited.write_text(written.replace('<g id="outline-cut"', f'<g id="opening-cut">{hole}</g><g id="outline-cut"'))
    answer = pattern("--part", "fin", "--as", "svg", "--bring-in", edited, "--json")
    assert answer.code == 0, answer.err
    assert "brought-in" in {note["code"] for note in answer.json["notes"]}
    stored = json.loads((small_job.folder / "corrected" / "fin.json").read_text(encoding="utf-8"))
    corrected = Outline.from_json(stored["outline"])
    assert [ring.as_circle()[1] for ring in corrected.cutouts] == pytest.approx([3.0], abs=0.001)
    assert corrected.size_mm == pytest.approx((40, 30), abs=2 * TRACE_TOL_MM)
    # It lies on the plan where the trace put the part: the fin begins 115 mm right of the plate's left edge.
    assert corrected.bounds[0] == pytest.approx(500 / 4, abs=3.0)


def test_bringing_in_without_a_part_or_from_nowhere_is_told(pattern, small_job):
    answer = pattern("--bring-in", small_job.folder / "plan.png")
    assert (answer.code, "--part" in answer.err) == (2, True)
    answer = pattern("--part", "fin", "--bring-in", small_job.folder / "none.svg")
    assert (answer.code, "cannot be read" in answer.err) == (3, True)
    answer = pattern("--part", "fin", "--bring-in", small_job.folder / "plan.png")
    assert (answer.code, "neither an SVG nor a DXF" in answer.err) == (3, True)


@pytest.mark.parametrize(
    ("header", "path", "said"),
    [
        # A bow, and a fin drawn in inches: nothing that could be nested afterwards.
        ('width="60mm" height="60mm" viewBox="0 0 60 60"', "M0,0 L40,30 L40,0 L0,28 Z", "crosses itself at"),
        ('width="60in" height="60in" viewBox="0 0 60 60"', "M0,0 L40,0 L40,30 L0,30 Z", "and fin is 4"),
    ],
)
def test_an_outline_that_cannot_be_the_part_s_is_refused_before_anything_is_written(
    pattern, small_job, sheetwood, header, path, said
):
    edited = small_job.folder / "edited.svg"
    edited.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {header}><path d="{path}"/></svg>', encoding="utf-8")
    answer = pattern("--part", "fin", "--as", "svg", "--bring-in", edited)
    assert answer.code == 3
    assert said in answer.err
    assert not (small_job.folder / "corrected").exists()
    assert sheetwood("weigh", small_job.folder).code == 0


def test_an_outline_of_doubtful_size_is_taken_and_asked_about(pattern, small_job):
    edited = small_job.folder / "edited.svg"
    # 40 x 30 mm that a program took for 72 to the inch instead of 96: a third too large.
    path = "M0,0 L53.33,0 L53.33,40 L0,40 Z"
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">'
    edited.write_text(f'{head}<path d="{path}"/></svg>', encoding="utf-8")
    answer = pattern("--part", "fin", "--as", "svg", "--bring-in", edited, "--json")
    assert answer.code == 4
    assert "unlikely-size" in {note["code"] for note in answer.json["notes"]}


@pytest.mark.parametrize("earlier", [None, "a correction by hand"])
def test_an_outline_that_cannot_be_laid_out_is_not_brought_in_and_the_part_stays_as_it_was(
    pattern, small_job, sheetwood, earlier
):
    correction = small_job.folder / "corrected" / "fin.json"
    if earlier:
        draw(small_job, "M0,0 L40,0 L40,28 L0,28 Z")
        assert pattern("--part", "fin", "--as", "svg", "--bring-in", small_job.folder / "edited.svg").code == 0
    before = correction.read_bytes() if earlier else None
    draw(small_job, "M0,0 L40,0 L40,40 L0,40 Z")
    small_job.edit("[nest]", '[nest]\nedges = "25 mm"')  # leaves 30 mm of both boards, which are 80 mm wide

    answer = pattern("--part", "fin", "--as", "svg", "--bring-in", small_job.folder / "edited.svg")

    assert answer.code == 5
    assert "edited.svg was not brought in, as no pattern can be made with it: " in answer.err
    assert (correction.read_bytes() if correction.exists() else None) == before
    small_job.edit('edges = "25 mm"', 'edges = "1 mm"')
    assert sheetwood("weigh", small_job.folder).code == 0


def draw(small_job, path):
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">'
    (small_job.folder / "edited.svg").write_text(f'{head}<path d="{path}"/></svg>', encoding="utf-8")
