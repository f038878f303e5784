"""Edits of what a part is made by: its steps and its carving, on the text of `job.toml`."""

from __future__ import annotations

from collections.abc import Mapping, MutableMapping
from typing import Any

import tomlkit
from tomlkit.items import Array

from nesting.desk import requests as ask
from nesting.desk.step_words import STEP_WORDS
from nesting.desk.toml_tables import fill
from vectorize.errors import JobError

StepEdit = ask.PutStep | ask.DropStep | ask.MoveStep | ask.SetCarve


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
            fill(part.setdefault("carve", tomlkit.table()), edit.carve or {})
            return f"carve {edit.part}"
        case ask.PutStep(number=None):
            steps = part.setdefault("step", tomlkit.aot())
            steps.append(_filled_like(steps, edit.step))
            return f"add a step to {edit.part}: {_called(edit.step)}"
        case ask.PutStep():
            step = _steps(part)[_found(part, edit.number or 0)]
            fill(step, edit.step)
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
    fill(table, wanted)
    return table
