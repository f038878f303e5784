"""Edits of `job.toml`, made on its text so that comments and order survive."""

from __future__ import annotations

from collections.abc import MutableMapping, Sequence
from typing import Any

import tomlkit
from tomlkit.items import AoT, Table

from nesting.desk import requests as ask
from nesting.desk.balance_edits import BalanceEdit, edit_balance
from nesting.desk.finish_edits import FinishEdit, edit_finish
from nesting.desk.naming_edits import call_part
from nesting.desk.reading_edits import ReadingEdit, edit_reading
from nesting.desk.seen import changed, print_of
from nesting.desk.step_edits import StepEdit, edit_steps
from nesting.desk.toml_tables import drop_from_list, put_in_list, put_value
from nesting.patterns.pattern_settings import remeasured_bars_mm
from vectorize.basics.errors import JobError
from vectorize.basics.units import parse_length

JobEdit = (
    ask.SetJob | ask.AddKnown | ask.DropKnown | ask.SetPlan | ReadingEdit | StepEdit
    | ask.AddPart | ask.MakePart | ask.SetPart | ask.MarkCut
    | ask.AddPick | ask.DropPick | ask.SetNest | ask.SetAccuracy | ask.SetPattern
    | ask.SetSubstitutes | ask.PutMark | ask.DropMark
    | ask.MeasuredBars | ask.PutBlade | ask.DropBlade | BalanceEdit | FinishEdit | ask.AddReading | ask.DropReading
)  # fmt: skip


def edit_job(document: tomlkit.TOMLDocument, edit: JobEdit) -> str:
    """Apply `edit` to the document and return what a builder would call it.

    Raises:
        JobError: It speaks of a part, plan or pick that is not there.
    """
    match edit:
        case ask.SetJob():
            _set(_section(document, "job"), edit.field, edit.value)
            return f"set {edit.field} to {edit.value}"
        case ask.SetNest():
            _set(_section(document, "nest"), edit.field, plain(edit.value))
            return f"set {edit.field} for nesting"
        case ask.SetAccuracy():
            _set(_section(document, "accuracy"), edit.field, edit.value)
            return f"set how well {_MEASURES[edit.field]} is known"
        case ask.SetPattern():
            _set(_section(document, "pattern"), edit.field, plain(edit.value))
            return f"set {edit.field} for patterns"
        case ask.PutBlade():
            blade = {"width": edit.width, "thickness": edit.thickness, "kerf": edit.kerf, "teeth": edit.teeth}
            put_in_list(_section(document, "pattern"), "blade", edit.number, edit.seen, blade)
            return f"set a saw blade of {edit.width}"
        case ask.DropBlade():
            drop_from_list(_section(document, "pattern"), "blade", edit.number, edit.seen)
            return "take a saw blade away"
        case ask.MeasuredBars():
            return _remeasure(_section(document, "pattern"), edit)
        case (
            ask.SetRange() | ask.SetBalance() | ask.SetChord() | ask.SetInPlace()
            | ask.SetSeat() | ask.PutItem() | ask.PutAlternative() | ask.DropItem()
        ):  # fmt: skip
            return edit_balance(_section(document, "balance"), edit)
        case ask.PutFinish() | ask.DropFinish() | ask.PutJoint() | ask.DropJoint():
            return edit_finish(document, edit)
        case ask.AddReading() | ask.DropReading():
            return _edit_readings(document, edit)
        case ask.AddBridge() | ask.DropBridge() | ask.SetSheet():
            return edit_reading(_plan(document, edit.plan), edit)
        case ask.AddKnown() | ask.DropKnown() | ask.SetPlan():
            return _edit_plan(_plan(document, edit.plan), edit)
        case ask.AddPart():
            return _add_part(document, edit)
        case ask.MakePart():
            return _make_part(document, edit)
        case ask.PutStep() | ask.DropStep() | ask.MoveStep() | ask.SetCarve():
            parts = _parts(document)
            return edit_steps(parts[_index(parts, edit.part)], edit)
        case ask.SetPart(field="name", value=str(name)) if name:
            call_part(document, edit.part, name)
            return f"set name of {edit.part}"
        case _:
            parts = _parts(document)
            return _edit_part(parts[_index(parts, edit.part)], edit)


def _section(document: tomlkit.TOMLDocument, name: str) -> MutableMapping[str, Any]:
    if name not in document:
        document[name] = tomlkit.table()
    section: MutableMapping[str, Any] = document[name]
    return section


def _set(table: MutableMapping[str, Any], key: str, value: Any) -> None:  # noqa: ANN401 - any TOML value
    if value is None:
        table.pop(key, None)
    else:
        table[key] = value


def plain(value: Any) -> Any:  # noqa: ANN401 - any TOML value
    """Return a value as TOML takes it: lists in place of tuples."""
    return [plain(one) for one in value] if isinstance(value, tuple) else value


def _remeasure(pattern: MutableMapping[str, Any], edit: ask.MeasuredBars) -> str:
    if print_of(pattern.get("printer")) != edit.seen:
        raise changed("correction of the printer")
    used = [parse_length(str(bar), what="[pattern] printer") for bar in pattern.get("printer", ("100 mm", "100 mm"))]
    to_100_mm = 100.0 / parse_length(edit.bar)
    across, up = parse_length(edit.across, what="the bar across"), parse_length(edit.up, what="the bar up")
    bars = remeasured_bars_mm((used[0], used[1]), (across * to_100_mm, up * to_100_mm))
    pattern["printer"] = [f"{bar:.2f} mm" for bar in bars]
    return "correct the printer"


