"""Parts on boards: the whole way from outlines to a proved layout."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Collection, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

import numpy as np

from nesting.place.copies import Kind, make_pieces
from nesting.place.improve import Budget, Measure, improve, make_race, measure
from nesting.place.kernel_arrays import Scene
from nesting.place.layout import BoardLayout, Layout, Placement, Unplaced
from nesting.place.layout_rules import KNIFE_LIMIT_MM, NestRules, Pin, check_names, suits
from nesting.place.margins import usable_area
from nesting.place.proof import prove_layout
from nesting.place.search_space import Yard, build_yard
from nesting.place.spare import Crew, gather, on_board
from nesting.place.start import first_layout, scene_of, squeeze_in
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.basics.compiled import why_slow
from vectorize.basics.errors import NoSolutionError, NothingFoundError
from vectorize.basics.notes import Note
from vectorize.shapes.outline import Outline, Pose

_LEFT_OUT = "no room was left on the boards"
_STARTS = 4
_SPARE_SHARE = 0.1
"""Share of the limits that goes into gathering the last board's parts for the sake of the offcut."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a search has come: boards used, length used on the last of them, seconds and sweeps spent."""

    boards: int
    length_mm: float
    seconds: float
    sweeps: int


@dataclass(frozen=True, slots=True)
class _Task:
    """Parts and boards that have to do with each other, and all that a search on them needs."""

    parts: tuple[Part, ...]
    boards: tuple[Board, ...]
    rules: NestRules
    time_limit_s: float | None
    max_sweeps: int | None
    seed: int
    start: tuple[BoardLayout, ...]
    pinned: tuple[Pin, ...]
    left_out: frozenset[tuple[str, int]] = frozenset()
    workers: int = 2


@dataclass(frozen=True, slots=True)
class _Found:
    """What a search on one task found; less `wood` is better."""

    layouts: tuple[BoardLayout, ...]
    unplaced: tuple[Unplaced, ...]
    wood: tuple[float, ...]
    is_proved_best: bool
    is_interrupted: bool = False


def nest_parts(
    parts: Sequence[Part],
    boards: Sequence[Board],
    *,
    rules: NestRules,
    time_limit_s: float | None = 10.0,
    max_sweeps: int | None = None,
    seed: int = 0,
    start: Layout | None = None,
    pinned: Sequence[Pin] = (),
    left_out: Collection[tuple[str, int]] = (),
    executor: Executor | None = None,
    starts: int = _STARTS,
    on_progress: Callable[[Progress], None] | None = None,
) -> Layout:
    """Return all parts laid out on `boards`, which are used in the order given, with the proof.

    Fewest boards come first, then the least length used on the last, then the largest rectangle that is
    left of that board. The search ends with the time or sweep limit, on Ctrl-C (the best so far is
    returned), or when less wood is proved impossible; with a sweep limit and no time limit, equal input
    and seed give equal layouts on any machine.

    Args:
        parts: What to place; each copy of each part once. Names must differ.
        boards: Where to; only boards of a part's material and thickness (within 0.15 mm) take it.
        rules: Tool, clearance, margins; see `NestRules`.
        time_limit_s: Seconds for the search, None for no limit; a first layout is made in any case.
        max_sweeps: Sweeps of both workers together, None for no limit.
        seed: Chooses the random numbers.
        start: An earlier layout; the result takes no more wood than it.
        pinned: Copies that stay where they are.
        left_out: Copies, by part and number, that need no place: neither laid out nor told as unplaced.
        executor: Runs `starts` independent searches (seed, seed + 1, …) and takes the best; without
            one, a single search runs on two threads.
        starts: How many searches an executor runs.
        on_progress: Called from this thread whenever a better layout is found.

    Raises:
        InputError: Doubled or unknown names; an outline that crosses itself.
        NoSolutionError: It is proved that not one part can be placed.
        NothingFoundError: Nothing was placed, though a place may exist.
    """
    if not boards and (to_lay := parts_to_lay(parts, left_out)):
        check_names(parts, boards, rules, to_lay=to_lay)
        raise NoSolutionError(f"{len(to_lay)} parts are to be placed but there is no board; add one to the rack.")
    layout = lay_parts(
        parts,
        boards,
        rules=rules,
        time_limit_s=time_limit_s,
        max_sweeps=max_sweeps,
        seed=seed,
        start=start,
        pinned=pinned,
        left_out=left_out,
        executor=executor,
        starts=starts,
        on_progress=on_progress,
    )
    if layout.unplaced and not layout.boards:
        reason = layout.unplaced[0].reason
        raise NothingFoundError(reason) if _LEFT_OUT in reason else NoSolutionError(reason)
    return layout


