"""Edits of how a plan is read: the corners of a photographed sheet, and gaps closed by hand."""

from __future__ import annotations

import math
from collections.abc import MutableMapping, Sequence
from typing import Any

import tomlkit

from nesting.desk import requests as ask
from nesting.desk.toml_tables import drop_from_list
from vectorize.basics.errors import JobError
from vectorize.shapes.segment import Point

ReadingEdit = ask.SetSheet | ask.AddBridge | ask.DropBridge


def edit_reading(table: MutableMapping[str, Any], edit: ReadingEdit) -> str:
    """Apply `edit` to a `[[plan]]` and return what a builder would call it.

    Raises:
        JobError: Corners that make no sheet.
        WriteError: A bridge that is not as the page saw it.
    """
    match edit:
        case ask.SetSheet(size=None):
            table.pop("sheet", None)
            table.pop("corners", None)
            return "leave the plan as it lies"
        case ask.SetSheet():
            table["sheet"] = edit.size
            table.pop("corners", None)
            if edit.corners is not None:
                table["corners"] = [_rounded(corner) for corner in round_the_sheet(edit.corners)]
            return f"flatten the photo of a sheet of {edit.size}"
        case ask.AddBridge():
            entry = tomlkit.table()
            entry["from"], entry["to"] = _rounded(edit.start), _rounded(edit.end)
            if "bridge" not in table:
                table["bridge"] = tomlkit.aot()
            table["bridge"].append(entry)
            return "close a gap in a line"
        case ask.DropBridge():
            drop_from_list(table, "bridge", edit.number, edit.seen)
            return "open a gap again"


def round_the_sheet(corners: Sequence[Point]) -> list[Point]:
    """Return four corners clockwise as the picture shows them, from the upper left.

    Raises:
        JobError: They are not the corners of a sheet: one lies inside the others, or three lie on a line.
    """
    x = sum(corner[0] for corner in corners) / 4
    y = sum(corner[1] for corner in corners) / 4
    ordered = sorted(corners, key=lambda corner: math.atan2(corner[1] - y, corner[0] - x))
    first = min(range(4), key=lambda k: ordered[k][0] + ordered[k][1])
    ordered = [*ordered[first:], *ordered[:first]]
    size = max(math.dist(a, b) for a in corners for b in corners)
    for k in range(4):
        (ax, ay), (bx, by), (cx, cy) = (ordered[(k + step) % 4] for step in range(3))
        if (bx - ax) * (cy - by) - (by - ay) * (cx - bx) < 0.02 * size**2:
            raise JobError(
                f"these are not the four corners of a sheet: ({bx:.0f}, {by:.0f}) lies on the line of its neighbours "
                "or inside the others; mark each corner once."
            )
    return ordered


def _rounded(point: Sequence[float]) -> list[float]:
    x, y, *file = point
    return [round(x, 2), round(y, 2), *map(int, file)]
