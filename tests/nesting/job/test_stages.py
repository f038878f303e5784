"""Each stage is made once from what it reads, and again whenever, and only when, that is another one."""

import math
from dataclasses import replace

import pytest

from nesting.job import tracing
from nesting.job.folder import open_job
from nesting.job.given import given_by
from nesting.job.stages import MOST_RESULTS, Memo, Stages, fingerprint, remembered
from nesting.wood.part import Part
from tests.nesting.desk.drawn import drawn_job
from vectorize.shapes.outline import Outline

STATION_HOLE = '[[part.step]]\nmake = "hole"\nat = [{ station = "20 mm", height = "-15 mm" }]\ndiameter = "4 mm"\n'


@pytest.fixture
def folder(tmp_path):
    return drawn_job(tmp_path / "job", more=STATION_HOLE)


def changed(folder, old, new):
    path = folder / "job.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def test_a_stage_is_made_once_for_equal_values_and_again_for_others():
    made = []

    def stage(*, part, limit):
        made.append(part)
        return limit

    memo, part = Memo(), Part("fin", Outline.rectangle(0, 0, 60, 30), "balsa", 3.0)
    for limit, given in ((1, part), (1, replace(part)), (2, part), (1, replace(part, count=2)), (1, part)):
        assert memo.of(stage, part=given, limit=limit) == limit
    assert len(made) == 3


def test_the_hash_is_another_one_for_any_change_at_any_depth():
    part = Part("fin", Outline.rectangle(0, 0, 60, 30), "balsa", 3.0)
    near = replace(part, outline=Outline.rectangle(0, 0, math.nextafter(60, 61), 30))
    assert fingerprint((part,)) == fingerprint((replace(part),))
    assert len({fingerprint(one) for one in (part, near, [part], {"fin": part})}) == 4
    with pytest.raises(TypeError, match="hashed as a whole"):
        fingerprint(lambda: None)  # what cannot be hashed whole is refused, never left out


def test_only_the_newest_results_are_kept_and_errors_are_not():
    memo, made = Memo(), []

    def stage(*, number):
        made.append(number)
        if number < 0:
            raise ValueError("below zero")
        return number

    for number in (*range(MOST_RESULTS + 1), MOST_RESULTS, 0):
        memo.of(stage, number=number)
    assert made == [*range(MOST_RESULTS + 1), 0]
    for _ in range(2):
        with pytest.raises(ValueError, match="below zero"):
            memo.of(stage, number=-1)
    assert made[-2:] == [-1, -1]


def test_parts_made_by_station_follow_the_datum_of_the_balance_with_remembered_plans(folder):
    memo = Memo()
    holes = []
    for datum in ("[10, 10]", "[30, 10]"):
        stages = remembered(Stages(open_job(folder), memo=memo))
        (hole,) = next(part for part in stages.parts if part.name == "plate").outline.cutouts
        holes.append(Outline(hole).bounds[0])
        changed(folder, f"datum = {datum}", "datum = [30, 10]")
    assert holes[1] - holes[0] == pytest.approx(20.0)


def test_a_plan_is_read_once_while_its_table_and_file_are_the_same(folder):
    memo = Memo()
    first = remembered(Stages(open_job(folder), memo=memo)).plans["plan"]
    changed(folder, 'name = "Drawn"', 'name = "Redrawn"')
    assert remembered(Stages(open_job(folder), memo=memo)).plans["plan"] is first
    plan = folder / "plan.svg"
    plan.write_text(plan.read_text(encoding="utf-8").replace("H70", "H68"), encoding="utf-8")
    assert remembered(Stages(open_job(folder), memo=memo)).plans["plan"] is not first


def test_parts_are_made_again_only_when_what_they_are_made_from_changes(folder, monkeypatch):
    made, memo = [], Memo()
    derive = tracing.derive_parts

    def watched(*, given, outlines, plans):
        made.append(given)
        return derive(given, outlines, plans)

    monkeypatch.setattr("nesting.job.stages.derive_parts", watched)
    changes = [
        ('name = "Drawn"', 'name = "Redrawn"', 0), ('units = "mm"', 'units = "in"', 0),
        ('tool = "saw"', 'tool = "knife"', 0), ('station = "20 mm"', 'station = "21 mm"', 1),
        ("datum = [10, 10]", "datum = [11, 10]", 1), ('thickness = "3 mm"', 'thickness = "3.2 mm"', 1),
    ]  # fmt: skip
    assert Stages(open_job(folder), memo=memo).parts
    for old, new, more in changes:
        before = len(made)
        changed(folder, old, new)
        assert Stages(open_job(folder), memo=memo).parts
        assert len(made) - before == more, new
    with (folder / "rack.csv").open("a", encoding="utf-8") as rack:
        rack.write("B9,balsa,3 mm,,300 mm,100 mm,9 g\n")
    assert Stages(open_job(folder), memo=memo).parts
    assert len(made) == 5


def test_what_parts_are_made_from_holds_no_other_table(folder):
    spec = given_by(open_job(folder)).spec
    assert spec.part
    assert spec.model_fields_set == {"part", "plan", "material", "balance"}
    assert spec.balance.model_fields_set == {"plan", "datum", "aft"}


def test_another_name_of_a_material_is_understood_also_in_made_parts(folder):
    made = '\n[[part]]\nname = "doubler"\nfrom = "plate"\nmaterial = "ply"\nthickness = "1 mm"\n'
    with (folder / "job.toml").open("a", encoding="utf-8") as job:
        job.write(made)
    with (folder / "rack.csv").open("a", encoding="utf-8") as rack:
        rack.write("P1,birch ply,1 mm,,300 mm,100 mm,21 g\n")
    stages = Stages(open_job(folder))
    assert {part.name: part.material for part in stages.parts}["doubler"] == "birch ply"
    assert [weight.board for weight in stages.weights.chosen if weight.part == "doubler"] == ["P1"]
