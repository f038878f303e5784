"""The first layout: piece after piece is slid to the left and down until it touches.

Slides are exact, so parts that just fit side by side do fit.
"""

from __future__ import annotations

import numpy as np

from nesting.place.bank import Bank, Choice, Floats, Ints, Scene, Words
from nesting.place.chance import below, uniform
from nesting.place.collide import HAIR_MM, collide
from nesting.place.compiled import compiled
from nesting.place.sweep import put, room

_ROUNDS = 4


@compiled
def lift(scene: Scene, piece: int) -> None:
    """Take `piece` off its board, so that it meets nothing."""
    scene.box[piece, 0], scene.box[piece, 1] = np.inf, np.inf
    scene.box[piece, 2], scene.box[piece, 3] = -np.inf, -np.inf


@compiled
def is_free(bank: Bank, scene: Scene, piece: int, variant: int, x: float, y: float, scratch: Ints) -> bool:
    """Return whether `piece` meets no other at this place."""
    x0, y0 = x + bank.box[variant, 0] + HAIR_MM, y + bank.box[variant, 1] + HAIR_MM
    x1, y1 = x + bank.box[variant, 2] - HAIR_MM, y + bank.box[variant, 3] - HAIR_MM
    box = scene.box
    for other in range(box.shape[0]):
        if box[other, 2] <= x0 or box[other, 0] >= x1 or box[other, 3] <= y0 or box[other, 1] >= y1:
            continue
        if other == piece or scene.soft[piece] * scene.soft[other] < 0:
            continue
        if collide(bank, variant, scene.variant[other], scene.x[other] - x, scene.y[other] - y, scratch):
            return False
    return True


@compiled
def _clear_way(
    head: Floats,
    tail: Floats,
    head_across: Floats,
    tail_across: Floats,
    a0: int,
    a1: int,
    b0: int,
    b1: int,
    shift: float,
    shift_across: float,
    sign: float,
    way: float,
) -> float:
    """Return how far shape a can go down an axis before it meets shape b, no more than `way`.

    `tail` and `head` are where edges begin and end along that axis, `_across` the same along the other;
    shifts are those of b against a. `sign` tells which way round edges run that face down the axis.
    """  # fmt: skip
    for p in range(a0, a1):
        pa0, pa1 = tail_across[p], head_across[p]
        if sign * (pa1 - pa0) >= 0.0:
            continue
        for q in range(b0, b1):
            qa0, qa1 = tail_across[q] + shift_across, head_across[q] + shift_across
            if sign * (qa1 - qa0) <= 0.0:
                continue
            low = max(min(pa0, pa1), min(qa0, qa1))
            high = min(max(pa0, pa1), max(qa0, qa1))
            if high - low <= HAIR_MM:
                continue
            p_slope = (head[p] - tail[p]) / (pa1 - pa0)
            q_slope = (head[q] - tail[q]) / (qa1 - qa0)
            start = tail[p] + (low - pa0) * p_slope - (tail[q] + shift + (low - qa0) * q_slope)
            end = tail[p] + (high - pa0) * p_slope - (tail[q] + shift + (high - qa0) * q_slope)
            gap = min(start, end)
            if -2.0 * HAIR_MM <= gap < way:
                way = max(gap, 0.0)
    return way


@compiled
def slide(bank: Bank, scene: Scene, piece: int, variant: int, x: float, y: float, axis: int, lowest: float) -> float:
    """Return how low the coordinate along `axis` (0: x, 1: y) can get by sliding, not below `lowest`."""
    here = x if axis == 0 else y
    way = here - lowest
    across = 1 - axis
    at_across = y if axis == 0 else x
    low_across = at_across + bank.box[variant, across] + HAIR_MM
    high_across = at_across + bank.box[variant, across + 2] - HAIR_MM
    far = here + bank.box[variant, axis + 2]
    box = scene.box
    for other in range(box.shape[0]):
        if box[other, across + 2] <= low_across or box[other, across] >= high_across:
            continue
        near = here + bank.box[variant, axis] - way
        if other == piece or box[other, axis] >= far or box[other, axis + 2] <= near:
            continue
        if scene.soft[piece] * scene.soft[other] < 0:
            continue
        v = scene.variant[other]
        dx, dy = scene.x[other] - x, scene.y[other] - y
        if axis == 0:
            way = _clear_way(
                bank.edge_x1, bank.edge_x0, bank.edge_y1, bank.edge_y0, bank.edge_off[variant],
                bank.edge_off[variant + 1], bank.edge_off[v], bank.edge_off[v + 1], dx, dy, 1.0, way,
            )  # fmt: skip
        else:
            way = _clear_way(
                bank.edge_y1, bank.edge_y0, bank.edge_x1, bank.edge_x0, bank.edge_off[variant],
                bank.edge_off[variant + 1], bank.edge_off[v], bank.edge_off[v + 1], dy, dx, -1.0, way,
            )  # fmt: skip
        if way <= 0.0:
            return here
    return here - way


