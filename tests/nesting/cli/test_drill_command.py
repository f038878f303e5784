"""`pattern` writes a drill template at true size where the job has `[drill]`; thin webs are warned of."""

import pypdfium2
import pytest


@pytest.fixture
def drilled(small_job):
    small_job.edit("[nest]\n", '[drill]\nsizes = ["9.8 mm", "12 mm"]\nweb = "2 mm"\n\n[nest]\n')
    return small_job


def pattern(sheetwood, job, *more):
    done = sheetwood("nest", job.folder, "--sweeps", "1", "--json")
    assert done.code in (0, 4), done.err
    return sheetwood("pattern", job.folder, "--part", "plate", *more)


def test_the_template_has_each_hole_with_its_drill(sheetwood, drilled):
    done = pattern(sheetwood, drilled)
    assert done.code in (0, 4), done.err
    pdf = pypdfium2.PdfDocument(drilled.folder / "out" / "drill-plate.pdf")
    text = " ".join(" ".join(page.get_textpage().get_text_range() for page in pdf).split())
    assert "1 x drill 9.8 mm" in text
    assert "drilling plate" in text


def test_without_the_table_there_is_no_template(sheetwood, small_job):
    pattern(sheetwood, small_job)
    assert not (small_job.folder / "out" / "drill-plate.pdf").exists()


def test_a_hole_too_near_the_edge_is_warned_of_and_stops_nothing(sheetwood, drilled):
    drilled.edit('web = "2 mm"', 'web = "18 mm"')
    done = sheetwood("weigh", drilled.folder)
    assert done.code == 0
    assert "part plate: only" in " ".join(done.err.split())


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [('"9.8 mm"', '"0 mm"', "has no diameter"), ("sizes", "size", "sizes"), ('"2 mm"', '"-2 mm"', "zero or more")],
)
def test_a_table_that_cannot_be_is_refused(sheetwood, drilled, old, new, said):
    drilled.edit(old, new)
    done = sheetwood("weigh", drilled.folder)
    assert done.code == 3
    assert said in " ".join(done.err.split())