def lay_parts(
    parts: Sequence[Part],
    boards: Sequence[Board],
    *,
    rules: NestRules,
    time_limit_s: float | None = 10.0,
    max_sweeps: int | None = None,
    seed: int = 0,
    start: Layout | None = None,
    pinned: Sequence[Pin] = (),
    left_out: Collection[tuple[str, int]] = (),
    executor: Executor | None = None,
    starts: int = _STARTS,
    threads: int = 2,
    on_progress: Callable[[Progress], None] | None = None,
) -> Layout:
    """Return what `nest_parts` does, by `threads` threads, and a layout also where nothing found a place.

    Raises:
        InputError: Doubled or unknown names; an outline that crosses itself.
    """
    to_lay = parts_to_lay(parts, left_out)
    check_names(parts, boards, rules, to_lay=to_lay)
    found: list[_Found] = []
    groups = part_groups(to_lay, boards)
    for group_parts, group_boards in groups:
        share = len(group_parts) / len(to_lay)
        task = _Task(
            tuple(group_parts),
            tuple(group_boards),
            rules,
            None if time_limit_s is None else time_limit_s * share,
            None if max_sweeps is None else math.ceil(max_sweeps * share),
            seed,
            () if start is None else start.boards,
            tuple(pinned),
            frozenset(left_out),
            threads,
        )
        found.append(_search_group(task, executor, starts, on_progress))
        if found[-1].is_interrupted:
            time_limit_s = 0.0
    layouts = _in_board_order([layout for result in found for layout in result.layouts], boards)
    unplaced = [left for result in found for left in result.unplaced]
    absent = (*unplaced, *(Unplaced(*copy, "") for copy in left_out))
    proof = prove_layout(layouts, parts, boards, rules, unplaced=absent)
    is_cut_short = not all(result.is_proved_best for result in found)
    is_interrupted = any(result.is_interrupted for result in found)
    return Layout(
        tuple(layouts), tuple(unplaced), proof, tuple(search_notes(to_lay, rules)), is_cut_short, is_interrupted
    )


def parts_to_lay(parts: Sequence[Part], left_out: Collection[tuple[str, int]]) -> list[Part]:
    """Return the parts of which at least one copy is not left out."""
    return [part for part in parts if any((part.name, n) not in left_out for n in range(1, part.copies + 1))]


def part_groups(parts: Sequence[Part], boards: Sequence[Board]) -> list[tuple[list[Part], list[Board]]]:
    """Return the parts and boards that have to do with each other: one group per material and thickness."""
    found: list[tuple[list[Part], list[Board]]] = []
    for part in parts:
        own = [board for board in boards if suits(part, board)]
        joined = [group for group in found if any(board in group[1] for board in own)]
        members = [p for group in joined for p in group[0]] + [part]
        wood = [board for board in boards if board in own or any(board in group[1] for group in joined)]
        found = [group for group in found if group not in joined] + [(members, wood)]
    return found


def _search_group(
    task: _Task, executor: Executor | None, starts: int, on_progress: Callable[[Progress], None] | None
) -> _Found:
    if executor is None or not task.boards:
        return search(task, on_progress)
    tasks = [replace_seed(task, task.seed + k) for k in range(max(starts, 1))]
    results = [future.result() for future in [executor.submit(search, one) for one in tasks]]
    return min(results, key=lambda result: result.wood)


def replace_seed(task: _Task, seed: int) -> _Task:
    """Return the task for an independent search on one thread."""
    return replace(task, seed=seed, workers=1)


