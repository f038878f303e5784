"""What `job.toml` says of wood and balance, down to the documentation's own examples."""

import re
from pathlib import Path

import pytest

from nesting.job.builder_marks import part_marks
from nesting.job.folder import open_job, read_spec
from nesting.job.laying import Effort, nest_job
from nesting.job.plans import open_plans
from nesting.job.schema import JobSpec
from nesting.job.stages import Stages
from vectorize.basics.errors import JobError
from vectorize.basics.units import KG_M3_PER_LB_FT3

ROOT = Path(__file__).parents[3]
DEMO = ROOT / "nesting" / "job" / "demo" / "sedge"
PAGES = ("choose-boards", "balance-a-model")


def toml_blocks(page: str) -> list[str]:
    text = (ROOT / "docs" / "how-to" / f"{page}.md").read_text(encoding="utf-8")
    return [re.sub(r"(?m)^ {3}", "", block) for block in re.findall(r"```toml\n(.*?)```", text, re.DOTALL)]


@pytest.mark.parametrize("block", [block for page in PAGES for block in toml_blocks(page)])
def test_examples_of_the_how_to_pages_are_valid(block):
    assert isinstance(read_spec(block), JobSpec)


def test_every_key_of_wood_and_balance_is_in_the_reference():
    reference = (ROOT / "docs" / "reference" / "job-file.md").read_text(encoding="utf-8")
    from nesting.job import model_schema

    tables = [value for value in vars(model_schema).values() if hasattr(value, "model_fields")]
    keys = [name for table in tables for name in table.model_fields]
    keys += ["loaded", "use", "flat", "density", "least_stiffness", "cuts", "substitutes"]
    assert [key for key in keys if f"`{key}`" not in reference and f".{key}]" not in reference] == []


@pytest.fixture(scope="module")
def sedge_job(tmp_path_factory):
    import shutil

    folder = tmp_path_factory.mktemp("model") / "sedge"
    shutil.copytree(DEMO, folder)
    return open_job(folder)


@pytest.fixture(scope="module")
def sedge(sedge_job):
    return Stages(sedge_job).model


def test_seats_bring_parts_to_where_the_drawing_shows_them(sedge):
    # The plan says: the wing seat begins 88 mm ahead of its end, the fuselage is 471 mm long, the tail sits at its end.
    ledger, notes = sedge.ledger(sedge.weights)
    assert notes == ()
    stations = {entry.part: entry.station.value for entry in ledger.entries if entry.stage == "cut"}
    assert 103 < stations["wing right"] < 103 + 88
    assert stations["wing right"] == pytest.approx(stations["wing left"], abs=1.0)
    assert 400 < stations["tailplane"] < 471
    assert 200 < stations["fuselage"] + 30 < 260
    laterals = {entry.part: entry.lateral.value for entry in ledger.entries if entry.stage == "cut"}
    assert laterals["wing right"] == pytest.approx(-laterals["wing left"], abs=1.0)
    assert 120 < laterals["wing right"] < 160  # half of a panel of 320 mm, less its rounded tip


def test_the_demo_has_finish_glue_and_a_range_in_percent(sedge):
    ledger, _ = sedge.ledger(sedge.weights)
    assert {entry.stage for entry in ledger.entries} == {"cut", "glued", "covered", "painted", "fitted"}
    assert sedge.plan.chord is not None
    assert sedge.plan.limits is not None
    assert sedge.plan.chord.share(sedge.plan.limits.low_mm) == pytest.approx(0.30)


SPEC = """
[[material]]
name = "balsa"
density = "7 lb/ft3"
[[material]]
name = "cedar"
density = "380 kg/m3"
spread = "15 %"
[[coat]]
name = "tissue"
weight = "12 g/m2"
[[glue]]
name = "hide glue"
weight = "60 g/m2"
spread = "50 %"
[accuracy]
width = "0.4 mm"
"""


def model_with(tmp_path, text):
    import shutil

    folder = tmp_path / "job"
    shutil.copytree(DEMO, folder)
    job = folder / "job.toml"
    job.write_text(job.read_text(encoding="utf-8") + text, encoding="utf-8")
    opened = open_job(folder)
    from nesting.job.wood import wood_of

    return opened, wood_of(opened.spec)


