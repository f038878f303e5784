"""More parts than one search can hold: divided by kits, then improved in rounds, a few boards at a time."""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field

from nesting.place.layout import BoardLayout, Layout, Unplaced
from nesting.place.layout_rules import NestRules, check_names, suits
from nesting.place.nest_parts import Progress, lay_parts, no_room, part_groups, parts_to_lay, search_notes
from nesting.place.proof import prove_layout
from nesting.wood.board import Board
from nesting.wood.part import Part

MOST_COPIES = 60
"""So many copies one search holds: with more, its sweeps are too few for the time that people give."""
_MOST_BOARDS = 4
_FIRST_SHARE = 0.4
"""Share of the limits for the first layout of each division; the rest goes into the rounds."""
_ROUNDS = 12
_LIKELY_FILL = 0.6
"""Share of a board that parts are likely to take, by which boards are shared out; what is left over is found room."""

Copy = tuple[str, int]


@dataclass(frozen=True, slots=True)
class Window:
    """Some boards with what lies on them, or is to: all that a search on them needs."""

    parts: tuple[Part, ...]
    boards: tuple[Board, ...]
    copies: frozenset[Copy]
    rules: NestRules
    start: tuple[BoardLayout, ...]
    time_limit_s: float | None
    max_sweeps: int | None
    seed: int
    threads: int


def search_window(window: Window) -> Layout:
    """Return the best layout found of a window; everything it needs comes with it."""
    every = {(part.name, n) for part in window.parts for n in range(1, part.copies + 1)}
    return lay_parts(
        window.parts,
        window.boards,
        rules=window.rules,
        time_limit_s=window.time_limit_s,
        max_sweeps=window.max_sweeps,
        seed=window.seed,
        start=Layout(window.start, (), prove_layout((), (), (), window.rules)) if window.start else None,
        left_out=every - window.copies,
        threads=window.threads,
    )


@dataclass(slots=True)
class _Hands:
    """Who searches: workers of an executor, `seats` at a time, or this process."""

    executor: Executor | None
    seats: int
    is_interrupted: bool = False

    def search(self, windows: Sequence[Window]) -> list[Layout | None]:
        """Return what was found of each window; None where its worker came to no end, or nothing was asked any more."""
        if self.executor is None:
            return [self._here(window) for window in windows]
        futures = [self.executor.submit(search_window, window) for window in windows]
        found: list[Layout | None] = []
        for future in futures:
            try:
                found.append(None if self.is_interrupted else future.result())
            except KeyboardInterrupt:
                self.is_interrupted = True
                found.append(None)
            except Exception:  # whatever a worker or the way to it may raise: the window stays as it is
                found.append(None)
        if self.is_interrupted:
            for future in futures:
                future.cancel()
        return found

    def _here(self, window: Window) -> Layout | None:
        if self.is_interrupted:
            return None
        found = search_window(window)
        self.is_interrupted = found.is_interrupted
        return found


@dataclass(slots=True)
class _Wood:
    """The parts and boards of one wood, what lies where, and what found no place."""

    parts: tuple[Part, ...]
    boards: tuple[Board, ...]
    copies: tuple[Copy, ...]
    rules: NestRules
    kit_of: Mapping[str, str]
    layouts: dict[str, BoardLayout] = field(default_factory=dict)
    left: dict[Copy, Unplaced] = field(default_factory=dict)

    def window(self, boards: Iterable[Board], copies: Collection[Copy], limits: _Limits, seed: int) -> Window:
        """Return boards with what lies on them and `copies` besides."""
        boards = tuple(boards)
        start = tuple(self.layouts[board.name] for board in boards if board.name in self.layouts)
        lying = {(p.part, p.copy) for layout in start for p in layout.placements}
        names = {name for name, _ in (*lying, *copies)}
        return Window(
            tuple(part for part in self.parts if part.name in names),
            boards,
            frozenset(lying | set(copies)),
            self.rules,
            start,
            limits.time_limit_s,
            limits.max_sweeps,
            seed,
            limits.threads,
        )

    def take(self, window: Window, found: Layout | None) -> None:
        """Take over what was found, if it is proved and takes no more wood."""
        if found is None or not found.proof.is_proved:
            return
        lying = [self.layouts[board.name] for board in window.boards if board.name in self.layouts]
        left = len(window.copies) - sum(len(layout.placements) for layout in lying)
        if _taken(window.boards, found.boards, len(found.unplaced)) > _taken(window.boards, lying, left):
            return
        for copy in window.copies:
            self.left.pop(copy, None)
        self.left |= {(one.part, one.copy): one for one in found.unplaced}
        for board in window.boards:
            self.layouts.pop(board.name, None)
        self.layouts |= {layout.board: layout for layout in found.boards}


