"""The search: shorten, let pieces overlap, take the overlaps out, and so on.

Two workers race for every target with streams of their own; the first in order of worker that gets all
overlap out wins. They run in rounds of whole sweeps, so that a seed and a number of sweeps always give
the same layout, however fast the machine is. Method: Gardeyn, Vanden Berghe and Wauters 2025
(arXiv 2509.13329); what differs: steps that adapt, several boards, the race.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field

import numpy as np

from nesting.place.kernel_arrays import Floats, Ints, Scene, Words, copy_scene
from nesting.place.move import allows, put
from nesting.place.rng import below, seeded, uniform
from nesting.place.search_space import Yard
from nesting.place.sweep import enter, refresh_all, sweeps

_STEP_FIRST, _STEP_LEAST, _STEP_MOST = 0.01, 0.001, 0.04
_SQUEEZE_FIRST, _SQUEEZE_LEAST = 0.0005, 0.00001
_EXPLORE_SHARE = 0.8
PATIENCE, STRIKES = 200, 3
_SWAP_TRIES = 20
WORKERS = 2


@dataclass(slots=True)
class Budget:
    """Seconds and sweeps that may be spent; None is no limit. `stop` may be set from outside."""

    time_limit_s: float | None
    max_sweeps: int | None
    began: float = field(default_factory=time.monotonic)
    sweeps: int = 0
    evaluations: int = 0
    is_stopped: bool = False
    is_proved_best: bool = False

    def seconds(self) -> float:
        """Return the seconds since the search began."""
        return time.monotonic() - self.began

    def spent(self) -> float:
        """Return the share of the budget that is spent; 1 or more means stop."""
        if self.is_stopped:
            return np.inf
        by_time = 0.0 if self.time_limit_s is None else self.seconds() / max(self.time_limit_s, 1e-9)
        by_sweeps = 0.0 if self.max_sweeps is None else self.sweeps / max(self.max_sweeps, 1e-9)
        return max(by_time, by_sweeps)


@dataclass(slots=True)
class Worker:
    """One stream of the race, with all the memory its kernels need."""

    scene: Scene
    best: Scene
    weights: Floats
    severities: Floats
    score: Floats
    count: Ints
    state: Words
    strikes: int = 0
    strike_score: float = np.inf

    @staticmethod
    def for_yard(yard: Yard, seed: int, stream: int) -> Worker:
        """Return a worker with a stream of its own."""
        size = len(yard.scene.spot)
        return Worker(
            copy_scene(yard.scene), copy_scene(yard.scene), np.ones((size, size)), np.zeros((size, size)),
            np.full(2, np.inf), np.zeros(3, np.int64), seeded(seed, stream),
        )  # fmt: skip

    def moved_to(self, yard: Yard) -> Worker:
        """Return a worker for another yard that goes on with the same stream and counts."""
        other = Worker.for_yard(yard, 0, 0)
        other.state[:], other.count[:] = self.state, self.count
        return other

    def begin(self, yard: Yard, scene: Scene) -> None:
        """Take over `scene` as a new start, with every piece brought into its room."""
        for own, other in zip(self.scene, scene, strict=True):
            own[...] = other
        enter(yard.bank, yard.choice, self.scene, self.state)
        self.weights[...] = 1.0
        self.recount(yard)
        self._remember()
        self.strikes, self.strike_score = 0, self.score[0]

    def recount(self, yard: Yard) -> None:
        """Bring severities and score up to date with the scene."""
        scratch = np.empty(len(yard.bank.edges), np.int64)
        self.score[:] = refresh_all(yard.bank, self.scene, self.severities, len(yard.pieces), scratch)
        self.count[1] = 0

    def _remember(self) -> None:
        for own, other in zip(self.best, self.scene, strict=True):
            own[...] = other

    def run(self, yard: Yard, limit: int, patience: int) -> None:
        """Sweep up to `limit` times."""
        if self.score[0] > 0:
            sweeps(
                yard.bank, yard.choice, self.scene, self.best, self.weights, self.severities,
                self.score, limit, patience, self.state, self.count,
            )  # fmt: skip

    @property
    def is_free(self) -> bool:
        """Return whether no overlap is left."""
        return bool(self.score[0] == 0.0)

    def return_to_best(self, yard: Yard) -> None:
        """Go back to the layout of least overlap, keeping the weights."""
        for own, other in zip(self.scene, self.best, strict=True):
            own[...] = other
        self.recount(yard)


@dataclass(frozen=True, slots=True)
class Measure:
    """How much wood a layout takes: number of the last board used, and the length used on it."""

    last: int
    length: float


def measure(yard: Yard, scene: Scene) -> Measure:
    """Return the last board that carries movable pieces and the length used on it, from its room's left end."""
    boards = scene.what[: len(yard.pieces), 1]
    if len(boards) == 0 or boards.max() < 0:
        return Measure(-1, 0.0)
    last = int(boards.max())
    right = scene.spot[: len(yard.pieces)][boards == last, 2].max()
    return Measure(last, float(right - yard.rooms[last, 0]))


