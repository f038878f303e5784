"""Places that an edit speaks of: which plan each lies on, and the same edit with them as pixels of the plan's files.

The page shows a sheet that was joined from several scans as one picture; what is kept in `job.toml` are pixels
of the scans themselves, each with its file's number.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from nesting.desk import requests as ask
from nesting.desk.fields import Place
from nesting.desk.step_forms import carve_fields, step_fields, step_models
from nesting.job.schema import JobSpec


class Located(NamedTuple):
    """A place of an edit, and the number of the plan that it lies on."""

    plan: int
    place: Place


def places_of(edit: ask.AnyEdit, spec: JobSpec) -> dict[str, Located]:
    """Return every place of a plan that an edit speaks of, by a word that `with_places` knows."""
    found = {
        word: (_side_view(spec) if is_on_side_view else _plan_of(edit, spec), place)
        for word, place, is_on_side_view in _places(edit)
    }
    return {word: Located(plan, place) for word, (plan, place) in found.items() if plan is not None}


def with_places(edit: ask.AnyEdit, places: Mapping[str, Sequence[float]]) -> ask.AnyEdit:
    """Return an edit with other places, each a pixel of a file and the file's number."""
    given = {word: (place[0], place[1], *map(int, place[2:])) for word, place in places.items()}
    match edit:
        case ask.SetPart():
            return edit.model_copy(update={"value": (given["0"], given["1"])})
        case ask.PutStep():
            return edit.model_copy(update={"step": _replaced(edit.step, given)})
        case ask.PutMark():
            return edit.model_copy(update={"mark": _replaced(edit.mark, given)})
        case ask.SetCarve():
            return edit.model_copy(update={"carve": _replaced(edit.carve or {}, given)})
        case _:
            return edit.model_copy(update=given)


def _places(edit: ask.AnyEdit) -> Iterator[tuple[str, Place, bool]]:
    """Give the word and place of each point, and whether it lies on the side view of the balance."""
    match edit:
        case ask.AddKnown() | ask.AddBridge():
            yield from (("start", edit.start, False), ("end", edit.end, False))
        case ask.AddPart() | ask.AddPick():
            yield "at", edit.at, False
        case ask.SetPart(value=tuple() as values):
            yield from ((str(k), one, False) for k, one in enumerate(values) if not isinstance(one, str))
        case ask.SetBalance(field="datum" | "aft", value=(float() | int(), float() | int()) as place):
            yield "value", place, True
        case ask.SetSeat():
            if edit.anchor is not None:
                yield "anchor", edit.anchor, False
            if edit.at is not None:
                yield "at", edit.at, True
        case ask.PutItem(at=(_, _) as place):
            yield "at", place, True
        case ask.PutStep():
            yield from _in_table(edit.step, _place_keys(edit.step))
        case ask.PutMark():
            yield from _in_table(edit.mark, {"at"})
        case ask.SetCarve(carve=dict() as carve):
            yield from _in_table(carve, {field.key for field in carve_fields() if field.kind in _PLACE_KINDS})


_PLACE_KINDS = ("place", "places", "line")


def _place_keys(step: Mapping[str, Any]) -> set[str]:
    make = step.get("make")
    fields = step_fields(make) if isinstance(make, str) and make in step_models() else ()
    return {field.key for field in fields if field.kind in _PLACE_KINDS}


def _in_table(table: Mapping[str, Any], keys: set[str]) -> Iterator[tuple[str, Place, bool]]:
    for key in sorted(keys & set(table)):
        if _is_place(table[key]):
            yield key, table[key], False
        elif isinstance(table[key], list):
            yield from ((f"{key} {k}", one, False) for k, one in enumerate(table[key]) if _is_place(one))


def _is_place(value: Any) -> bool:  # noqa: ANN401 - whatever was sent
    return isinstance(value, list) and len(value) == 2 and all(type(one) in (int, float) for one in value)


def _replaced(table: Mapping[str, Any], given: Mapping[str, Any]) -> dict[str, Any]:
    changed = dict(table)
    for word, place in given.items():
        key, _, number = word.rpartition(" ") if word[-1].isdigit() else (word, "", "")
        if number:
            changed[key] = [list(place) if k == int(number) else one for k, one in enumerate(changed[key])]
        else:
            changed[key] = list(place)
    return changed


def _plan_of(edit: ask.AnyEdit, spec: JobSpec) -> int | None:
    """Return the number of the plan that an edit, or the part it speaks of, lies on."""
    names = [plan.name for plan in spec.plan]
    if isinstance(edit, (ask.AddKnown, ask.AddBridge, ask.AddPart)):
        return names.index(edit.plan) if edit.plan in names else None
    by_name = {part.name: part for part in spec.part}
    part = by_name.get(str(getattr(edit, "part", None)))
    # What is made from another part lies on that one's plan; a circle ends where it began.
    for _ in spec.part:
        if part is None or part.source is None:
            break
        part = by_name.get(part.source)
    if len(names) == 1:
        return 0
    return names.index(part.plan) if part is not None and part.plan in names else None


def _side_view(spec: JobSpec) -> int | None:
    names = [plan.name for plan in spec.plan]
    if not names:
        return None
    return names.index(spec.balance.plan) if spec.balance.plan in names else 0
