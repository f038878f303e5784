"""What tables that people write have in common: of `job.toml`, and of the values that are work as well as table."""

from __future__ import annotations

from dataclasses import MISSING, fields
from functools import cache
from typing import Any, ClassVar, TypeGuard, get_type_hints

from pydantic import BaseModel, ConfigDict
from pydantic.fields import FieldInfo


class Table(BaseModel):
    """A table of `job.toml`: frozen, and strict about its keys."""

    # Only the whole job is ever read: its tables need no readers of their own.
    model_config = ConfigDict(extra="forbid", defer_build=True, frozen=True, populate_by_name=True, allow_inf_nan=False)


def key_of(name: str) -> str:
    """Return the key that a field of a `Written` has in the file: its name without the unit that it is held in."""
    return name.removesuffix("_mm").removesuffix("_deg")


class Written:
    """A frozen dataclass that is read from a table as it is: `make` tells which, and its other fields are the keys.

    The file says what a value is in its own unit; the field has it in ours, with the unit in its name.
    Only what is read from a file is checked by the types of the fields.
    """

    __slots__ = ()
    __pydantic_config__: ClassVar = ConfigDict(extra="forbid", allow_inf_nan=False, alias_generator=key_of)


Form = type[BaseModel] | type[Written]
"""What a table is read as."""


def is_form(kind: object) -> TypeGuard[Form]:
    """Return whether tables are read as `kind`."""
    return isinstance(kind, type) and issubclass(kind, BaseModel | Written)


def fields_in(form: Form) -> dict[str, FieldInfo]:
    """Return what is known of each field of a form, by its name; `alias` is its key where that is another one."""
    return dict(form.model_fields) if issubclass(form, BaseModel) else _fields_of(form)  # type: ignore[arg-type]


@cache
def _fields_of(form: Any) -> dict[str, FieldInfo]:  # noqa: ANN401 - a dataclass has no common type
    hints = get_type_hints(form, include_extras=True)
    return {one.name: _field(hints[one.name], one.name, one.default) for one in fields(form)}


def _field(hint: type, name: str, default: object) -> FieldInfo:
    is_needed = default is MISSING or name == "make"
    found = FieldInfo.from_annotation(hint) if is_needed else FieldInfo.from_annotated_attribute(hint, default)
    found.alias = found.alias or key_of(name)
    return found
