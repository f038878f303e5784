"""A small job of our own drawing, and a way to run commands on it."""

import json
import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest
from PIL import Image, ImageDraw
from typer.testing import CliRunner

from nesting.cli.app import app
from nesting.job.folder import open_job
from nesting.job.tracing import trace_job

# Drawn at 4 pixels per millimetre (101.6 dpi), pen 3 px:
#
#   +-----------+   +-----+
#   |   o       |   | fin |      plate 100 x 40 mm with a 10 mm hole, fin 40 x 30 mm
#   +-----------+   +-----+
PX_PER_MM = 4
JOB = """\
[job]
format = 1
name = "Square"

[[plan]]
name = "sheet"
file = "plan.png"
[[plan.known]]
from = [40, 300]
to = [440, 300]
length = "100 mm"

[[part]]
name = "plate"
pick = [[300, 120]]
material = "balsa"
thickness = "3 mm"
grain = "0 deg"

[[part]]
name = "fin"
pick = [[580, 120]]
material = "balsa"
thickness = "3 mm"
grain = "0 deg"
hand = "pair"

[nest]
tool = "knife"
"""
RACK = """\
name,material,thickness,measured thickness,length,width,mass,cut,bow,notes
light,balsa,3 mm,3.0 mm,300 mm,80 mm,8.6 g,,,
heavy,balsa,3 mm,3.0 mm,300 mm,80 mm,13.0 g,,,
"""


@dataclass(frozen=True)
class Answer:
    code: int
    out: str
    err: str

    @property
    def json(self):
        return json.loads(self.out)


@dataclass(frozen=True)
class SmallJob:
    folder: object

    def edit(self, old, new, *, file="job.toml"):
        path = self.folder / file
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, new), encoding="utf-8")


def draw_plan(path, *, gap_px=0):
    image = Image.new("L", (760, 360), 245)
    draw = ImageDraw.Draw(image)
    draw.line([(40, 40), (440, 40), (440, 200), (40, 200), (40, 40)], fill=20, width=3)
    draw.ellipse([120, 100, 160, 140], outline=20, width=3)
    if gap_px:
        draw.rectangle([250, 190, 250 + gap_px, 210], fill=245)
    draw.line([(500, 60), (660, 60), (660, 180), (500, 180), (500, 60)], fill=20, width=3)
    draw.line([(40, 290), (40, 310)], fill=20, width=3)
    draw.line([(440, 290), (440, 310)], fill=20, width=3)
    image.save(path)


@pytest.fixture(scope="session")
def traced_job(tmp_path_factory):
    """The small job with its outlines: what a test does not change need not be traced for it again."""
    folder = tmp_path_factory.mktemp("small") / "job"
    folder.mkdir()
    draw_plan(folder / "plan.png")
    (folder / "job.toml").write_text(JOB, encoding="utf-8")
    (folder / "rack.csv").write_text(RACK, encoding="utf-8")
    trace_job(open_job(folder))
    return folder


@pytest.fixture
def small_job(tmp_path, traced_job):
    return SmallJob(Path(shutil.copytree(traced_job, tmp_path / "job")))


@pytest.fixture
def sheetwood():
    def run(*arguments):
        done = CliRunner().invoke(app, [str(argument) for argument in arguments])
        if done.exception is not None and not isinstance(done.exception, SystemExit):
            raise done.exception
        return Answer(done.exit_code, done.stdout, done.stderr)

    return run
