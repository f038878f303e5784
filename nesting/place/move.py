"""The kernels that give one piece a new place: value places, sample them, refine the best.

Method: Gardeyn, Vanden Berghe and Wauters 2025 (arXiv 2509.13329), with orientations from a list, so
that valuing a place is pure translation, and with places copied from identical neighbours.
"""

from __future__ import annotations

import numpy as np

from nesting.place.collide import severity
from nesting.place.kernel_arrays import Bank, Choice, Floats, Ints, Scene, Words
from nesting.place.rng import below, uniform
from vectorize.basics.compiled import compiled

_WIDE_SAMPLES = 50
_NEAR_SAMPLES = 25
_ECHO_SAMPLES = 12
KEPT = 3
_COARSE = (0.25, 0.02)
_FINE = (0.01, 0.0005)


@compiled
def cost_at(
    bank: Bank,
    scene: Scene,
    weights: Floats,
    piece: int,
    variant: int,
    x: float,
    y: float,
    ceiling: float,
    scratch: Ints,
) -> float:
    """Return the weighted sum of severities of `piece` at a place; it may stop once above `ceiling`."""
    form, spot, what = bank.form, scene.spot, scene.what
    x0, y0 = x + form[variant, 0], y + form[variant, 1]
    x1, y1 = x + form[variant, 2], y + form[variant, 3]
    box = spot
    total: float = 0.0
    for other in range(box.shape[0]):
        if box[other, 2] <= x0 or box[other, 0] >= x1 or box[other, 3] <= y0 or box[other, 1] >= y1:
            continue
        if other == piece or what[piece, 2] * what[other, 2] < 0:
            continue
        own = bank.first[variant, 3] if what[other, 3] else variant
        bad = severity(bank, own, what[other, 0], spot[other, 4] - x, spot[other, 5] - y, scratch)
        if bad > 0.0:
            total += weights[piece, other] * bad
            if total > ceiling:
                return total
    return total


@compiled
def put(bank: Bank, scene: Scene, piece: int, board: int, variant: int, x: float, y: float) -> None:
    """Lay `piece` down at a place."""
    form, spot, what = bank.form, scene.spot, scene.what
    spot[piece, 4], spot[piece, 5] = x, y
    what[piece, 0], what[piece, 1] = variant, board
    spot[piece, 0], spot[piece, 1] = x + form[variant, 0], y + form[variant, 1]
    spot[piece, 2], spot[piece, 3] = x + form[variant, 2], y + form[variant, 3]


@compiled
def room(bank: Bank, scene: Scene, board: int, variant: int, out: Floats) -> bool:
    """Write the range (x least, y least, x greatest, y greatest) of reference points; False if there is none."""
    form, rooms = bank.form, scene.rooms
    for axis in range(2):
        low = rooms[board, axis] - form[variant, axis]
        high = rooms[board, axis + 2] - form[variant, axis + 2]
        if high < low:
            if high < low - 1e-9:
                return False
            high = low
        out[axis], out[axis + 2] = low, high
    return True


@compiled
def _offer(
    best: Floats, best_at: Floats, cost: float, board: int, variant: int, x: float, y: float, apart: float
) -> None:
    """Keep a sample among the few best, mutually distinct ones (`best` rises)."""
    kept = best.shape[0]
    slot = -1
    for k in range(kept):
        if (
            best_at[k, 1] == variant
            and best_at[k, 0] == board
            and abs(best_at[k, 2] - x) < apart
            and abs(best_at[k, 3] - y) < apart
            and best[k] < np.inf
        ):
            if cost >= best[k]:
                return
            slot = k
            break
    if slot < 0:
        slot = kept - 1
        if cost >= best[slot]:
            return
    while slot > 0 and best[slot - 1] > cost:
        best[slot] = best[slot - 1]
        for part in range(4):
            best_at[slot, part] = best_at[slot - 1, part]
        slot -= 1
    best[slot] = cost
    best_at[slot, 0], best_at[slot, 1], best_at[slot, 2], best_at[slot, 3] = board, variant, x, y


