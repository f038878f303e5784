"""What a builder leaves out of what a plan says, kept beside the history so that undo brings it back."""

from __future__ import annotations

import json
from pathlib import Path

from nesting.desk import requests as ask
from nesting.desk.history import DESK_FOLDER, Step, read_texts
from vectorize.basics.errors import WriteError

LEFT_OUT_NAME = f"{DESK_FOLDER}/left-out.json"


def left_out_of(folder: Path, key: str) -> list[str]:
    """Return what is left out of the reading of a plan, by its key: `scale`, and parts by their numbers."""
    try:
        return _read(read_texts(folder, (LEFT_OUT_NAME,))[LEFT_OUT_NAME]).get(key, [])
    except WriteError:
        return []


def left_out_step(edit: ask.LeaveOut, folder: Path) -> Step:
    """Return the step that leaves something out of a reading, or takes it in again.

    Raises:
        WriteError: The file that says so holds no text.
    """
    before = read_texts(folder, (LEFT_OUT_NAME,))
    kept = _read(before[LEFT_OUT_NAME])
    items = [item for item in kept.get(edit.key, []) if item not in edit.items]
    kept[edit.key] = [*items, *edit.items] if edit.is_left else items
    after: dict[str, str | None] = {LEFT_OUT_NAME: json.dumps(kept, ensure_ascii=False)}
    verb = "leave out" if edit.is_left else "take up again"
    what = edit.called if len(edit.items) == 1 else f"{len(edit.items)} readings"
    return Step(f"{verb} {what}", before, after)


def _read(text: str | None) -> dict[str, list[str]]:
    """Return what the file holds; damaged, it holds nothing: all that was left out is offered again."""
    try:
        found = json.loads(text or "{}")
    except (ValueError, RecursionError):
        return {}
    if not isinstance(found, dict):
        return {}
    return {str(key): [str(item) for item in items] for key, items in found.items() if isinstance(items, list)}
