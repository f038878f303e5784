"""Edits of `job.toml`, made on its text so that comments and order survive.

Where a value stands is told by a path; what it may be, the schema says when the whole job is read again.
"""

from __future__ import annotations

from collections.abc import Mapping, MutableMapping, Sequence
from dataclasses import dataclass
from typing import Any

import tomlkit

from nesting.desk import requests as ask
from nesting.desk.edit_words import move_title, row_word, title_of, title_of_new
from nesting.desk.seen import ROW_NAMES, changed, name_of, number_of, print_of
from nesting.desk.sheet_corners import round_the_sheet
from nesting.desk.toml_tables import append_to, as_toml, put_value
from nesting.job.schema_walk import field_at
from vectorize.basics.errors import CallError, JobError
from vectorize.basics.units import parse_length
from vectorize.basics.wording import shown

Path = tuple[str | int | None, ...]


@dataclass(frozen=True, slots=True)
class _Spot:
    """Where a value stands: the table or list that holds it, and its key or number there (None: a new entry).

    `list_in` is the table that holds the list, and the list's key there; None for a value of a table.
    """

    holder: Any
    key: Any
    list_in: tuple[Any, Any] | None = None

    @property
    def now(self) -> Any:  # noqa: ANN401 - any TOML value
        """Return what stands there now, None where nothing does."""
        if isinstance(self.holder, MutableMapping):
            return self.holder.get(self.key)
        return None if self.key is None else self.holder[self.key]


def edit_job(document: MutableMapping[str, Any], edit: ask.SetValue | ask.MoveRow) -> str:
    """Apply `edit` to the document and return what a builder would call it.

    Raises:
        JobError: It speaks of a part, plan or other entry that is not there, or gives what no value of a job is.
        WriteError: What it speaks of is not as the page saw it.
        CallError: A path that leads nowhere.
    """
    if isinstance(edit, ask.MoveRow):
        return _move(document, edit)
    now = _spot(document, edit.at, edit.seen).now if edit.value is None else None
    for change in (edit, *edit.also):
        _change(document, change)
    return title_of_new([change.at for change in (edit, *edit.also)]) or title_of(edit.at, edit.value, now)


def remeasure(document: MutableMapping[str, Any], edit: ask.MeasuredBars) -> str:
    """Correct the printer by a print that was drawn with the correction that holds now, and return the title.

    Raises:
        WriteError: Another correction holds than the page saw.
    """
    pattern: Any = document.setdefault("pattern", tomlkit.table())
    if print_of(pattern.get("printer")) != edit.seen:
        raise changed("correction of the printer")
    used = [parse_length(str(bar), what="[pattern] printer") for bar in pattern.get("printer", ("100 mm", "100 mm"))]
    across, up = parse_length(edit.across, what="the bar across"), parse_length(edit.up, what="the bar up")
    bars = remeasured_bars_mm((used[0], used[1]), (across, up), bar_mm=parse_length(edit.bar))
    pattern["printer"] = [f"{bar:.2f} mm" for bar in bars]
    return "correct the printer"


def remeasured_bars_mm(
    used_mm: tuple[float, float], measured_mm: tuple[float, float], *, bar_mm: float
) -> tuple[float, float]:
    """Return the new correction after a print, corrected with `used_mm`, on which a bar of `bar_mm` was measured."""
    return used_mm[0] * measured_mm[0] / bar_mm, used_mm[1] * measured_mm[1] / bar_mm


def _change(document: MutableMapping[str, Any], change: ask.Change) -> None:
    wanted = _wanted(change)
    spot = _spot(document, change.at, change.seen)
    if spot.list_in is None or (wanted is not None and spot.key is not None):
        put_value(spot.holder, spot.key, wanted)
    elif wanted is not None:
        append_to(*spot.list_in, wanted)
    elif spot.key is not None:
        _drop(spot)
    else:
        raise _nowhere(change.at)


