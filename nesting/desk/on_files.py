"""Places that an edit speaks of: which plan each lies on, and the same edit with them as pixels of the plan's files.

The page shows a sheet that was joined from several scans as one picture; what is kept in `job.toml` are pixels
of the scans themselves, each with its file's number. The schema tells which values are places.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from nesting.desk import requests as ask
from nesting.desk.fields import Place
from nesting.job.deriving import root_of
from nesting.job.schema import JobSpec
from nesting.job.schema_walk import Field, alternatives, field_at, fields_of
from vectorize.basics.errors import JobError
from vectorize.basics.quantity import OnPlan

Spot = tuple[int, *tuple[str | int, ...]]
"""Which change of an edit a place belongs to, and where it stands in the value: keys, and numbers in lists."""


class Located(NamedTuple):
    """A place of an edit, and the number of the plan that it lies on."""

    plan: int
    place: Place


def places_of(edit: ask.AnyEdit, spec: JobSpec) -> dict[Spot, Located]:
    """Return every place of a plan that an edit speaks of."""
    found = {}
    for number, change in enumerate((edit, *edit.also) if isinstance(edit, ask.SetValue) else ()):
        said = field_at(change.at)
        for spot, place in _places(change.value, said, ()) if said is not None else ():
            plan = _plan_of(change, spot, spec)
            if plan is not None:
                found[number, *spot] = Located(plan, place)
    return found


def with_places(edit: ask.SetValue, places: Mapping[Spot, Sequence[float]]) -> ask.SetValue:
    """Return an edit with other places, each a pixel of a file and the file's number."""
    given = {spot: [place[0], place[1], *map(int, place[2:])] for spot, place in places.items()}
    values = [
        _replaced(change.value, {spot[1:]: place for spot, place in given.items() if spot[0] == number})
        for number, change in enumerate((edit, *edit.also))
    ]
    also = [one.model_copy(update={"value": value}) for one, value in zip(edit.also, values[1:], strict=True)]
    return edit.model_copy(update={"value": values[0], "also": tuple(also)})


def _places(value: Any, said: Field, spot: tuple[Any, ...]) -> Iterator[tuple[tuple[Any, ...], Place]]:  # noqa: ANN401 - any JSON value
    """Give every place within a value that does not say which file it is on, and where it stands there."""
    marks = [mark for _, metadata in alternatives(said.annotation, said.metadata) for mark in metadata]
    if any(isinstance(mark, OnPlan) for mark in marks) and _is_place(value):
        yield spot, (value[0], value[1])
    elif isinstance(value, Mapping | list):
        for inner in fields_of(value, said):
            yield from _places(value[inner.key], inner, (*spot, inner.key))


def _is_place(value: Any) -> bool:  # noqa: ANN401 - whatever was sent
    return isinstance(value, list) and len(value) == 2 and all(type(one) in (int, float) for one in value)


def _replaced(value: Any, given: Mapping[tuple[Any, ...], Any]) -> Any:  # noqa: ANN401 - any JSON value
    if () in given:
        return given[()]
    inner = {key: {spot[1:]: place for spot, place in given.items() if spot[0] == key} for key, *_ in given}
    if isinstance(value, Mapping):
        return {key: _replaced(one, inner.get(key, {})) for key, one in value.items()}
    return [_replaced(one, inner.get(k, {})) for k, one in enumerate(value)] if isinstance(value, list) else value


def _plan_of(change: ask.Change, spot: tuple[Any, ...], spec: JobSpec) -> int | None:
    """Return the number of the plan that a place of a change lies on; None where nothing tells."""
    names = [plan.name for plan in spec.plan]
    row = change.value if isinstance(change.value, Mapping) else {}
    match (*change.at, *spot):
        case ("plan", name, *_):
            said = name
        case ("part", None, *_):
            said = row.get("plan")
        case ("part", name, *_):
            said = _plan_of_part(name, spec)
        case ("balance", "seat", name, "anchor"):
            said = _plan_of_part(name or row.get("part"), spec)
        case _:
            said = spec.balance.plan or (names[0] if names else None)
    if said in names:
        return names.index(said)
    return 0 if len(names) == 1 else None


def _plan_of_part(name: object, spec: JobSpec) -> str | None:
    """Return the plan that a part, or what it is made from, lies on."""
    by_name = {part.name: part for part in spec.part}
    try:
        return root_of(by_name[str(name)], by_name).plan
    except (KeyError, JobError):
        return None