@compiled
def _settled(
    bank: Bank, scene: Scene, piece: int, variant: int, x: float, y: float, limits: Floats, out: Floats
) -> None:
    """Slide left and down by turns until nothing moves; write where that ends."""
    for _ in range(_ROUNDS):
        left = slide(bank, scene, piece, variant, x, y, 0, limits[0])
        down = slide(bank, scene, piece, variant, left, y, 1, limits[1])
        still = left > x - 1e-7 and down > y - 1e-7
        x, y = left, down
        if still:
            break
    out[0], out[1] = x, y


@compiled
def best_place(
    bank: Bank,
    choice: Choice,
    scene: Scene,
    piece: int,
    board: int,
    samples: int,
    state: Words,
    scratch: Ints,
    out: Floats,
) -> bool:
    """Write the leftmost place found (variant, x, y) for `piece` on `board`; False if none was found.

    Tried are corners that the bounding boxes of others make and random places, each slid left and down.
    """
    kind = choice.kind[piece]
    limits, end = np.empty(4), np.empty(2)
    best = np.inf
    count = scene.box.shape[0]
    filled = scene.board_box[board, 0]
    for other in range(choice.kind.shape[0]):
        if scene.board[other] == board:
            filled = max(filled, scene.box[other, 2])
    for pick in range(choice.off[kind], choice.off[kind + 1]):
        if choice.board[pick] != board:
            continue
        variant = choice.variant[pick]
        if not room(bank, scene, board, variant, limits):
            continue
        box = bank.box[variant]
        far = min(max(filled - box[0], limits[0]), limits[2])
        for k in range(samples + 3):
            if k == 0:
                x, y = far, limits[1]
            elif k == 1:
                x, y = far, limits[3]
            elif k == 2:
                x, y = limits[0], limits[1]
            elif k % 2 == 0:
                x = limits[0] + uniform(state) * (far - limits[0])
                y = limits[1] + uniform(state) * (limits[3] - limits[1])
            else:
                one, two = below(state, count + 1), below(state, count + 1)
                x = limits[0] if one == count else scene.box[one, 2] - box[0]
                if two == count:
                    y = limits[1] if uniform(state) < 0.5 else limits[3]
                elif uniform(state) < 0.5:
                    y = scene.box[two, 3] - box[1]
                else:
                    y = scene.box[two, 1] - box[3]
            if not (limits[0] <= x <= limits[2] and limits[1] <= y <= limits[3]):
                continue
            if not is_free(bank, scene, piece, variant, x, y, scratch):
                continue
            _settled(bank, scene, piece, variant, x, y, limits, end)
            if not is_free(bank, scene, piece, variant, end[0], end[1], scratch):
                # A slide along edges that are all but parallel can slip through; where it began is free.
                end[0], end[1] = x, y
            score = end[0] + box[2] + 1e-3 * (end[1] + box[3])
            if score < best:
                best = score
                out[0], out[1], out[2] = variant, end[0], end[1]
    return best < np.inf


@compiled
def settle_all(
    bank: Bank,
    choice: Choice,
    scene: Scene,
    order: Ints,
    boards: Ints,
    samples: int,
    state: Words,
    left_over: Ints,
) -> int:
    """Lay all pieces down in `order`, each on the first of `boards` that takes it; return how many were left over.

    `left_over` receives the pieces that found no place; they are lifted.
    """
    scratch = np.empty(int(np.max(bank.edge_off[1:] - bank.edge_off[:-1])) + 1, np.int64)
    out = np.empty(3)
    for piece in order:
        lift(scene, piece)
    missing = 0
    for piece in order:
        placed = False
        for board in boards:
            if best_place(bank, choice, scene, piece, board, samples, state, scratch, out):
                put(bank, scene, piece, board, int(out[0]), out[1], out[2])
                placed = True
                break
        if not placed:
            left_over[missing] = piece
            missing += 1
    return missing
