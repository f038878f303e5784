"""Changing a job's rack: boards are cut, offcuts come back; and what is missing is written on a shopping card."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

import shapely

from nesting.job.bare import parse_known
from nesting.job.done_parts import done_parts
from nesting.job.folder import Job
from nesting.job.journal import read_files, replace_files
from nesting.job.rack_files import rack_name, read_rack, side_name, side_text
from nesting.job.rules import rules_of
from nesting.job.wood import materials_of, needs_of, wood_of
from nesting.place.layout import Layout
from nesting.place.lies import lies_on, those_it_lies_on
from nesting.place.offcut import offcuts, rack_after
from nesting.wood.board import Board
from nesting.wood.match import matching_boards
from nesting.wood.material import canonical_name
from nesting.wood.part import Part
from nesting.wood.rack import format_rack, read_rows, units_of
from nesting.wood.shopping import Wanted, wanted_boards
from vectorize.basics.errors import CallError, RackError
from vectorize.basics.notes import Note
from vectorize.page import LARGEST_MEGAPIXELS, Page, read_page
from vectorize.scale.known import KnownDimension, parse_sheet
from vectorize.scale.plan_scale import PlanScale
from vectorize.shapes.outline import Outline, Pose
from vectorize.shapes.segment import Point
from vectorize.trace.leftover import leftover_outline


@dataclass(frozen=True, slots=True)
class CutRack:
    """What `rack cut` did: boards that were cut, the offcuts of each, and the rack as it then is."""

    offcuts: dict[str, tuple[Board, ...]]
    boards: tuple[Board, ...]


def cut_rack(job: Job, parts: Sequence[Part], layout: Layout) -> CutRack:
    """Take the boards of the kept layout off the rack and put their offcuts back; the old table is kept as `.bak`.

    Raises:
        WriteError: The rack cannot be written, another program is saving it, or somebody saved it meanwhile.
    """
    read, boards = _rack_as_read(job)
    by_name = {board.name: board for board in boards}
    left = {
        laid.board: offcuts(
            by_name[laid.board],
            laid,
            parts,
            kerf_mm=rules_of(job).kerf_mm,
            wood=wood_of(job.spec),
        )
        for laid in layout.boards
    }
    rack = rack_after(boards, left)
    _write(job, boards, rack, read=read)
    renamed = {
        name: tuple(b for b in rack if b.notes.startswith(f"offcut of {name}") and b.name not in by_name)
        for name in left
    }
    return CutRack(renamed, rack)


@dataclass(frozen=True, slots=True)
class Leftover:
    """A leftover board as its picture and its owner describe it; `grain_px` are two points along the grain."""

    name: str
    material: str
    thickness_mm: float
    mass_g: float | None = None
    grain_px: tuple[Point, Point] | None = None


def add_leftover(
    job: Job,
    page: Page,
    leftover: Leftover,
    *,
    sheet_mm: tuple[float, float] | None = None,
    corners: Sequence[Point] | None = None,
    known: Sequence[KnownDimension] = (),
) -> tuple[Board, tuple[Note, ...]]:
    """Put a leftover board, as `leftover_board` finds it, into the rack; the old table is kept as `.bak`.

    Raises:
        SheetwoodError: As `leftover_board`, or a rack that cannot be written.
    """
    read, boards = _rack_as_read(job)
    board, notes = leftover_board(job, boards, page, leftover, sheet_mm=sheet_mm, corners=corners, known=known)
    _write(job, boards, [*boards, board], read=read)
    return board, notes


def add_photographed(
    job: Job,
    picture: Path,
    leftover: Leftover,
    *,
    sheet: str | None = None,
    known: Sequence[str] = (),
    largest_megapixels: float | None = None,
) -> tuple[Board, tuple[Note, ...]]:
    """Put a leftover board into the rack by its picture; `sheet` and `known` are written as on the command line.

    Raises:
        CallError: Nothing says how large the board is.
        SheetwoodError: A picture that cannot be read, and as `add_leftover`.
    """
    if sheet is None and not known:
        raise CallError("nothing says how large the board is; give --sheet, the sheet that it lies on, or --known.")
    tables = [parse_known(text) for text in known]
    return add_leftover(
        job,
        read_page(picture, largest_megapixels=largest_megapixels or LARGEST_MEGAPIXELS),
        leftover,
        sheet_mm=None if sheet is None else parse_sheet(sheet),
        known=[KnownDimension((t.start[0], t.start[1]), (t.end[0], t.end[1]), t.length) for t in tables],
    )


def leftover_board(
    job: Job,
    boards: Sequence[Board],
    page: Page,
    leftover: Leftover,
    *,
    sheet_mm: tuple[float, float] | None = None,
    corners: Sequence[Point] | None = None,
    known: Sequence[KnownDimension] = (),
) -> tuple[Board, tuple[Note, ...]]:
    """Return a leftover board with its outline, taken off a picture, that may join `boards`; nothing is written.

    Raises:
        SheetwoodError: As `leftover_outline` and `as_leftover_board`.
    """
    need_new_name(boards, leftover.name)
    traced, scale = leftover_outline(page, sheet_mm=sheet_mm, corners=corners, known=known)
    board = as_leftover_board(job, boards, traced.outline, scale, leftover, source=page.name)
    assumed = Note("grain-assumed", f"board {leftover.name}: its grain is assumed to run along its long side.")
    return board, scale.notes if leftover.grain_px is not None else (*scale.notes, assumed)


def need_new_name(boards: Sequence[Board], name: str) -> None:
    """Raise `RackError` if one of `boards` has that name already, in whatever case."""
    if any(board.name.casefold() == name.casefold() for board in boards):
        raise RackError(f"the rack has a board {name!r} already; give the new one another name.")


def as_leftover_board(
    job: Job, boards: Sequence[Board], outline: Outline, scale: PlanScale, leftover: Leftover, *, source: str
) -> Board:
    """Return the board that an outline off the picture `source` makes, and that may join `boards`.

    Raises:
        RackError: A name that one of `boards` has already, or a board that cannot be.
        JobError: A material that the job does not know.
    """
    need_new_name(boards, leftover.name)
    turned = along_grain(outline, scale, leftover.grain_px)
    length, width = turned.size_mm
    return Board(
        leftover.name, canonical_name(leftover.material, materials_of(job.spec)), leftover.thickness_mm, length, width,
        mass_g=leftover.mass_g, outline=turned, notes=f"leftover, from {source}",
    )  # fmt: skip


def along_grain(outline: Outline, scale: PlanScale, grain_px: tuple[Point, Point] | None) -> Outline:
    """Return an outline turned so that the grain runs along x, its lower left at the origin.

    `grain_px` are two pixels along the grain; without them it is taken to run along the long side.
    """
    if grain_px is None:
        angle_deg = _long_side_deg(outline)
    else:
        (x0, y0), (x1, y1) = scale.to_mm(grain_px).tolist()
        angle_deg = math.degrees(math.atan2(y1 - y0, x1 - x0))
    turned = outline.placed(Pose(angle_deg=-angle_deg))
    return turned.placed(Pose(-turned.bounds[0], -turned.bounds[1]))


def _long_side_deg(outline: Outline) -> float:
    """Return the direction of the longer side of the smallest box round an outline."""
    box = outline.to_polygon().minimum_rotated_rectangle
    corners = shapely.get_coordinates(box).tolist()
    (x0, y0), (x1, y1) = max(pairwise(corners), key=lambda side: math.dist(*side))
    return math.degrees(math.atan2(y1 - y0, x1 - x0)) % 180.0


def _rack_as_read(job: Job) -> tuple[bytes | None, tuple[Board, ...]]:
    """Return the table of the rack as it is on the disk, and its boards."""
    name = rack_name(job)
    return read_files(job.folder, (name,))[name], read_rack(job)


def _write(job: Job, boards: Sequence[Board], rack: Sequence[Board], *, read: bytes | None) -> None:
    """Write the table and what lies beside it, all or none; what was there is kept as `.bak`.

    `read` is the table that the rack was made from: one that somebody saved since is not overwritten.
    """
    table, names = rack_name(job), {board.name for board in rack}
    gone = [side_name(board.name) for board in boards if board.name not in names]
    new = {side_name(board.name): side_text(board) for board in rack if board not in boards}
    before = read_files(job.folder, (table, f"{table}.bak", *new, *gone, *(f"{name}.bak" for name in gone)))
    # The outline of a board that is gone must not become that of the next one of its name.
    after = dict.fromkeys(gone) | {f"{name}.bak": before[name] for name in gone if before[name] is not None} | new
    after |= {f"{table}.bak": read, table: format_rack(rack, units=_written_units(job, read)).encode()}
    replace_files(job.folder, before | {table: read}, after)


def _written_units(job: Job, read: bytes | None) -> str:
    """Return the system that the rack is written in, so that it stays so; the job's own for a rack without boards."""
    text = (read or b"").decode("utf-8-sig", errors="replace")
    return units_of(read_rows(text, job.spec.rack.file)) or job.spec.job.units


def shopping_list(
    job: Job, parts: Sequence[Part], boards: Sequence[Board], layout: Layout | None
) -> tuple[Wanted, ...]:
    """Return the boards to buy: for parts that no board can make or hold, and for those that found no room.

    For what is cut or weighed already, and for what comes from strip stock, none is bought.

    Raises:
        JobError: A material without defaults.
    """
    materials = materials_of(job.spec)
    unplaced = [u.part for u in layout.unplaced] if layout is not None else []
    missing = []
    lies, done = lies_on(rules_of(job)), done_parts(job.spec, [part.name for part in parts])
    for part in parts:
        if part.name in done or part.strip is not None:
            continue
        own = matching_boards(replace(part, board=None), boards, materials=materials)[0]
        if not those_it_lies_on(part, own, lies):
            missing.append((part, part.copies))
        elif part.name in unplaced:
            missing.append((part, unplaced.count(part.name)))
    return wanted_boards(missing, needs=needs_of(job.spec), in_inches=job.spec.job.units == "in", materials=materials)