def search(task: _Task, on_progress: Callable[[Progress], None] | None = None) -> _Found:
    """Return the best layout found for one group of parts; everything it needs comes with the task."""
    part_of = {part.name: part for part in task.parts}
    pins = [pin for pin in task.pinned if pin.placement.part in part_of]
    there = {(p.placement.part, p.placement.copy) for p in pins}
    kinds, pieces = make_pieces(task.parts, task.rules, pinned=there | task.left_out)
    if not task.boards:
        copies = [copy for piece in pieces for copy in piece.copies]
        return _Found((), tuple(Unplaced(n, c, _no_board(part_of[n])) for n, c in copies), (len(copies),), True)

    def may_lie(kind: Kind, board: Board) -> bool:
        return all(suits(part_of[name], board) for name, _ in kind.arrangements[0].members)

    everything = build_yard(
        kinds,
        pieces,
        task.boards,
        task.rules,
        may_lie=may_lie,
        pinned=[(pin, part_of[pin.placement.part]) for pin in pins],
    )
    fits = np.diff(everything.choice.off)[everything.choice.kind] > 0
    yard = everything.only(np.flatnonzero(fits).tolist())
    unplaced = [
        Unplaced(name, copy, _too_large(part_of[name], task.boards, task.rules))
        for k in np.flatnonzero(~fits)
        for name, copy in pieces[k].copies
    ]
    budget, rest = _shared(task)
    yard, scene, left = _begin(yard, task, budget)
    unplaced += [no_room(*copy) for copy in left]

    def report(better: Scene) -> None:
        now = measure(yard, better)
        if on_progress is not None:
            on_progress(Progress(now.last + 1, now.length, budget.seconds(), budget.sweeps))

    report(scene)
    scene = improve(yard, scene, budget=budget, seed=task.seed, workers=task.workers, on_better=report)
    found = [_board_layout(yard, scene, b, part_of, pins) for b in range(len(task.boards))]
    layouts = [layout for layout in found if layout is not None]
    spare_mm2 = 0.0
    if layouts and not budget.is_stopped:
        layouts[-1], spare_mm2 = _gathered(task, yard, scene, tuple(kinds), layouts[-1], pins, rest)
    return _Found(
        tuple(layouts),
        tuple(unplaced),
        (len(unplaced), *_wood(measure(yard, scene)), -spare_mm2),
        budget.is_proved_best and not left,
        budget.is_stopped or rest.is_stopped,
    )


def _shared(task: _Task) -> tuple[Budget, Budget]:
    """Return what may be spent on taking less wood, and what then on leaving more of use."""
    time_s, most = task.time_limit_s, task.max_sweeps
    rest = None if most is None else math.floor(most * _SPARE_SHARE)
    return (
        Budget(None if time_s is None else time_s * (1 - _SPARE_SHARE), None if most is None else most - (rest or 0)),
        Budget(None if time_s is None else time_s * _SPARE_SHARE, rest),
    )


def _gathered(
    task: _Task, yard: Yard, scene: Scene, kinds: tuple[Kind, ...], last: BoardLayout, pins: Sequence[Pin], rest: Budget
) -> tuple[BoardLayout, float]:
    """Return the last board's layout with the most useful offcut that the rest of the budget finds, and its area."""
    number = next(b for b, board in enumerate(task.boards) if board.name == last.board)
    there = tuple(pin for pin in pins if pin.board == last.board)
    crew = Crew(task.boards[number], kinds, on_board(yard, scene, number), task.parts, there, task.rules)
    rest.began = time.monotonic()
    try:
        better, area_mm2 = gather(crew, last, budget=rest, seed=task.seed, workers=task.workers)
    except KeyboardInterrupt:
        rest.is_stopped = True
        return last, 0.0
    if better is not None:
        part_of = {part.name: part for part in task.parts}
        last = _board_layout(*better, 0, part_of, there) or last
    return last, area_mm2


def _wood(taken: Measure) -> tuple[float, float]:
    return float(taken.last), taken.length


