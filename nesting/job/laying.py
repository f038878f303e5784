"""Where the parts of a job lie on its boards, and what they weigh there."""

from __future__ import annotations

import itertools
import json
from collections.abc import Collection, Iterable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from nesting.balance.weights import Copy, Pick, Weight, WeightTable, choose_boards, places_on_boards, weigh_parts
from nesting.job.done_parts import placeless_copies
from nesting.job.files import digest
from nesting.job.folder import Job
from nesting.job.journal import read_files, replace_files
from nesting.job.laid import (
    LAYOUT_FILE,
    Laid,
    boards_with_held,
    held_copies,
    kept_layout,
    laid_notes,
    laid_text,
    read_laid,
    still_to_cut,
)
from nesting.job.rules import pins_of, rules_of
from nesting.job.wood import wood_of
from nesting.place.layout import Layout, Unplaced
from nesting.place.layout_rules import NestRules
from nesting.place.lies import lies_on
from nesting.place.proof import prove_layout
from nesting.wood.board import Board
from nesting.wood.density import USUAL, Wood
from nesting.wood.part import Part
from vectorize.basics.errors import InputError, NothingFoundError
from vectorize.basics.notes import Note
from vectorize.basics.watch import Watcher, unwatched
from vectorize.basics.wording import listed, shown

if TYPE_CHECKING:
    from nesting.place.nest_parts import Progress
    from nesting.place.other_boards import BoardFit


@dataclass(frozen=True, slots=True)
class Effort:
    """How long a search may take: seconds or sweeps, whichever ends first, and the seed it starts from."""

    time_limit_s: float | None = 10.0
    max_sweeps: int | None = None
    seed: int = 0

    def share(self, found: Progress) -> float | None:
        """Return what share of the limits is spent (0 to 1), None where there are none."""
        limits = ((found.seconds, self.time_limit_s), (found.sweeps, self.max_sweeps))
        shares = [spent / limit for spent, limit in limits if limit]
        return min(1.0, max(shares)) if shares else None


def nest_job(
    job: Job,
    parts: Sequence[Part],
    boards: Sequence[Board],
    *,
    effort: Effort,
    executor: Executor | None = None,
    lets_go: bool = False,
    progress: Watcher = unwatched,
) -> Layout:
    """Nest a job's parts on its boards, light boards first, and keep the proved layout in `out/layout.json`.

    What was pinned at the desk stays where it lies, unless `lets_go`, and what is cut in any case; notes say which.
    Where the same was asked for before, and nothing changed since, the layout of then is given again.

    Raises:
        InputError: A copy that stays cannot lie where it is.
        NoSolutionError, NothingFoundError: Nothing can be, or could be, placed.
        WriteError: `out/` cannot be written, or the layout there was changed meanwhile.
    """
    name = f"{job.out_name}/{LAYOUT_FILE}"
    before = read_files(job.folder, (name,))
    laid = read_laid(before[name])
    held = held_copies(job, laid, parts, boards, lets_go=lets_go)
    asked = digest(repr((effort, lets_go, sorted(held.copies), sorted(held.done))).encode())
    if laid is not None and laid.asked == asked and (kept := stored_layout(job, parts, boards)) is not None:
        progress("the layout that was made before still holds")
        return replace(kept, notes=laid_notes(before[name]))
    from nesting.place.nest_parts import nest_parts, parts_to_lay  # its kernels are slow to load

    to_lay = parts_to_lay(parts, held.done)
    choice = choose_boards(to_lay, boards, wood=wood_of(job.spec), lies=lies_on(rules_of(job)))
    layout = nest_parts(
        parts,
        boards_with_held(choice.boards, boards, held.pins),
        rules=rules_of(job),
        time_limit_s=effort.time_limit_s,
        max_sweeps=effort.max_sweeps,
        seed=effort.seed,
        pinned=held.pins,
        left_out=held.done,
        executor=executor,
        on_progress=lambda found: progress(_told(found), effort.share(found)),
    )
    if not layout.proof.is_proved:
        raise NothingFoundError(
            f"the layout found does not pass its proof ({layout.proof.faults[0]}); try another --seed or more --time."
        )
    layout = replace(layout, notes=(*layout.notes, *held.notes))
    text = laid_text(Laid(layout, inputs_hash(job, parts, boards), held.copies, asked))
    replace_files(job.folder, before, {name: text.encode()})
    return layout


def _told(found: Progress) -> str:
    """Return what a search has found so far, in words."""
    boards = "1 board" if found.boards == 1 else f"{found.boards} boards"
    return f"{boards}, {found.length_mm:.0f} mm of the last"


def boards_fit(
    job: Job, parts: Sequence[Part], boards: Sequence[Board], names: Sequence[str], *, effort: Effort
) -> tuple[list[BoardFit], tuple[Note, ...]]:
    """Return how all parts that are still to be cut fit on each of the boards named, taken alone; nothing is written.

    Notes say what is cut already.

    Raises:
        InputError: A name that no board has.
    """
    from nesting.place.other_boards import fit_each_board

    to_cut = still_to_cut(job, parts, boards)
    by_name = {board.name: board for board in to_cut.boards}
    for name in names:
        if name not in by_name:
            raise InputError(f"--on {shown(name)}: no board has that name; the rack has {listed(by_name)}.")
    fits = fit_each_board(
        to_cut.parts,
        [by_name[name] for name in names],
        rules=rules_of(job),
        time_limit_s=effort.time_limit_s,
        max_sweeps=effort.max_sweeps,
        seed=effort.seed,
    )
    return fits, to_cut.notes