def _edit_readings(document: tomlkit.TOMLDocument, edit: ask.AddReading | ask.DropReading) -> str:
    if isinstance(edit, ask.DropReading):
        drop_from_list(document, "weighed", edit.number, edit.seen)
        return "remove a reading of the scale"
    entry = tomlkit.table()
    entry["parts"], entry["mass"], entry["stage"] = list(edit.parts), edit.mass, edit.stage
    _set(entry, "balance", edit.balance)
    if "weighed" not in document:
        document["weighed"] = tomlkit.aot()
    document["weighed"].append(entry)
    return f"weigh {' and '.join(edit.parts)}"


def _plan(document: tomlkit.TOMLDocument, name: str) -> Table:
    for table in document.get("plan", []):
        if table.get("name", "plan") == name:
            found: Table = table
            return found
    raise JobError(f"there is no plan {name!r}; it was renamed or taken away. Reload the page.")


def _parts(document: tomlkit.TOMLDocument) -> AoT:
    if "part" not in document:
        document.append("part", tomlkit.aot())
    parts: AoT = document["part"]
    return parts


def _index(parts: AoT, name: str) -> int:
    for index, table in enumerate(parts):
        if table.get("name") == name:
            return index
    raise JobError(f"there is no part {name!r}; it was renamed or removed. Reload the page.")


_MEASURES = {
    "length": "a board's length",
    "width": "a board's width",
    "thickness": "a measured thickness",
    "nominal_thickness": "a thickness that nobody measured",
    "support": "where a board is supported",
}
_PLAN_WORDS = {"flatten": "the corrections", "gap": "the widest gap to bridge", "axes": "how the axes differ"}


def _edit_plan(table: Table, edit: ask.AddKnown | ask.DropKnown | ask.SetPlan) -> str:
    match edit:
        case ask.AddKnown():
            entry = tomlkit.table()
            entry["from"], entry["to"] = _point(edit.start), _point(edit.end)
            entry["length"] = edit.length
            if "known" not in table:
                table["known"] = tomlkit.aot()
            table["known"].append(entry)
            return f"set a known dimension of {edit.length}"
        case ask.DropKnown():
            drop_from_list(table, "known", edit.number, edit.seen)
            return "remove a known dimension"
        case ask.SetPlan():
            _set(table, edit.field, plain(edit.value))
            return f"set {_PLAN_WORDS.get(edit.field, edit.field)} of the plan"


def _add_part(document: tomlkit.TOMLDocument, edit: ask.AddPart) -> str:
    plan = _plan(document, edit.plan)
    table = tomlkit.table()
    table["name"] = edit.name
    table["plan"] = plan.get("name", "plan")
    table["pick"] = [_point(edit.at)]
    for key in ("material", "thickness"):
        if value := getattr(edit, key):
            table[key] = value
    _parts(document).append(table)
    return f"add part {edit.name}"


def _make_part(document: tomlkit.TOMLDocument, edit: ask.MakePart) -> str:
    parts = _parts(document)
    _index(parts, edit.source)
    table = tomlkit.table()
    table["name"], table["from"] = edit.name, edit.source
    for key in ("material", "thickness"):
        if value := getattr(edit, key):
            table[key] = value
    parts.append(table)
    return f"make {edit.name} from {edit.source}"


PartEdit = (
    ask.SetPart | ask.MarkCut | ask.AddPick | ask.DropPick | ask.SetSubstitutes | ask.PutMark | ask.DropMark
)  # fmt: skip


_FIELD_WORDS = {"from": "what is the source", "mirror": "the centre line", "line": "how the outline is drawn"}
"""What a builder reads of a field whose key says too little."""


def _edit_part(table: Table, edit: PartEdit) -> str:
    match edit:
        case ask.SetSubstitutes():
            if print_of(table.get("substitutes")) != edit.seen:
                raise changed("list of substitutes")
            put_value(table, "substitutes", [one.model_dump() for one in edit.substitutes])
            return f"set what {edit.part} may be cut from instead"
        case ask.PutMark():
            put_in_list(table, "mark", edit.number, edit.seen, edit.mark)
            return f"set a line for the builder on {edit.part}"
        case ask.DropMark():
            drop_from_list(table, "mark", edit.number, edit.seen)
            return f"take a line for the builder off {edit.part}"
        case ask.MarkCut():
            _set(table, "cut", True if edit.is_cut else None)
            return f"mark {edit.part} as {'cut' if edit.is_cut else 'not cut yet'}"
        case ask.SetPart():
            if edit.field == "from" and not edit.value:
                raise JobError(f"{edit.part} is made from another part; say from which.")
            value = _plain_values(edit.value) if isinstance(edit.value, tuple) else edit.value
            _set(table, edit.field, None if value in ("", []) else value)
            field = _FIELD_WORDS.get(edit.field) or edit.field.replace("_", " ")
            return f"set {field} of {edit.part}"
        case ask.AddPick():
            table[edit.role] = [*table.get(edit.role, []), _point(edit.at)]
            return f"{'add a region to' if edit.role == 'pick' else 'cut a hole in'} {edit.part}"
        case ask.DropPick():
            drop_from_list(table, edit.role, edit.number, edit.seen)
            return f"take a {'region' if edit.role == 'pick' else 'cut-out'} from {edit.part}"


def _plain_values(values: tuple[Any, ...]) -> list[Any]:
    """Return points, or texts, as a list."""
    return [one if isinstance(one, str) else _point(one) for one in values]


def _point(point: Sequence[float]) -> list[float]:
    """Return a place in pixels, to the hundredth: finer is noise. A third number names a file and stays whole."""
    x, y, *file = point
    return [round(x, 2), round(y, 2), *map(int, file)]
