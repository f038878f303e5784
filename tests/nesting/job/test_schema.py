"""The page on `job.toml` and the reader of `job.toml` know the same keys, and every example on the page is read."""

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Any, get_args

import pytest
from pydantic import TypeAdapter

from nesting.job.folder import read_spec
from nesting.job.schema import JobSpec
from vectorize.basics.errors import JobError
from vectorize.basics.spec_table import Form, fields_in, is_form

PAGE = Path(__file__).parents[3] / "docs" / "reference" / "job-file.md"
TEXT = PAGE.read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```toml\n(.*?)```", TEXT, flags=re.DOTALL)
PLAIN = re.compile(r"`[^`]+`(, `[^`]+`)*")
"""A cell of nothing but code: keys, or defaults as they would be written."""


def models_in(annotation: Any) -> Iterator[Form]:
    if is_form(annotation):
        yield annotation
    for inner in get_args(annotation):
        yield from models_in(inner)


def keys_of(model: Form) -> dict[str, Any]:
    return {field.alias or name: field for name, field in fields_in(model).items()}


def every_model(model: Form = JobSpec) -> Iterator[Form]:
    yield model
    for field in fields_in(model).values():
        for inner in models_in(field.annotation):
            yield from every_model(inner)


def used_in(data: Any, spec: Any) -> Iterator[tuple[Form, str]]:
    """Give the table and the name of every key that a file uses, by what the reader made of it."""
    if is_form(type(spec)):
        for key, field in keys_of(type(spec)).items():
            if key in data:
                yield type(spec), key
                name = next(name for name, one in fields_in(type(spec)).items() if one is field)
                yield from used_in(data[key], getattr(spec, name))
    elif isinstance(data, list) and isinstance(spec, tuple):
        for one, read in zip(data, spec, strict=True):
            yield from used_in(one, read)


def named_in(heading: str) -> Form:
    """Return the table that a heading such as `[[plan.known]]` names."""
    model: Form = JobSpec
    for word in re.sub(r"[^\w.]", "", heading).split("."):
        model = next(models_in(keys_of(model)[word].annotation))
    return model


def rows_of_keys() -> Iterator[tuple[Form, list[str], str]]:
    """Give the table, the keys and the default of every row of the page that describes keys."""
    for section in re.split(r"^#{2,3} ", TEXT, flags=re.MULTILINE)[1:]:
        heading, _, body = section.partition("\n")
        if not re.fullmatch(r"`\[+[\w.]+\]+`", heading.strip()) or "step" in heading:
            continue
        for row in re.findall(r"^\| (`.*) \|$", body, flags=re.MULTILINE):
            cells = re.split(r"(?<!\\) \| ?", row)
            keys = re.findall(r"`([^`]+)`", cells[0])
            if not keys[0].startswith("["):
                yield named_in(heading), keys, cells[2] if len(cells) > 2 else ""


ROWS = list(rows_of_keys())


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda text: text.split("\n")[0])
def test_every_example_is_read(example):
    read_spec(example)


def test_every_key_stands_in_an_example():
    shown = {pair for text in EXAMPLES for pair in used_in(tomllib.loads(text), read_spec(text))}
    known = {(model, key) for model in set(every_model()) for key in keys_of(model)}
    assert sorted(f"{model.__name__}: {key}" for model, key in known - shown) == []


def test_the_page_has_rows_for_most_tables():
    """A heading that is written otherwise must not take its table out of these tests."""
    assert len(ROWS) > 80
    assert {model.__name__ for model, _, _ in ROWS} >= {"PlanTable", "PartTable", "CarveTable", "NestTable", "PinTable"}


@pytest.mark.parametrize(("model", "keys", "default"), ROWS, ids=[f"{m.__name__} {keys[0]}" for m, keys, _ in ROWS])
def test_every_row_names_keys_that_are_there_with_their_default(model, keys, default):
    fields = keys_of(model)
    assert [key for key in keys if key not in fields] == []
    if not PLAIN.fullmatch(default):
        return
    said = tomllib.loads("values = [" + default.replace("`", "") + "]")["values"]
    for key, value in zip(keys, said * len(keys) if len(said) == 1 else said, strict=True):
        field = fields[key]
        form = field.annotation
        for extra in field.metadata:
            form = Annotated[form, extra]
        read = TypeAdapter(form).validate_python(value)
        assert read == field.get_default(), f"{key} is documented as {value!r}"


def test_every_row_of_a_step_names_the_keys_of_that_step():
    found = models_in(keys_of(named_in("part"))["step"].annotation)
    steps = {get_args(fields_in(model)["make"].annotation)[0]: model for model in found}
    rows = dict(re.findall(r'^\| `"([\w ]+)"` \| (.*)\|$', TEXT, flags=re.MULTILINE))
    assert set(rows) == set(steps)
    for make, row in rows.items():
        assert set(re.findall(r"`(\w+)`", row)) == set(keys_of(steps[make])) - {"make"}, make


@pytest.mark.parametrize("number", ["inf", "-inf", "nan"])
def test_a_number_that_is_none_is_refused_where_it_stands(number):
    with pytest.raises(JobError, match="material 'balsa', stiffness_per_density"):
        read_spec(f'[[material]]\nname = "balsa"\nstiffness_per_density = {number}')


@pytest.mark.parametrize(("text", "read"), [("3 deg", 3.0), ("0 deg", 0.0), ("12,5°", 12.5), ("free", "free")])
def test_how_far_the_grain_may_be_off_is_an_angle_or_free(text, read):
    spec = read_spec(f'[[part]]\nname = "rib"\ngrain_tolerance = "{text}"')
    assert spec.part[0].grain_tolerance == read
