"""Edits of `[balance]`: datum, range, the place of each part, equipment, places for ballast, alternatives."""

from __future__ import annotations

from collections.abc import MutableMapping
from typing import Any

import tomlkit

from nesting.desk import requests as ask
from nesting.desk.toml_tables import fill
from vectorize.basics.errors import JobError

BalanceEdit = (
    ask.SetRange | ask.SetBalance | ask.SetChord | ask.SetInPlace
    | ask.SetSeat | ask.PutItem | ask.PutAlternative | ask.DropItem
)  # fmt: skip

_WORDS = {"item": "equipment", "ballast": "ballast place", "alternative": "alternative"}
_PLACES = ("station", "at", "anchor")


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
        case ask.SetBalance(value=None):
            balance.pop(edit.field, None)
            return f"take the {edit.field} of the balance away"
        case ask.SetBalance(value=value):
            balance[edit.field] = _plain(value)
            return f"set the {edit.field} of the balance"
        case ask.SetChord(length=None, sections=None):
            balance.pop("chord", None)
            return "take the mean chord away"
        case ask.SetChord():
            fill(balance.setdefault("chord", tomlkit.table()), edit.model_dump(exclude={"kind"}))
            return "set the sections of the wing" if edit.sections else "set the mean chord"
        case ask.SetInPlace():
            return _set_in_place(balance, edit)
        case ask.SetSeat(station=None, anchor=None, at=None):
            _drop(balance, "seat", "part", edit.part)
            return f"take the place of {edit.part} away"
        case ask.SetSeat():
            return _seat(balance, edit)
        case ask.PutItem():
            mass = {"item": "mass", "ballast": "most"}[edit.table]
            entry = {"name": edit.name, mass: edit.mass, "station": edit.station, "at": _plain(edit.at)}
            entry |= {"lateral": edit.lateral, "depth": edit.depth, "fuel": edit.fuel}
            _put(balance, edit.table, ("name",), entry)
            return f"set the {_WORDS[edit.table]} {edit.name}"
        case ask.PutAlternative():
            entry = {key: getattr(edit, key) for key in ("name", "item", "mass", "station", "lateral")}
            _put(balance, "alternative", ("name", "item"), entry)
            return f"set the alternative {edit.name}"
        case ask.DropItem():
            _drop(balance, edit.table, "name", edit.name)
            return f"remove the {_WORDS[edit.table]} {edit.name}"


def _plain(value: Any) -> Any:  # noqa: ANN401 - any TOML value
    """Return a point as pixels to the hundredth, a pair of texts as a list."""
    if isinstance(value, tuple):
        return [one if isinstance(one, str) else round(one, 2) for one in value]
    return value


def _set_in_place(balance: MutableMapping[str, Any], edit: ask.SetInPlace) -> str:
    names = [str(name) for name in balance.get("in_place", ()) if name != edit.part]
    if edit.is_in_place:
        names.append(edit.part)
        # Drawn in place and brought to another place would contradict each other.
        if any(seat.get("part") == edit.part for seat in balance.get("seat", ())):
            _drop(balance, "seat", "part", edit.part)
    if names:
        balance["in_place"] = names
    else:
        balance.pop("in_place", None)
    return f"{edit.part} {'is' if edit.is_in_place else 'is not'} drawn in its place"


def _seat(balance: MutableMapping[str, Any], edit: ask.SetSeat) -> str:
    if edit.part in balance.get("in_place", ()):
        _set_in_place(balance, ask.SetInPlace(kind="set-in-place", part=edit.part, is_in_place=False))
    entry: dict[str, Any] = {"part": edit.part, "station": edit.station}
    entry |= {"anchor": _plain(edit.anchor), "at": _plain(edit.at)}
    entry |= {"angle": edit.angle, "lateral": edit.lateral, "from_above": edit.from_above or None}
    _put(balance, "seat", ("part",), entry, is_whole=edit.station is None)
    return f"set the {'station' if edit.station is not None else 'place'} of {edit.part}"


def _put(
    balance: MutableMapping[str, Any],
    table: str,
    keys: tuple[str, ...],
    entry: dict[str, Any],
    *,
    is_whole: bool = False,
) -> None:
    """Replace the entry of that name, or add one; what else an entry that is there says is kept unless `is_whole`."""
    if table not in balance:
        balance[table] = tomlkit.aot()
    entries: Any = balance[table]
    found = next((one for one in entries if all(one.get(key) == entry[key] for key in keys)), None)
    if found is None:
        found = tomlkit.table()
        entries.append(found)
        found = entries[-1]
    for name, value in entry.items():
        if value is not None:
            found[name] = value
    given = {name for name in _PLACES if entry.get(name) is not None}
    for name, value in entry.items():
        # A place on the drawing would contradict a station, and the reverse.
        if value is None and ((given and name in _PLACES) or is_whole):
            found.pop(name, None)
    if "station" in given:
        found.pop("at", None)
        found.pop("anchor", None)


def _drop(balance: MutableMapping[str, Any], table: str, key: str, name: str) -> None:
    entries: Any = balance.get(table, [])
    gone = [index for index, entry in enumerate(entries) if entry.get(key) == name]
    if not gone:
        raise JobError(f"{name!r} is not there any more. Reload the page.")
    for index in reversed(gone):
        del entries[index]
    if not entries:
        balance.pop(table, None)