@dataclass(slots=True)
class Race:
    """A yard, its workers and the threads they run on."""

    yard: Yard
    workers: list[Worker]
    budget: Budget
    threads: Executor

    def round(self, limit: int, patience: int) -> None:
        """Let every worker sweep up to `limit` times, side by side."""
        before = sum(int(w.count[2]) for w in self.workers)
        tries = sum(int(w.count[0]) for w in self.workers)
        list(self.threads.map(lambda worker: worker.run(self.yard, limit, patience), self.workers))
        self.budget.sweeps += sum(int(w.count[2]) for w in self.workers) - before
        self.budget.evaluations += sum(int(w.count[0]) for w in self.workers) - tries

    def enter_yard(self, yard: Yard) -> None:
        """Go on in another yard, each worker with the random numbers that follow."""
        self.yard = yard
        self.workers = [worker.moved_to(yard) for worker in self.workers]

    def winner(self) -> Worker | None:
        """Return the first worker without overlap."""
        return next((worker for worker in self.workers if worker.is_free), None)


@contextmanager
def make_race(yard: Yard, budget: Budget, seed: int, workers: int) -> Iterator[Race]:
    """Give a race of `workers`, each with a stream of its own, whose threads end with the block."""
    with ThreadPoolExecutor(workers) as threads:
        yield Race(yard, [Worker.for_yard(yard, seed, 101 + k) for k in range(workers)], budget, threads)


def improve(
    yard: Yard,
    scene: Scene,
    *,
    budget: Budget,
    seed: int,
    workers: int = WORKERS,
    on_better: Callable[[Scene], None] | None = None,
) -> Scene:
    """Return a layout that takes no more wood than `scene`, which must be free of overlap.

    `budget` tells afterwards what was spent, and whether less wood was proved impossible.
    """
    found = [scene]

    def keep(better: Scene) -> None:
        found[0] = copy_scene(better)
        if on_better is not None:
            on_better(found[0])

    if len(yard.pieces) == 0:
        budget.is_proved_best = True
        return scene
    with make_race(yard, budget, seed, workers) as race:
        try:
            _explore(race, found, keep)
            _squeeze(race, found, keep)
        except KeyboardInterrupt:
            budget.is_stopped = True
    return found[0]


def _explore(race: Race, found: list[Scene], keep: Callable[[Scene], None]) -> None:
    step = _STEP_FIRST
    chance = seeded(0, 0)
    while race.budget.spent() < _EXPLORE_SHARE:
        is_least = step <= _STEP_LEAST
        target = shortened(race.yard, found[0], step, chance)
        if target is None and is_least:
            return
        winner = None
        if target is not None:
            winner = separate(
                race, target, share=_EXPLORE_SHARE, patience=PATIENCE, strikes=STRIKES, is_stubborn=is_least
            )
        if winner is None:
            step = max(step / 4, _STEP_LEAST)
        else:
            keep(winner.scene)
            step = min(step * 1.25, _STEP_MOST)


