"""Chains of dimensions, end to end along one line, and the overall length beside them that they add up to."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from vectorize.shapes.segment import Point

REACH_PX = 6.0
"""Links meet, and lie on one line, within this: uprights are found to half a pen line."""

EXACT_MM = 0.02
"""A chain adds up within this: decimals of inches are rounded, fractions are not."""

MOST_LINKS = 12
"""Chains of more links are not followed."""


@dataclass(frozen=True, slots=True)
class Link:
    """A dimension between two pixels: the length that it states, and others that its text may state as well."""

    start: Point
    end: Point
    mm: float
    others: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Chain:
    """The numbers of links that lie end to end, and of the one that spans them all."""

    links: tuple[int, ...]
    overall: int


def add_up(links: Sequence[Link]) -> tuple[float, ...]:
    """Return the length of each link, with another reading where that one alone makes its chain add up.

    A chain that adds up as it is, or that several single readings would mend, stays.
    """
    lengths = list(links)
    for chain in find_chains(links):
        mended = _mended(chain, lengths)
        if len(mended) == 1:
            number, mm = mended[0]
            lengths[number] = replace(lengths[number], mm=mm)
    return tuple(link.mm for link in lengths)


def _mended(chain: Chain, links: Sequence[Link]) -> list[tuple[int, float]]:
    """Return every single other reading that makes a chain add up; none where it does already."""
    over = sum(links[k].mm for k in chain.links) - links[chain.overall].mm
    if abs(over) <= EXACT_MM:
        return []
    signs = [(k, 1.0) for k in chain.links] + [(chain.overall, -1.0)]
    return [
        (k, other)
        for k, sign in signs
        for other in links[k].others
        if abs(over + sign * (other - links[k].mm)) <= EXACT_MM
    ]


def find_chains(links: Sequence[Link]) -> tuple[Chain, ...]:
    """Return the chains of two or more links with a link that begins where they begin and ends where they end."""
    found = []
    for overall, whole in enumerate(links):
        along = _unit(whole)
        others = [k for k, one in enumerate(links) if k != overall and _is_along(one, along)]
        ends = {k: _ends(links[k], along) for k in others}
        first, last = _ends(whole, along)
        found += [Chain(way, overall) for way in _ways(ends, first, last)]
    return tuple(found)


_End = tuple[float, float]
"""How far a point lies along a direction, and to its side."""


def _ways(ends: dict[int, tuple[_End, _End]], first: _End, last: _End) -> Iterator[tuple[int, ...]]:
    """Yield every way from end to end over links of one line; the line may lie beside the ends."""
    pending: list[tuple[int, ...]] = [
        (k,) for k, (start, end) in ends.items() if abs(start[0] - first[0]) < REACH_PX and end[0] < last[0]
    ]
    while pending:
        way = pending.pop()
        here = ends[way[-1]][1]
        if abs(here[0] - last[0]) < REACH_PX:
            if len(way) > 1:
                yield way
        elif len(way) < MOST_LINKS:
            pending += [
                (*way, k)
                for k, (start, end) in ends.items()
                if k not in way and math.dist(start, here) < REACH_PX and end[0] > here[0]
            ]


def _unit(link: Link) -> Point:
    """Return the direction of a link, to the right or down."""
    dx, dy = link.end[0] - link.start[0], link.end[1] - link.start[1]
    length = math.hypot(dx, dy) or 1.0
    sign = 1.0 if dx + dy >= 0 else -1.0
    return sign * dx / length, sign * dy / length


def _is_along(link: Link, along: Point) -> bool:
    x, y = _unit(link)
    return abs(x * along[1] - y * along[0]) < 0.02


def _ends(link: Link, along: Point) -> tuple[_End, _End]:
    x, y = along
    one, other = sorted((px * x + py * y, py * x - px * y) for px, py in (link.start, link.end))
    return one, other