@compiled
def _descend(
    bank: Bank,
    scene: Scene,
    weights: Floats,
    piece: int,
    at: Floats,
    cost: float,
    first_step: float,
    last_step: float,
    limits: Floats,
    state: Words,
    scratch: Ints,
    count: Ints,
) -> float:
    """Walk downhill from `at` along axes and diagonals with a step that adapts; return the cost reached."""
    board, variant = int(at[0]), int(at[1])
    if not room(bank, scene, board, variant, limits):
        return cost
    step_x = first_step
    step_y = first_step
    x, y = at[2], at[3]
    while cost > 0.0 and max(step_x, step_y) >= last_step:
        axis = below(state, 4)
        dx = 0.0 if axis == 1 else step_x
        dy = 0.0 if axis == 0 else (-step_y if axis == 3 else step_y)
        better = False
        base_x, base_y = x, y
        for sign in range(2):
            turn = 1.0 if sign == 0 else -1.0
            nx = min(max(base_x + turn * dx, limits[0]), limits[2])
            ny = min(max(base_y + turn * dy, limits[1]), limits[3])
            if nx == base_x and ny == base_y:
                continue
            count[0] += 1
            tried = cost_at(bank, scene, weights, piece, variant, nx, ny, cost, scratch)
            if tried < cost:
                cost, x, y, better = tried, nx, ny, True
        factor = 1.1 if better else 0.5
        if axis != 1:
            step_x *= factor
        if axis != 0:
            step_y *= factor
        if axis > 1 and not better:
            step_x *= 1.4142135623730951
            step_y *= 1.4142135623730951
    at[2], at[3] = x, y
    return cost


@compiled
def _echo(bank: Bank, scene: Scene, piece: int, choice: Choice, state: Words, out: Floats) -> bool:
    """Write a place that repeats how an identical piece lies against some neighbour; False if none is found."""
    spot, what, kind = scene.spot, scene.what, choice.kind
    movable = kind.shape[0]
    twin = below(state, movable)
    for _ in range(movable):
        if twin != piece and kind[twin] == kind[piece]:
            break
        twin = twin + 1 if twin + 1 < movable else 0
    if twin == piece or kind[twin] != kind[piece]:
        return False
    friend, anchor = below(state, movable), below(state, movable)
    for _ in range(movable):
        friend = friend + 1 if friend + 1 < movable else 0
        if (
            friend not in (twin, piece)
            and spot[friend, 0] < spot[twin, 2] + 1.0
            and spot[friend, 2] > spot[twin, 0] - 1.0
            and spot[friend, 1] < spot[twin, 3] + 1.0
            and spot[friend, 3] > spot[twin, 1] - 1.0
        ):
            break
    if friend in (twin, piece):
        return False
    for _ in range(movable):
        anchor = anchor + 1 if anchor + 1 < movable else 0
        if anchor not in (friend, piece) and what[anchor, 0] == what[friend, 0]:
            out[0], out[1] = what[anchor, 1], what[twin, 0]
            out[2] = spot[anchor, 4] + spot[twin, 4] - spot[friend, 4]
            out[3] = spot[anchor, 5] + spot[twin, 5] - spot[friend, 5]
            return True
    return False


@compiled
def allows(choice: Choice, kind: int, board: int, variant: int) -> bool:
    """Return whether pieces of a kind may lie on a board in this variant."""
    for pick in range(choice.off[kind], choice.off[kind + 1]):
        if choice.board[pick] == board and choice.variant[pick] == variant:
            return True
    return False