def _drop(spot: _Spot) -> None:
    """Take an entry out of its list, the list with the last one."""
    del spot.holder[spot.key]
    if not spot.holder and spot.list_in is not None:
        holder, key = spot.list_in
        del holder[key]


def _move(document: MutableMapping[str, Any], edit: ask.MoveRow) -> str:
    spot = _spot(document, edit.at, edit.seen)
    # An order is what it was only while both entries stand where they stood.
    if spot.list_in is None or spot.key != edit.at[-1]:
        raise changed("order")
    if number_of(spot.holder, edit.to, edit.past, what="order") != edit.to:
        raise changed("order")
    row = spot.holder.pop(spot.key)
    spot.holder.insert(edit.to, row)
    return move_title(edit.at, row)


def _wanted(change: ask.Change) -> Any:  # noqa: ANN401 - any TOML value
    """Return the value as TOML takes it; None where an empty one says no more than none."""
    value, keys = as_toml(change.value), tuple(step for step in change.at[::2])
    if isinstance(value, Mapping):
        return {key: one for key, one in value.items() if one not in ("", [])}
    said = field_at(change.at)
    if value == "" or (value == [] and said is not None and said.default == ()):
        value = None
    if keys == ("part", "from") and value is None:
        raise JobError(f"{change.at[1]} is made from another part; say from which.")
    if keys == ("plan", "corners") and _are_corners(value):
        return as_toml(round_the_sheet(value))
    return value


def _are_corners(value: Any) -> bool:  # noqa: ANN401 - any TOML value
    return isinstance(value, list) and len(value) == 4 and all(_is_point(one) for one in value)


def _is_point(value: Any) -> bool:  # noqa: ANN401 - any TOML value
    return isinstance(value, list) and len(value) == 2 and all(type(one) in (int, float) for one in value)


def _spot(document: MutableMapping[str, Any], at: Path, seen: str | None) -> _Spot:
    """Return where a path leads; a section on the way that is not there yet is made."""
    spot = _Spot(document, at[0])
    if not isinstance(at[0], str):
        raise _nowhere(at)
    for step in at[1:]:
        here = spot.now
        if here is None and isinstance(step, str) and spot.key not in (*ROW_NAMES, None):
            spot.holder[spot.key] = tomlkit.table()
            here = spot.holder[spot.key]
        if isinstance(here, MutableMapping) and isinstance(step, str):
            spot = _Spot(here, step)
        elif (here is None or isinstance(here, list)) and isinstance(spot.key, str):
            spot = _Spot(here, _index(here or [], spot.key, step, seen), (spot.holder, spot.key))
        else:
            raise _nowhere(at)
    return spot


def _index(entries: Sequence[Any], key: str, step: str | int | None, seen: str | None) -> int | None:
    if step is None:
        return None
    if isinstance(step, int):
        return number_of(entries, step, seen or "", what=row_word(key))
    for index, entry in enumerate(entries):
        if name_of(key, entry) == step:
            return index
    raise JobError(f"there is no {row_word(key)} {step!r}; it was renamed or taken away. Reload the page.")


def place_in(document: Mapping[str, Any], at: Path) -> tuple[str | int, ...]:
    """Return where a path leads in the document, entries by their number; as far as it leads anywhere."""
    here: Any = document
    place: list[str | int] = []
    key: str | int | None
    for step in at:
        if isinstance(here, list):
            named = (k for k, entry in enumerate(here) if name_of(str(place[-1]), entry) == step)
            number = next(named, None) if isinstance(step, str) else len(here) - 1 if step is None else step
            key = None if number is None or number >= len(here) else number
        else:
            key = step if isinstance(here, Mapping) and step in here else None
        if key is None:
            break
        place.append(key)
        here = here[key]
    return tuple(place)


def _nowhere(at: Path) -> CallError:
    return CallError(f"the path {shown(list(at))} leads to no value of a job.")
