"""Edits of what a part is made by: its steps and its carving, on the text of `job.toml`."""

from __future__ import annotations

from collections.abc import Mapping, MutableMapping, Sequence
from typing import Any

import tomlkit
from tomlkit.items import Array

from nesting.desk import requests as ask
from nesting.desk.step_words import STEP_WORDS
from vectorize.errors import JobError

StepEdit = ask.PutStep | ask.DropStep | ask.MoveStep | ask.SetCarve

MOST_VALUES = 500
"""More places than any builder picks; a longer list would only hold the desk up."""


def edit_steps(part: MutableMapping[str, Any], edit: StepEdit) -> str:
    """Apply `edit` to a `[[part]]` and return what a builder would call it.

    What the tables may hold is the job's schema's to say; comments beside what stays are kept.

    Raises:
        JobError: The step is not there.
    """
    match edit:
        case ask.SetCarve(carve=None):
            part.pop("carve", None)
            return f"leave {edit.part} uncarved"
        case ask.SetCarve():
            _fill(part.setdefault("carve", tomlkit.table()), edit.carve or {})
            return f"carve {edit.part}"
        case ask.PutStep(number=None):
            steps = part.setdefault("step", tomlkit.aot())
            steps.append(_filled_like(steps, edit.step))
            return f"add a step to {edit.part}: {_called(edit.step)}"
        case ask.PutStep():
            step = _steps(part)[_found(part, edit.number or 0)]
            _fill(step, edit.step)
            return f"change a step of {edit.part}: {_called(step)}"
        case ask.DropStep():
            steps = _steps(part)
            title = f"take a step from {edit.part}: {_called(steps[_found(part, edit.number)])}"
            del steps[edit.number]
            if not steps:
                del part["step"]
            return title
        case ask.MoveStep():
            steps = _steps(part)
            number, to = _found(part, edit.number), _found(part, edit.to)
            step = steps[number]
            del steps[number]
            steps.insert(to, step)
            return f"move a step of {edit.part}: {_called(step)}"


def _steps(part: Mapping[str, Any]) -> Any:  # noqa: ANN401 - an array of tables, or of inline ones
    return part.get("step", [])


def _found(part: Mapping[str, Any], number: int) -> int:
    if not 0 <= number < len(_steps(part)):
        raise JobError("that step is not there any more. Reload the page.")
    return number


def _called(step: Mapping[str, Any]) -> str:
    make = str(step.get("make"))
    return STEP_WORDS[make].title.lower() if make in STEP_WORDS else make


def _filled_like(steps: object, wanted: Mapping[str, Any]) -> MutableMapping[str, Any]:
    table: MutableMapping[str, Any] = tomlkit.inline_table() if isinstance(steps, Array) else tomlkit.table()
    _fill(table, wanted)
    return table


def _fill(table: MutableMapping[str, Any], wanted: Mapping[str, Any]) -> None:
    """Bring a table to what is wanted; what is the same stays untouched, its comment with it."""
    given = {key: as_toml(value) for key, value in wanted.items() if value is not None}
    for key in [key for key in table if key not in given]:
        del table[key]
    for key, value in given.items():
        if key not in table or _unwrapped(table[key]) != value:
            table[key] = _item(value)


def _unwrapped(value: Any) -> Any:  # noqa: ANN401 - any TOML value
    return value.unwrap() if hasattr(value, "unwrap") else value


def as_toml(value: Any, *, depth: int = 0) -> Any:  # noqa: ANN401 - any JSON value
    """Return a JSON value as a table of `job.toml` may hold it; numbers to the hundredth of a pixel.

    Raises:
        JobError: It is nested deeper than any value of a step.
    """
    if depth > 4:
        raise JobError("a value of the step is nested too deep; expected a text, a number, a place or a list of them.")
    if isinstance(value, Mapping):
        return {str(key): as_toml(one, depth=depth + 1) for key, one in value.items() if one is not None}
    if isinstance(value, Sequence) and not isinstance(value, str):
        if len(value) > MOST_VALUES:
            raise JobError(f"a list of {len(value)} values is too long for a step; give at most {MOST_VALUES}.")
        point = [round(one, 2) if isinstance(one, float) else one for one in value]
        return [as_toml(one, depth=depth + 1) for one in point if one is not None]
    return value


def _item(value: Any) -> Any:  # noqa: ANN401 - any TOML value
    if isinstance(value, Mapping):
        inline = tomlkit.inline_table()
        inline.update({key: _item(one) for key, one in value.items()})
        return inline
    if isinstance(value, list):
        array = tomlkit.array()
        array.extend([_item(one) for one in value])
        return array
    return value
