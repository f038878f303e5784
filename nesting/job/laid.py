"""The layout that a job keeps in `out/layout.json`: what lies where, and which copies stay where they lie."""

from __future__ import annotations

import json
from collections.abc import Collection, Sequence
from dataclasses import asdict, dataclass
from itertools import groupby
from typing import Any

from nesting.job.done_parts import Copy, cut_copies, placeless_copies, strip_copies
from nesting.job.folder import Job
from nesting.job.results import layout_from_json, nest_result
from nesting.job.rules import pins_of, rules_of
from nesting.place.layout import BoardLayout, Layout, Unplaced
from nesting.place.layout_rules import Pin
from nesting.place.offcut import as_sawn
from nesting.place.proof import prove_layout
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.basics.errors import InputError
from vectorize.basics.notes import Note
from vectorize.basics.plain_file import read_plain
from vectorize.basics.wording import listed

LAYOUT_FILE = "layout.json"


@dataclass(frozen=True, slots=True)
class Searched:
    """How a layout was looked for: a hash of all that was asked beside the limits, and how far the search went.

    `seconds` are those of all searches together, None where none were counted; `sweeps` is the limit of a search that
    came to its end. `is_best` says that less wood is proved impossible.
    """

    asked: str = ""
    seconds: float | None = None
    sweeps: int | None = None
    is_best: bool = False


@dataclass(frozen=True, slots=True)
class Laid:
    """A layout, the hash of what it was made from, which copies the builder pinned, and how it was looked for."""

    layout: Layout
    made_from: str
    pinned: frozenset[Copy] = frozenset()
    searched: Searched = Searched()

    @property
    def pins(self) -> tuple[Pin, ...]:
        """Return the pinned copies where they lie."""
        return self.where_lie(self.pinned)

    def where_lie(self, copies: Collection[Copy]) -> tuple[Pin, ...]:
        """Return those of `copies` that lie somewhere, where they lie."""
        return tuple(
            Pin(board.board, placement)
            for board in self.layout.boards
            for placement in board.placements
            if (placement.part, placement.copy) in copies
        )


def read_laid(text: str | bytes | None) -> Laid | None:
    """Return the layout that a file's text holds, not yet proved; None when there is none or it is damaged."""
    if text is None:
        return None
    try:
        data = json.loads(text)
        pinned = frozenset((str(part), int(copy)) for part, copy in data.get("pinned", ()))
        searched = Searched(**data.get("searched", {}))
        return Laid(layout_from_json(data), str(data["made_from"]), pinned, searched)
    except (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError):
        return None


def laid_notes(text: str | bytes | None) -> tuple[Note, ...]:
    """Return what was said when the layout of a file's text was made; nothing where that cannot be read."""
    try:
        return tuple(map(Note.from_json, json.loads(text or "")["notes"]))
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return ()


def laid_text(laid: Laid) -> str:
    """Return the text for `out/layout.json`."""
    result: dict[str, Any] = nest_result(laid.layout, laid.layout.notes) | {
        "made_from": laid.made_from,
        "searched": asdict(laid.searched),
    }
    return json.dumps(result | {"pinned": sorted(laid.pinned)}, indent=1, ensure_ascii=False)


def kept_layout(job: Job) -> Laid | None:
    """Return the layout in `out/layout.json`, not yet proved; None when there is none or it cannot be read."""
    try:
        return read_laid(read_plain(job.out / LAYOUT_FILE))
    except OSError:
        return None


@dataclass(frozen=True, slots=True)
class Held:
    """The copies that a search leaves alone, and notes on them.

    `pins` stay where they lie, `copies` are those of them that no job file pins; `done` need no place: they are cut,
    and what they were cut from is not in the rack any more, or they are cut from strip.
    """

    pins: tuple[Pin, ...]
    copies: frozenset[Copy]
    done: frozenset[Copy]
    notes: tuple[Note, ...]


def held_copies(
    job: Job, laid: Laid | None, parts: Sequence[Part], boards: Sequence[Board], *, lets_go: bool = False
) -> Held:
    """Return the copies that stay: pinned in `job.toml`, pinned at the desk, or cut already (its wood is gone).

    What is cut and lies on no board of the rack is done. With `lets_go` those pinned at the desk are free again; a part
    that is cut stays all the same.

    Raises:
        InputError: A copy that stays cannot lie where it is.
    """
    copies = {(part.name, copy) for part in parts for copy in range(1, part.copies + 1)}
    cut, from_strip = cut_copies(job.spec, parts), strip_copies(parts)
    by_hand = frozenset() if laid is None or lets_go else laid.pinned - from_strip
    asked = [pin for pin in pins_of(job) if _copy(pin) in copies]
    taken = {_copy(pin) for pin in asked}
    kept = () if laid is None else laid.where_lie((cut | by_hand) & copies - taken)
    there = {board.name for board in boards}
    pins = tuple(pin for pin in (*asked, *kept) if pin.board in there)
    lost = tuple(pin for pin in (*asked, *kept) if pin.board not in there and _copy(pin) not in cut)
    done = (cut | from_strip) - {_copy(pin) for pin in pins}
    _need_room(job, pins, parts, boards, copies)
    stay = frozenset(_copy(pin) for pin in pins) - taken
    notes = (
        *_kept_notes(stay & cut, stay - cut),
        *_done_notes(done & cut),
        *strip_notes(parts, cut),
        *map(_lost_note, lost),
    )
    return Held(pins, stay, done, notes)


