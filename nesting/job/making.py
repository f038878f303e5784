"""The later stages on a job: weigh, nest, write patterns; and the whole run, from paper to pattern."""

from __future__ import annotations

import itertools
import json
from collections.abc import Collection, Iterable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

from nesting.balance.weights import Copy, Pick, Weight, WeightTable, choose_boards, weigh_parts
from nesting.job.bringing import bring_in_part, correction_name
from nesting.job.files import digest
from nesting.job.folder import Job
from nesting.job.journal import read_files, replace_files
from nesting.job.laid import LAYOUT_FILE, Laid, boards_with_held, held_copies, kept_layout, laid_text, read_laid
from nesting.job.panels import carved_names, panel_notes
from nesting.job.pattern_files import PatternWish, write_patterns
from nesting.job.plans import open_plans
from nesting.job.rack_files import read_rack
from nesting.job.rules import pins_of, rules_of
from nesting.job.tracing import JobTrace, derive_parts, make_parts, trace_job
from nesting.job.wood import accuracy_of, materials_of, needs_of
from nesting.place.layout import Layout
from nesting.place.lies import LiesOn, lies_on
from nesting.place.nest_parts import Progress, nest_parts
from nesting.place.other_boards import BoardFit, fit_each_board
from nesting.place.proof import prove_layout
from nesting.wood.board import Board
from nesting.wood.density import ACCURACY, Accuracy
from nesting.wood.material import MATERIALS, Material
from nesting.wood.needs import need_notes
from nesting.wood.part import Part
from vectorize.basics.errors import CallError, InputError, NothingFoundError
from vectorize.basics.notes import Note
from vectorize.basics.watch import Watcher, unwatched
from vectorize.basics.wording import listed, shown


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


@dataclass(frozen=True, slots=True)
class Run:
    """Everything that a run through a job gave."""

    trace: JobTrace
    parts: tuple[Part, ...]
    boards: tuple[Board, ...]
    weights: WeightTable
    layout: Layout
    files: tuple[str, ...]
    notes: tuple[Note, ...]


def run_job(job: Job, *, effort: Effort, is_forced: bool, progress: Watcher, lets_go: bool = False) -> Run:
    """Take a job from paper to patterns: trace, weigh, nest (`lets_go` as `nest_job` has it), write.

    Raises:
        SheetwoodError: A stage that cannot go on; what was written before stays.
    """
    plans = open_plans(job)
    trace = trace_job(job, progress=progress, plans=plans)
    made = derive_parts(job, trace, plans=plans)
    parts = made.parts
    boards = read_rack(job)
    progress("nesting")
    layout = nest_job(job, parts, boards, effort=effort, lets_go=lets_go, progress=progress)
    weights = nested_weights(
        parts,
        boards,
        layout,
        by_hand=copies_by_hand(job),
        lies=lies_on(rules_of(job)),
        materials=materials_of(job),
        accuracy=accuracy_of(job),
    )
    progress("writing patterns")
    files, kept = write_patterns(job, parts, boards, layout, weights, trace=trace, plans=plans, is_forced=is_forced)
    boardless = {note.part for note in weights.notes if note.code == "no-board"}
    unplaced = (note for note in unplaced_notes(layout) if note.part not in boardless)
    chosen = ((weight.part, weight.board) for weight in weights.chosen)
    asked = need_notes(parts, boards, chosen, needs_of(job), materials=materials_of(job))
    panels = panel_notes(made.carvings, weights, asked=carved_names(job))
    notes = (*trace.notes, *made.notes, *weights.notes, *asked, *panels, *layout.notes, *unplaced, *kept)
    return Run(trace, parts, boards, weights, layout, files, notes)


