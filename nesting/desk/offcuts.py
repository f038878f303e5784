"""A leftover board photographed at the rack: its outline off the picture, kept as one step that can be undone."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

from nesting.board import Board
from nesting.desk import requests as ask
from nesting.desk.changes import rack_name
from nesting.desk.fields import Edit, Name
from nesting.desk.history import Step, Texts, read_texts, replace_texts
from nesting.desk.rack_edits import edit_rack
from nesting.desk.uploads import discard, safe_name
from nesting.desk.worker import Report
from nesting.desk.workshop import Workshop
from nesting.job.folder import Job, file_name_for, open_job
from nesting.job.rack import boards_at_hand
from nesting.job.racking import Leftover, leftover_board
from nesting.offcut import side_file
from nesting.rack import format_rack
from vectorize.curve import Point
from vectorize.errors import CallError, ScanError
from vectorize.flatten import parse_sheet
from vectorize.notes import Note
from vectorize.scan import Page, read_page
from vectorize.units import parse_length, parse_mass


class Offcut(Edit):
    """What the builder says of a photographed board; `grain` are two pixels along it as X1,Y1,X2,Y2."""

    name: Name = "photo.jpg"
    board: Name
    material: Name
    thickness: Name
    sheet: Name
    mass: Name | None = None
    grain: Name | None = None


def read_offcut(said: dict[str, str]) -> Offcut:
    """Return what a form says; fields left empty are as if they were not there.

    Raises:
        CallError: A missing or unknown field, or one that is too long.
    """
    return ask.read_wanted(Offcut, {key: plain for key, text in said.items() if (plain := " ".join(text.split()))})


def add_offcut(workshop: Workshop, upload: Path, said: Offcut) -> dict[str, Any]:
    """Put a photographed board into the rack and return what was found; the picture itself is not kept.

    Raises:
        SheetwoodError: As `leftover_board`, a picture that cannot be read, or a file changed meanwhile.
    """
    try:
        board, notes = workshop.bench.run(find_offcut, workshop.folder, upload, said)
    finally:
        discard(upload)
    step = _step(workshop.job(), board)
    replace_texts(workshop.folder, step.before, step.after)
    workshop.remember(step)
    workshop.stir()
    return {
        "board": board.name,
        "size_mm": [board.length_mm, board.width_mm],
        "area_mm2": board.shape.area_mm2,
        "notes": [note.text for note in notes],
    }


def find_offcut(report: Report, folder: Path, upload: Path, said: Offcut) -> tuple[Board, tuple[Note, ...]]:
    """Return the board on a picture; raises as `add_offcut`."""
    leftover = Leftover(
        said.board,
        said.material,
        parse_length(said.thickness, what="thickness"),
        None if said.mass is None else parse_mass(said.mass, what="mass"),
        None if said.grain is None else _two_points(said.grain),
    )
    sheet_mm = parse_sheet(said.sheet)
    job = open_job(folder)
    report.say(f"looking for board {said.board} on its picture")
    return leftover_board(job, boards_at_hand(job), _read(upload, safe_name(said.name)), leftover, sheet_mm=sheet_mm)


def _read(upload: Path, name: str) -> Page:
    """Return a picture under the name that the builder knows it by."""
    try:
        return replace(read_page(upload), name=name)
    except ScanError as error:
        raise ScanError(str(error).replace(str(upload), name).replace(upload.name, name)) from error


def _two_points(text: str) -> tuple[Point, Point]:
    try:
        x0, y0, x1, y1 = (float(number) for number in text.split(","))
    except ValueError as error:
        raise CallError(f"the grain is {text!r}; write two pixels along it as X1,Y1,X2,Y2.") from error
    if not abs(x0) + abs(y0) + abs(x1) + abs(y1) < 1e7 or (x0, y0) == (x1, y1):
        raise CallError(f"the grain is {text!r}; expected two different pixels of the picture.")
    return (x0, y0), (x1, y1)


def _step(job: Job, board: Board) -> Step:
    """Return the step that adds a board: a row under the builder's own headings, and its outline beside the table."""
    rack, side = rack_name(job), f"rack/{file_name_for(board.name)}.json"
    before = read_texts(job.folder, (rack, side))
    row = ask.AddBoards(kind="add-boards", table=format_rack([board]))
    table, _ = edit_rack(before[rack], row, name=rack)
    after: Texts = {rack: table, side: json.dumps(side_file(board), indent=1, ensure_ascii=False)}
    return Step(f"add the offcut {board.name}", before, after)
