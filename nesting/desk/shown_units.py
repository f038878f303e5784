"""Bare numbers as the desk takes them: in the unit that the page shows such values in.

In files and on the command line a number without a unit is an error; on the page the unit stands beside the field.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from nesting.desk import requests as ask
from nesting.job.schema_walk import Field, alternatives, field_at, fields_of
from nesting.wood.rack.rack_rows import KINDS
from vectorize.basics.errors import UnitError
from vectorize.basics.units import LENGTH, Kind, parse

AnyEdit = TypeVar("AnyEdit")

_SHOWN = {
    "length": ("mm", "in"),
    "mass": ("g", "oz"),
    "density": ("kg/m3", "lb/ft3"),
    "angle": ("deg", "deg"),
    "weight per area": ("g/m2", "oz/yd2"),
    "modulus": ("GPa", "ksi"),
    "time": ("s", "s"),
    "frequency": ("Hz", "Hz"),
}
"""What the page shows each kind of quantity in, where the job is in millimetres and where it is in inches."""


def with_unit(text: str, kind: Kind, units: str, *, what: str | None = None) -> str:
    """Return a quantity as it was typed, a bare number with the unit that it is shown in.

    Args:
        text: What was typed.
        kind: What it is a quantity of.
        units: Those of the job, `mm` or `in`.
        what: What the message calls it; by default `the length` and the like.

    Raises:
        UnitError: It is none, or can be read in two ways.
    """
    called = what or f"the {kind.name}"
    try:
        parse(text, kind, what=called)
    except UnitError:
        unit = _SHOWN[kind.name][units == "in"]
        parse(text, kind, default_unit=unit, what=called)
        return f"{text.strip()} {unit}"
    return text


def with_shown_units(edit: AnyEdit, units: str) -> AnyEdit:
    """Return an edit in which every bare number that stands for a quantity has the unit that it is shown in.

    Raises:
        UnitError: A quantity that is none, or can be read in two ways.
    """
    match edit:
        case ask.SetValue():
            also = tuple(_changed(change, units) for change in edit.also)
            return _changed(edit, units).model_copy(update={"also": also})
        case ask.SetBoard(field=field, value=value) if field in KINDS and value.strip():
            return edit.model_copy(update={"value": with_unit(value, KINDS[field], units, what=f"the {field}")})
        case ask.MeasuredBars(across=across, up=up):
            bars = {"across": with_unit(across, LENGTH, units), "up": with_unit(up, LENGTH, units)}
            return edit.model_copy(update=bars)
        case _:
            return edit


Change = TypeVar("Change", bound=ask.Change)


def _changed(change: Change, units: str) -> Change:
    said = field_at(change.at)
    return change if said is None else change.model_copy(update={"value": _written(change.value, said, units)})


def _written(value: Any, said: Field, units: str, called: str | None = None) -> Any:  # noqa: ANN401 - any JSON value
    """Return a value of the job with the units of its quantities, at any depth; `called` is what it is in its table."""
    if isinstance(value, Mapping | list | tuple):
        inner = {
            one.key: _written(
                value[one.key], one, units, f"the {one.key.replace('_', ' ')}" if isinstance(one.key, str) else called
            )
            for one in fields_of(value, said)
        }
        if isinstance(value, Mapping):
            return {**value, **inner}
        return [inner.get(index, one) for index, one in enumerate(value)]
    kinds = [next((mark for mark in marks if isinstance(mark, Kind)), None)
             for one, marks in alternatives(said.annotation, said.metadata) if one is not type(None)]  # fmt: skip
    kind = next((kind for kind in kinds if kind is not None and kind.name in _SHOWN), None)
    # A range may also be told as shares of the chord.
    if kind is None or isinstance(value, bool) or not isinstance(value, str | int | float) or str(value)[-1:] in "%":
        return value
    try:
        return with_unit(str(value), kind, units, what=called)
    except UnitError:
        if None in kinds:
            return value  # the schema says what else it may be, such as 'free'
        raise
