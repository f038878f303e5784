"""What every stage repaired or left open, as the JSON that the page shows."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from vectorize.notes import Note


def notes_view(notes: Iterable[Note]) -> list[dict[str, Any]]:
    """Return notes, open ones first, each once."""
    seen: dict[tuple[Any, ...], Note] = {}
    for note in notes:
        seen.setdefault((note.code, note.part, note.text), note)
    return [note.as_json() for note in sorted(seen.values(), key=lambda note: note.state == "fixed")]
