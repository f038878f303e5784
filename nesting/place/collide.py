"""Do two placed shapes collide, and how badly? Exact by edges; badness by circles inside the shapes.

The measure of badness is that of Gardeyn, Vanden Berghe and Wauters 2025 (arXiv 2509.13329), section
on collision severity; the exact test is edge crossing plus containment.
"""

from __future__ import annotations

import math

import numpy as np

from nesting.place.kernel_arrays import Bank, Ints
from vectorize.basics.compiled import compiled, inlined, inlined_fast

HAIR_MM = 1e-9
"""Edges may enter another shape by this depth: touching is not colliding, whatever the last bits say."""

MOST_POLES = 16
"""Circles per shape; a multiple of 8, so that a vector unit takes them in full."""

_CIRCLE_HAIR = 1e-6  # of the diameters: circles are kept in single precision
_DECAY_SHARE = 0.01  # of the larger diameter: circles farther apart still pull, by the source above


@inlined_fast
def _circles_meet(bank: Bank, a: int, b: int, dx: float, dy: float) -> bool:
    """Return whether a circle of `a` overlaps one of `b` shifted by (dx, dy)."""
    form, circles = bank.form, bank.circles
    x0, y0 = np.float32(form[b, 0] + dx), np.float32(form[b, 1] + dy)
    x1, y1 = np.float32(form[b, 2] + dx), np.float32(form[b, 3] + dy)
    hair = np.float32(_CIRCLE_HAIR * (form[a, 9] + form[b, 9]))
    sx, sy = np.float32(dx), np.float32(dy)
    for p in range(bank.first[a, 2]):
        px, py, pr = circles[a, 0, p], circles[a, 1, p], circles[a, 2, p] - hair
        if px + pr <= x0 or px - pr >= x1 or py + pr <= y0 or py - pr >= y1:
            continue
        px -= sx
        py -= sy
        deepest = np.float32(-1.0)
        for q in range(MOST_POLES):
            ux, uy, reach = circles[b, 0, q] - px, circles[b, 1, q] - py, circles[b, 2, q] + pr
            deepest = max(deepest, reach * reach - ux * ux - uy * uy)
        if deepest > 0.0:
            return True
    return False


@inlined_fast
def _badness(bank: Bank, a: int, b: int, dx: float, dy: float) -> float:
    """Return how badly `a` and `b` shifted by (dx, dy) collide; only meant for pairs that do."""
    form, circles = bank.form, bank.circles
    eps = np.float32(_DECAY_SHARE * max(form[a, 9], form[b, 9]))
    eps_squared, two_eps = eps * eps, eps + eps
    sx, sy = np.float32(dx), np.float32(dy)
    total = np.float32(0.0)
    for p in range(bank.first[a, 2]):
        px, py, pr = circles[a, 0, p] - sx, circles[a, 1, p] - sy, circles[a, 2, p]
        share = np.float32(0.0)
        for q in range(MOST_POLES):
            ux, uy, qr = circles[b, 0, q] - px, circles[b, 1, q] - py, circles[b, 2, q]
            depth = pr + qr - np.sqrt(ux * ux + uy * uy)
            decayed = eps_squared / (two_eps - min(depth, eps))
            share += max(depth, decayed) * min(pr, qr)
        total += share
    return math.sqrt(total) * math.sqrt(form[a, 8] * form[b, 8])


