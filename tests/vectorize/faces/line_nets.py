"""Line work made of straight edges between named points, for tests."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from vectorize.faces.regions import Regions, divided
from vectorize.lines.graph import Edge, LineWork, filled
from vectorize.lines.runs import Runs, found_runs

PER_MM = 4.0


def line_work(nodes: Sequence[tuple[float, float]], pairs: Sequence[tuple[int, int]]) -> LineWork:
    points = np.array(nodes, np.float64)
    edges = tuple(Edge(a, b, filled(points[[a, b]])) for a, b in pairs)
    return LineWork(points, edges)


def divided_page(nodes: Sequence[tuple[float, float]], pairs: Sequence[tuple[int, int]]) -> tuple[Regions, Runs]:
    work = line_work(nodes, pairs)
    regions = divided(work, rows=400, columns=400)
    ink = np.full(len(work.edges), 5.0)
    return regions, found_runs(work, ink, px_per_mm=PER_MM, pen_px=3.0)


def grid(columns: int, rows: int, step: float = 60.0) -> tuple[list[tuple[float, float]], list[tuple[int, int]]]:
    """Return the nodes and edges of a grid of cells, for instance 2 by 1:

    0---1---2
    |   |   |
    3---4---5
    """
    nodes = [(20 + step * x, 20 + step * y) for y in range(rows + 1) for x in range(columns + 1)]
    across = [(y * (columns + 1) + x, y * (columns + 1) + x + 1) for y in range(rows + 1) for x in range(columns)]
    down = [(y * (columns + 1) + x, (y + 1) * (columns + 1) + x) for y in range(rows) for x in range(columns + 1)]
    return nodes, across + down
