"""A part that lacks wood is left open, and spoils no other."""

import pytest

from nesting.job.folder import open_job
from nesting.job.stages import Stages
from tests.nesting.desk.jobs import JOB, make_job
from vectorize.basics.errors import PartError

BARE = '\n[[part]]\nname = "block"\npick = [[440, 150]]\nmaterial = "balsa"\n'


def test_a_part_without_thickness_is_open_and_the_others_are_made(tmp_path):
    made = Stages(open_job(make_job(tmp_path / "job", job=JOB + BARE))).made
    assert [part.name for part in made.parts] == ["plate"]
    (note,) = [note for note in made.notes if note.code == "no-wood"]
    assert (note.part, note.state) == ("block", "open")
    assert "no thickness is given" in note.text


def test_a_job_of_which_no_part_has_wood_is_refused(tmp_path):
    lines = [line for line in JOB.splitlines() if not line.startswith("thickness")]
    with pytest.raises(PartError, match="no thickness is given"):
        _ = Stages(open_job(make_job(tmp_path / "job", job="\n".join(lines)))).made
