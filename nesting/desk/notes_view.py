"""What every stage repaired or left open, as the JSON that the page shows, and all sentences in the job's units."""

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


_SENTENCES = frozenset({"fault", "rack_fault", "faults", "reason", "objection", "problem", "for", "why", "advice"})
"""Keys whose texts, or lists of texts, are sentences that a stage made."""
_KINDS_OF_TEXT = ({"code", "state", "text"}, {"what", "gain", "text"}, {"ballast_g", "flying_mass_g", "text"})
"""Keys of a note, a binding and a fix; the `text` of a mark, a step or a blemish is what the builder wrote."""


def spoken(view: View, speech: Speech) -> View:
    """Return what the page is shown with every sentence in the job's units; the builder's words stay as they are."""
    if speech.units == "mm":
        return view
    if isinstance(view, dict):
        is_text_said = any(kind <= view.keys() for kind in _KINDS_OF_TEXT)
        said = {key for key in view if key in _SENTENCES or (key == "text" and is_text_said)}
        return {key: _said(value, speech) if key in said else spoken(value, speech) for key, value in view.items()}
    return [spoken(one, speech) for one in view] if isinstance(view, list | tuple) else view


def _said(value: View, speech: Speech) -> View:
    if isinstance(value, list | tuple):
        return [_said(one, speech) for one in value]
    return speech.said(value) if isinstance(value, str) else spoken(value, speech)
