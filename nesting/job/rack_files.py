"""The rack of a job: `rack.csv`, and `rack/NAME.json` for what a row cannot hold."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from functools import partial

from nesting.job.folder import Job, file_name_for
from nesting.job.side_files import outline_in, read_side_file, tables_in
from nesting.job.wood import materials_of
from nesting.place.offcut import side_file
from nesting.wood.board import Blemish, Board
from nesting.wood.material import canonical_name
from nesting.wood.rack import parse_rack
from vectorize.basics.errors import RackError
from vectorize.basics.plain_file import read_plain
from vectorize.shapes.outline import Outline


def rack_name(job: Job) -> str:
    """Return the name of the rack file within the job folder."""
    return job.path(job.spec.rack.file).relative_to(job.folder.resolve()).as_posix()


def side_name(board: str) -> str:
    """Return the name, within the job folder, of the file for what a row of the rack cannot hold."""
    return f"rack/{file_name_for(board)}.json"


def side_text(board: Board) -> bytes | None:
    """Return what lies in that file; None where a board needs none."""
    data = side_file(board)
    return None if data is None else json.dumps(data, indent=1, ensure_ascii=False).encode()


def read_rack(job: Job) -> tuple[Board, ...]:
    """Return the boards of the job, with the outlines and blemishes kept beside the table.

    Materials carry the name that the table of materials gives them, so that `Ply` and `birch ply` are one.

    Raises:
        RackError: No rack, a row or a side file that cannot be used; names file, row and column.
    """
    name = job.spec.rack.file
    try:
        data = read_plain(job.path(name))
    except FileNotFoundError as error:
        raise RackError(f"{name} is not in {job.folder}; make it with one board a row.") from error
    except OSError as error:
        raise RackError(f"{name} cannot be read: {error.strerror}.") from error
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("cp1252", errors="replace")
    materials = materials_of(job.spec)
    boards = parse_rack(text, name=name, side=partial(_side_file, job))
    return tuple(replace(board, material=canonical_name(board.material, materials)) for board in boards)


@dataclass(frozen=True, slots=True)
class RackAtHand:
    """The boards of a job, or why they cannot be used; a job that has no rack yet has none."""

    boards: tuple[Board, ...] = ()
    fault: RackError | None = None
    is_there: bool = True

    def needed(self) -> tuple[Board, ...]:
        """Return the boards.

        Raises:
            RackError: There is no rack, or one that cannot be used.
        """
        if self.fault is not None:
            raise self.fault
        return self.boards

    def at_hand(self) -> tuple[Board, ...]:
        """Return the boards, none where there is no rack yet; raises as `needed` for one that cannot be used."""
        return self.needed() if self.is_there else ()


def rack_at_hand(job: Job) -> RackAtHand:
    """Return the rack of a job; one that cannot be used tells so where it is needed."""
    try:
        return RackAtHand(read_rack(job))
    except RackError as error:
        return RackAtHand((), error, job.path(job.spec.rack.file).exists())


def boards_at_hand(job: Job) -> tuple[Board, ...]:
    """Return the boards of the job, none where it has no rack yet.

    Raises:
        RackError: A rack that is there and cannot be used.
    """
    return read_rack(job) if job.path(job.spec.rack.file).exists() else ()


def _side_file(job: Job, board: str) -> tuple[Outline | None, tuple[Blemish, ...]]:
    name = side_name(board)
    data = read_side_file(job, name, refused=RackError)
    if data is None:
        return None, ()
    outline = outline_in(data, name, refused=RackError) if data.get("outline") else None
    blemishes = tuple(
        Blemish(outline_in(one, name, refused=RackError), bool(one.get("is_soft", False)), str(one.get("text", "")))
        for one in tables_in(data, "blemishes", name, refused=RackError)
    )
    return outline, blemishes