@dataclass(frozen=True, slots=True)
class _Limits:
    time_limit_s: float | None
    max_sweeps: int | None
    threads: int

    def share(self, share: float) -> _Limits:
        time_s = None if self.time_limit_s is None else self.time_limit_s * share
        sweeps = None if self.max_sweeps is None else max(1, int(self.max_sweeps * share))
        return _Limits(time_s, sweeps, self.threads)


def nest_in_rounds(
    parts: Sequence[Part],
    boards: Sequence[Board],
    *,
    rules: NestRules,
    kit_of: Mapping[str, str],
    seats: int = 1,
    time_limit_s: float | None = 10.0,
    max_sweeps: int | None = None,
    seed: int = 0,
    start: Layout | None = None,
    left_out: Collection[Copy] = (),
    executor: Executor | None = None,
    on_progress: Callable[[Progress], None] | None = None,
    **_: object,
) -> Layout:
    """Return all parts laid out on `boards`, with the proof of the whole; what finds no place is told as unplaced.

    The search ends with its limit, or on Ctrl-C: the best so far is returned.

    Of each wood, kits are laid out in divisions that one search can hold, each on boards of its own, so that a kit
    stays together. Then in each round some boards, the emptiest and a few fuller ones that share kits with it, are laid
    out anew together; what takes less wood is taken over.

    Args:
        parts: What to place.
        boards: Where to, in the order in which they are to be used.
        rules: Tool, clearance, margins.
        kit_of: The kit of each part, by the part's name; kits are divided in the order of their parts.
        seats: How many searches the executor runs at a time.
        time_limit_s: Seconds from beginning to end, if all seats work all the time; None without a limit.
        max_sweeps: Sweeps of each seat; with them alone equal input and seed give equal layouts.
        seed: Chooses the random numbers.
        start: An earlier layout, which the result takes no more wood than.
        left_out: Copies that need no place.
        executor: Runs the searches; without one they run here, one after the other.
        on_progress: Called from this thread after each round.

    Raises:
        InputError: Doubled or unknown names; an outline that crosses itself.
    """
    to_lay = parts_to_lay(parts, left_out)
    check_names(parts, boards, rules, to_lay=to_lay)
    began, hands = time.monotonic(), _Hands(executor, seats)
    every = _copies(to_lay, left_out)
    limits = _Limits(time_limit_s, max_sweeps, 2 if executor is None else 1)
    done: list[_Wood] = []
    for group_parts, group_boards in part_groups(to_lay, boards):
        copies = _copies(group_parts, left_out)
        wood = _Wood(tuple(group_parts), tuple(group_boards), tuple(copies), rules, kit_of)
        done.append(wood)
        if start is None:
            wood.left = {copy: no_room(*copy) for copy in copies}
        else:
            names = {board.name for board in group_boards}
            wood.layouts = {layout.board: layout for layout in start.boards if layout.board in names}
        for _wood in _nested(wood, limits.share(len(wood.copies) / len(every)), hands, seed):
            if on_progress is not None:
                lying = [layout for one in done for layout in one.layouts.values()]
                length = lying[-1].used_length_mm if lying else 0.0
                on_progress(Progress(len(lying), length, time.monotonic() - began, 0))
    order = {board.name: number for number, board in enumerate(boards)}
    layouts = sorted((one for wood in done for one in wood.layouts.values()), key=lambda one: order[one.board])
    unplaced = tuple(one for wood in done for _, one in sorted(wood.left.items()))
    absent = (*unplaced, *(Unplaced(*copy, "") for copy in left_out))
    proof = prove_layout(layouts, parts, boards, rules, unplaced=absent)
    notes = tuple(search_notes(to_lay, rules))
    return Layout(tuple(layouts), unplaced, proof, notes, is_cut_short=True, is_interrupted=hands.is_interrupted)


def _copies(parts: Iterable[Part], left_out: Collection[Copy]) -> list[Copy]:
    every = ((part.name, n) for part in parts for n in range(1, part.copies + 1))
    return [copy for copy in every if copy not in left_out]