def _squeeze(race: Race, found: list[Scene], keep: Callable[[Scene], None]) -> None:
    chance = seeded(0, 1)
    while (spent := race.budget.spent()) < 1.0:
        done = min(max((spent - _EXPLORE_SHARE) / (1 - _EXPLORE_SHARE), 0.0), 1.0)
        step = _SQUEEZE_FIRST + done * (_SQUEEZE_LEAST - _SQUEEZE_FIRST)
        target = shortened(race.yard, found[0], step, chance)
        if target is None:
            race.budget.is_proved_best = True
            return
        winner = separate(race, target, share=1.0, patience=PATIENCE // 2, strikes=STRIKES, is_stubborn=False)
        if winner is not None:
            keep(winner.scene)


def shortened(yard: Yard, scene: Scene, step: float, chance: Words) -> Scene | None:
    """Return `scene` with the last board's room shorter by `step` of the length of all, or that board closed.

    Pieces right of a random line are slid left. None means that it is proved that the pieces cannot fit:
    their area is more than there is, or one of them has no room at all.
    """
    now = measure(yard, scene)
    target = copy_scene(scene)
    cut = step * (now.length + (yard.rooms[: now.last, 2] - yard.rooms[: now.last, 0]).sum())
    length = now.length - cut
    movable = slice(0, len(yard.pieces))
    target.rooms[now.last + 1 :, 2] = -np.inf
    x0 = yard.rooms[now.last, 0]
    if length <= 0:
        target.rooms[now.last, 2] = -np.inf
    else:
        target.rooms[now.last, 2] = x0 + length
        line = x0 + uniform(chance) * now.length
        moves = (target.what[movable, 1] == now.last) & (target.spot[movable, 4] > line)
        for k in np.flatnonzero(moves).tolist():
            put(yard.bank, target, k, now.last, target.what[k, 0], target.spot[k, 4] - cut, target.spot[k, 5])
    sizes = np.maximum(target.rooms[:, 2:] - target.rooms[:, :2], 0.0)
    if _net_area(yard, scene) > (sizes[:, 0] * sizes[:, 1]).sum() * (1 + 1e-9):
        return None
    probe = copy_scene(target)
    return target if enter(yard.bank, yard.choice, probe, seeded(0, 2)) else None


def _net_area(yard: Yard, scene: Scene) -> float:
    return float(sum(yard.variants[int(v)].shape.area_mm2 for v in scene.what[: len(yard.pieces), 0]))


def separate(
    race: Race, target: Scene, *, share: float, patience: int, strikes: int, is_stubborn: bool
) -> Worker | None:
    """Return the worker that got all overlap out of `target`, or None when all gave up.

    A stubborn race goes on from the best failures, two large pieces swapped, until the budget's share is spent.
    """
    yard = race.yard
    race.budget.sweeps += 1  # a target that costs no sweep must cost something, or a sweep limit might never end
    for worker in race.workers:
        worker.begin(yard, target)
    pool: list[tuple[float, Scene]] = []
    chunk = 2
    tired: set[int] = set()
    while race.budget.spent() < share:
        race.round(chunk, patience)
        if (winner := race.winner()) is not None:
            return winner
        chunk = min(chunk * 2, 16)
        for number, worker in enumerate(race.workers):
            if worker.count[1] < patience:
                continue
            improves = worker.score[1] < 0.98 * worker.strike_score
            worker.strikes = 0 if improves else worker.strikes + 1
            worker.strike_score = worker.score[1]
            if worker.strikes < strikes:
                worker.return_to_best(yard)
            elif not is_stubborn:
                tired.add(number)
                if len(tired) == len(race.workers):
                    return None
                worker.count[1] = 0
                worker.return_to_best(yard)
            else:
                pool.append((float(worker.score[1]), copy_scene(worker.best)))
                pool.sort(key=lambda entry: entry[0])
                pick = int(len(pool) * uniform(worker.state) ** 2)
                start = copy_scene(pool[pick][1])
                _swap_large(yard, start, worker.state)
                worker.begin(yard, start)
    return None


def _swap_large(yard: Yard, scene: Scene, state: Words) -> None:
    """Swap two different pieces among the largest quarter, so that the search leaves a dead end."""
    choice = yard.choice
    order = np.argsort(-choice.area, kind="stable")
    large = order[: max(2, len(order) // 4)]
    for _ in range(_SWAP_TRIES):
        a, b = int(large[below(state, len(large))]), int(large[below(state, len(large))])
        (xa, ya, ba), (xb, yb, bb) = _centre(scene, a), _centre(scene, b)
        va, vb = int(scene.what[a, 0]), int(scene.what[b, 0])
        kind_a, kind_b = int(choice.kind[a]), int(choice.kind[b])
        if kind_a != kind_b and allows(choice, kind_a, bb, va) and allows(choice, kind_b, ba, vb):
            put(yard.bank, scene, a, bb, va, xb, yb)
            put(yard.bank, scene, b, ba, vb, xa, ya)
            return


def _centre(scene: Scene, piece: int) -> tuple[float, float, int]:
    return float(scene.spot[piece, 4]), float(scene.spot[piece, 5]), int(scene.what[piece, 1])
