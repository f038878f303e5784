"""Tables of `job.toml` brought to what the page asks for, with all that stays left as the builder wrote it."""

from __future__ import annotations

from collections.abc import Mapping, MutableMapping, Sequence
from typing import Any

import tomlkit
from tomlkit.items import Array

from nesting.desk.seen import number_of
from vectorize.basics.errors import JobError

MOST_VALUES = 500
"""More places than any builder picks; a longer list would only hold the desk up."""


def put_in_list(
    holder: MutableMapping[str, Any], key: str, number: int | None, seen: str | None, wanted: Mapping[str, Any]
) -> None:
    """Bring the table that was seen as number `number` of the list at `key` to what is wanted; None adds one.

    Raises:
        WriteError: The table is not as it was seen.
        JobError: As `fill`.
    """
    if number is not None:
        index = number_in(holder, key, number, seen)
        fill(holder[key][index], wanted)
        return
    tables = holder.setdefault(key, tomlkit.aot())
    table: MutableMapping[str, Any] = tomlkit.inline_table() if isinstance(tables, Array) else tomlkit.table()
    fill(table, wanted)
    tables.append(table)


def drop_from_list(holder: MutableMapping[str, Any], key: str, number: int, seen: str) -> Any:  # noqa: ANN401 - any value
    """Take the entry that was seen as number `number` out of the list at `key`, the list with the last one; return it.

    Raises:
        WriteError: The entry is not as it was seen.
    """
    index = number_in(holder, key, number, seen)
    entry = holder[key][index]
    del holder[key][index]
    if not holder[key]:
        del holder[key]
    return entry


def number_in(holder: Mapping[str, Any], key: str, number: int, seen: str | None) -> int:
    """Return where the entry of the list at `key` stands that was seen as number `number`; raises as `number_of`."""
    return number_of(holder.get(key, []), number, seen or "", what=_WORDS.get(key, key))


_WORDS = {
    "known": "known dimension", "bridge": "closed gap", "weighed": "reading", "pick": "region", "cutout": "cut-out",
    "mark": "line for the builder", "joint": "glued joint", "blade": "saw blade",
}  # fmt: skip


def put_value(holder: MutableMapping[str, Any], key: str, value: Any) -> None:  # noqa: ANN401 - any JSON value
    """Bring the value at `key` to what is wanted, as `fill` does; an empty one is taken away."""
    wanted = as_toml(value)
    if not wanted:
        holder.pop(key, None)
    elif key in holder:
        _bring(holder, key, wanted)
    else:
        holder[key] = as_item(wanted)


def fill(table: MutableMapping[str, Any], wanted: Mapping[str, Any]) -> None:
    """Bring a table to what is wanted; what is the same stays untouched, its comment with it.

    Raises:
        JobError: A list is too long, or nested deeper than any value of a job.
    """
    given = {key: as_toml(value) for key, value in wanted.items() if value is not None}
    for key in [key for key in table if key not in given]:
        del table[key]
    for key, value in given.items():
        if key in table:
            _bring(table, key, value)
        else:
            table[key] = as_item(value)


def _bring(holder: Any, key: Any, value: Any) -> None:  # noqa: ANN401 - a table or an array
    """Bring what a table or a list holds to a value: of a table, and of a list as long, only what differs."""
    old = holder[key]
    if _unwrapped(old) == value:
        return
    if isinstance(old, MutableMapping) and isinstance(value, Mapping):
        fill(old, value)
    elif isinstance(old, list) and isinstance(value, list) and len(old) == len(value):
        for index, one in enumerate(value):
            _bring(old, index, one)
    else:
        holder[key] = as_item(value)


def _unwrapped(value: Any) -> Any:  # noqa: ANN401 - any TOML value
    return value.unwrap() if hasattr(value, "unwrap") else value


def as_toml(value: Any, *, depth: int = 0) -> Any:  # noqa: ANN401 - any JSON value
    """Return a JSON value as a table of `job.toml` may hold it; numbers to the hundredth of a pixel.

    Raises:
        JobError: It is nested deeper than any value of a step.
    """
    if depth > 4:
        raise JobError("a value of the step is nested too deep; expected a text, a number, a place or a list of them.")
    if isinstance(value, Mapping):
        return {str(key): as_toml(one, depth=depth + 1) for key, one in value.items() if one is not None}
    if isinstance(value, Sequence) and not isinstance(value, str):
        if len(value) > MOST_VALUES:
            raise JobError(f"a list of {len(value)} values is too long for a step; give at most {MOST_VALUES}.")
        point = [round(one, 2) if isinstance(one, float) else one for one in value]
        return [as_toml(one, depth=depth + 1) for one in point if one is not None]
    return value


def as_item(value: Any) -> Any:  # noqa: ANN401 - any TOML value
    """Return a value as it is written into the file: tables in a list stand on lines of their own."""
    if isinstance(value, Mapping):
        inline = tomlkit.inline_table()
        inline.update({key: as_item(one) for key, one in value.items()})
        return inline
    if isinstance(value, list):
        array = tomlkit.array()
        array.extend([as_item(one) for one in value])
        return array.multiline(any(isinstance(one, Mapping) for one in value))
    return value
