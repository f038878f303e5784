"""The report of a batch: one page that needs nothing else, a table, JSON; whatever a file held is text in it."""

import csv
import html.parser
import io
import json
import re
from pathlib import Path

import pytest

from nesting.job.batch.job_list import Order
from nesting.job.batch.records import Done
from nesting.job.batch.report_files import check_reports, write_report
from nesting.job.batch.run_batch import JobDone
from nesting.job.batch.silhouettes import silhouettes_svg
from tests.benchmarks.tiny_jobs import make_tiny_job, write_json
from vectorize.basics.errors import CallError
from vectorize.basics.notes import Note
from vectorize.shapes.outline import Outline

EVIL = '=cmd|"<script>alert(1)</script>\x1b[31m\u202e'


def job(name, *, notes=(), failed=None, figures=None, folder=None):
    made = JobDone(Order(folder or Path("shelf") / name, name))
    made.take("trace", Done("k", (), 2.0, tuple(notes), figures or {}), "done")
    if failed:
        made.fail("nest", failed)
    return made


@pytest.fixture
def jobs():
    open_note = Note("doubtful", "look <here>", "open", part=EVIL)
    return [
        job("done", figures={"parts": 7, "mass_g": 46.93, "sigma_g": 0.8, "boards": 3, "waste_share": 0.314}),
        job("one open", notes=[open_note]),
        job("two open", notes=[open_note, Note("unplaced", "no room", "open", part="fin")]),
        job(EVIL, failed=f"{EVIL} is no plan"),
    ]


class Page(html.parser.HTMLParser):
    """What a browser would see of a page: its elements, the texts in them, where it leads to."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.text, self.links = [], "", []
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.tags.append(tag)
        self.links += [value for name, value in attributes if name in ("src", "href")]
        assert not [name for name, _ in attributes if name.startswith("on")]

    def handle_data(self, data):
        self.text += data


def page_of(jobs, folder):
    write_report(folder / "report.html", jobs)
    return Page((folder / "report.html").read_text(encoding="utf-8"))


def test_the_page_has_a_row_a_job_and_those_first_that_need_a_person(jobs, tmp_path):
    page = page_of(jobs, tmp_path)
    assert page.tags.count("tr") == 1 + len(jobs)
    places = [page.text.index(name) for name in ("cmd", "two open", "one open")]
    assert places == sorted(places)
    assert "1 failed, 2 to be looked at, 1 done" in page.text
    for figure in ("46.9", "± 0.8", "31 %", "7"):
        assert figure in page.text


def test_nothing_of_a_file_becomes_markup_and_nothing_is_fetched(jobs, tmp_path):
    page = page_of(jobs, tmp_path)
    assert "script" not in page.tags
    assert "<script>alert(1)</script>" in page.text
    assert "look <here>" in page.text
    text = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert "default-src 'none'" in text
    assert not set("\x1b\u202e") & set(text)
    assert all(re.match(r"\./", link) for link in page.links)
    assert not re.search(r"url\(|@import|https?://", text)


def test_a_job_is_drawn_as_its_outlines_lie(tmp_path):
    folder = make_tiny_job(tmp_path / "mite", "svg", is_rich=False)
    write_json(folder / "outlines" / "plate.json", {"outline": Outline.rectangle(5, 25, 45, 45).as_json()})
    drawn = silhouettes_svg(folder)  # the plate as traced, the fin as it was corrected: from 52 to 67.5 mm
    width, height = (float(value) for value in re.search(r'viewBox="0 0 (\S+) (\S+)"', drawn).groups())
    assert width / height == pytest.approx(62.5 / 20, rel=0.01)
    found = {float(x) for x in re.findall(r"[ML]([\d.]+) ", drawn)}
    assert sorted(found) == pytest.approx([share * width / 62.5 for share in (0, 40, 47, 62.5)], abs=0.1)
    assert page_of([job("mite", folder=folder)], tmp_path).tags.count("path") == 1
    (folder / "job.toml").write_text("[", encoding="utf-8")
    assert silhouettes_svg(folder) == ""


def test_the_table_opens_in_a_spreadsheet_without_a_formula(jobs, tmp_path):
    write_report(tmp_path / "report.csv", jobs)
    rows = list(csv.DictReader(io.StringIO((tmp_path / "report.csv").read_text(encoding="utf-8-sig"))))
    assert [row["state"] for row in rows] == ["failed", "open", "open", "done"]
    assert not any(cell[:1] in "=+-@" for row in rows for cell in row.values() if cell)
    assert (rows[3]["mass_g"], rows[3]["waste_share"], rows[3]["seconds"]) == ("46.93", "0.314", "2.0")


def test_the_json_is_that_of_the_command(jobs, tmp_path):
    write_report(tmp_path / "report.json", jobs)
    data = json.loads((tmp_path / "report.json").read_text(encoding="utf-8"))
    assert [one["state"] for one in data["jobs"]] == ["done", "open", "open", "failed"]
    assert data["notes"][0]["code"] == "jobs-failed"


@pytest.mark.parametrize("ending", ["html", "csv", "json"])
def test_an_earlier_report_is_replaced_and_another_file_is_not(jobs, tmp_path, ending):
    file = tmp_path / f"report.{ending}"
    check_reports([file])
    write_report(file, jobs)
    check_reports([file])
    file.write_text("my own", encoding="utf-8")
    with pytest.raises(CallError, match="no report of a batch"):
        check_reports([file])
    check_reports([file], is_forced=True)


@pytest.mark.parametrize(("name", "told"), [("report.pdf", "end its name"), ("nowhere/report.csv", "no folder")])
def test_a_report_that_cannot_be_is_told_before_the_batch(tmp_path, name, told):
    with pytest.raises(CallError, match=told):
        check_reports([tmp_path / name])