def _nested(wood: _Wood, limits: _Limits, hands: _Hands, seed: int) -> Iterable[_Wood]:
    """Lay out one wood; give it after each round."""
    began = time.monotonic()
    if not wood.layouts:
        shares = _divided(wood)
        if len(shares) == 1:
            # All in one search: each seat takes another seed.
            windows = [wood.window(wood.boards, wood.copies, limits, seed + n) for n in range(hands.seats)]
        else:
            first = limits.share(_FIRST_SHARE * min(1.0, hands.seats / len(shares)))
            windows = [wood.window(boards, copies, first, seed) for copies, boards in shares if boards]
        for window, found in zip(windows, hands.search(windows), strict=True):
            wood.take(window, found)
        yield wood
        if len(shares) == 1:
            return
    rng = random.Random(seed)
    each = limits.share((1 - _FIRST_SHARE) / _ROUNDS)
    for number in range(_ROUNDS):
        is_over = limits.time_limit_s is not None and time.monotonic() - began > limits.time_limit_s
        if hands.is_interrupted or is_over:
            return
        windows = _windows(wood, hands.seats, rng, each, seed + number + 1)
        for window, found in zip(windows, hands.search(windows), strict=True):
            wood.take(window, found)
        yield wood


def _divided(wood: _Wood) -> list[tuple[list[Copy], list[Board]]]:
    """Return kits in divisions that one search can hold, each with boards of its own, in the order of both."""
    area = {part.name: part.outline.area_mm2 for part in wood.parts}
    kits: dict[str, list[Copy]] = {}
    for copy in wood.copies:
        kits.setdefault(wood.kit_of[copy[0]], []).append(copy)
    shares: list[list[Copy]] = [[]]
    for copies in kits.values():
        if shares[-1] and len(shares[-1]) + len(copies) > MOST_COPIES:
            shares.append([])
        shares[-1] += copies
    boards = list(wood.boards)
    found: list[tuple[list[Copy], list[Board]]] = []
    for number, copies in enumerate(shares, start=1):
        own, wanted = [], sum(area[name] for name, _ in copies) / _LIKELY_FILL
        while boards and (wanted > 0 or number == len(shares)):
            own.append(boards.pop(0))
            wanted -= own[-1].shape.area_mm2
        found.append((copies, own))
    return found


def _windows(wood: _Wood, seats: int, rng: random.Random, limits: _Limits, seed: int) -> list[Window]:
    """Return boards to be laid out anew, no board in two windows: the emptiest ones, each with fuller ones."""
    by_name = {board.name: board for board in wood.boards}
    lying = sorted(wood.layouts.values(), key=lambda one: (one.used_fraction, one.board))
    free = [board for board in wood.boards if board.name not in wood.layouts]
    left = sorted(wood.left)[: MOST_COPIES // 2]
    windows: list[Window] = []
    while lying and len(windows) < seats:
        donor = lying.pop(0)
        chosen, count = [donor], len(donor.placements) + len(left)
        others = sorted(lying, key=lambda one: -_shared(wood, donor, one) - rng.random())
        for other in others:
            if len(chosen) < _MOST_BOARDS and count + len(other.placements) <= MOST_COPIES:
                chosen.append(other)
                count += len(other.placements)
        lying = [one for one in lying if one not in chosen]
        fullest = [by_name[one.board] for one in sorted(chosen, key=lambda one: (-one.used_fraction, one.board))]
        more = [board for board in free if any(suits(part, board) for part in wood.parts if part.name in dict(left))]
        windows.append(wood.window((*fullest, *more[:1]), left, limits, seed + len(windows)))
        free, left = [board for board in free if board not in more[:1]], []
    if left and free and not windows:
        windows.append(wood.window(free, left, limits, seed))
    return windows


def _shared(wood: _Wood, one: BoardLayout, other: BoardLayout) -> float:
    """Return what share of a board's kits lie on the other too: kits that are together stay so."""
    kits = [{wood.kit_of[place.part] for place in layout.placements} for layout in (one, other)]
    return len(kits[0] & kits[1]) / max(1, len(kits[0]))


def _taken(boards: Sequence[Board], layouts: Iterable[BoardLayout], left: int) -> tuple[int, int, float]:
    """Return copies without a place, boards used, and the length used on the last of them."""
    number = {board.name: n for n, board in enumerate(boards)}
    used = [layout for layout in layouts if layout.placements]
    last = max(used, key=lambda one: number[one.board], default=None)
    return left, len(used), 0.0 if last is None else last.used_length_mm
