"""The kernels of the guided local search around single moves: sweep, weigh anew, bring into the room.

Method: Gardeyn, Vanden Berghe and Wauters 2025 (arXiv 2509.13329).
"""

from __future__ import annotations

import numpy as np

from nesting.place.collide import severity
from nesting.place.kernel_arrays import Bank, Choice, Floats, Ints, Scene, Words
from nesting.place.move import KEPT, move, put, room
from nesting.place.rng import below, shuffle, uniform
from vectorize.basics.compiled import compiled

_GROWTH_LEAST = 1.2
_GROWTH_MORE = 0.8
_DECAY = 0.95


@compiled
def refresh(bank: Bank, scene: Scene, severities: Floats, piece: int, scratch: Ints) -> None:
    """Bring the severities of `piece` against all others up to date."""
    spot, what = scene.spot, scene.what
    box = spot
    for other in range(box.shape[0]):
        bad = 0.0
        if (
            other != piece
            and what[piece, 2] * what[other, 2] >= 0
            and box[other, 2] > box[piece, 0]
            and box[other, 0] < box[piece, 2]
            and box[other, 3] > box[piece, 1]
            and box[other, 1] < box[piece, 3]
        ):
            own = bank.first[what[piece, 0], 3] if what[other, 3] else what[piece, 0]
            bad = severity(
                bank, own, what[other, 0],
                spot[other, 4] - spot[piece, 4], spot[other, 5] - spot[piece, 5], scratch,
            )  # fmt: skip
        severities[piece, other] = bad
        severities[other, piece] = bad


@compiled
def refresh_all(bank: Bank, scene: Scene, severities: Floats, movable: int, scratch: Ints) -> float:
    """Bring all severities up to date and return their sum over pairs."""
    for piece in range(movable):
        refresh(bank, scene, severities, piece, scratch)
    return total_severity(severities, movable)


@compiled
def total_severity(severities: Floats, movable: int) -> float:
    """Return the sum over pairs; two fixed pieces never count."""
    total = 0.0
    for a in range(movable):
        for b in range(a + 1, severities.shape[0]):
            total += severities[a, b]
    return total


@compiled
def _reweigh(weights: Floats, severities: Floats, movable: int) -> None:
    """Make colliding pairs heavier, the worst most, and let the others fade to 1."""
    worst = 0.0
    for a in range(movable):
        for b in range(a + 1, severities.shape[0]):
            worst = max(worst, severities[a, b])
    if worst == 0.0:
        return
    for a in range(movable):
        for b in range(a + 1, severities.shape[0]):
            if severities[a, b] > 0.0:
                weights[a, b] *= _GROWTH_LEAST + _GROWTH_MORE * severities[a, b] / worst
                weights[b, a] = weights[a, b]
            elif weights[a, b] > 1.0:
                weights[a, b] = max(1.0, weights[a, b] * _DECAY)
                weights[b, a] = weights[a, b]


@compiled
def _fights(severities: Floats, piece: int) -> bool:
    for other in range(severities.shape[0]):  # noqa: SIM110 - kernels know no generators
        if severities[piece, other] > 0.0:
            return True
    return False


@compiled
def sweeps(
    bank: Bank,
    choice: Choice,
    scene: Scene,
    best_scene: Scene,
    weights: Floats,
    severities: Floats,
    score: Floats,
    limit: int,
    patience: int,
    state: Words,
    count: Ints,
) -> int:
    """Sweep up to `limit` times; return how many sweeps were done.

    `score` is (severity now, least severity so far) and is kept up to date, as is `best_scene`.
    `count` is (evaluations, sweeps since the last gain, sweeps); the call ends early when all overlap is gone or
    after `patience` sweeps without a gain.
    """
    spot, what = scene.spot, scene.what
    movable = choice.kind.shape[0]
    scratch = np.empty(bank.edges.shape[0], np.int64)
    best, best_at = np.empty(KEPT), np.zeros((KEPT, 4))
    limits, at = np.empty(4), np.empty(4)
    order = np.empty(movable, np.int64)
    for done in range(limit):
        fighting = 0
        for piece in range(movable):
            if _fights(severities, piece):
                order[fighting] = piece
                fighting += 1
        shuffle(state, order, fighting)
        for k in range(fighting):
            piece = order[k]
            if not _fights(severities, piece):
                continue
            if move(bank, choice, scene, weights, piece, state, scratch, best, best_at, limits, at, count):
                refresh(bank, scene, severities, piece, scratch)
        _reweigh(weights, severities, movable)
        score[0] = total_severity(severities, movable)
        count[1] += 1
        count[2] += 1
        if score[0] < score[1]:
            if score[0] < 0.98 * score[1]:
                count[1] = 0
            score[1] = score[0]
            for k in range(movable):
                put(bank, best_scene, k, what[k, 1], what[k, 0], spot[k, 4], spot[k, 5])
        if score[0] == 0.0 or count[1] >= patience:
            return done + 1
    return limit


@compiled
def enter(bank: Bank, choice: Choice, scene: Scene, state: Words) -> bool:
    """Bring every piece into the rooms as they are now, at random where its board is closed; False if one cannot."""
    spot, what, off = scene.spot, scene.what, choice.off
    limits = np.empty(4)
    for piece in range(choice.kind.shape[0]):
        board, variant = what[piece, 1], what[piece, 0]
        if board >= 0 and room(bank, scene, board, variant, limits):
            x = min(max(spot[piece, 4], limits[0]), limits[2])
            y = min(max(spot[piece, 5], limits[1]), limits[3])
            put(bank, scene, piece, board, variant, x, y)
            continue
        kind = choice.kind[piece]
        first, pairs = off[kind], off[kind + 1] - off[kind]
        if pairs == 0:
            return False
        start = below(state, pairs)
        found = False
        for k in range(pairs):
            pick = first + (start + k) % pairs
            board, variant = choice.board[pick], choice.variant[pick]
            if room(bank, scene, board, variant, limits):
                x = limits[0] + uniform(state) * (limits[2] - limits[0])
                y = limits[1] + uniform(state) * (limits[3] - limits[1])
                put(bank, scene, piece, board, variant, x, y)
                found = True
                break
        if not found:
            return False
    return True