@inlined
def _edges_cross(bank: Bank, a: int, b: int, dx: float, dy: float, scratch: Ints) -> bool:
    """Return whether an edge of `a` crosses one of `b` shifted by (dx, dy), deeper than a hair."""
    first, edges, form = bank.first, bank.edges, bank.form
    x0 = max(form[a, 0], form[b, 0] + dx)
    y0 = max(form[a, 1], form[b, 1] + dy)
    x1 = min(form[a, 2], form[b, 2] + dx)
    y1 = min(form[a, 3], form[b, 3] + dy)
    count = 0
    for q in range(first[b, 0], first[b + 1, 0]):
        qx0, qy0 = edges[q, 0] + dx, edges[q, 1] + dy
        qx1, qy1 = edges[q, 2] + dx, edges[q, 3] + dy
        if min(qx0, qx1) <= x1 and max(qx0, qx1) >= x0 and min(qy0, qy1) <= y1 and max(qy0, qy1) >= y0:
            scratch[count] = q
            count += 1
    if count == 0:
        return False
    for p in range(first[a, 0], first[a + 1, 0]):
        px0, py0, px1, py1 = edges[p, 0], edges[p, 1], edges[p, 2], edges[p, 3]
        if min(px0, px1) > x1 or max(px0, px1) < x0 or min(py0, py1) > y1 or max(py0, py1) < y0:
            continue
        ux, uy = px1 - px0, py1 - py0
        p_hair = HAIR_MM * edges[p, 4]
        for k in range(count):
            q = scratch[k]
            qx0, qy0 = edges[q, 0] + dx, edges[q, 1] + dy
            vx, vy = edges[q, 2] - edges[q, 0], edges[q, 3] - edges[q, 1]
            wx, wy = qx0 - px0, qy0 - py0
            # Which ends lie on the material's side of the other edge? The rim itself counts as outside.
            start = ux * wy - uy * wx
            end = start + ux * vy - uy * vx
            if (start > p_hair) == (end > p_hair):
                continue
            q_hair = HAIR_MM * edges[q, 4]
            start = vy * wx - vx * wy
            end = start + vx * uy - vy * ux
            if (start > q_hair) != (end > q_hair):
                return True
    return False


@inlined
def _is_inside(bank: Bank, v: int, x: float, y: float) -> bool:
    """Return whether the point lies in the material of variant v (even-odd rule)."""
    first, edges, form = bank.first, bank.edges, bank.form
    if x <= form[v, 0] or x >= form[v, 2] or y <= form[v, 1] or y >= form[v, 3]:
        return False
    inside = False
    for e in range(first[v, 0], first[v + 1, 0]):
        y0, y1 = edges[e, 1], edges[e, 3]
        if (y0 > y) != (y1 > y):
            x0, x1 = edges[e, 0], edges[e, 2]
            if x < x0 + (y - y0) / (y1 - y0) * (x1 - x0):
                inside = not inside
    return inside


@inlined
def _one_in_other(bank: Bank, a: int, b: int, dx: float, dy: float) -> bool:
    """Return whether a heart of one lies in the other; enough where no edges cross."""
    first, hearts = bank.first, bank.hearts
    for p in range(first[a, 1], first[a + 1, 1]):
        if _is_inside(bank, b, hearts[p, 0] - dx, hearts[p, 1] - dy):
            return True
    for q in range(first[b, 1], first[b + 1, 1]):  # noqa: SIM110 - kernels know no generators
        if _is_inside(bank, a, hearts[q, 0] + dx, hearts[q, 1] + dy):
            return True
    return False


@inlined
def _slants_apart(bank: Bank, a: int, b: int, dx: float, dy: float) -> bool:
    """Return whether a line at 45 degrees keeps the two apart, as often happens when their boxes overlap."""
    form = bank.form
    rise, fall = dx + dy, dx - dy
    return bool(
        form[b, 4] + rise >= form[a, 6]
        or form[b, 6] + rise <= form[a, 4]
        or form[b, 5] + fall >= form[a, 7]
        or form[b, 7] + fall <= form[a, 5]
    )


@compiled
def severity(bank: Bank, a: int, b: int, dx: float, dy: float, scratch: Ints) -> float:
    """Return 0 if variants `a` and `b`, shifted by (dx, dy) against it, share no material.

    Otherwise return a number that falls smoothly as they move apart. `scratch` has room for as many
    numbers as any variant has edges.
    """
    if _slants_apart(bank, a, b, dx, dy):
        return 0.0
    if (
        _circles_meet(bank, a, b, dx, dy)
        or _edges_cross(bank, a, b, dx, dy, scratch)
        or _one_in_other(bank, a, b, dx, dy)
    ):
        return _badness(bank, a, b, dx, dy)
    return 0.0
