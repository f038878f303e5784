"""Tables of `job.toml` brought to what the page asks for, with all that stays left as the builder wrote it."""

from __future__ import annotations

from collections.abc import Mapping, MutableMapping
from typing import Any

import tomlkit
from tomlkit.items import Array, InlineTable

from vectorize.basics.errors import JobError
from vectorize.basics.units import LARGEST
from vectorize.basics.wording import shown

MOST_VALUES = 500
"""More places than any builder picks; a longer list would only hold the desk up."""


MOST_LETTERS = 2000


def append_to(holder: MutableMapping[str, Any], key: str, wanted: Any) -> None:  # noqa: ANN401 - any TOML value
    """Add an entry to the list at `key`, which is made where there is none."""
    if not isinstance(wanted, Mapping):
        holder.setdefault(key, tomlkit.array()).append(as_item(wanted))
        return
    tables = holder.setdefault(key, tomlkit.aot())
    table: MutableMapping[str, Any] = tomlkit.inline_table() if isinstance(tables, Array) else tomlkit.table()
    fill(table, wanted)
    tables.append(table)


def put_value(holder: Any, key: Any, wanted: Any) -> None:  # noqa: ANN401 - a table or a list, and any TOML value
    """Bring the value at a key, or a number of a list, to what is wanted; None takes it away.

    What is the same stays untouched, its comment with it.
    """
    if wanted is None:
        holder.pop(key, None)
    elif isinstance(holder, list) or key in holder:
        _bring(holder, key, wanted)
    elif isinstance(wanted, Mapping) and not isinstance(holder, InlineTable):
        holder[key] = tomlkit.table()
        fill(holder[key], wanted)
    else:
        holder[key] = as_item(wanted)


def fill(table: MutableMapping[str, Any], wanted: Mapping[str, Any]) -> None:
    """Bring a table to what is wanted; what is the same stays untouched, its comment with it."""
    for key in [key for key in table if key not in wanted]:
        del table[key]
    for key, value in wanted.items():
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
    """Return a JSON value as `job.toml` may hold it; numbers of lists to the hundredth of a pixel.

    Raises:
        JobError: It is longer, larger, or nested deeper than any value of a job.
    """
    if depth > 4:
        raise JobError("the value is nested too deep; expected a text, a number, a place or a list of them.")
    if isinstance(value, Mapping):
        return {str(key): as_toml(one, depth=depth + 1) for key, one in value.items() if one is not None}
    if isinstance(value, list | tuple):
        if len(value) > MOST_VALUES:
            raise JobError(f"a list of {len(value)} values is too long; give at most {MOST_VALUES}.")
        items = (as_toml(one, depth=depth + 1) for one in value if one is not None)
        return [round(one, 2) if isinstance(one, float) else one for one in items]
    if isinstance(value, str) and len(value) > MOST_LETTERS:
        raise JobError(f"a text of {len(value)} letters is too long; give at most {MOST_LETTERS}.")
    if isinstance(value, int | float) and not abs(value) <= LARGEST:
        raise JobError(f"the number is {shown(value)}; expected one of at most {LARGEST:g}.")
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
