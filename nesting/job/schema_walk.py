"""What the schema of `job.toml` says of each value of a document: its type, its marks, whether the rest needs it."""

from __future__ import annotations

import types
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Annotated, Any, NamedTuple, Union, get_args, get_origin

from pydantic.fields import FieldInfo

from nesting.job.schema import JobSpec
from nesting.wood.names import Stands
from vectorize.basics.spec_table import Form, fields_in, is_form


class Field(NamedTuple):
    """A value within a table or a list: its key there, what the schema says of it, whether the rest needs it."""

    key: Any
    annotation: Any
    metadata: tuple[object, ...]
    is_needed: bool
    default: Any = None


WHOLE_JOB = Field("", JobSpec, (), is_needed=False)
"""The document itself."""


def fields_of(value: Any, one: Field) -> Iterator[Field]:  # noqa: ANN401 - any TOML value
    """Give the values within a table or a list, with what the schema says of each."""
    kinds = [kind for kind, _ in alternatives(one.annotation, one.metadata)]
    if isinstance(value, Mapping):
        model = model_of(value, _models(kinds))
        for name, said in fields_in(model).items() if model else ():
            key = next((key for key in (said.alias, name) if key is not None and key in value), None)
            if key is not None:
                yield _field(key, said)
        return
    inner = next((get_args(kind) for kind in kinds if get_origin(kind) is tuple), ())
    is_open = len(inner) == 2 and inner[1] is Ellipsis
    for index in range(len(value) if is_open else min(len(inner), len(value))):
        yield Field(index, inner[0 if is_open else index], (), is_needed=not is_open)


def field_at(at: Iterable[str | int | None]) -> Field | None:
    """Return what the schema says of the value at a path of keys and entries of lists; None if it knows no such key."""
    one: Field | None = WHOLE_JOB
    for step in at:
        if one is None:
            return None
        kinds = [kind for kind, _ in alternatives(one.annotation, one.metadata)]
        entry = next((get_args(kind)[0] for kind in kinds if get_origin(kind) is tuple), None)
        if entry is not None:
            one = Field(step, entry, (), is_needed=False)
            continue
        known = (_field(step, said) for model in _models(kinds) for name, said in fields_in(model).items()
                 if step in (said.alias or name, name))  # fmt: skip
        one = next(known, None)
    return one


def is_entry(at: Sequence[str | int | None]) -> bool:
    """Return whether a path leads to an entry of a list, and not to a key of a table."""
    said = field_at(at[:-1])
    kinds = [] if said is None else [kind for kind, _ in alternatives(said.annotation, said.metadata)]
    return any(get_origin(kind) is tuple for kind in kinds)


def _field(key: Any, said: FieldInfo) -> Field:  # noqa: ANN401 - a key or a number
    is_needed = said.is_required() or any(isinstance(mark, Stands) for mark in said.metadata)
    return Field(key, said.annotation, tuple(said.metadata), is_needed, None if said.is_required() else said.default)


def _models(kinds: Iterable[Any]) -> list[Form]:
    return [kind for kind in kinds if is_form(kind)]


def alternatives(annotation: Any, metadata: tuple[object, ...]) -> Iterator[tuple[Any, tuple[object, ...]]]:  # noqa: ANN401 - a typing form
    """Give the plain types that an annotation allows, each with what it is annotated with."""
    if get_origin(annotation) is Annotated:
        inner, *more = get_args(annotation)
        yield from alternatives(inner, (*metadata, *more))
    elif get_origin(annotation) in (Union, types.UnionType):
        for inner in get_args(annotation):
            yield from alternatives(inner, metadata)
    else:
        yield annotation, metadata


def model_of(table: Mapping[str, Any], models: list[Form]) -> Form | None:
    """Return the model of a table: the one of its `make`, or the one that knows most of its keys."""
    made = [model for model in models if table.get("make") in _makes(model)]
    return max(made or models, key=lambda model: len(_keys(model) & set(table)), default=None)


def _makes(model: Form) -> tuple[Any, ...]:
    return get_args(fields_in(model)["make"].annotation) if "make" in fields_in(model) else ()


def _keys(model: Form) -> set[str]:
    return {key for name, said in fields_in(model).items() for key in (name, said.alias) if key is not None}
