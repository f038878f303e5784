"""Circles inside a shape, largest first, that together cover most of it.

The first is centred on the pole of inaccessibility; each next one is the largest that lies inside the
shape and outside the earlier ones (Gardeyn, Vanden Berghe and Wauters 2025, arXiv 2509.13329).
"""

from __future__ import annotations

import math

import numpy as np

from nesting.place.collide import MOST_POLES
from nesting.place.kernel_arrays import Floats
from vectorize.basics.compiled import compiled

_CELLS = 800
_CLIMBS = 60  # a needle's ridge is climbed for ever otherwise
_ENOUGH = ((8, 0.9), (MOST_POLES, 0.0))
"""So many circles are enough when they cover so much of the area (as in the source, but fewer at most)."""


@compiled
def _rim_distance(edges: Floats, x: float, y: float) -> float:
    """Return the distance to the nearest edge, negative outside the material."""
    nearest = np.inf
    inside = False
    for e in range(edges.shape[0]):
        x0, y0, x1, y1 = edges[e, 0], edges[e, 1], edges[e, 2], edges[e, 3]
        ux, uy = x1 - x0, y1 - y0
        t = ((x - x0) * ux + (y - y0) * uy) / (ux * ux + uy * uy)
        t = min(1.0, max(0.0, t))
        dx, dy = x0 + t * ux - x, y0 + t * uy - y
        nearest = min(nearest, dx * dx + dy * dy)
        if (y0 > y) != (y1 > y) and x < x0 + (y - y0) / (y1 - y0) * ux:
            inside = not inside
    return math.sqrt(nearest) if inside else -math.sqrt(nearest)


@compiled
def _free_radius(edges: Floats, poles: Floats, count: int, x: float, y: float) -> float:
    radius = _rim_distance(edges, x, y)
    for k in range(count):
        radius = min(radius, math.sqrt((x - poles[k, 0]) ** 2 + (y - poles[k, 1]) ** 2) - poles[k, 2])
    return radius


@compiled
def _extent(edges: Floats) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = np.inf, np.inf, -np.inf, -np.inf
    for e in range(edges.shape[0]):
        x0, y0 = min(x0, edges[e, 0]), min(y0, edges[e, 1])
        x1, y1 = max(x1, edges[e, 0]), max(y1, edges[e, 1])
    return x0, y0, x1, y1


@compiled
def _climb(edges: Floats, poles: Floats, count: int, cell: float) -> None:
    """Move the circle in row `count` uphill until it cannot grow, beginning with steps of a grid cell."""
    x, y, radius = poles[count, 0], poles[count, 1], poles[count, 2]
    step = cell
    for _ in range(_CLIMBS):
        if step <= 1e-4 * cell:
            break
        better = False
        for k in range(8):
            angle = k * math.pi / 4
            nx, ny = x + step * math.cos(angle), y + step * math.sin(angle)
            grown = _free_radius(edges, poles, count, nx, ny)
            if grown > radius + 1e-6 * cell:
                x, y, radius, better = nx, ny, grown, True
        if not better:
            step *= 0.5
    poles[count, 0], poles[count, 1], poles[count, 2] = x, y, max(radius, 0.0)


@compiled
def _roomiest(grid: Floats) -> int:
    best = 0
    for k in range(grid.shape[0]):
        if grid[k, 2] > grid[best, 2]:
            best = k
    return best


@compiled
def _grid_inside(edges: Floats) -> tuple[Floats, float]:
    """Return (N, 3) grid points with their distance to the rim, and the size of a cell."""
    x0, y0, x1, y1 = _extent(edges)
    width, height = max(x1 - x0, 1e-12), max(y1 - y0, 1e-12)
    columns = int(min(max(math.sqrt(_CELLS * width / height), 6.0), _CELLS / 6))
    rows = max(_CELLS // columns, 6)
    grid = np.empty((rows * columns, 3))
    for k in range(rows * columns):
        grid[k, 0] = x0 + (k % columns + 0.5) * width / columns
        grid[k, 1] = y0 + (k // columns + 0.5) * height / rows
        grid[k, 2] = _rim_distance(edges, grid[k, 0], grid[k, 1])
    return grid, max(width / columns, height / rows)


@compiled
def find_poles(edges: Floats, area: float, least_share: float) -> Floats:
    """Return (N, 3) circles (x, y, radius) inside the shape with (M, 4) `edges`; N is at least 1.

    Circles smaller than `least_share` of the first are left out. The first may be tiny, and of radius 0
    where the shape is too thin for the grid; the caller must find a point inside by other means then.
    """
    grid, cell = _grid_inside(edges)
    poles = np.zeros((_ENOUGH[1][0], 3))
    covered = 0.0
    count = 0
    while count < poles.shape[0]:
        start = _roomiest(grid)
        for part in range(3):
            poles[count, part] = grid[start, part]
        _climb(edges, poles, count, cell)
        x, y, radius = poles[count, 0], poles[count, 1], poles[count, 2]
        if count > 0 and radius < least_share * poles[0, 2]:
            break
        count += 1
        covered += math.pi * radius * radius
        if radius <= 0.0 or (count >= _ENOUGH[0][0] and covered >= _ENOUGH[0][1] * area):
            break
        for k in range(grid.shape[0]):
            grid[k, 2] = min(grid[k, 2], math.sqrt((grid[k, 0] - x) ** 2 + (grid[k, 1] - y) ** 2) - radius)
    return poles[:count].copy()
