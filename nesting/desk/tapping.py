"""The sound of a board that the builder tapped, dropped at the rack: its tone and stiffness, the recording not kept."""

from __future__ import annotations

import tempfile
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any

from nesting.desk.fields import Edit, Name
from nesting.desk.history import DESK_FOLDER
from nesting.desk.notes_view import notes_view
from nesting.desk.uploads import discard
from nesting.desk.worker import Report
from nesting.desk.workshop import Workshop
from nesting.job.folder import file_name_for, open_job
from nesting.job.rack_files import boards_at_hand
from nesting.job.wood import wood_of
from nesting.wood.density import board_density
from vectorize.basics.errors import CallError
from vectorize.basics.wording import listed, shown


class TapWish(Edit):
    """A recording of taps on a board of the rack."""

    board: Name
    name: Name = "taps.wav"


def tap_dropped(workshop: Workshop, upload: Path, wish: TapWish) -> dict[str, Any]:
    """Return what the taps say, as `sheetwood tap --json` does by the board's own length and density.

    Raises:
        CallError: No such board.
        SheetwoodError: As `read_recording`, `tapped_modulus` and `board_density`.
    """
    try:
        return dict(workshop.adviser.run(tap_board, workshop.folder, upload, wish))
    finally:
        discard(upload)


def tap_board(report: Report, folder: Path, upload: Path, wish: TapWish) -> dict[str, Any]:
    """Return what a recording says of a board; raises as `tap_dropped`."""
    from nesting.wood.sound.recording import read_recording  # what hears is slow to load
    from nesting.wood.sound.tapped import tapped_modulus

    job = open_job(folder)
    boards = {board.name: board for board in boards_at_hand(job)}
    if wish.board not in boards:
        raise CallError(f"there is no board {shown(wish.board)}; boards: {listed(boards)}.")
    board, name = boards[wish.board], _plain_name(wish.name)
    report.say(f"listening to {name}")
    with tempfile.TemporaryDirectory(dir=folder / DESK_FOLDER) as place:
        # Messages call the recording as the builder does.
        sound = read_recording(upload.rename(Path(place) / name))
    density = board_density(board, wood=wood_of(job.spec))
    found = tapped_modulus(sound, length_mm=board.length_mm, density_kg_m3=density)
    told = found.as_json()
    return told | {"board": board.name, "sigma_hz": round(found.tone.sigma_hz, 2), "notes": notes_view(found.notes)}


def _plain_name(said: str) -> str:
    last = PureWindowsPath(PurePosixPath(said).name).name
    return file_name_for(Path(last).stem[:80] or "taps") + ".wav"
