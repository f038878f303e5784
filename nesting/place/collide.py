"""Do two placed shapes collide, and how badly? Exact by edges; badness by circles inside the shapes.

The measure of badness is that of Gardeyn, Vanden Berghe and Wauters 2025 (arXiv 2509.13329), section
on collision severity; the exact test is edge crossing plus containment.
"""

from __future__ import annotations

import math

from nesting.place.bank import Bank, Ints
from nesting.place.compiled import compiled, compiled_fast

HAIR_MM = 1e-9
"""Edges may enter another shape by this depth: touching is not colliding, whatever the last bits say."""

_DECAY_SHARE = 0.01  # of the larger diameter: circles farther apart still pull, by the source above


@compiled_fast
def _circles_meet(bank: Bank, a: int, b: int, dx: float, dy: float) -> bool:
    """Return whether a circle of `a` overlaps one of `b` shifted by (dx, dy)."""
    b0, b1 = bank.pole_off[b], bank.pole_off[b + 1]
    x0, y0 = bank.box[b, 0] + dx, bank.box[b, 1] + dy
    x1, y1 = bank.box[b, 2] + dx, bank.box[b, 3] + dy
    for p in range(bank.pole_off[a], bank.pole_off[a + 1]):
        px, py, pr = bank.pole_x[p], bank.pole_y[p], bank.pole_r[p]
        if px + pr <= x0 or px - pr >= x1 or py + pr <= y0 or py - pr >= y1:
            continue
        px -= dx
        py -= dy
        for q in range(b0, b1):
            ux, uy, reach = bank.pole_x[q] - px, bank.pole_y[q] - py, bank.pole_r[q] + pr
            if ux * ux + uy * uy < reach * reach:
                return True
    return False


@compiled_fast
def _badness(bank: Bank, a: int, b: int, dx: float, dy: float) -> float:
    """Return how badly `a` and `b` shifted by (dx, dy) collide; only meant for pairs that do."""
    b0, b1 = bank.pole_off[b], bank.pole_off[b + 1]
    eps = _DECAY_SHARE * max(bank.diameter[a], bank.diameter[b])
    total = 0.0
    for p in range(bank.pole_off[a], bank.pole_off[a + 1]):
        px, py, pr = bank.pole_x[p] - dx, bank.pole_y[p] - dy, bank.pole_r[p]
        for q in range(b0, b1):
            ux, uy, qr = bank.pole_x[q] - px, bank.pole_y[q] - py, bank.pole_r[q]
            depth = pr + qr - math.sqrt(ux * ux + uy * uy)
            decayed = eps * eps / (2.0 * eps - min(depth, eps))
            total += max(depth, decayed) * min(pr, qr)
    return math.sqrt(total) * math.sqrt(bank.weight[a] * bank.weight[b])


@compiled
def _edges_cross(bank: Bank, a: int, b: int, dx: float, dy: float, scratch: Ints) -> bool:
    """Return whether an edge of `a` crosses one of `b` shifted by (dx, dy), deeper than a hair."""
    x0 = max(bank.box[a, 0], bank.box[b, 0] + dx)
    y0 = max(bank.box[a, 1], bank.box[b, 1] + dy)
    x1 = min(bank.box[a, 2], bank.box[b, 2] + dx)
    y1 = min(bank.box[a, 3], bank.box[b, 3] + dy)
    count = 0
    for q in range(bank.edge_off[b], bank.edge_off[b + 1]):
        qx0, qy0 = bank.edge_x0[q] + dx, bank.edge_y0[q] + dy
        qx1, qy1 = bank.edge_x1[q] + dx, bank.edge_y1[q] + dy
        if min(qx0, qx1) <= x1 and max(qx0, qx1) >= x0 and min(qy0, qy1) <= y1 and max(qy0, qy1) >= y0:
            scratch[count] = q
            count += 1
    if count == 0:
        return False
    for p in range(bank.edge_off[a], bank.edge_off[a + 1]):
        px0, py0, px1, py1 = bank.edge_x0[p], bank.edge_y0[p], bank.edge_x1[p], bank.edge_y1[p]
        if min(px0, px1) > x1 or max(px0, px1) < x0 or min(py0, py1) > y1 or max(py0, py1) < y0:
            continue
        ux, uy = px1 - px0, py1 - py0
        p_hair = HAIR_MM * bank.edge_len[p]
        for k in range(count):
            q = scratch[k]
            qx0, qy0 = bank.edge_x0[q] + dx, bank.edge_y0[q] + dy
            vx, vy = bank.edge_x1[q] - bank.edge_x0[q], bank.edge_y1[q] - bank.edge_y0[q]
            wx, wy = qx0 - px0, qy0 - py0
            # Which ends lie on the material's side of the other edge? The rim itself counts as outside.
            start = ux * wy - uy * wx
            end = start + ux * vy - uy * vx
            if (start > p_hair) == (end > p_hair):
                continue
            q_hair = HAIR_MM * bank.edge_len[q]
            start = vy * wx - vx * wy
            end = start + vx * uy - vy * ux
            if (start > q_hair) != (end > q_hair):
                return True
    return False


@compiled
def _is_inside(bank: Bank, v: int, x: float, y: float) -> bool:
    """Return whether the point lies in the material of variant v (even-odd rule)."""
    inside = False
    for e in range(bank.edge_off[v], bank.edge_off[v + 1]):
        y0, y1 = bank.edge_y0[e], bank.edge_y1[e]
        if (y0 > y) != (y1 > y):
            x0, x1 = bank.edge_x0[e], bank.edge_x1[e]
            if x < x0 + (y - y0) / (y1 - y0) * (x1 - x0):
                inside = not inside
    return inside


@compiled
def _one_in_other(bank: Bank, a: int, b: int, dx: float, dy: float) -> bool:
    """Return whether a heart of one lies in the other; enough where no edges cross."""
    first = bank.pole_off[a]
    for p in range(first, first + bank.heart[a]):
        if _is_inside(bank, b, bank.pole_x[p] - dx, bank.pole_y[p] - dy):
            return True
    first = bank.pole_off[b]
    for q in range(first, first + bank.heart[b]):
        if _is_inside(bank, a, bank.pole_x[q] + dx, bank.pole_y[q] + dy):
            return True
    return False


@compiled
def collide(bank: Bank, a: int, b: int, dx: float, dy: float, scratch: Ints) -> bool:
    """Return whether variant `a` and variant `b` shifted by (dx, dy) against it share material."""
    return (
        _circles_meet(bank, a, b, dx, dy)
        or _edges_cross(bank, a, b, dx, dy, scratch)
        or _one_in_other(bank, a, b, dx, dy)
    )


@compiled
def severity(bank: Bank, a: int, b: int, dx: float, dy: float, scratch: Ints) -> float:
    """Return 0 if the two do not collide, else a number that falls smoothly as they move apart."""
    if collide(bank, a, b, dx, dy, scratch):
        return _badness(bank, a, b, dx, dy)
    return 0.0
