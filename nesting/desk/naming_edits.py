"""Edits that rename or take away what the rest of the job speaks of: parts, plans, boards, equipment."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

import tomlkit

from nesting.job.deriving import owner_of
from nesting.job.references import Call, call_anew
from nesting.wood.names import Kind
from vectorize.basics.errors import JobError


def renamed(old: str, new: str | None) -> Call:
    """Return what makes one name another, or None where it is gone."""
    return lambda name: new if name == old else name


def renamed_part(old: str, new: str | None, parts: Collection[str]) -> Call:
    """Return what makes the name of one of `parts` another, and so those of its pieces: planks, sides, layers."""

    def call(name: str) -> str | None:
        if name != old and owner_of(name, parts) != old:
            return name
        return None if new is None else new + name[len(old) :]

    return call


def names_of_parts(document: tomlkit.TOMLDocument) -> list[str]:
    """Return the names of the parts of a job's document."""
    return [str(table.get("name")) for table in document.get("part", ())]


def drop_part(document: tomlkit.TOMLDocument, name: str) -> tuple[list[str], list[str]]:
    """Take a part out, with all that speaks of it; return the parts that went and, in words, what else did.

    Parts that are made from it cannot be without it, so they go as well.

    Raises:
        JobError: There is no such part.
    """
    parts: Any = document.get("part", ())
    names = names_of_parts(document)
    if name not in names:
        raise JobError(f"there is no part {name!r}; it was renamed or removed. Reload the page.")
    del parts[names.index(name)]
    gone, lost, next_gone = [name], [], [name]
    while next_gone:
        were = names_of_parts(document)
        for one in next_gone:
            lost += call_anew(document, "part", renamed_part(one, None, names))
        next_gone = [one for one in were if one not in names_of_parts(document)]
        gone += next_gone
    return gone, list(dict.fromkeys(lost))


def called_in_job(text: str | None, kind: Kind, old: str, new: str | None) -> tuple[str | None, list[str]]:
    """Return the text of a job in which something has another name, or is gone, and what went with it."""
    if text is None:
        return None, []
    document = tomlkit.parse(text.lstrip("\ufeff"))
    lost = call_anew(document, kind, renamed(old, new))
    return tomlkit.dumps(document), lost


def told_gone(what: str, lost: Sequence[str]) -> str:
    """Return the sentence that tells what went with something; empty where nothing did."""
    if not lost:
        return ""
    rest = f"{', '.join(lost[:-1])} and {lost[-1]}" if len(lost) > 1 else lost[0]
    return f"{what} is gone, and with it {rest}. Undo brings all of it back."
