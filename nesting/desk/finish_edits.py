"""Edits of `[[finish]]` and `[[joint]]`: covering, paint and glue."""

from __future__ import annotations

from collections.abc import MutableMapping
from typing import Any

from nesting.desk import requests as ask
from nesting.desk.toml_tables import drop_from_list, put_in_list

FinishEdit = ask.PutFinish | ask.DropFinish | ask.PutJoint | ask.DropJoint


def edit_finish(document: MutableMapping[str, Any], edit: FinishEdit) -> str:
    """Apply `edit` to the document and return what a builder would call it.

    Raises:
        WriteError: It speaks of an entry that is not as the page saw it.
    """
    match edit:
        case ask.PutFinish():
            wanted = edit.model_dump(exclude={"kind", "number", "seen"})
            put_in_list(
                document, "finish", edit.number, edit.seen, {key: value or None for key, value in wanted.items()}
            )
            return f"set the finish of {' and '.join(edit.parts)}"
        case ask.DropFinish():
            drop_from_list(document, "finish", edit.number, edit.seen)
            return "take a finish away"
        case ask.PutJoint():
            put_in_list(document, "joint", edit.number, edit.seen, edit.model_dump(exclude={"kind", "number", "seen"}))
            return f"set the glued joint {edit.name}"
        case ask.DropJoint():
            drop_from_list(document, "joint", edit.number, edit.seen)
            return "take a glued joint away"