def _begin(yard: Yard, task: _Task, budget: Budget) -> tuple[Yard, Scene, list[tuple[str, int]]]:
    """Return a first layout, from the earlier one if that is better, and the copies that found no place."""
    earlier = scene_of(yard, task.start) if task.start else None
    scene, missing = first_layout(yard, task.seed)
    if earlier is not None and (missing or _wood(measure(yard, earlier)) <= _wood(measure(yard, scene))):
        return yard, earlier, []
    if not missing:
        return yard, scene, []
    pieces = yard.pieces
    with make_race(yard, budget, task.seed, task.workers) as race:
        yard, scene, left = squeeze_in(yard, scene, missing, race=race, share=0.5)
    return yard, scene, [copy for k in left for copy in pieces[k].copies]


def _board_layout(
    yard: Yard, scene: Scene, number: int, part_of: dict[str, Part], pins: Sequence[Pin]
) -> BoardLayout | None:
    board = yard.boards[number]
    placements = [pin.placement for pin in pins if pin.board == board.name] + yard.placements(scene, number)
    if not placements:
        return None
    placements.sort(key=lambda p: (p.part, p.copy))
    area = sum(part_of[p.part].outline.area_mm2 for p in placements)
    return BoardLayout(
        board.name, tuple(placements), area / board.shape.area_mm2, used_length_mm(board, placements, part_of)
    )


def used_length_mm(board: Board, placements: Sequence[Placement], part_of: dict[str, Part]) -> float:
    """Return how far from the board's left end its parts reach."""
    right = max(part_of[p.part].outline.placed(p.pose).bounds[2] for p in placements)
    return right - board.shape.bounds[0]


def _in_board_order(layouts: list[BoardLayout], boards: Sequence[Board]) -> list[BoardLayout]:
    order = {board.name: k for k, board in enumerate(boards)}
    return sorted(layouts, key=lambda layout: order[layout.board])


def no_room(part: str, copy: int) -> Unplaced:
    """Return that a copy found no place on boards that others took first."""
    return Unplaced(part, copy, f"part {part}: {_LEFT_OUT}; add a board or give more time.")


def _no_board(part: Part) -> str:
    wanted = f"{part.thickness_mm:g} mm {part.material}"
    return f"part {part.name}: no board of {wanted} is in the rack; add one, or choose another thickness."


def _too_large(part: Part, boards: Sequence[Board], rules: NestRules) -> str:
    length, width = part.outline.placed(Pose(angle_deg=-part.grain_deg)).size_mm
    rooms = [(board.name, usable_area(board, rules)) for board in boards if suits(part, board)]
    name, room = max(rooms, key=lambda pair: pair[1].area)
    if room.is_empty:
        return f"part {part.name}: the margins leave nothing of board {name}; make ends and edges smaller."
    x0, y0, x1, y1 = room.bounds
    return (
        f"part {part.name} is {length:.1f} × {width:.1f} mm along and across the grain; the largest board, {name}, "
        f"has room for {x1 - x0:.1f} × {y1 - y0:.1f} mm. Edge-glue planks for width, "
        "scarf two pieces for length, or add a larger board."
    )


def search_notes(parts: Sequence[Part], rules: NestRules) -> list[Note]:
    """Return what is to be said of a search for places of the parts, by these rules."""
    notes = []
    slow = why_slow()
    if slow is not None:
        notes.append(Note("kernels-not-kept", slow))
    if rules.tool == "knife":
        notes += [
            Note(
                "thick-for-knife",
                f"part {part.name} is {part.thickness_mm:g} mm {part.material}; "
                f"a knife is for balsa up to {KNIFE_LIMIT_MM} mm.",
                part=part.name,
            )
            for part in parts
            if part.thickness_mm > KNIFE_LIMIT_MM or part.material != "balsa"
        ]
    return notes


def compile_kernels() -> None:
    """Have the kernels compiled, so that on a fresh machine this does not eat the time of a search."""
    plate = Part("plate", Outline.rectangle(0.0, 0.0, 10.0, 5.0), "balsa", 1.0, count=2)
    nest_parts([plate], [Board("board", "balsa", 1.0, 30.0, 20.0)], rules=NestRules(), max_sweeps=2, time_limit_s=None)