@dataclass(frozen=True, slots=True)
class ToCut:
    """What is still to be cut, the boards with what is cut already taken out of them, and notes on that."""

    parts: tuple[Part, ...]
    boards: tuple[Board, ...]
    notes: tuple[Note, ...]


def still_to_cut(job: Job, parts: Sequence[Part], boards: Sequence[Board]) -> ToCut:
    """Return the parts that are still to be cut from boards, and the boards that they may come from as they are.

    Where a copy that is cut lies on a board of the rack, by the kept layout or by `[[nest.pin]]`, that wood is gone.
    """
    cut = cut_copies(job.spec, parts)
    asked = [pin for pin in pins_of(job) if _copy(pin) in cut]
    laid = kept_layout(job)
    pins = (*asked, *(() if laid is None else laid.where_lie(cut - {_copy(pin) for pin in asked})))
    gap_mm = rules_of(job).gap_mm
    sawn = [as_sawn(b, [p.placement for p in pins if p.board == b.name], parts, gap_mm=gap_mm) for b in boards]
    there = {_copy(pin) for pin in pins if pin.board in {board.name for board in boards}}
    names = {name for name, _ in placeless_copies(job.spec, parts)}
    open_parts = tuple(part for part in parts if part.name not in names)
    return ToCut(
        open_parts, tuple(sawn), (*_kept_notes(there, ()), *_done_notes(cut - there), *strip_notes(parts, cut))
    )


def boards_with_held(offered: Sequence[Board], boards: Sequence[Board], pins: Sequence[Pin]) -> tuple[Board, ...]:
    """Return the boards on offer, with those that carry a copy that stays."""
    names = {pin.board for pin in pins}
    return (*offered, *(board for board in boards if board.name in names and board not in offered))


def _copy(pin: Pin) -> Copy:
    return pin.placement.part, pin.placement.copy


def _need_room(
    job: Job, pins: Sequence[Pin], parts: Sequence[Part], boards: Sequence[Board], copies: Collection[Copy]
) -> None:
    by_board = groupby(sorted(pins, key=lambda pin: pin.board), key=lambda pin: pin.board)
    layouts = [BoardLayout(board, tuple(pin.placement for pin in own), 0.0, 0.0) for board, own in by_board]
    others = sorted(set(copies) - {_copy(pin) for pin in pins})
    proof = prove_layout(layouts, parts, boards, rules_of(job), unplaced=[Unplaced(*copy, "") for copy in others])
    if proof.faults:
        raise InputError(
            f"what stays where it lies cannot lie there any more: {proof.faults[0]} Move it at the desk; --unpin lets "
            "go of what is pinned there, and [[nest.pin]] or cut = false of the rest."
        )


def _kept_notes(cut: Collection[Copy], pinned: Collection[Copy]) -> list[Note]:
    said = {"already cut": cut, "pinned at the desk": pinned}
    return [
        Note("kept-in-place", f"{listed(f'{name} {copy}' for name, copy in sorted(copies))}: {why}, so left in place.")
        for why, copies in said.items()
        if copies
    ]


def _done_notes(done: Collection[Copy]) -> list[Note]:
    if not done:
        return []
    names = listed(f"{name} {copy}" for name, copy in sorted(done))
    text = f"cut already: {names}. They lie on no board of the rack, so they are not laid out and need no wood."
    return [Note("cut-already", text)]


def strip_notes(parts: Sequence[Part], cut: Collection[Copy]) -> list[Note]:
    """Return a note for each strip with the parts that are still to be cut from it, and so lie on no board."""
    found: dict[str, list[str]] = {}
    for part in parts:
        if part.strip is not None and (part.name, 1) not in cut:
            found.setdefault(part.strip.name, []).append(part.name)
    return [
        Note("from-strip", f"{listed(names)}: cut from {strip}, so not laid out; `rack want` tells from which lengths.")
        for strip, names in found.items()
    ]


def _lost_note(pin: Pin) -> Note:
    name, copy = _copy(pin)
    text = f"{name} {copy} was to stay on board {pin.board}, which is not in the rack; it is laid anew."
    return Note("pin-lost", text, part=name)
