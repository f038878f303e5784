"""Whatever was edited at the desk, in whatever order: page and command line then give the same figures."""

import json
import shutil

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from nesting.cli.app import app
from nesting.desk.following import follow
from nesting.desk.notes_view import spoken
from nesting.desk.requests import read_edit
from nesting.desk.workshop import Workshop
from tests.nesting.desk.drawn import drawn_job
from tests.nesting.desk.seeing import as_seen
from vectorize.basics.errors import SheetwoodError


def put(*at, value, **also):
    return {"kind": "set", "at": list(at), "value": value} | also


PLATE, BLOCK = ("part", "plate"), ("part", "block")
A_BALLAST = put("balance", "ballast", None, value={"name": "nose", "station": "-20 mm"})
ON_A_BOARD = {"kind": "set-board", "board": "B1"}
EDITS = (
    put("job", "units", value="in"),
    put("job", "name", value="Tray"),
    put("balance", "datum", value=[30, 10]),
    put("balance", "datum", value=None),
    put("balance", "aft", value="left"),
    put("balance", "range", value=["30 mm", "90 mm"]),
    put("balance", "in_place", "block", value=None),
    put("balance", "seat", None, value={"part": "block", "station": "12 mm"}),
    put("balance", "item", None, value={"name": "engine", "mass": "2 g", "station": "5 mm"}),
    put("balance", "item", "engine", "mass", value="3 g"),
    A_BALLAST,
    put(*PLATE, "step", None, value={"make": "hole", "at": [{"station": "20 mm", "height": "-15 mm"}],
                                     "diameter": "6 mm"}),
    put(*PLATE, "step", None, value={"make": "grow", "by": "0.5 mm"}),
    put(*PLATE, "step", 0, value=None),
    put(*PLATE, "count", value=3),
    put(*PLATE, "grain", value="90 deg"),
    put(*PLATE, "thickness", value="1 mm"),
    put(*PLATE, "material", value="ply"),
    put(*PLATE, "material", value=None),
    put(*PLATE, "weighed", value="2.1 g"),
    put(*PLATE, "board", value="B2"),
    put(*PLATE, "cut", value=True),
    put(*PLATE, "name", value="tray"),
    put(*BLOCK, "least_stiffness", value="9 GPa"),
    put(*BLOCK, value=None),
    put("part", None, value={"name": "doubler", "from": "plate", "material": "ply", "thickness": "1 mm"}),
    put("plan", "plan", "size", value=None),
    put("nest", "ends", value="240 mm"),
    put("accuracy", "thickness", value="0.2 mm"),
    put("finish", None, value={"parts": ["plate"], "both": ["tissue", "dope"]}),
    put("joint", None, value={"name": "seam", "parts": ["plate", "block"], "glue": "epoxy", "length": "30 mm",
                              "width": "3 mm"}),
    put("weighed", None, value={"parts": ["plate", "block"], "mass": "3 g", "stage": "glued"}),
    put("material", None, value={"name": "balsa", "density": "200 kg/m3"}),
    ON_A_BOARD | {"field": "mass", "value": "16 g"},
    ON_A_BOARD | {"field": "mass", "value": ""},
    ON_A_BOARD | {"field": "name", "value": "dark one"},
    ON_A_BOARD | {"field": "length", "value": "70 mm"},
    {"kind": "drop-board", "board": "B2"},
    {"kind": "add-boards", "table": "P1\tbirch ply\t1 mm\t\t300 mm\t100 mm\t21 g"},
    "nest", "undo", "redo",
)  # fmt: skip


class Silent:
    """A report that nobody listens to."""

    def say(self, text, share=None):
        """Say nothing."""

    def give(self, partial):
        """Hand over nothing."""


@pytest.fixture(scope="module")
def template(tmp_path_factory):
    """Return a job that was traced, so that an edit of something else traces nothing."""
    folder = drawn_job(tmp_path_factory.mktemp("drawn") / "job")
    follow(Silent(), folder)
    return folder


def told(folder, *words):
    """Return (what a command prints as JSON, its exit code)."""
    done = CliRunner().invoke(app, [words[0], str(folder), *words[1:], "--json"])
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return (json.loads(done.stdout) if done.stdout else None), done.exit_code


def do(workshop, edit):
    """Do one thing; what is refused changes nothing and is no fault."""
    if edit == "nest":
        told(workshop.folder, "nest", "--sweeps", "1")
        return
    try:
        if edit in ("undo", "redo"):
            getattr(workshop, edit)()
        else:
            workshop.edit(read_edit(as_seen(workshop.state(), edit, workshop.folder)))
    except SheetwoodError:
        pass


@settings(deadline=None, max_examples=12, suppress_health_check=list(HealthCheck))
@given(edits=st.lists(st.sampled_from(EDITS), min_size=1, max_size=6))
@example(edits=[put("job", "units", value="in"), A_BALLAST])
def test_page_and_command_line_give_the_same_figures_after_any_edits(template, tmp_path_factory, edits):
    folder = tmp_path_factory.mktemp("edited") / "job"
    shutil.copytree(template, folder)
    workshop = Workshop(folder)
    for edit in edits:
        do(workshop, edit)
        workshop._followed = (follow(Silent(), folder), "")
        check_figures(workshop)


def check_figures(workshop):
    """Compare all numbers of the page with those of the commands on the same job."""
    state = workshop.state()
    traced, code = told(workshop.folder, "trace")
    if code in (0, 4):
        areas = {part["name"]: part["area_mm2"] for part in traced["parts"]}
        outlines = {one.name: one.outline.area_mm2 for one in workshop.standing.outlines}
        assert areas == pytest.approx(outlines, rel=1e-12, abs=1e-3)
    weighed, code = told(workshop.folder, "weigh")
    if code in (0, 4):
        page = state["weights"]
        assert [row_of(row) for row in page["weights"]] == [row_of(row) for row in weighed["weights"]]
        assert (page["total_g"], page["total_sigma_g"]) == (weighed["total_g"], weighed["total_sigma_g"])
    balanced, code = told(workshop.folder, "balance")
    report = state["balance"]["report"]
    if code in (0, 4) and report is not None:
        # The page tells its sentences in the units of the job; what commands print for programs is in mm and grams.
        told_so = spoken(without_notes(balanced), workshop.speech())
        assert {key: report[key] for key in balanced if key != "notes"} == told_so
    assert (report is None) == (code == 3) or not balanced


def row_of(row):
    return [row[key] for key in ("part", "copy", "board", "mass_g", "sigma_g", "chosen")]


def without_notes(content):
    return {key: value for key, value in content.items() if key != "notes"}
