"""Edits of `rack.csv`, made on its cells so that columns and units stay as the builder wrote them."""

from __future__ import annotations

import csv
import io
import json
from typing import Any

from nesting.desk import requests as ask
from nesting.desk.seen import number_of
from nesting.desk.shown_units import with_unit
from nesting.place.offcut import blemish_from_json, blemish_json
from nesting.wood.rack import parse_rack
from nesting.wood.rack.rack_rows import KINDS, Row, delimiter_of, numbered_lines, read_rows
from vectorize.basics.errors import RackError, UnitError
from vectorize.basics.units import parse
from vectorize.shapes.outline import Outline

HEADING = ("name", "material", "thickness", "measured thickness", "length", "width", "mass", "cut", "notes")

RackEdit = ask.SetBoard | ask.AddBoards | ask.DropBoard


def edit_rack(text: str | None, edit: RackEdit, *, name: str, units: str = "mm") -> tuple[str, str]:
    """Return (the rack file after `edit`, what a builder would call it).

    A bare number of a new board is in the unit of its heading, else in that which a job of `units` is shown in.

    Raises:
        RackError: The board is not there, or the rack would not be readable afterwards.
    """
    lines, delimiter = _cells(text, name)
    rows = read_rows(text, name) if text and text.strip() else []
    match edit:
        case ask.SetBoard():
            title = f"set {edit.field} of board {edit.board}"
            _set_cell(lines, _row_of(rows, edit.board), edit.field, edit.value)
        case ask.DropBoard():
            title = f"remove board {edit.board}"
            del lines[_row_of(rows, edit.board).number - 1]
        case ask.AddBoards():
            added = read_rows(_with_heading(edit.table), "the pasted table")
            title = f"add {len(added)} board{'' if len(added) == 1 else 's'}"
            for row in added:
                _append(lines, rows, row, units)
    written = _text(lines, delimiter)
    parse_rack(written, name=name)
    return written, title


def _cells(text: str | None, name: str) -> tuple[list[list[str]], str]:
    """Return every line's cells (an empty list for each further line of a cell that spans several) and the mark."""
    if not text or not text.strip():
        return [list(HEADING)], ","
    text = text.lstrip("\ufeff")
    delimiter = delimiter_of(text)
    lines: list[list[str]] = []
    for number, cells in numbered_lines(text, delimiter, name):
        lines += [[] for _ in range(number - 1 - len(lines))]
        lines.append(cells)
    return lines, delimiter


def _text(lines: list[list[str]], delimiter: str) -> str:
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=delimiter, lineterminator="\n").writerows(cells for cells in lines if cells)
    return out.getvalue()


def _row_of(rows: list[Row], board: str) -> Row:
    for row in rows:
        if row.text("name") == board:
            return row
    raise RackError(f"there is no board {board!r} in the rack; it was renamed or removed. Reload the page.")


def _column(lines: list[list[str]], rows: list[Row], field: str) -> int:
    """Return where a column stands in the table; it is added when there is none."""
    heading = next(cells for cells in lines if any(cell.strip() for cell in cells))
    known = rows[0].columns if rows else {}
    written = known[field].written if field in known else field
    for index, cell in enumerate(heading):
        if cell.strip().lstrip("\ufeff") == written:
            return index
    heading.append(field)
    return len(heading) - 1


def _set_cell(lines: list[list[str]], row: Row, field: str, value: str) -> None:
    cells = lines[row.number - 1]
    index = _column(lines, [row], field)
    cells += [""] * (index + 1 - len(cells))
    cells[index] = _clean(value)


def _append(lines: list[list[str]], rows: list[Row], added: Row, units: str) -> None:
    cells: list[str] = []
    for field, text in added.cells.items():
        if not text:
            continue
        index = _column(lines, rows, field)
        cells += [""] * (index + 1 - len(cells))
        cells[index] = _with_unit(text, field, added, units)
    lines.append(cells)


def _with_unit(text: str, field: str, row: Row, units: str) -> str:
    """Return the cell with the unit of its own heading, for it moves under another, or that which the page shows."""
    unit = row.columns[field].unit
    if field not in KINDS:
        return _clean(text)
    if unit is None:
        return with_unit(_clean(text), KINDS[field], units, what=f"{row.text('name')}: {field}")
    try:
        parse(text, KINDS[field])
    except UnitError:
        return f"{_clean(text)} {unit}"
    return _clean(text)


def _clean(value: str) -> str:
    return " ".join(value.split())


def _with_heading(table: str) -> str:
    """Return a pasted table, with our own heading where its first row is not one."""
    first = table.strip().splitlines()[0] if table.strip() else ""
    delimiter = max("\t;,", key=first.count)
    words = {cell.strip().casefold() for cell in first.split(delimiter)}
    is_heading = any(word.startswith(("name", "board", "material", "thick", "length")) for word in words)
    return table if is_heading or not first else delimiter.join(HEADING) + "\n" + table


def edit_side_file(text: str | None, edit: ask.AddBlemish | ask.DropBlemish) -> tuple[str, str]:
    """Return (`rack/NAME.json` after `edit`, what a builder would call it).

    Raises:
        RackError: The file cannot be read, or the mark has no size.
        WriteError: The blemish is not as the page saw it.
    """
    try:
        data: dict[str, Any] = json.loads(text) if text else {}
        blemishes = list(data.get("blemishes") or ())
        shown = [blemish_json(blemish_from_json(one)) for one in blemishes]
    except (ValueError, KeyError, AttributeError, TypeError, RecursionError) as error:
        raise RackError(
            f"the file beside board {edit.board} is not as Sheetwood writes it, so nothing can be marked in it; mend "
            "it or move it away."
        ) from error
    if isinstance(edit, ask.AddBlemish):
        blemishes.append(_blemish(edit))
        title = f"mark a blemish on {edit.board}"
    else:
        del blemishes[number_of(shown, edit.number, edit.seen, what="blemish")]
        title = f"remove a blemish from {edit.board}"
    data["blemishes"] = blemishes
    return json.dumps(data, indent=1, ensure_ascii=False), title


def _blemish(edit: ask.AddBlemish) -> dict[str, Any]:
    (x0, y0), (x1, y1) = edit.corner, edit.opposite
    if abs(x1 - x0) < 1.0 or abs(y1 - y0) < 1.0:
        raise RackError("a blemish must be at least 1 mm each way; drag over it.")
    outline = Outline.rectangle(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
    return {"outline": outline.as_json(), "is_soft": edit.is_soft, "text": edit.text}
