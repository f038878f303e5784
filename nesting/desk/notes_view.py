"""What every stage repaired or left open, as the JSON that the page shows."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, TypeAlias

from vectorize.basics.notes import Note
from vectorize.basics.spoken import Speech

View: TypeAlias = Any
"""Anything that goes to the page as JSON."""


def notes_view(notes: Iterable[Note]) -> list[dict[str, Any]]:
    """Return notes, open ones first, each once."""
    seen: dict[tuple[Any, ...], Note] = {}
    for note in notes:
        seen.setdefault((note.code, note.part, note.text), note)
    return [note.as_json() for note in sorted(seen.values(), key=lambda note: note.state == "fixed")]


def spoken(view: View, speech: Speech) -> View:
    """Return what the page is shown with notes and faults in the job's units; all other words stay as they are."""
    if speech.units == "mm":
        return view
    if isinstance(view, dict):
        is_note = {"code", "state", "text"} <= view.keys()
        return {key: _spoken_value(key, value, speech, is_note=is_note) for key, value in view.items()}
    return [spoken(one, speech) for one in view] if isinstance(view, list | tuple) else view


def _spoken_value(key: str, value: View, speech: Speech, *, is_note: bool) -> View:
    is_said = key.endswith("fault") or (is_note and key == "text")
    return speech.said(value) if is_said and isinstance(value, str) else spoken(value, speech)