@compiled
def _draw(
    bank: Bank, choice: Choice, scene: Scene, piece: int, way: int, state: Words, limits: Floats, at: Floats
) -> bool:
    """Write a random place (board, variant, x, y) for `piece`; False if this draw gave none.

    Ways: 0 anywhere on the boards, 1 near where it is, 2 as an identical piece lies against a neighbour.
    """
    form, spot = bank.form, scene.spot
    kind = choice.kind[piece]
    old_variant, old_board = scene.what[piece, 0], scene.what[piece, 1]
    if way == 2:
        if not _echo(bank, scene, piece, choice, state, at) or not allows(choice, kind, int(at[0]), int(at[1])):
            return False
        if not room(bank, scene, int(at[0]), int(at[1]), limits):
            return False
    else:
        pick = choice.off[kind] + below(state, choice.off[kind + 1] - choice.off[kind])
        board, variant = choice.board[pick], choice.variant[pick]
        if way == 1 and board != old_board:
            board, variant = old_board, old_variant
        if not room(bank, scene, board, variant, limits):
            return False
        at[0], at[1] = board, variant
        if way == 0:
            at[2] = limits[0] + uniform(state) * (limits[2] - limits[0])
            at[3] = limits[1] + uniform(state) * (limits[3] - limits[1])
        else:
            at[2] = spot[piece, 4] + (uniform(state) - 0.5) * (form[old_variant, 2] - form[old_variant, 0])
            at[3] = spot[piece, 5] + (uniform(state) - 0.5) * (form[old_variant, 3] - form[old_variant, 1])
    at[2] = min(max(at[2], limits[0]), limits[2])
    at[3] = min(max(at[3], limits[1]), limits[3])
    return True


@compiled
def _refine(
    bank: Bank,
    scene: Scene,
    weights: Floats,
    piece: int,
    best: Floats,
    best_at: Floats,
    size: float,
    limits: Floats,
    state: Words,
    scratch: Ints,
    count: Ints,
) -> int:
    """Refine all kept places a little and the best of them more; return which that is."""
    top = 0
    for k in range(KEPT):
        if best[k] < np.inf:
            best[k] = _descend(
                bank, scene, weights, piece, best_at[k], best[k], _COARSE[0] * size, _COARSE[1] * size,
                limits, state, scratch, count,
            )  # fmt: skip
        if best[k] < best[top]:
            top = k
    best[top] = _descend(
        bank, scene, weights, piece, best_at[top], best[top], _FINE[0] * size, _FINE[1] * size,
        limits, state, scratch, count,
    )  # fmt: skip
    return top


@compiled
def move(
    bank: Bank,
    choice: Choice,
    scene: Scene,
    weights: Floats,
    piece: int,
    state: Words,
    scratch: Ints,
    best: Floats,
    best_at: Floats,
    limits: Floats,
    at: Floats,
    count: Ints,
) -> bool:
    """Give `piece` the best of many sampled places, refined; return whether it moved."""
    form, spot = bank.form, scene.spot
    old_variant, old_board = scene.what[piece, 0], scene.what[piece, 1]
    size = min(form[old_variant, 2] - form[old_variant, 0], form[old_variant, 3] - form[old_variant, 1])
    for k in range(KEPT):
        best[k] = np.inf
    old = cost_at(bank, scene, weights, piece, old_variant, spot[piece, 4], spot[piece, 5], np.inf, scratch)
    _offer(best, best_at, old, old_board, old_variant, spot[piece, 4], spot[piece, 5], 0.0)
    for k in range(_WIDE_SAMPLES + _NEAR_SAMPLES + _ECHO_SAMPLES):
        way = 0 if k < _WIDE_SAMPLES else (1 if k < _WIDE_SAMPLES + _NEAR_SAMPLES else 2)
        if not _draw(bank, choice, scene, piece, way, state, limits, at):
            continue
        count[0] += 1
        board, variant = int(at[0]), int(at[1])
        cost = cost_at(bank, scene, weights, piece, variant, at[2], at[3], best[KEPT - 1], scratch)
        _offer(best, best_at, cost, board, variant, at[2], at[3], 0.05 * size)
        if cost == 0.0:
            break
    top = 0
    if best[0] > 0.0:
        top = _refine(bank, scene, weights, piece, best, best_at, size, limits, state, scratch, count)
    if best[top] >= old:
        return False
    put(bank, scene, piece, int(best_at[top, 0]), int(best_at[top, 1]), best_at[top, 2], best_at[top, 3])
    return True
