"""Names come through consoles and pipes that know only a few letters."""

import json
import os
import subprocess
import sys

import pytest

NAME = "Höhe ½ Крыло 木 Ø3"
RACK = f"name,material,thickness,length,width,mass\n{NAME},balsa,3 mm,300 mm,80 mm,8.6 g\n"


@pytest.fixture
def job(tmp_path):
    (tmp_path / "job.toml").write_text('[job]\nformat = 1\nname = "x"\n', encoding="utf-8")
    (tmp_path / "rack.csv").write_text(RACK, encoding="utf-8")
    return tmp_path


def rack_of(job, encoding, *options):
    """What the command writes to a pipe that is set to `encoding`."""
    done = subprocess.run(
        [sys.executable, "-m", "nesting", "rack", str(job), *options],
        env=os.environ | {"PYTHONIOENCODING": encoding, "PYTHONUTF8": "0", "COLUMNS": "200"},
        capture_output=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.mark.parametrize("encoding", ["cp1252", "ascii"])
def test_json_keeps_every_name_whatever_the_pipe_can_write(job, encoding):
    assert json.loads(rack_of(job, encoding, "--json").decode("ascii"))["boards"][0]["name"] == NAME


def test_a_table_marks_the_letters_that_a_console_cannot_show(job):
    shown = rack_of(job, "ascii").decode("ascii")
    assert "?" not in shown
    assert r"\u041a" in shown  # К