def test_defaults_can_be_changed_and_added_to(tmp_path):
    opened, wood = model_with(tmp_path, SPEC)
    assert wood.materials["balsa"].density_kg_m3 == pytest.approx(7 * KG_M3_PER_LB_FT3)
    assert wood.materials["cedar"].density_spread == 0.15
    assert wood.accuracy.width_sigma_mm == 0.4
    assert opened.spec.coat[0].weight == 12.0


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[[material]]\nname = "cedar"\ndensity = "380 kg/m3"\n', "give density_kg_m3 and density_spread"),
        ('[[material]]\nname = "balsa"\nplies = 2\n', "must be odd"),
        ('[[material]]\nname = "balsa"\nspread = "150 %"\n', "share between 0 and 1"),
    ],
)
def test_materials_that_cannot_be_are_refused(tmp_path, text, words):
    with pytest.raises(JobError, match=words):
        model_with(tmp_path, text)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[balance.chord]\nlength = '80 mm'\n", "give either sections"),
        ("[[balance.seat]]\npart='fin'\n[[balance.seat]]\npart='fin'\n", "are named 'fin'; keep one"),
        ("[[weighed]]\nparts=['fin']\nmass='5'\n", "without a unit"),
        ("[[weighed]]\nparts=['fin']\nmass='5 g'\nstage='sold'\n", "stage"),
        ("[assign]\nobjectiv='light'\n", "did you mean 'objective'"),
    ],
)
def test_tables_that_cannot_be_are_refused_with_their_place(text, words):
    with pytest.raises(JobError, match=words):
        read_spec(text)


def test_the_fuselage_pattern_carries_the_balance_range_of_the_job(sedge, sedge_job):
    marks = part_marks(sedge_job, sedge.parts, open_plans(sedge_job))["fuselage"]
    stations = [[sedge.datum.station_mm(point) for point in mark.points] for mark in marks if mark.kind == "balance"]
    limits = sedge.plan.limits
    assert stations == [pytest.approx([limits.low_mm] * 2), pytest.approx([limits.high_mm] * 2)]


def test_what_is_said_of_a_part_holds_for_the_planks_it_is_divided_into(sedge, sedge_job, tmp_path):
    import shutil

    import tomlkit

    folder = tmp_path / "planked"
    shutil.copytree(sedge_job.folder, folder)  # with what was traced already
    document = tomlkit.parse((folder / "job.toml").read_text(encoding="utf-8"))
    tail = next(table for table in document["part"] if table["name"] == "tailplane")
    tail["step"] = [{"make": "planks", "width": "30 mm"}]
    (folder / "job.toml").write_text(tomlkit.dumps(document), encoding="utf-8")
    planked = Stages(open_job(folder)).model
    names = {part.name for part in planked.parts if part.name.startswith("tailplane")}
    assert len(names) == 2

    def coats_g(model):
        entries = model.ledger(model.weights)[0].entries
        # Sanding and edges go by the pieces themselves; coats on the faces do not care about a glued joint.
        return sum(
            e.mass.value for e in entries if e.part.startswith("tailplane") and e.stage in ("covered", "painted")
        )

    assert coats_g(planked) == pytest.approx(coats_g(sedge), rel=0.05)

    tail["weighed"] = "3.1 g"
    (folder / "job.toml").write_text(tomlkit.dumps(document), encoding="utf-8")
    weighed = Stages(open_job(folder)).model
    (reading,) = weighed.readings
    assert set(reading.parts) == names
    assert reading.mass.value == pytest.approx(3.1)
    ledger, _ = weighed.ledger(weighed.weights)
    cut = [e.mass.value for e in ledger.entries if e.stage in ("cut", "joined") and names & e.owners]
    assert sum(cut) == pytest.approx(3.1)


def test_a_part_that_asks_for_dense_wood_is_nested_on_the_board_that_has_it(sedge, sedge_job, tmp_path):
    import shutil

    folder = tmp_path / "dense"
    shutil.copytree(sedge_job.folder, folder)
    text = (folder / "job.toml").read_text(encoding="utf-8")
    text = text.replace('name = "fin"', 'name = "fin"\ndensity = ["130 kg/m3", "250 kg/m3"]', 1)
    (folder / "job.toml").write_text(text, encoding="utf-8")
    job = open_job(folder)
    model = Stages(job).model
    layout = nest_job(job, model.parts, model.boards, effort=Effort(time_limit_s=None, max_sweeps=100, seed=1))
    board_of = {placed.part: laid.board for laid in layout.boards for placed in laid.placements}
    assert (board_of["fin"], board_of["tailplane"]) == ("B8", "B7")
    chosen = {weight.part: weight for weight in model.weights.chosen}
    assert chosen["fin"].board == "B8"
    assert not [note for note in model.need_notes(model.weights) if note.part == "fin"]
