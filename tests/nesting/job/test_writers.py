"""Whoever writes a file that people edit compares it with what it read: the loser is told, nothing is overwritten."""

import pytest
from PIL import Image

from nesting.desk.uploads import settle
from nesting.job.bringing import bring_in_part, correction_name
from nesting.job.folder import Job, open_job
from nesting.job.journal import read_files
from nesting.job.scales import add_known
from nesting.job.schema import JobSpec
from nesting.job.store import StoredOutline
from nesting.job.tracing import JobTrace
from vectorize.basics.errors import CallError, WriteError
from vectorize.shapes.outline import Outline, TracedOutline

FIN = StoredOutline("fin", "sheet 1", TracedOutline(Outline.rectangle(0, 0, 40, 20), 0.1, 1.0), 0.3, (1.0, 1.0), "")
EDITED = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="42mm" height="20mm" viewBox="0 0 42 20">'
    '<path d="M0 0H42V20H0Z" fill="none" stroke="black" stroke-width="0.1"/></svg>'
)


@pytest.fixture
def bring(tmp_path):
    """Bring in an edited fin, as if the correction had been `before` when the trace began."""
    drawing = tmp_path / "fin.svg"
    drawing.write_text(EDITED, encoding="utf-8")
    job = Job(tmp_path, JobSpec(), "")

    def run(before):
        return bring_in_part(job, JobTrace((FIN,), ()), part="fin", file=drawing, unit_mm=None, before=before)

    return run


def test_a_correction_saved_while_a_pattern_is_brought_in_is_kept(bring, tmp_path):
    before = read_files(tmp_path, (correction_name("fin"),))
    theirs = tmp_path / "corrected" / "fin.json"
    theirs.parent.mkdir()
    theirs.write_text("theirs", encoding="utf-8")
    with pytest.raises(WriteError, match="changed by someone else"):
        bring(before)
    assert theirs.read_text(encoding="utf-8") == "theirs"

    bring(read_files(tmp_path, (correction_name("fin"),)))
    assert 'brought_in_from": "fin.svg"' in theirs.read_text(encoding="utf-8")


def test_of_several_known_dimensions_all_are_written_or_none(tmp_path):
    text = '[[plan]]\nname = "sheet 1"\nfile = "plan.png"\n'
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    Image.new("L", (760, 360), 245).save(tmp_path / "plan.png")
    job = open_job(tmp_path)
    with pytest.raises(CallError, match="--known"):
        add_known(job, ["40,300,440,300,100 mm", "1,2,3"])
    assert (tmp_path / "job.toml").read_text(encoding="utf-8") == text
    assert len(add_known(job, ["40,300,440,300,100 mm", "40,40,40,141.6,1 in"]).spec.plan[0].known) == 2


def test_a_scan_never_takes_the_place_of_a_file(tmp_path):
    for number, content in enumerate((b"first", b"second", b"first")):
        upload = tmp_path / f"upload-{number}"
        upload.write_bytes(content)
        assert settle(upload, tmp_path, "plan.png") == ("plan.png", "plan-2.png", "plan.png")[number]
    assert (tmp_path / "plan.png").read_bytes() == b"first"
