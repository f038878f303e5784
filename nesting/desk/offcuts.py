"""A leftover board photographed at the rack: found and shown first, then kept as one undoable step or put away."""

from __future__ import annotations

import json
import threading
from dataclasses import dataclass, replace
from itertools import count
from pathlib import Path
from typing import Any, TypeVar

from nesting.desk import requests as ask
from nesting.desk.fields import Edit, Name, Place
from nesting.desk.history import Step, Texts, read_texts
from nesting.desk.notes_view import notes_view, spoken
from nesting.desk.outline_view import rings_px
from nesting.desk.rack_edits import edit_rack
from nesting.desk.sheet_corners import round_the_sheet
from nesting.desk.shown_units import with_unit
from nesting.desk.uploads import discard, safe_name
from nesting.desk.worker import Report
from nesting.desk.workshop import Workshop
from nesting.job.folder import Job
from nesting.job.rack_files import boards_at_hand, rack_name, side_name
from nesting.job.racking import Leftover, along_grain, as_leftover_board
from nesting.place.offcut import side_file
from nesting.wood.board import Board
from nesting.wood.rack import format_rack
from vectorize.basics.errors import CallError, ScanError
from vectorize.basics.units import DENSITY, LENGTH, MASS, parse_density, parse_length, parse_mass
from vectorize.basics.wording import shown
from vectorize.page import Page, read_page
from vectorize.scale.known import parse_sheet
from vectorize.scale.plan_scale import PlanScale
from vectorize.shapes.outline import Outline
from vectorize.shapes.segment import Point
from vectorize.trace.leftover import leftover_outline

FARTHEST_PX = 1e5
"""No camera's picture is as wide; a corner of its sheet may lie a little outside of it, but not beyond that."""


class Photo(Edit):
    """A photo with a board on a sheet: `corners` are four pixels in any order, X1,Y1 to X4,Y4; found without."""

    name: Name = "photo.jpg"
    sheet: Name
    corners: Name | None = None


class Described(Edit):
    """What is to be told of the board that is shown; `grain` are two pixels along it."""

    number: int
    grain: tuple[Place, Place] | None = None
    thickness: Name | None = None
    mass: Name | None = None
    density: Name | None = None


class Kept(Edit):
    """The board that is shown goes into the rack under this name; `grain` are two pixels along it."""

    number: int
    board: Name
    material: Name
    thickness: Name
    mass: Name | None = None
    grain: tuple[Place, Place] | None = None


Said = TypeVar("Said", Described, Kept)


@dataclass(frozen=True, slots=True)
class Found:
    """A board as it was found on a photo: its outline in mm of the sheet, and the scale that it was found by."""

    name: str
    size_px: tuple[int, int]
    outline: Outline
    scale: PlanScale

    def along(self, grain: tuple[Place, Place] | None) -> Outline:
        """Return the outline with its grain along x."""
        if grain is not None and grain[0] == grain[1]:
            raise CallError("the two points of the grain are the same; mark two different ones.")
        return along_grain(self.outline, self.scale, grain)

    def as_json(self) -> dict[str, Any]:
        """Return what the page draws over the photo."""
        width, height = self.scale.page_mm
        corners = self.scale.to_px([(0.0, height), (width, height), (width, 0.0), (0.0, 0.0)]).tolist()
        return {
            "size_px": list(self.size_px),
            "outline_px": rings_px(self.outline, self.scale),
            "corners_px": [[round(x, 1), round(y, 1)] for x, y in corners],
            "notes": notes_view(self.scale.notes),
        }


