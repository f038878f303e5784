"""What each kind of step and a carving is asked by: one form for each, found from the job file's own schema.

A form cannot drift from the schema: keys, kinds of value, choices and defaults are read from the models in
`nesting.alter` and of the carving; only the words stand here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from nesting.desk.step_words import CARVE_WORDS, STEP_WORDS, FieldWords
from nesting.job.step_tables import CarveTable, SectionKey, Spot, StepTable
from nesting.wood.names import PartName
from vectorize.basics.quantity import Angle, Length, Mass, Share
from vectorize.basics.spec_table import Form, fields_in

_KINDS: tuple[tuple[Any, str], ...] = (
    (Length, "length"),
    (Angle, "angle"),
    (Mass, "mass"),
    (Share, "share"),
    (float, "number"),
    (bool, "yes"),
    (str, "text"),
    (Spot, "place"),
    (SectionKey, "section"),
    (tuple[Spot, ...], "places"),
    (tuple[Spot, Spot], "line"),
    (tuple[Length, Length], "two lengths"),
    (tuple[Length, ...], "lengths"),
    (tuple[int, int], "two counts"),
    (tuple[PartName, ...], "parts"),
)
_PARTS = {"mate": "part", "against": "part"}
"""Fields that are texts to the schema and name another part of the job."""
_UNITS = {"length": "mm", "angle": "deg", "mass": "g"}


@dataclass(frozen=True, slots=True)
class FormField:
    """One field: its key in `job.toml`, the kind of value, its label, and what holds where nothing is given."""

    key: str
    kind: str
    words: FieldWords
    is_needed: bool
    default: str | None
    choices: tuple[str | int, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return the field as the page builds it."""
        return {
            "key": self.key,
            "kind": self.kind,
            "label": self.words.label,
            "ends": list(self.words.ends),
            "is_needed": self.is_needed,
            "default": self.default,
            "choices": list(self.choices),
        }


def forms_view() -> dict[str, Any]:
    """Return every form: `steps` by the word in `make`, and `carve`."""
    steps = [
        {"make": make, "title": STEP_WORDS[make].title, "fields": [field.as_json() for field in step_fields(make)]}
        for make in step_models()
    ]
    return {"steps": steps, "carve": [field.as_json() for field in carve_fields()]}


@cache
def step_models() -> dict[str, Form]:
    """Return the model of each kind of step, by the word in `make`."""
    union = get_args(StepTable)[0]
    return {get_args(fields_in(model)["make"].annotation)[0]: model for model in get_args(union)}


@cache
def step_fields(make: str) -> tuple[FormField, ...]:
    """Return the fields of one kind of step, in the order of the schema."""
    return tuple(_fields(step_models()[make], STEP_WORDS[make].fields))


@cache
def carve_fields() -> tuple[FormField, ...]:
    """Return the fields of a carving."""
    return tuple(_fields(CarveTable, CARVE_WORDS.fields))


def _fields(model: Form, words: dict[str, FieldWords]) -> Iterator[FormField]:
    hints = get_type_hints(model, include_extras=True)
    for name, info in fields_in(model).items():
        if name == "make":
            continue
        key = info.alias or name
        hint = _without_none(hints[name])
        choices = tuple(get_args(hint)) if get_origin(hint) is Literal else ()
        kind = "choice" if choices else _PARTS.get(name) or _kind(hint)
        default = None if info.is_required() else _default(info.default, kind)
        yield FormField(key, kind, words[key], info.is_required(), default, choices)


def _without_none(hint: Any) -> Any:  # noqa: ANN401 - a typing form has no common type
    if get_origin(hint) is Annotated and hint not in [known for known, _ in _KINDS]:
        hint = get_args(hint)[0]
    if get_origin(hint) not in (Union, UnionType):
        return hint
    kept = tuple(one for one in get_args(hint) if one is not NoneType)
    return Union[kept]  # noqa: UP007 - built from a list of types, which `|` cannot be


def _kind(hint: Any) -> str:  # noqa: ANN401 - a typing form has no common type
    return next(kind for known, kind in _KINDS if known == hint)


def _default(value: Any, kind: str) -> str | None:  # noqa: ANN401 - whatever the schema has
    if value is None or value == ():
        return None
    if isinstance(value, tuple):
        return " and ".join(str(one) for one in value)
    if isinstance(value, bool | str):
        return str(value).lower()
    if kind == "share":
        return f"{100 * value:g} %"
    return " ".join(filter(None, (f"{value:g}", _UNITS.get(kind))))
