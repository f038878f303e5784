"""What an edit names that has no name of its own: the entry of a list, by its number and by how the page saw it.

Between the page's last look and a click somebody may have changed the job. A number alone would then mean another
entry than the one that was seen.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from nesting.job.files import digest
from vectorize.basics.errors import WriteError

ROW_NAMES = {"plan": "name", "part": "name", "item": "name", "ballast": "name", "seat": "part"}
"""Lists of tables in which each has a name of its own, and the key that it stands under."""


def name_of(key: str, entry: Any) -> Any:  # noqa: ANN401 - any value of `job.toml`
    """Return the name by which an entry of the list at `key` is told: a text of a list is its own."""
    if not isinstance(entry, Mapping):
        return entry
    return entry.get(ROW_NAMES.get(key, "name"), "plan" if key == "plan" else None)


def print_of(entry: Any) -> str:  # noqa: ANN401 - any value of `job.toml`
    """Return a short word that is another one whenever the entry is."""
    plain = entry.unwrap() if hasattr(entry, "unwrap") else entry
    return digest(json.dumps(plain, sort_keys=True, default=str).encode())[:16]


def number_of(entries: Sequence[Any], number: int, seen: str, *, what: str) -> int:
    """Return where the entry stands that was seen as number `number`, counted from 0: there, or where it moved to.

    Raises:
        WriteError: It was changed or taken away.
    """
    prints = [print_of(entry) for entry in entries]
    if 0 <= number < len(prints) and prints[number] == seen:
        return number
    if prints.count(seen) != 1:
        raise changed(what)
    return prints.index(seen)


def changed(what: str) -> WriteError:
    """Return the error that says that something is no longer what the page showed."""
    return WriteError(
        f"this {what} was changed or taken away since the page showed it; nothing was done. "
        "Look at what is there now, and repeat."
    )


def seen_view(job: Mapping[str, Any]) -> dict[str, Any]:
    """Return the prints of all entries of a job that edits name by their number, in tables as in the job itself."""
    return {**_seen(job), "printer": print_of(job.get("pattern", {}).get("printer"))}


def _seen(table: Mapping[str, Any]) -> dict[str, Any]:
    return {key: _seen_at(key, value) for key, value in table.items() if isinstance(value, Mapping | list)}


def _seen_at(key: str, value: Any) -> Any:  # noqa: ANN401 - any table or list of `job.toml`
    if isinstance(value, Mapping):
        return _seen(value)
    if key in ROW_NAMES:
        return {name_of(key, row): _seen(row) for row in value}
    return [print_of(entry) for entry in value]
