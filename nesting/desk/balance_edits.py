"""Edits of `[balance]`: the range, the station of each part, equipment and places for ballast."""

from __future__ import annotations

from collections.abc import MutableMapping
from typing import Any

import tomlkit

from nesting.desk import requests as ask
from vectorize.errors import JobError

BalanceEdit = ask.SetRange | ask.SetSeat | ask.PutItem | ask.DropItem

_WORDS = {"item": "equipment", "ballast": "ballast place"}


def edit_balance(balance: MutableMapping[str, Any], edit: BalanceEdit) -> str:
    """Apply `edit` to the table and return what a builder would call it.

    Raises:
        JobError: It speaks of an entry that is not there.
    """
    match edit:
        case ask.SetRange(ends=None):
            balance.pop("range", None)
            return "take the balance range away"
        case ask.SetRange(ends=ends):
            balance["range"] = list(ends or ())
            return "set the balance range"
        case ask.SetSeat(station=None):
            _drop(balance, "seat", "part", edit.part)
            return f"take the station of {edit.part} away"
        case ask.SetSeat(station=station):
            _put(balance, "seat", "part", {"part": edit.part, "station": station})
            return f"set the station of {edit.part}"
        case ask.PutItem():
            mass = {"item": "mass", "ballast": "most"}[edit.table]
            entry = {"name": edit.name, mass: edit.mass, "station": edit.station}
            _put(balance, edit.table, "name", entry)
            return f"set the {_WORDS[edit.table]} {edit.name}"
        case ask.DropItem():
            _drop(balance, edit.table, "name", edit.name)
            return f"remove the {_WORDS[edit.table]} {edit.name}"


def _put(balance: MutableMapping[str, Any], table: str, key: str, entry: dict[str, Any]) -> None:
    """Replace the entry of that name, or add one; what else an entry that is there says is kept."""
    if table not in balance:
        balance[table] = tomlkit.aot()
    entries: Any = balance[table]
    found = next((one for one in entries if one.get(key) == entry[key]), None)
    if found is None:
        found = tomlkit.table()
        entries.append(found)
        found = entries[-1]
    for name, value in entry.items():
        if value is not None:
            found[name] = value
    if "station" in entry:
        # A place on the drawing would contradict the station.
        for name in ("at", "anchor"):
            found.pop(name, None)


def _drop(balance: MutableMapping[str, Any], table: str, key: str, name: str) -> None:
    entries: Any = balance.get(table, [])
    for index, entry in enumerate(entries):
        if entry.get(key) == name:
            del entries[index]
            if not entries:
                balance.pop(table, None)
            return
    raise JobError(f"{name!r} is not there any more. Reload the page.")
