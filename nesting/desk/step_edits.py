"""Edits of what a part is made by: its steps and its carving, on the text of `job.toml`."""

from __future__ import annotations

from collections.abc import Mapping, MutableMapping
from typing import Any

import tomlkit

from nesting.desk import requests as ask
from nesting.desk.seen import changed
from nesting.desk.step_words import STEP_WORDS
from nesting.desk.toml_tables import drop_from_list, fill, number_in, put_in_list

StepEdit = ask.PutStep | ask.DropStep | ask.MoveStep | ask.SetCarve


def edit_steps(part: MutableMapping[str, Any], edit: StepEdit) -> str:
    """Apply `edit` to a `[[part]]` and return what a builder would call it.

    What the tables may hold is the job's schema's to say; comments beside what stays are kept.

    Raises:
        WriteError: The step is not as the page saw it.
    """
    match edit:
        case ask.SetCarve(carve=None):
            part.pop("carve", None)
            return f"leave {edit.part} uncarved"
        case ask.SetCarve():
            fill(part.setdefault("carve", tomlkit.table()), edit.carve or {})
            return f"carve {edit.part}"
        case ask.PutStep(number=None):
            put_in_list(part, "step", None, None, edit.step)
            return f"add a step to {edit.part}: {_called(edit.step)}"
        case ask.PutStep():
            put_in_list(part, "step", edit.number, edit.seen, edit.step)
            return f"change a step of {edit.part}: {_called(edit.step)}"
        case ask.DropStep():
            return f"take a step from {edit.part}: {_called(drop_from_list(part, 'step', edit.number, edit.seen))}"
        case ask.MoveStep():
            order = [(edit.number, edit.seen), (edit.to, edit.past)]
            # An order is what it was only while both steps stand where they stood.
            if any(number_in(part, "step", number, seen) != number for number, seen in order):
                raise changed("order of steps")
            step = part["step"].pop(edit.number)
            part["step"].insert(edit.to, step)
            return f"move a step of {edit.part}: {_called(step)}"


def _called(step: Mapping[str, Any]) -> str:
    make = str(step.get("make"))
    return STEP_WORDS[make].title.lower() if make in STEP_WORDS else make
