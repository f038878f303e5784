"""Small jobs for the tests of the desk: a plan of two rectangles, drawn so that every size is known."""

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from PIL import Image, ImageDraw

from nesting.job.folder import open_job
from nesting.job.tracing import trace_job

PX_PER_MM = 4.0
KNOWN_MM = 100.0
PLATE_MM = (60.0, 30.0)
PEN_PX = 3

RACK = """name,material,thickness,measured thickness,length,width,mass,cut,bow,notes
B1,balsa,3 mm,3.0 mm,300 mm,100 mm,10.0 g,mixed,0 mm,light
B2,balsa,3 mm,3.0 mm,300 mm,100 mm,16.0 g,mixed,0 mm,heavy
"""

JOB = """# Bench notes survive.
[job]
format = 1
name = "Plate"

[[plan]]
name = "sheet 1"
file = "plan.png"

[[plan.known]]
from = [100.0, 380.0]
to = [500.0, 380.0]
length = "100 mm"

[[part]]
name = "plate"
plan = "sheet 1"
pick = [[200, 150]]
material = "balsa"
thickness = "3 mm"
grain = "0 deg"
"""


def draw_plan() -> Image.Image:
    """Return a sheet with a 60 × 30 mm rectangle at (100, 90), a 30 × 30 mm one at (380, 90) and a 100 mm line."""
    picture = Image.new("L", (640, 440), 250)
    pen = ImageDraw.Draw(picture)
    for x, width in ((100, PLATE_MM[0]), (380, 30.0)):
        corners = [(x, 90), (x + width * PX_PER_MM, 90), (x + width * PX_PER_MM, 210), (x, 210), (x, 90)]
        pen.line(corners, fill=20, width=PEN_PX)
    pen.line([(100, 380), (500, 380)], fill=20, width=PEN_PX)
    for x in (100, 500):
        pen.line([(x, 365), (x, 395)], fill=20, width=PEN_PX)
    return picture


@cache
def _outlines() -> dict[str, bytes]:
    """The files of the outlines of `JOB`, traced once for all jobs whose plan and picks are the same."""
    with TemporaryDirectory() as name:
        folder = make_job(Path(name), is_traced=False)
        trace_job(open_job(folder))
        return {str(p.relative_to(folder)): p.read_bytes() for p in (folder / "outlines").rglob("*.json")}


def make_job(folder: Path, *, job: str = JOB, rack: str | None = RACK, is_traced: bool = True) -> Path:
    """Write a job with its plan into `folder` and return it, unless `is_traced` is false with the plate's outline.

    Where `job` has another plan or pick the outline does not fit, and the desk traces anew.
    """
    folder.mkdir(parents=True, exist_ok=True)
    draw_plan().save(folder / "plan.png")
    (folder / "job.toml").write_text(job, encoding="utf-8")
    for name, data in _outlines().items() if is_traced else ():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)
    if rack is not None:
        (folder / "rack.csv").write_text(rack, encoding="utf-8")
    return folder


def files_of(folder: Path) -> dict[str, bytes]:
    """Return what a builder would miss of a job, by name: all but what the desk keeps for itself."""
    paths = (path for path in folder.rglob("*") if path.is_file())
    return {str(p.relative_to(folder)): p.read_bytes() for p in paths if not {".desk", ".lock"} & set(p.parts)}


class Quiet:
    """A report that nobody reads; what was said and given is kept."""

    def __init__(self):
        self.said, self.given = [], []

    def say(self, text, share=None):
        self.said.append((text, share))

    def give(self, partial):
        self.given.append(partial)


def noise(width: int, height: int) -> np.ndarray:
    """Return a grey picture in which every place looks different."""
    return np.random.default_rng(7).integers(0, 256, (height, width), np.uint8)
