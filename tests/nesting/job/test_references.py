"""What is renamed or taken away is so everywhere in the job: the schema itself says where names stand."""

import tomllib

import pytest
import tomlkit

from nesting.job.folder import read_spec
from nesting.job.references import call_anew
from nesting.job.schema import JobSpec
from nesting.job.schema_walk import alternatives
from nesting.wood.names import NameOf
from vectorize.basics.spec_table import fields_in, is_form

JOB = """\
[[plan]]
name = "sheet 1"
file = "plan.png"

[[part]]
name = "rib"        # stays
plan = "sheet 1"
pick = [[1, 1]]
board = "B1"
boards = ["B1", "B2"]
[[part.step]]
make = "slot"
at = [2, 2]
for = "spar"
length = "10 mm"
[[part.step]]
make = "tab"
at = [2, 2]
for = "spar"
width = "10 mm"
[[part.step]]
make = "half lap"
at = [2, 2]
for = "spar"
opens = "up"
[[part.step]]
make = "scarf"
clear_of = ["spar", "fin"]
[[part.step]]
make = "splice"
clear_of = ["spar"]
[part.carve]
section = "NACA 0012"
span = [[1, 1], [2, 2]]
leading = [3, 3]
against = "spar"

[[part]]
name = "spar"
pick = [[1, 1]]

[[part]]
name = "cap"
from = "spar"

[[part]]
name = "fin"
pick = [[1, 1]]

[[finish]]
parts = ["spar", "rib"]
both = ["tissue"]

[[finish]]
parts = ["spar plank 1"]
top = ["dope"]

[[joint]]
name = "seam"
parts = ["spar", "rib"]
glue = "epoxy"
length = "10 mm"
width = "3 mm"

[[joint]]
name = "three"
parts = ["spar", "rib", "fin"]
glue = "epoxy"
length = "10 mm"
width = "3 mm"

[[weighed]]
parts = ["spar", "rib"]
mass = "3 g"

[nest]
side_by_side = [["spar", "rib"], ["rib", "fin"]]
soft_patches = ["spar"]
[[nest.pin]]
part = "spar"
board = "B1"
x = "1 mm"
y = "1 mm"

[balance]
plan = "sheet 1"
in_place = ["spar", "rib"]
[[balance.seat]]
part = "spar"
station = "10 mm"
[[balance.item]]
name = "engine"
mass = "10 g"
station = "10 mm"
[[balance.alternative]]
name = "forward"
item = "engine"
station = "5 mm"
"""


def gone(*names):
    return lambda name: None if name in names else name


def after(kind, call):
    document = tomlkit.parse(JOB)
    lost = call_anew(document, kind, call)
    text = tomlkit.dumps(document)
    assert "# stays" in text
    return read_spec(text), lost


def named_fields(model, seen):
    """Return every field of the schema that holds names of something, as (table, key)."""
    if model in seen:
        return
    seen.add(model)
    for name, said in fields_in(model).items():
        yield from names_in(said.annotation, tuple(said.metadata), (model.__name__, said.alias or name), seen)


def names_in(annotation, metadata, where, seen):
    for kind, more in alternatives(annotation, metadata):
        if any(isinstance(mark, NameOf) for mark in more):
            yield where
        if is_form(kind):
            yield from named_fields(kind, seen)
        for inner in getattr(kind, "__args__", ()):
            if inner is not Ellipsis:
                yield from names_in(inner, (), where, seen)


def test_every_name_of_the_schema_stands_in_the_job_of_this_test():
    keys = {key for _, key in named_fields(JobSpec, set())}

    assert keys == {"from", "plan", "board", "boards", "for", "clear_of", "against", "parts", "part", "item"} | {
        "side_by_side", "soft_patches", "in_place",
    }  # fmt: skip
    assert all(f"{key} = " in JOB for key in keys)


def test_a_renamed_part_is_called_by_its_new_name_everywhere():
    call = lambda name: name.replace("spar", "longeron")  # noqa: E731

    spec, lost = after("part", call)

    assert lost == []
    renamed = tomllib.loads(JOB.replace("spar", "longeron").replace('name = "longeron"', 'name = "spar"'))
    assert spec == JobSpec.model_validate(renamed)


def test_all_that_speaks_of_a_part_that_is_gone_goes_or_does_without_it():
    spec, lost = after("part", gone("spar", "spar plank 1"))
    rib, fin = spec.part[0], spec.part[-1]

    # The part itself is for the edit to take out; what is made from it cannot be.
    assert [part.name for part in spec.part] == ["rib", "spar", "fin"]
    assert [(step.make, step.clear_of) for step in rib.step] == [("scarf", ("fin",)), ("splice", ())]
    assert rib.carve.against is None
    assert fin.name == "fin"
    assert [one.parts for one in spec.finish] == [("rib",)]
    assert [(one.name, one.parts) for one in spec.joint] == [("three", ("rib", "fin"))]
    # Both lay on the scale: what is left of the reading would be weighed as one of them.
    assert spec.weighed == ()
    assert (spec.nest.side_by_side, spec.nest.soft_patches, spec.nest.pin) == ((("rib", "fin"),), (), ())
    assert (spec.balance.in_place, spec.balance.seat) == (("rib",), ())
    assert "the joint seam" in lost
    assert "the reading of spar and rib" in lost
    assert "part cap, which was made from it" in lost
    assert not any("three" in one for one in lost)


@pytest.mark.parametrize(
    ("kind", "name", "found"),
    [
        ("board", "B1", lambda spec: (spec.part[0].board, spec.part[0].boards, spec.nest.pin)),
        ("item", "engine", lambda spec: spec.balance.alternative),
    ],
)
def test_boards_and_equipment_that_are_gone_are_spoken_of_no_more(kind, name, found):
    spec, lost = after(kind, gone(name))

    assert found(spec) == {"board": (None, ("B2",), ()), "item": ()}[kind]
    assert lost == {"board": ["the pin of spar on B1", "the board of rib"], "item": ["the alternative forward"]}[kind]


def test_a_plan_is_renamed_under_its_parts_and_its_balance():
    document = tomlkit.parse(JOB)
    document["plan"][0]["name"] = "side view"

    assert call_anew(document, "plan", lambda name: "side view") == []

    spec = read_spec(tomlkit.dumps(document))
    assert spec.part[0].plan == spec.balance.plan == "side view"
