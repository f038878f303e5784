"""The first layout: piece after piece is slid to the left and down until it touches.

Slides are exact, so parts that just fit side by side do fit.
"""

from __future__ import annotations

import numpy as np

from nesting.place.collide import HAIR_MM, severity
from nesting.place.kernel_arrays import Bank, Choice, Floats, Ints, Scene, Words
from nesting.place.move import put, room
from nesting.place.rng import below, uniform
from vectorize.basics.compiled import compiled

_ROUNDS = 4
_LEAST_SAMPLES = 5


@compiled
def lift(scene: Scene, piece: int) -> None:
    """Take `piece` off its board, so that it meets nothing."""
    spot = scene.spot
    spot[piece, 0], spot[piece, 1] = np.inf, np.inf
    spot[piece, 2], spot[piece, 3] = -np.inf, -np.inf


@compiled
def is_free(bank: Bank, scene: Scene, piece: int, variant: int, x: float, y: float, scratch: Ints) -> bool:
    """Return whether `piece` meets no other at this place."""
    form, spot, what = bank.form, scene.spot, scene.what
    x0, y0 = x + form[variant, 0] + HAIR_MM, y + form[variant, 1] + HAIR_MM
    x1, y1 = x + form[variant, 2] - HAIR_MM, y + form[variant, 3] - HAIR_MM
    box = spot
    for other in range(box.shape[0]):
        if box[other, 2] <= x0 or box[other, 0] >= x1 or box[other, 3] <= y0 or box[other, 1] >= y1:
            continue
        if other == piece or what[piece, 2] * what[other, 2] < 0:
            continue
        own = bank.first[variant, 3] if what[other, 3] else variant
        if severity(bank, own, what[other, 0], spot[other, 4] - x, spot[other, 5] - y, scratch) > 0.0:
            return False
    return True


@compiled
def _clear_way(bank: Bank, a: int, b: int, dx: float, dy: float, axis: int, way: float) -> float:
    """Return how far variant `a` can go down `axis` before it meets `b` shifted by (dx, dy); `way` at most."""
    first = bank.first
    across = 1 - axis
    shift, shift_across = (dx, dy) if axis == 0 else (dy, dx)
    # Edges that face down the x axis run downwards; those that face down the y axis run to the right.
    sign = 1.0 if axis == 0 else -1.0
    edges = bank.edges
    for p in range(first[a, 0], first[a + 1, 0]):
        pa0, pa1 = edges[p, across], edges[p, across + 2]
        if sign * (pa1 - pa0) >= 0.0:
            continue
        p_slope = (edges[p, axis + 2] - edges[p, axis]) / (pa1 - pa0)
        for q in range(first[b, 0], first[b + 1, 0]):
            qa0, qa1 = edges[q, across] + shift_across, edges[q, across + 2] + shift_across
            if sign * (qa1 - qa0) <= 0.0:
                continue
            low = max(min(pa0, pa1), min(qa0, qa1))
            high = min(max(pa0, pa1), max(qa0, qa1))
            if high - low <= HAIR_MM:
                continue
            q_slope = (edges[q, axis + 2] - edges[q, axis]) / (qa1 - qa0)
            offset = edges[p, axis] - edges[q, axis] - shift
            start = offset + (low - pa0) * p_slope - (low - qa0) * q_slope
            end = offset + (high - pa0) * p_slope - (high - qa0) * q_slope
            gap = min(start, end)
            if -2.0 * HAIR_MM <= gap < way:
                way = max(gap, 0.0)
    return way


