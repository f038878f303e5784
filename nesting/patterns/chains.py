"""From loose lines, arcs and splines to outlines: join ends, close rings, see which lies in which."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree
from shapely import get_coordinates
from shapely.geometry import LineString, Polygon
from shapely.ops import polygonize, unary_union

from vectorize.basics.errors import OutlineError
from vectorize.basics.notes import Note
from vectorize.shapes.outline import FINE_MM, Outline, Ring
from vectorize.shapes.segment import Line, Segment

JOIN_MM = 0.05
"""Ends this near to each other are taken as one: the rounding of other programs stays below it."""
_SAME_MM = 0.01

Chain: TypeAlias = tuple[Segment, ...]


@dataclass(frozen=True, slots=True)
class BroughtIn:
    """The outlines of a drawing, from left to right, and notes on what could not be closed."""

    outlines: tuple[Outline, ...]
    notes: tuple[Note, ...] = ()


def outlines_from_chains(chains: Iterable[Sequence[Segment]]) -> BroughtIn:
    """Return the outlines that the chains (connected pieces, open or closed) make up.

    Ends within 0.05 mm are joined. A chain that stays open is completed by lines that it shares with other
    shapes, if it can be; else it is an `open` note with its place. A ring in a ring is a cut-out, one in that
    an outline again, to any depth. A ring drawn twice counts once.
    """
    given = [tuple(chain) for chain in chains if chain]
    closed = [chain for chain in given if _is_closed(chain)]
    open_ones = list(_merged([chain for chain in given if not _is_closed(chain)]))
    rings = [ring for chain in (*closed, *filter(_is_closed, open_ones)) for ring in _ring(chain)]
    loose = [chain for chain in open_ones if not _is_closed(chain)]
    shared, left = _completed(rings, loose)
    return BroughtIn(_nested(_distinct([*rings, *shared])), tuple(_open_note(chain) for chain in left))


def _is_closed(chain: Chain) -> bool:
    is_short_line = len(chain) == 1 and isinstance(chain[0], Line)
    return not is_short_line and math.dist(chain[0].start, chain[-1].end) <= JOIN_MM


def _ring(chain: Chain) -> Iterator[Ring]:
    """The ring through a closed chain, its joints made exact; nothing if it encloses no area."""
    segments = list(chain)
    for i, segment in enumerate(segments):
        segments[i] = replace(segment, start=segments[i - 1].end)
    segments = [s for s in segments if s.start != s.end or not isinstance(s, Line)]
    try:
        ring = Ring(tuple(segments))
    except OutlineError:
        return
    if abs(ring.signed_area_mm2) > _SAME_MM**2:
        yield ring


def _merged(chains: Sequence[Chain]) -> Iterator[Chain]:
    """Chains joined end to end wherever exactly two meet."""
    if not chains:
        return
    nodes = _nodes(chains)
    at_node: dict[int, list[int]] = defaultdict(list)
    for index, (first, last) in enumerate(nodes):
        at_node[first].append(index)
        at_node[last].append(index)
    used: set[int] = set()
    # Begin where chains end or branch; what is left after that are plain loops.
    begins = sorted(range(len(chains)), key=lambda i: all(len(at_node[node]) == 2 for node in nodes[i]))
    for index in begins:
        if index not in used:
            is_backward = len(at_node[nodes[index][0]]) == 2 and len(at_node[nodes[index][1]]) != 2
            yield _walked(index, chains, nodes, at_node, used, is_backward=is_backward)


def _nodes(chains: Sequence[Chain]) -> list[tuple[int, int]]:
    """A number for each end of each chain, the same number where ends lie within JOIN_MM."""
    ends = np.array([point for chain in chains for point in (chain[0].start, chain[-1].end)])
    pairs = cKDTree(ends).query_pairs(JOIN_MM, output_type="ndarray")
    links = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(ends), len(ends)))
    _, labels = connected_components(links, directed=False)
    return [(int(labels[2 * i]), int(labels[2 * i + 1])) for i in range(len(chains))]


def _walked(
    index: int,
    chains: Sequence[Chain],
    nodes: Sequence[tuple[int, int]],
    at_node: dict[int, list[int]],
    used: set[int],
    *,
    is_backward: bool,
) -> Chain:
    used.add(index)
    walk = list(_backward(chains[index]) if is_backward else chains[index])
    start, node = nodes[index][::-1] if is_backward else nodes[index]
    while node != start and len(at_node[node]) == 2:
        following = [i for i in at_node[node] if i not in used]
        if not following:
            break
        used.add(following[0])
        first, last = nodes[following[0]]
        piece = chains[following[0]] if first == node else _backward(chains[following[0]])
        walk.extend(piece)
        node = last if first == node else first
    return tuple(walk)


def _backward(chain: Chain) -> Chain:
    return tuple(segment.reversed() for segment in reversed(chain))


def _completed(rings: Sequence[Ring], loose: Sequence[Chain]) -> tuple[list[Ring], list[Chain]]:
    """Close loose chains with what other shapes share with them; such rings are made of short straight pieces."""
    if not loose:
        return [], []
    lines = [LineString([*_points(chain), chain[-1].end]) for chain in loose]
    edges = [LineString([*points, points[0]]) for points in (ring.flattened(FINE_MM).tolist() for ring in rings)]
    faces = list(polygonize(unary_union([*lines, *edges])))
    known = [Polygon(ring.flattened(FINE_MM)) for ring in rings]
    made: list[Ring] = []
    left: list[Chain] = []
    for face in faces:
        is_new = not any(abs(face.area - area.area) < _SAME_MM and face.equals_exact(area, _SAME_MM) for area in known)
        if is_new and any(face.exterior.intersection(line).length > 0.9 * line.length for line in lines):
            made.append(Ring.from_points(get_coordinates(face.exterior)))
    for chain, line in zip(loose, lines, strict=True):
        if not any(Polygon(ring.flattened()).exterior.intersection(line).length > 0.9 * line.length for ring in made):
            left.append(chain)
    return made, left


def _points(chain: Chain) -> list[tuple[float, float]]:
    return [point for segment in chain for point in segment.flattened(FINE_MM)]


def _distinct(rings: Sequence[Ring]) -> list[Ring]:
    seen: list[tuple[float, float, float]] = []
    kept: list[Ring] = []
    for ring in rings:
        area = abs(ring.signed_area_mm2)
        mx, my = ring.moments_mm3
        centre = (mx / ring.signed_area_mm2, my / ring.signed_area_mm2)
        if all(abs(area - a) > _SAME_MM or math.dist(centre, (x, y)) > _SAME_MM for a, x, y in seen):
            seen.append((area, *centre))
            kept.append(ring)
    return kept


def _nested(rings: Sequence[Ring]) -> tuple[Outline, ...]:
    ordered = sorted(rings, key=lambda ring: -abs(ring.signed_area_mm2))
    areas = [Polygon(ring.flattened(_SAME_MM)).buffer(0) for ring in ordered]
    parents: list[int | None] = []
    depths: list[int] = []
    for i, area in enumerate(areas):
        spot = area.representative_point()
        parent = next((j for j in range(i - 1, -1, -1) if areas[j].contains(spot)), None)
        parents.append(parent)
        depths.append(0 if parent is None else depths[parent] + 1)
    outlines = [
        Outline(ring, tuple(ordered[j] for j in range(len(ordered)) if parents[j] == i and depths[j] == depths[i] + 1))
        for i, ring in enumerate(ordered)
        if depths[i] % 2 == 0
    ]
    return tuple(sorted(outlines, key=lambda outline: outline.bounds[:2]))


def _open_note(chain: Chain) -> Note:
    (x0, y0), (x1, y1) = chain[0].start, chain[-1].end
    gap = math.dist((x0, y0), (x1, y1))
    text = (
        f"a line from ({x0:.1f}, {y0:.1f}) to ({x1:.1f}, {y1:.1f}) mm is not part of a closed shape "
        f"(its ends are {gap:.2f} mm apart); close it in the drawing, or leave it if it is no edge."
    )
    return Note("open-line", text, "open")
