"""Which board would take the same parts, and what would be left of it?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from nesting.place.largest_rest import largest_offcut
from nesting.place.layout import Layout
from nesting.place.layout_rules import NestRules, suits
from nesting.place.nest_parts import nest_parts
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.basics.errors import NoSolutionError, NothingFoundError


@dataclass(frozen=True, slots=True)
class BoardFit:
    """How the parts of a board's material and thickness fit on that board alone.

    `offcut_mm` is length and width of the largest rectangle left; `layout` is None where nothing was placed.
    """

    board: str
    copies: int
    placed: int
    used_length_mm: float
    used_fraction: float
    offcut_mm: tuple[float, float]
    layout: Layout | None

    @property
    def fits(self) -> bool:
        """Return whether every copy found a place."""
        return self.placed == self.copies


def fit_each_board(
    parts: Sequence[Part],
    boards: Sequence[Board],
    *,
    rules: NestRules,
    time_limit_s: float | None = 10.0,
    max_sweeps: int | None = None,
    seed: int = 0,
) -> list[BoardFit]:
    """Return for each board how the same parts fit on it alone; ties to other boards are set aside.

    Raises:
        InputError: See `nest_parts`.
    """
    found = []
    for board in boards:
        free = [replace(part, board=None, boards=()) for part in parts]
        own = [part for part in free if suits(part, board)]
        copies = sum(part.copies for part in own)
        try:
            layout = nest_parts(own, [board], rules=rules, time_limit_s=time_limit_s, max_sweeps=max_sweeps, seed=seed)
        except (NoSolutionError, NothingFoundError):
            found.append(BoardFit(board.name, copies, 0, 0.0, 0.0, (board.length_mm, board.width_mm), None))
            continue
        found.append(_fit(board, own, copies, layout, rules))
    return found


def _fit(board: Board, parts: Sequence[Part], copies: int, layout: Layout, rules: NestRules) -> BoardFit:
    placements = [p for one in layout.boards for p in one.placements]
    x0, y0, x1, y1 = largest_offcut(board, placements, parts, rules)
    used = layout.boards[0] if layout.boards else None
    return BoardFit(
        board.name,
        copies,
        len(placements),
        used.used_length_mm if used else 0.0,
        used.used_fraction if used else 0.0,
        (x1 - x0, y1 - y0),
        layout,
    )