def pattern_job(
    job: Job, *, wish: PatternWish, effort: Effort, is_forced: bool, progress: Watcher
) -> tuple[tuple[str, ...], tuple[Note, ...]]:
    """Write the patterns asked for, from what is traced and nested already where that still holds.

    Returns the names of the files and everything said.

    Raises:
        CallError: An edited pattern without the part that it is of, or what `write_patterns` refuses.
        SheetwoodError: A stage that cannot go on; what was written before stays.
    """
    if wish.edited is not None and wish.part is None:
        raise CallError("--bring-in needs --part, the part whose outline the drawing holds.")
    before = {} if wish.part is None else read_files(job.folder, (correction_name(wish.part),))
    plans = open_plans(job)
    trace = trace_job(job, progress=progress, plans=plans)
    brought: tuple[Note, ...] = ()
    if wish.edited is not None and wish.part is not None:
        brought = bring_in_part(
            job, trace, part=wish.part, file=wish.edited.file, unit_mm=wish.edited.unit_mm, before=before
        )
        trace = trace_job(job, progress=progress, plans=plans)
    parts, said = make_parts(job, trace, plans=plans)
    boards = read_rack(job)
    layout = settled_layout(job, parts, boards, effort=effort)
    weights = nested_weights(
        parts, boards, layout, lies=lies_on(rules_of(job)), materials=materials_of(job), accuracy=accuracy_of(job)
    )
    files, told = write_patterns(
        job, parts, boards, layout, weights, wish=wish, trace=trace, plans=plans, is_forced=is_forced
    )
    return files, (*brought, *trace.notes, *said, *layout.notes, *told)


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

    Raises:
        InputError: A copy that stays cannot lie where it is.
        NoSolutionError, NothingFoundError: Nothing can be, or could be, placed.
        WriteError: `out/` cannot be written, or the layout there was changed meanwhile.
    """
    name = f"{job.out_name}/{LAYOUT_FILE}"
    before = read_files(job.folder, (name,))
    held = held_copies(job, read_laid(before[name]), parts, boards, lets_go=lets_go)
    choice = choose_boards(parts, boards, materials=materials_of(job), lies=lies_on(rules_of(job)))
    layout = nest_parts(
        parts,
        boards_with_held(choice.boards, boards, held.pins),
        rules=rules_of(job),
        time_limit_s=effort.time_limit_s,
        max_sweeps=effort.max_sweeps,
        seed=effort.seed,
        pinned=held.pins,
        executor=executor,
        on_progress=lambda found: progress(_told(found), effort.share(found)),
    )
    if not layout.proof.is_proved:
        raise NothingFoundError(
            f"the layout found does not pass its proof ({layout.proof.faults[0]}); try another --seed or more --time."
        )
    layout = replace(layout, notes=(*layout.notes, *held.notes))
    text = laid_text(Laid(layout, inputs_hash(job, parts, boards), held.copies))
    replace_files(job.folder, before, {name: text.encode()})
    return layout


def _told(found: Progress) -> str:
    """Return what a search has found so far, in words."""
    boards = "1 board" if found.boards == 1 else f"{found.boards} boards"
    return f"{boards}, {found.length_mm:.0f} mm of the last"


def boards_fit(
    job: Job, parts: Sequence[Part], boards: Sequence[Board], names: Sequence[str], *, effort: Effort
) -> list[BoardFit]:
    """Return how all parts fit on each of the boards named, taken alone; nothing is written.

    Raises:
        InputError: A name that no board has.
    """
    by_name = {board.name: board for board in boards}
    for name in names:
        if name not in by_name:
            raise InputError(f"--on {shown(name)}: no board has that name; the rack has {listed(by_name)}.")
    return fit_each_board(
        parts,
        [by_name[name] for name in names],
        rules=rules_of(job),
        time_limit_s=effort.time_limit_s,
        max_sweeps=effort.max_sweeps,
        seed=effort.seed,
    )


def nested_weights(
    parts: Sequence[Part],
    boards: Sequence[Board],
    layout: Layout,
    *,
    by_hand: Collection[Copy] = (),
    lies: LiesOn | None = None,
    materials: Mapping[str, Material] = MATERIALS,
    accuracy: Accuracy = ACCURACY,
) -> WeightTable:
    """Return the weights as nested, each chosen board with the reason: first choice, by hand, or what had no room.

    `by_hand` are the copies that a person put where they lie: nobody looked for room elsewhere for them.
    """
    first = {pick.part: pick for pick in choose_boards(parts, boards, materials=materials, lies=lies).picks}
    table = weigh_parts(parts, boards, layout=layout, materials=materials, accuracy=accuracy)
    weights = tuple(
        replace(weight, reason=_why_nested(weight, first[weight.part], by_hand)) if weight.is_chosen else weight
        for weight in table.weights
    )
    return replace(table, weights=weights)


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


def settled_layout(job: Job, parts: Sequence[Part], boards: Sequence[Board], *, effort: Effort) -> Layout:
    """Return the layout in `out/layout.json` if it was made from the same parts, boards and rules; else nest anew."""
    return stored_layout(job, parts, boards) or nest_job(job, parts, boards, effort=effort)


def stored_layout(job: Job, parts: Sequence[Part], boards: Sequence[Board]) -> Layout | None:
    """Return the layout in `out/layout.json`, proved again, if it was made from the same parts, boards and rules."""
    laid = kept_layout(job)
    if laid is None or laid.made_from != inputs_hash(job, parts, boards):
        return None  # no layout yet, a damaged or an older one: it is made anew
    layout = laid.layout
    proof = prove_layout(layout.boards, parts, boards, rules_of(job), unplaced=layout.unplaced)
    return replace(layout, proof=proof) if proof.is_proved else None


def inputs_hash(job: Job, parts: Iterable[Part], boards: Iterable[Board]) -> str:
    """Return the hash of all that a layout depends on; what a sawn part turned out to weigh moves nothing."""
    shapes = [repr(replace(part, weighed_g=None, weighed_as=None)) for part in parts]
    inputs = [shapes, [repr(board) for board in boards], repr(job.spec.nest)]
    return digest(json.dumps(inputs).encode())


def unplaced_notes(layout: Layout) -> tuple[Note, ...]:
    """Return an open note for every copy that found no place."""
    return tuple(Note("unplaced", u.reason, state="open", part=u.part) for u in layout.unplaced)
