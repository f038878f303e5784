"""Holes that form and sheet agree on: every reading of a part leaves them out.

A circle, and a small rectangle that nothing meets, says by its form that it is a hole; whether it is a letter, a
balloon or a mark the lines of the sheet tell.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vectorize.faces.regions import Regions
from vectorize.lines.graph import mean_along
from vectorize.shapes.primitives import Round

HOLE_LEAST_ODDS = 0.0
"""A circle whose line is likelier an outline than not is a hole, also in a word. Of the circles of 1.5 to 12 mm in
parts of 16 sheets in seven hands and seven random ones all 209 with more than even odds were, and none of 13 in words
with less."""

LETTER_MOST_ODDS = 0.0
"""What stands in a word and is likelier no outline is a letter, whatever its size: all 29 such shapes on those sheets
were."""


@dataclass(frozen=True, slots=True)
class LikelyHole:
    """The regions of what may be a hole by its form, with the circle in mm where it is one.

    One that `is_lettered` stands in a word; the pieces of one that `is_torn` only share a node; one that is not
    `is_plain` is too disturbed to be measured; nothing meets a circle that `is_free`.
    """

    regions: frozenset[int]
    circle: Round | None
    is_lettered: bool = False
    is_torn: bool = False
    is_plain: bool = True
    is_free: bool = False


def likely(regions: Regions, odds: NDArray[np.float64], within: Iterable[int]) -> float:
    """Return the log-odds that the line round some regions is an outline, by length."""
    around = np.flatnonzero(regions.bounds(within))
    return mean_along(odds[around], np.array([regions.work.edges[k].length for k in around.tolist()]))


def sure_holes(
    regions: Regions, odds: NDArray[np.float64] | None, forms: Sequence[LikelyHole], named: frozenset[int]
) -> tuple[LikelyHole, ...]:
    """Return the forms that are holes; none of the regions that are `named` by picks is in one.

    Without `odds` nothing is known of the lines, and all are that stand in no word. So are free circles in any case: of
    those of 1 to 1.5 mm in parts of 40 drawn sheets all nine were, six of them in lines that are likelier no outlines.
    """

    def is_hole(form: LikelyHole) -> bool:
        if not form.is_plain or form.regions & named:
            return False
        if not form.is_lettered and (odds is None or form.is_free):
            return True
        return odds is not None and likely(regions, odds, form.regions) > HOLE_LEAST_ODDS

    return tuple(form for form in forms if is_hole(form))


def left_out(regions: Regions, faces: frozenset[int], holes: Iterable[LikelyHole]) -> frozenset[int]:
    """Return a set of regions without the holes that it goes round."""
    return faces.difference(*(hole.regions for hole in holes if goes_round(regions, faces, hole)))


def goes_round(regions: Regions, faces: frozenset[int], hole: LikelyHole) -> bool:
    """Return whether a set of regions lies all around a hole."""
    neighbours = regions.neighbours()
    beside = {other for region in hole.regions for _, other in neighbours.get(region, ())} - hole.regions
    return bool(beside) and beside <= faces