def weigh_job(
    parts: Sequence[Part],
    boards: Sequence[Board],
    *,
    layout: Layout | None,
    rules: NestRules,
    wood: Wood = USUAL,
    by_hand: Collection[Copy] = (),
    done: Collection[str] = (),
    read: Collection[str] = (),
) -> WeightTable:
    """Return what every copy weighs: on its board of the layout, or without one on its lightest match.

    Each board of a layout is told with the reason: first choice, by hand, or what had no room.

    Args:
        parts: What is cut.
        boards: What it is cut from.
        layout: Where the copies lie, if they do.
        rules: How parts may lie: boards on which one cannot are not offered.
        wood: The kinds of wood, and how well boards were measured.
        by_hand: The copies that a person put where they lie: nobody looked for room elsewhere for them.
        done: Names of parts that are cut already: what is left of their board need not hold them.
        read: Names of parts that a scale has read: they need no board in the rack any more.
    """
    lies = lies_on(rules)
    table = weigh_parts(parts, boards, layout=layout, wood=wood, lies=lies, done=done)
    notes = tuple(_board_used_up(n, done, read) if n.code == "no-board" else n for n in table.notes)
    if layout is None:
        return replace(table, notes=notes)
    on_boards = [part for part in parts if part.strip is None]
    first = {pick.part: pick for pick in choose_boards(on_boards, boards, wood=wood, lies=lies).picks}
    there = places_on_boards(parts, layout)
    weights = tuple(
        replace(weight, reason=_why_nested(weight, first[weight.part], by_hand))
        if weight.is_chosen
        and weight.part in first
        and (weight.part not in done or (weight.part, weight.copy) in there)
        else weight
        for weight in table.weights
    )
    return replace(table, weights=weights, notes=notes)


def _board_used_up(note: Note, done: Collection[str], read: Collection[str]) -> Note:
    """Return in place of a missing board that a part which is cut needs none: what a scale says of it counts."""
    if note.part not in {*done, *read}:
        return note
    gone = "and no board of its wood is in the rack any more"
    if note.part in read:
        text = f"part {note.part} was weighed {gone}; what the scale said counts."
        return Note("board-used-up", text, "fixed", note.part)
    text = f"part {note.part} is cut {gone}, so what it weighs is not known; weigh it, and say so with `weighed`."
    return Note("board-used-up", text, "open", note.part)


def _why_nested(weight: Weight, pick: Pick, by_hand: Collection[Copy]) -> str:
    if (weight.part, weight.copy) in by_hand:
        return "put there by hand"
    if weight.board in pick.boards[:1]:
        return pick.reason.removeprefix(f"{weight.board}, ")
    passed = itertools.takewhile(lambda name: name != weight.board, pick.boards)
    return f"no room found on {', '.join(passed)}"


def copies_by_hand(job: Job) -> frozenset[Copy]:
    """Return the copies that a person put where they lie: pinned in `job.toml`, or at the desk."""
    pinned = {(pin.placement.part, pin.placement.copy) for pin in pins_of(job)}
    laid = kept_layout(job)
    return frozenset(pinned if laid is None else pinned | laid.pinned)


def proved_layout(
    laid: Laid, parts: Sequence[Part], boards: Sequence[Board], rules: NestRules, *, cut: frozenset[Copy] = frozenset()
) -> Laid:
    """Return a layout with its proof against parts, boards and rules as they are now; `cut` copies may be missing."""
    told = {(left.part, left.copy) for left in laid.layout.unplaced}
    gone = sorted(cut - told - places_on_boards(parts, laid.layout).keys())
    absent = (*laid.layout.unplaced, *(Unplaced(*copy, "") for copy in gone))
    proof = prove_layout(laid.layout.boards, parts, boards, rules, unplaced=absent)
    return replace(laid, layout=replace(laid.layout, proof=proof))


def stored_layout(job: Job, parts: Sequence[Part], boards: Sequence[Board]) -> Layout | None:
    """Return the layout in `out/layout.json`, proved again, if it was made from the same parts, boards and rules.

    None where there is no layout yet, or a damaged or an older one: it is made anew.
    """
    laid = kept_layout(job)
    if laid is None or laid.made_from != inputs_hash(job, parts, boards):
        return None
    layout = proved_layout(laid, parts, boards, rules_of(job), cut=placeless_copies(job.spec, parts)).layout
    return layout if layout.proof.is_proved else None


def inputs_hash(job: Job, parts: Iterable[Part], boards: Iterable[Board]) -> str:
    """Return the hash of all that a layout depends on; what a sawn part weighs and is covered with moves nothing."""
    shapes = [repr(replace(p, weighed_g=None, weighed_as=None, carved_surfaces=None, strip=None)) for p in parts]
    shapes += [f"{part.name} is cut from strip" for part in parts if part.strip is not None]
    inputs = [shapes, [repr(board) for board in boards], repr(job.spec.nest)]
    return digest(json.dumps(inputs).encode())


def unplaced_notes(layout: Layout) -> tuple[Note, ...]:
    """Return an open note for every copy that found no place."""
    return tuple(Note("unplaced", u.reason, state="open", part=u.part) for u in layout.unplaced)