class Offcuts:
    """The board that is being looked at: found on a photo, in the rack only once it is kept."""

    def __init__(self, workshop: Workshop) -> None:
        self._workshop = workshop
        self._numbers = count(1)
        self._held: tuple[int, Found] | None = None
        self._lock = threading.Lock()

    def look(self, upload: Path, said: Photo) -> dict[str, Any]:
        """Find the board on a photo and return what was found; the photo itself is not kept.

        Raises:
            SheetwoodError: As `leftover_outline`, a picture that cannot be read, corners that make no sheet.
        """
        try:
            found: Found = self._workshop.trace_worker.run(find_offcut, upload, said)
        finally:
            discard(upload)
        with self._lock:
            number = next(self._numbers)
            self._held = (number, found)
        size = _described(found, Described(number=number))
        view = {"number": number, **found.as_json(), "size_mm": size["size_mm"], "area_mm2": size["area_mm2"]}
        return dict(spoken(view, self._workshop.speech()))

    def describe(self, asked: Described) -> dict[str, Any]:
        """Return size and area of the board that is shown, its mass by a density, its density by a mass.

        Raises:
            CallError: It is not the one that is shown any more.
            UnitError: A thickness, mass or density that is none.
        """
        return _described(self._shown(asked.number), self._in_units(asked))

    def keep(self, said: Kept) -> dict[str, Any]:
        """Put the board that is shown into the rack, as one step.

        Raises:
            SheetwoodError: As `as_leftover_board`, one that is not shown any more, or a file changed meanwhile.
        """
        found, job, said = self._shown(said.number), self._workshop.job(), self._in_units(said)
        found.along(said.grain)
        leftover = Leftover(
            said.board,
            said.material,
            parse_length(said.thickness, what="thickness"),
            None if said.mass is None else parse_mass(said.mass, what="mass"),
            said.grain,
        )
        board = as_leftover_board(job, boards_at_hand(job), found.outline, found.scale, leftover, source=found.name)
        self._workshop.make(_step(job, board))
        self.forget()
        return {"board": board.name}

    def _in_units(self, said: Said) -> Said:
        """Return what is said of a board, bare numbers with the unit that the page shows."""
        units = self._workshop.job().spec.job.units
        kinds = {"thickness": LENGTH, "mass": MASS, "density": DENSITY}
        typed = {name: getattr(said, name, None) for name in kinds}
        written = {name: with_unit(text, kinds[name], units) for name, text in typed.items() if text is not None}
        return said.model_copy(update=written)

    def forget(self) -> bool:
        """Put the board away that is shown; return whether there was one."""
        with self._lock:
            held, self._held = self._held, None
        return held is not None

    def _shown(self, number: int) -> Found:
        held = self._held
        if held is None or held[0] != number:
            raise CallError("this board was put away, or another photo was looked at since; look at the photo again.")
        return held[1]


def _described(found: Found, asked: Described) -> dict[str, Any]:
    outline = found.along(asked.grain)
    told: dict[str, Any] = {"size_mm": list(outline.size_mm), "area_mm2": outline.area_mm2}
    told |= {"mass_g": None, "density_kg_m3": None}
    if asked.thickness is None:
        return told
    volume_mm3 = outline.area_mm2 * parse_length(asked.thickness, what="thickness")
    if asked.density is not None:
        told["mass_g"] = parse_density(asked.density, what="density") * volume_mm3 * 1e-6
    if asked.mass is not None and volume_mm3 > 0:
        told["density_kg_m3"] = parse_mass(asked.mass, what="mass") / volume_mm3 * 1e6
    return told


def find_offcut(report: Report, upload: Path, said: Photo) -> Found:
    """Return the board on a picture; raises as `Offcuts.look`."""
    name = safe_name(said.name)
    sheet_mm = parse_sheet(said.sheet)
    corners = None if said.corners is None else round_the_sheet(_corners(said.corners))
    report.say(f"looking for the board on {name}")
    page = _read(upload, name)
    traced, scale = leftover_outline(page, sheet_mm=sheet_mm, corners=corners)
    return Found(name, (round(page.width), round(page.height)), traced.outline, scale)


def _read(upload: Path, name: str) -> Page:
    """Return a picture under the name that the builder knows it by."""
    try:
        return replace(read_page(upload), name=name)
    except ScanError as error:
        raise ScanError(str(error).replace(str(upload), name).replace(upload.name, name)) from error


def _corners(text: str) -> list[Point]:
    try:
        numbers = [float(number) for number in text.split(",")]
    except ValueError:
        numbers = []
    if len(numbers) != 8 or not all(abs(number) < FARTHEST_PX for number in numbers):
        raise CallError(f"the corners are {shown(text)}; write four pixels of the photo as X1,Y1,X2,Y2,X3,Y3,X4,Y4.")
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def _step(job: Job, board: Board) -> Step:
    """Return the step that adds a board: a row under the builder's own headings, and its outline beside the table."""
    rack, side = rack_name(job), side_name(board.name)
    before = read_texts(job.folder, (rack, side))
    row = ask.AddBoards(kind="add-boards", table=format_rack([board]))
    table, _ = edit_rack(before[rack], row, name=rack)
    after: Texts = {rack: table, side: json.dumps(side_file(board), indent=1, ensure_ascii=False)}
    return Step(f"add the offcut {board.name}", before, after)
