"""Which part may come from which board, and what each choice weighs, moves and stiffens: the numbers of the choice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from nesting.balance.balance_report import BalancePlan
from nesting.balance.entries import BARE, Build, part_entries
from nesting.balance.ledger import Ledger
from nesting.balance.station import Datum, Seat
from nesting.balance.weights import weigh_parts
from nesting.choice.assign.pairs import Couple
from nesting.place.lies import LiesOn
from nesting.wood.board import Board
from nesting.wood.density import USUAL, Wood
from nesting.wood.needs import ANY, Need, offered_boards, why_not
from nesting.wood.part import Part
from nesting.wood.stiffness import board_modulus, part_stiffness, untrue_tests
from vectorize.basics.errors import InputError, PartError
from vectorize.basics.notes import Note


@dataclass(frozen=True, slots=True)
class Option:
    """One unit of a part from one board: its mass, what of it has a station, its moments and its stiffness.

    `stiffness_share` is stiffness over that of the stiffest board this part may come from. `objection` says why
    the part may not come from this board; the option is kept, to tell what the objection costs.
    """

    part: str
    board: str
    mass_g: float
    located_g: float
    moment_g_mm: float
    lateral_g_mm: float
    stiffness_share: float
    objection: str | None = None


@dataclass(frozen=True, slots=True)
class Unit:
    """What is given to a board as one: a copy of a part, or the left and the right of a pair, so that both match."""

    part: Part
    count: int
    options: tuple[Option, ...]

    def on(self, board: Board, count: int) -> Part:
        """Return `count` units as a part that the nesting will lay on this board."""
        return replace(
            self.part, count=count, material=board.material, thickness_mm=board.thickness_mm, board=None, weighed_g=None
        )


@dataclass(frozen=True, slots=True)
class AssignProblem:
    """Units with their options, the boards, everything with mass besides them, and what the model must balance to.

    `couples` are parts whose wood must match.
    """

    units: tuple[Unit, ...]
    boards: tuple[Board, ...]
    fixed: Ledger
    plan: BalancePlan
    notes: tuple[Note, ...]
    couples: tuple[Couple, ...] = ()
    wood: Wood = USUAL

    def unit(self, part: str) -> Unit:
        """Return the unit of a part."""
        return next(unit for unit in self.units if unit.part.name == part)

    def board(self, name: str) -> Board:
        """Return the board of that name."""
        return next(board for board in self.boards if board.name == name)


def make_problem(
    parts: Sequence[Part],
    boards: Sequence[Board],
    *,
    needs: Mapping[str, Need] | None = None,
    seats: Mapping[str, Seat] | None = None,
    datum: Datum | None = None,
    fixed: Ledger | None = None,
    plan: BalancePlan | None = None,
    build: Build = BARE,
    wood: Wood = USUAL,
    lies: LiesOn | None = None,
    couples: Sequence[Couple] = (),
) -> AssignProblem:
    """Return the numbers that the choice is made by.

    Args:
        parts: What is still to be cut.
        boards: What is at hand.
        needs: What each part asks of its board.
        seats: Where each part sits; a part without one counts by mass alone.
        datum: What stations on the drawing are counted from.
        fixed: Everything else with mass: equipment, glue, pieces that are cut already.
        plan: Range, lateral target and places for ballast.
        build: Finish of the parts; sanding loss goes with the board's density.
        wood: The kinds of wood, and how well boards were measured.
        lies: Whether a part can lie on a board; one on which it cannot is no choice.
        couples: Parts whose wood must match.

    Raises:
        InputError: A part of a material and thickness that no board has, or a board that cannot be weighed.
    """
    notes: list[Note] = []
    units = []
    for part in parts:
        need, seat = (needs or {}).get(part.name, ANY), (seats or {}).get(part.name)
        if seat is None and plan is not None and plan.limits is not None:
            notes.append(
                Note("no-station", f"part {part.name} has no station; it counts by its mass alone.", "open", part.name)
            )
        units.append(_unit(part, boards, need, seat, datum, build, wood, lies))
    offered = {option.board for unit in units for option in unit.options}
    notes += [_default_note(board) for board in boards if board.known_mass_g is None and board.name in offered]
    notes += untrue_tests((board for board in boards if board.name in offered), wood=wood)
    return AssignProblem(
        tuple(units), tuple(boards), fixed or Ledger(()), plan or BalancePlan(), tuple(notes), tuple(couples), wood
    )


def _default_note(board: Board) -> Note:
    text = f"board {board.name} has no scale reading; the choice uses the default density of its material."
    return Note("default-density", text)


def _unit(
    part: Part, boards: Sequence[Board], need: Need, seat: Seat | None, datum: Datum | None, build: Build,
    wood: Wood, lies: LiesOn | None,
) -> Unit:  # fmt: skip
    free = replace(part, board=None, boards=())
    offered = offered_boards(part, need, boards, wood=wood)
    if part.board is not None:
        offered = {**_others(free, need, boards, wood), **offered}
    objections = {n: _objection(part, need, board, wood, lies) for n, board in offered.items()}
    stiffness = {
        name: part_stiffness(board, board_modulus(board, wood=wood).value, need.loading).value
        for name, board in offered.items()
    }
    stiffest = max((stiffness[name] for name in offered if objections[name] is None), default=max(stiffness.values()))
    options = (
        _option(free, board, seat, datum, build, stiffness[name] / stiffest, objections[name], wood)
        for name, board in offered.items()
    )
    return Unit(free, part.count, tuple(options))


def _others(part: Part, need: Need, boards: Sequence[Board], wood: Wood) -> dict[str, Board]:
    """Return the boards that a tied part could come from if it were not tied."""
    try:
        return offered_boards(part, need, boards, wood=wood)
    except PartError:
        return {}


def _objection(part: Part, need: Need, board: Board, wood: Wood, lies: LiesOn | None) -> str | None:
    if lies is not None and not lies(part, board):
        return f"it cannot lie on {board.name}"
    if part.board is not None and part.board != board.name:
        return f"it is tied to {part.board}"
    why = why_not(part, need, board, wood=wood)
    if why is not None:
        return f"{board.name} {why}"
    is_left_out = bool(part.boards) and board.name not in part.boards
    return f"it is tied to {', '.join(part.boards)}" if is_left_out else None


def _option(
    part: Part, board: Board, seat: Seat | None, datum: Datum | None, build: Build, stiffness_share: float,
    objection: str | None, wood: Wood,
) -> Option:  # fmt: skip
    # All copies together and then their mean: the halves of a wing lie on either side of the model.
    all_of_it = replace(
        part,
        material=board.material,
        thickness_mm=board.thickness_mm,
        board=None,
        boards=(),
        weighed_g=None,
        strip=None,
    )
    table = weigh_parts([all_of_it], [board], wood=wood)
    # Without a seat the mass is taken at the datum and left out of the balance.
    entries, notes = part_entries(
        table, [all_of_it], [board], seats={part.name: seat or Seat(station_mm=0.0)}, datum=datum,
        build=replace(build, joints=(), seams=()), wood=wood,
    )  # fmt: skip
    if notes or not entries:
        raise InputError(notes[0].text if notes else f"part {part.name} cannot be weighed from board {board.name}.")
    ledger = Ledger(entries)
    mass = ledger.mass().value / part.count
    return Option(
        part=part.name,
        board=board.name,
        mass_g=mass,
        located_g=mass if seat is not None else 0.0,
        moment_g_mm=ledger.moment().value / part.count if seat is not None else 0.0,
        lateral_g_mm=ledger.lateral_moment().value / part.count if seat is not None else 0.0,
        stiffness_share=stiffness_share,
        objection=objection,
    )
