"""Where the parts of a job lie on its boards, and what they weigh there."""

from __future__ import annotations

import itertools
import json
import time
from collections.abc import Callable, Collection, Iterable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeAlias

import nesting
from nesting.balance.weights import Copy, Pick, Weight, WeightTable, choose_boards, places_on_boards, weigh_parts
from nesting.job.done_parts import placeless_copies
from nesting.job.files import digest
from nesting.job.folder import Job
from nesting.job.journal import read_files, replace_files
from nesting.job.laid import (
    LAYOUT_FILE,
    Held,
    Laid,
    Searched,
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


_SEATS = 4
"""How many searches run side by side on a cluster, of which the best is taken."""


Finder: TypeAlias = Callable[..., Layout]
"""What looks for places as `nest_parts` does."""


@dataclass(frozen=True, slots=True)
class Effort:
    """How long a search may take: seconds or sweeps, whichever ends first, and the seed it starts from."""

    time_limit_s: float | None = 10.0
    max_sweeps: int | None = None
    seed: int = 0

    def told(self, asked: str, layout: Layout, spent_s: float) -> Searched:
        """Return what is kept of a search that was asked for this effort and gave `layout`."""
        if self.max_sweeps is None:
            counted_s = spent_s if self.time_limit_s is not None else None
            return Searched(asked, counted_s, None, not layout.is_cut_short)
        sweeps = None if layout.is_interrupted else self.max_sweeps
        return Searched(asked, None if sweeps is None else self.time_limit_s, sweeps, not layout.is_cut_short)

    def after(self, before: Searched, seats: int) -> Effort | None:
        """Return what is still to be spent where `before` was looked for the same, None where nothing is.

        A search with a limit of sweeps is made whole or not at all, so that it gives the same every time. `seats` is
        how many searches share the work.
        """
        if self.max_sweeps is not None:
            return None if (before.sweeps, before.seconds) == (self.max_sweeps, self.time_limit_s) else self
        if before.is_best:
            return None
        if self.time_limit_s is None or before.seconds is None:
            return self
        left_s = self.time_limit_s - before.seconds / seats
        return replace(self, time_limit_s=left_s) if left_s > 0 else None

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
    finder: Finder | None = None,
    progress: Watcher = unwatched,
) -> Layout:
    """Nest a job's parts on its boards, light boards first, and keep the proved layout in `out/layout.json`.

    What was pinned at the desk stays where it lies, unless `lets_go`, and what is cut in any case; notes say which.
    Where the same was asked for before, and nothing changed since, the layout of then is given again; a longer search
    than that goes on from it.

    Raises:
        InputError: A copy that stays cannot lie where it is.
        NoSolutionError, NothingFoundError: Nothing can be, or could be, placed.
        WriteError: `out/` cannot be written, or the layout there was changed meanwhile.
    """
    name = f"{job.out_name}/{LAYOUT_FILE}"
    before = read_files(job.folder, (name,))
    laid = read_laid(before[name])
    held = held_copies(job, laid, parts, boards, lets_go=lets_go)
    asked = _asked(job, held, effort.seed, lets_go=lets_go)
    earlier = laid.searched if laid is not None and laid.searched.asked == asked else Searched()
    kept = stored_layout(job, parts, boards) if earlier.asked else None
    seats = 1 if executor is None else _SEATS
    left = effort if kept is None else effort.after(earlier, seats)
    if kept is not None and left is None:
        progress("the layout that was made before still holds")
        return replace(kept, notes=laid_notes(before[name]))
    start = None if effort.max_sweeps is not None or kept is None or kept.unplaced else kept
    ask = _Ask(held, effort if start is None or left is None else left, start, executor, finder)
    began = time.monotonic()
    layout = _found(job, parts, boards, ask, progress)
    spent_s = seats * ((time.monotonic() - began if layout.is_interrupted else ask.effort.time_limit_s) or 0.0)
    searched = effort.told(asked, layout, spent_s + (0.0 if start is None else earlier.seconds or 0.0))
    text = laid_text(Laid(layout, inputs_hash(job, parts, boards), held.copies, searched))
    replace_files(job.folder, before, {name: text.encode()})
    return layout


def _asked(job: Job, held: Held, seed: int, *, lets_go: bool) -> str:
    """Return the hash of what a search goes by besides its limits and what makes its result stale (`inputs_hash`)."""
    asked = (nesting.__version__, seed, lets_go, sorted(held.copies), sorted(held.done), wood_of(job.spec))
    return digest(repr(asked).encode())


@dataclass(frozen=True, slots=True)
class _Ask:
    """What a search is to do: leave alone what is held, spend the effort, begin from a layout, share its seats.

    `finder` searches in place of `nest_parts`.
    """

    held: Held
    effort: Effort
    start: Layout | None
    executor: Executor | None
    finder: Finder | None


def _found(job: Job, parts: Sequence[Part], boards: Sequence[Board], ask: _Ask, progress: Watcher) -> Layout:
    from nesting.place.nest_parts import nest_parts, parts_to_lay  # its kernels are slow to load

    held, effort, rules = ask.held, ask.effort, rules_of(job)
    to_lay = parts_to_lay(parts, held.done)
    choice = choose_boards(to_lay, boards, wood=wood_of(job.spec), lies=lies_on(rules))
    layout = (ask.finder or nest_parts)(
        parts,
        boards_with_held(choice.boards, boards, held.pins),
        rules=rules,
        time_limit_s=effort.time_limit_s,
        max_sweeps=effort.max_sweeps,
        seed=effort.seed,
        start=ask.start,
        pinned=held.pins,
        left_out=held.done,
        executor=ask.executor,
        starts=_SEATS,
        on_progress=lambda found: progress(_told(found), effort.share(found)),
    )
    if not layout.proof.is_proved:
        raise NothingFoundError(
            f"the layout found does not pass its proof ({layout.proof.faults[0]}); try another --seed or more --time."
        )
    return replace(layout, notes=(*layout.notes, *held.notes))


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
