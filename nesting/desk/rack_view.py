"""The rack as the JSON that the page shows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from nesting.desk.outline_view import rings_mm
from nesting.desk.seen import print_of
from nesting.place.offcut import blemish_json
from nesting.wood.board import Board
from nesting.wood.density import Wood, board_density
from vectorize.basics.errors import SheetwoodError
from vectorize.basics.units import format_density, format_length


def boards_view(boards: Sequence[Board], *, units: str, wood: Wood) -> list[dict[str, Any]]:
    """Return the rack, each board with its density and doubt."""
    return [_board(number, board, units, wood) for number, board in enumerate(boards)]


def _board(number: int, board: Board, units: str, wood: Wood) -> dict[str, Any]:
    view = board.as_json() | {
        "number": number,
        "grain_deg": board.grain_deg,
        "notes": board.notes,
        "outline": rings_mm(board.shape),
        "is_offcut": board.outline is not None,
        "blemishes": [
            {"outline": rings_mm(flaw.outline)[0], "is_soft": flaw.is_soft, "text": flaw.text}
            | {"seen": print_of(blemish_json(flaw))}
            for flaw in board.blemishes
        ],
        "thickness_text": format_length(board.thickness_mm, units=units),
    }
    try:
        density = board_density(board, wood=wood)
    except SheetwoodError as error:
        return view | {"density_kg_m3": None, "sigma_kg_m3": None, "density_text": None, "fault": str(error)}
    return view | {
        "density_kg_m3": density.value,
        "sigma_kg_m3": density.sigma,
        "density_text": format_density(density.value, units=units),
        "fault": None,
    }
