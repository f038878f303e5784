"""From a skeleton to a graph of one-pixel lines.

Pixels with three or more neighbours are junctions; what lies between them are chains, put in order all at
once by a breadth-first walk in compiled code.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import breadth_first_order, connected_components

from vectorize.lines.graph import Edge, LineWork
from vectorize.shapes.segment import Points

Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class _Links:
    """Neighbour pairs among skeleton pixels: `first[i]` touches `second[i]`."""

    first: Ints
    second: Ints

    def among(self, chosen: NDArray[np.bool_]) -> _Links:
        """Return the links whose two pixels are both chosen."""
        both = chosen[self.first] & chosen[self.second]
        return _Links(self.first[both], self.second[both])

    def matrix(self, count: int) -> csr_array:
        """Return the symmetric adjacency."""
        ones = np.ones(2 * len(self.first), np.int8)
        rows = np.concatenate([self.first, self.second])
        columns = np.concatenate([self.second, self.first])
        return coo_array((ones, (rows, columns)), shape=(count, count)).tocsr()

    def degrees(self, count: int) -> Ints:
        """Return the number of neighbours of each pixel."""
        return np.bincount(self.first, minlength=count) + np.bincount(self.second, minlength=count)


def skeleton_graph(skeleton: NDArray[np.bool_]) -> LineWork:
    """Return the graph of a skeleton: nodes at junctions and free ends, edges of pixel centres between."""
    rows, columns = np.nonzero(skeleton)
    count = len(rows)
    if count == 0:
        return LineWork(np.empty((0, 2)), ())
    xy = np.column_stack([columns, rows]).astype(np.float64)
    links = _links(rows, columns, skeleton.shape[1])
    is_junction = links.degrees(count) >= 3
    cluster, nodes = _clusters(links, is_junction, xy)
    chains = _chains(links, ~is_junction, count)
    return _assembled(chains, links, is_junction, cluster, nodes, xy)


def _links(rows: Ints, columns: Ints, width: int) -> _Links:
    """Links to right, below, and both diagonals below; a diagonal that two straight steps replace is dropped."""
    flat = rows.astype(np.int64) * (width + 2) + columns
    firsts, seconds = [], []
    found: dict[int, tuple[Ints, NDArray[np.bool_]]] = {}
    for step in (1, width + 2):
        found[step] = _looked_up(flat, flat + step)
    for sign in (1, -1):
        where, is_there = _looked_up(flat, flat + width + 2 + sign)
        below = found[width + 2][1]
        beside = _looked_up(flat, flat + sign)[1]
        found[width + 2 + sign] = (where, is_there & ~below & ~beside)
    for where, is_there in found.values():
        firsts.append(np.flatnonzero(is_there))
        seconds.append(where[is_there])
    return _Links(np.concatenate(firsts), np.concatenate(seconds))


def _looked_up(flat: Ints, wanted: Ints) -> tuple[Ints, NDArray[np.bool_]]:
    where = np.minimum(np.searchsorted(flat, wanted), len(flat) - 1)
    return where, flat[where] == wanted


def _clusters(links: _Links, is_junction: NDArray[np.bool_], xy: Points) -> tuple[Ints, Points]:
    """Number touching junction pixels as one node at their mean; other pixels get -1."""
    count = len(xy)
    _, label = connected_components(links.among(is_junction).matrix(count), directed=False)
    chosen = np.flatnonzero(is_junction)
    cluster = np.full(count, -1, np.int64)
    _, cluster[chosen] = np.unique(label[chosen], return_inverse=True)
    size = np.bincount(cluster[chosen])
    sums = [np.bincount(cluster[chosen], weights=xy[chosen, k]) for k in (0, 1)]
    nodes = np.column_stack([s / np.maximum(size, 1) for s in sums]) if len(chosen) else np.empty((0, 2))
    return cluster, nodes


def _chains(links: _Links, is_plain: NDArray[np.bool_], count: int) -> list[Ints]:
    """Return each maximal run of non-junction pixels in order.

    One breadth-first walk starts at an end of every run at once (through an extra root), so pixels come by
    their distance from that end; a stable sort by run then lists each run in order.
    """
    plain = links.among(is_plain)
    _, label = connected_components(plain.matrix(count), directed=False)
    degrees = plain.degrees(count)
    members = np.flatnonzero(is_plain)
    if len(members) == 0:
        return []
    # The start of a run is an end pixel; of a ring, which has none, its first pixel.
    order = members[np.lexsort((members, degrees[members] > 1, label[members]))]
    starts = order[np.concatenate([[True], np.diff(label[order]) != 0])]
    rings = starts[degrees[starts] == 2]
    plain = _cut_rings(plain, rings)
    first = np.concatenate([plain.first, np.full(len(starts), count)])
    second = np.concatenate([plain.second, starts])
    walk = breadth_first_order(
        _Links(first, second).matrix(count + 1), count, directed=False, return_predecessors=False
    )[1:]
    walk = walk[np.argsort(label[walk], kind="stable")]
    cuts = np.flatnonzero(np.diff(label[walk])) + 1
    return np.split(walk.astype(np.int64), cuts)


def _cut_rings(links: _Links, starts: Ints) -> _Links:
    """Take one link off each ring at its start pixel, so that it becomes a run."""
    if len(starts) == 0:
        return links
    touches = np.isin(links.first, starts) | np.isin(links.second, starts)
    candidates = np.flatnonzero(touches)
    anchor = np.where(np.isin(links.first[candidates], starts), links.first[candidates], links.second[candidates])
    _, once = np.unique(anchor, return_index=True)
    keep = np.ones(len(links.first), np.bool_)
    keep[candidates[once]] = False
    return _Links(links.first[keep], links.second[keep])


def _assembled(
    chains: list[Ints],
    links: _Links,
    is_junction: NDArray[np.bool_],
    cluster: Ints,
    nodes: Points,
    xy: Points,
) -> LineWork:
    """Give every chain its two nodes: the junctions it touches, or new ones at free ends."""
    mixed = is_junction[links.first] != is_junction[links.second]
    pixel = np.where(is_junction[links.first[mixed]], links.second[mixed], links.first[mixed])
    joint = np.where(is_junction[links.first[mixed]], links.first[mixed], links.second[mixed])
    touching: dict[int, list[int]] = {}
    for p, c in zip(pixel.tolist(), cluster[joint].tolist(), strict=True):
        touching.setdefault(p, []).append(c)
    plain_neighbours = {*zip(links.first.tolist(), links.second.tolist(), strict=True)} if chains else set()
    points = [tuple(point) for point in nodes.tolist()]
    edges: list[Edge] = []
    for chain in chains:
        head, tail = int(chain[0]), int(chain[-1])
        is_ring = len(chain) > 3 and ((head, tail) in plain_neighbours or (tail, head) in plain_neighbours)
        if is_ring and head not in touching and tail not in touching:
            points.append(tuple(xy[head]))
            edges.append(Edge(len(points) - 1, len(points) - 1, np.vstack([xy[chain], xy[head]])))
            continue
        edges.append(_edge(chain, touching, points, xy))
    return LineWork(np.array(points, np.float64).reshape(-1, 2), tuple(edges))


def _edge(chain: Ints, touching: dict[int, list[int]], points: list[tuple[float, ...]], xy: Points) -> Edge:
    head, tail = int(chain[0]), int(chain[-1])
    if head == tail:
        joints = [*touching.get(head, []), -1, -1][:2]
    else:
        joints = [touching.get(head, [-1])[0], touching.get(tail, [-1])[0]]
    ends: list[int] = []
    for pixel, joint in zip((head, tail), joints, strict=True):
        if joint < 0:
            points.append(tuple(xy[pixel]))
            joint = len(points) - 1
        ends.append(joint)
    body = [np.array([points[ends[0]]]), xy[chain], np.array([points[ends[1]]])]
    if joints[0] < 0:
        body[0] = body[0][:0]
    if joints[1] < 0:
        body[2] = body[2][:0]
    line = np.vstack(body)
    if len(line) == 1:
        line = np.vstack([line, line])
    return Edge(ends[0], ends[1], line)