@compiled
def slide(bank: Bank, scene: Scene, piece: int, variant: int, x: float, y: float, axis: int, lowest: float) -> float:
    """Return how low the coordinate along `axis` (0: x, 1: y) can get by sliding, not below `lowest`."""
    form, spot, what = bank.form, scene.spot, scene.what
    here = x if axis == 0 else y
    way = here - lowest
    across = 1 - axis
    at_across = y if axis == 0 else x
    low_across = at_across + form[variant, across] + HAIR_MM
    high_across = at_across + form[variant, across + 2] - HAIR_MM
    far = here + form[variant, axis + 2]
    box = spot
    for other in range(box.shape[0]):
        if box[other, across + 2] <= low_across or box[other, across] >= high_across:
            continue
        near = here + form[variant, axis] - way
        if other == piece or box[other, axis] >= far or box[other, axis + 2] <= near:
            continue
        if what[piece, 2] * what[other, 2] < 0:
            continue
        dx, dy = spot[other, 4] - x, spot[other, 5] - y
        own = bank.first[variant, 3] if what[other, 3] else variant
        way = _clear_way(bank, own, what[other, 0], dx, dy, axis, way)
        if way <= 0.0:
            return here
    return here - way


@compiled
def _settled(
    bank: Bank, scene: Scene, piece: int, variant: int, x: float, y: float, limits: Floats, out: Floats
) -> None:
    """Slide left and down by turns until nothing moves; write where that ends."""
    for turn in range(2 * _ROUNDS):
        axis = turn % 2
        here = x if axis == 0 else y
        reached = slide(bank, scene, piece, variant, x, y, axis, limits[axis])
        if axis == 0:
            x = reached
        else:
            y = reached
        if turn > 0 and reached > here - 1e-7:
            break
    out[0], out[1] = x, y


@compiled
def _begin_at(scene: Scene, box: Floats, number: int, far: float, limits: Floats, state: Words, out: Floats) -> bool:
    """Write a place (x, y) to slide from; False if it lies outside the limits.

    The first ones are beyond all others and in the corner; then by turns a corner that the bounding boxes
    of others make and a random place.
    """
    spot = scene.spot
    count = spot.shape[0]
    if number < 2:
        out[0], out[1] = far, limits[1 + 2 * number]
    elif number == 2:
        out[0], out[1] = limits[0], limits[1]
    elif number % 2 == 0:
        out[0] = limits[0] + uniform(state) * (far - limits[0])
        out[1] = limits[1] + uniform(state) * (limits[3] - limits[1])
    else:
        one, two = below(state, count + 1), below(state, count + 1)
        is_low = uniform(state) < 0.5
        out[0] = limits[0] if one == count else spot[one, 2] - box[0]
        if two == count:
            out[1] = limits[1] if is_low else limits[3]
        else:
            out[1] = spot[two, 3] - box[1] if is_low else spot[two, 1] - box[3]
    return bool(limits[0] <= out[0] <= limits[2] and limits[1] <= out[1] <= limits[3])


@compiled
def _filled_to(choice: Choice, scene: Scene, board: int) -> float:
    """Return how far right the pieces on a board reach."""
    filled: float = scene.rooms[board, 0]
    for other in range(choice.kind.shape[0]):
        if scene.what[other, 1] == board:
            filled = max(filled, scene.spot[other, 2])
    return filled


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
    """Write the leftmost place found (variant, x, y) for `piece` on `board`; False if none was found."""
    kind = choice.kind[piece]
    limits, begin, end = np.empty(4), np.empty(2), np.empty(2)
    best = np.inf
    filled = _filled_to(choice, scene, board)
    each = max(_LEAST_SAMPLES, samples // max(1, choice.off[kind + 1] - choice.off[kind]))
    for pick in range(choice.off[kind], choice.off[kind + 1]):
        variant = choice.variant[pick]
        if choice.board[pick] != board or not room(bank, scene, board, variant, limits):
            continue
        box = bank.form[variant]
        far = min(max(filled - box[0], limits[0]), limits[2])
        for number in range(each + 3):
            if not _begin_at(scene, box, number, far, limits, state, begin):
                continue
            if not is_free(bank, scene, piece, variant, begin[0], begin[1], scratch):
                continue
            _settled(bank, scene, piece, variant, begin[0], begin[1], limits, end)
            if not is_free(bank, scene, piece, variant, end[0], end[1], scratch):
                # A slide along edges that are all but parallel can slip through; where it began is free.
                end[0], end[1] = begin[0], begin[1]
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
    scratch = np.empty(bank.edges.shape[0], np.int64)
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
