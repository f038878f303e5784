"""Which board first: the order in which boards are offered to each part, and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from nesting.place.lies import LiesOn
from nesting.wood.board import Board
from nesting.wood.density import USUAL, Wood, areal_density, board_density
from nesting.wood.match import candidate_boards
from nesting.wood.part import Part
from vectorize.basics.errors import InputError
from vectorize.basics.notes import Note
from vectorize.basics.units import format_density
from vectorize.basics.wording import listed

Preference = Literal["light", "stiff", "offcuts"]
"""Least weight per area first; densest first, for stiffness follows density; smallest piece first."""

_WHY = {"light": "lightest", "stiff": "densest, so stiffest,", "offcuts": "smallest"}


@dataclass(frozen=True, slots=True)
class Pick:
    """The boards that can make a part, in the order in which they should be tried, and why."""

    part: str
    boards: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class Choice:
    """Boards in the order to nest on, the picks of each part, and what stayed open."""

    boards: tuple[Board, ...]
    picks: tuple[Pick, ...]
    notes: tuple[Note, ...] = ()

    def order_for(self, part: str) -> tuple[str, ...]:
        """Return the boards of one part in order; none where no board will do."""
        return next((pick.boards for pick in self.picks if pick.part == part), ())


def choose_boards(
    parts: Sequence[Part],
    boards: Sequence[Board],
    *,
    prefer: Preference = "light",
    wood: Wood = USUAL,
    lies: LiesOn | None = None,
) -> Choice:
    """Return the boards that the parts need, best first, and each part's own order with the reason.

    A part tied to a board gets that one; a substitute is used only by a part that is tied to it. A part
    that no board can make, and a board that cannot be weighed, become open notes. Of boards on which a part
    cannot lie (`lies`) none is picked, unless there is no other: nesting then says so. Whether everything
    fits together is not decided here either.
    """
    ranks, notes = _ranks(boards, prefer, wood)
    picks: list[Pick] = []
    for part in parts:
        try:
            found = candidate_boards(part, [b for b in boards if b.name in ranks], materials=wood.materials)
        except InputError as error:
            notes.append(Note("no-board", str(error), "open", part.name))
            continue
        lying = {name: one for name, one in found.items() if lies is None or lies(part, one[0])}
        pick = _pick(part, lying, ranks, prefer, wood)
        if not pick.boards:
            pick = _pick(part, found, ranks, prefer, wood)
        picks.append(pick)
        if not pick.boards:
            notes.append(Note("substitute-offered", f"part {part.name}: {pick.reason}", "open", part.name))
    used = {name for pick in picks for name in pick.boards}
    in_order = sorted((b for b in boards if b.name in used), key=lambda b: (b.thickness_mm, ranks[b.name], b.name))
    return Choice(tuple(in_order), tuple(picks), tuple(notes))


def _ranks(boards: Sequence[Board], prefer: Preference, wood: Wood) -> tuple[dict[str, float], list[Note]]:
    ranks: dict[str, float] = {}
    notes: list[Note] = []
    for board in boards:
        try:
            ranks[board.name] = _rank(board, prefer, wood)
        except InputError as error:
            notes.append(Note("board-not-weighed", str(error), "open"))
    return ranks, notes


def _rank(board: Board, prefer: Preference, wood: Wood) -> float:
    match prefer:
        case "light":
            return areal_density(board, wood=wood).value
        case "stiff":
            return -board_density(board, wood=wood).value
        case "offcuts":
            return board.shape.area_mm2


def _pick(
    part: Part,
    found: Mapping[str, tuple[Board, bool]],
    ranks: Mapping[str, float],
    prefer: Preference,
    wood: Wood,
) -> Pick:
    if part.board is not None:
        return Pick(part.name, (part.board,), "tied by the job")
    same = [name for name, (_, is_substitute) in found.items() if not is_substitute]
    matches = sorted((name for name in same if not part.boards or name in part.boards), key=ranks.__getitem__)
    if same and not matches:
        return Pick(part.name, (), f"tied to {listed(part.boards)}, none of which is of its material and thickness.")
    if not matches:
        offers = listed(f"{name} ({board.thickness_mm:g} mm)" for name, (board, _) in found.items())
        return Pick(part.name, (), f"no board of its thickness; near enough to offer: {offers}. Tie the part to one.")
    first = found[matches[0]][0]
    density = format_density(board_density(first, wood=wood).value)
    if len(matches) < len(same):
        reason = "the only one that will do" if len(matches) == 1 else f"{_WHY[prefer]} of {len(matches)} that will do"
    else:
        reason = "the only match" if len(matches) == 1 else f"{_WHY[prefer]} of {len(matches)}"
    return Pick(part.name, tuple(matches), f"{first.name}, {density}: {reason}")
