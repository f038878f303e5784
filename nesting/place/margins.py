"""The margins of a board, defined once for the search and for its proof.

The ends of a board are the lines across its least and greatest x. A part stays `ends_mm` from both lines and
`edges_mm` from every bit of the board's boundary that does not itself lie on one of them: the long edges, what
slants or curves at an end, and the rim of a hole. Neither margin is ever asked in place of the other, so that
`ends_mm` may be the smaller one.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

from nesting.place.layout_rules import NestRules
from nesting.wood.board import Board

_HAIR_MM = 1e-6  # what a saw cut across the board may be out of square and still be its end


def edges_of(wood: Polygon) -> BaseGeometry:
    """Return the lines of a board's boundary that are edges: all that do not lie along one of its two ends."""
    x0, _, x1, _ = wood.bounds
    rings = [shapely.get_coordinates(ring) for ring in (wood.exterior, *wood.interiors)]
    pieces = np.concatenate([np.stack((ring[:-1], ring[1:]), axis=1) for ring in rings])
    is_end = [(abs(pieces[:, :, 0] - x) <= _HAIR_MM).all(axis=1) for x in (x0, x1)]
    edges = pieces[~(is_end[0] | is_end[1])]
    return shapely.line_merge(MultiLineString(list(edges)))


def usable_area(board: Board, rules: NestRules) -> BaseGeometry:
    """Return where parts may lie on a board, in its own frame: inside the margins at ends and edges.

    Inside corners of the wood keep a little more than `edges_mm`, so that few points describe the area.
    """
    wood = board.shape.to_polygon()
    x0, y0, x1, y1 = wood.bounds
    if x1 - x0 <= 2 * rules.ends_mm or y1 - y0 <= 2 * rules.edges_mm:
        return Polygon()
    if board.outline is None:
        return shapely.box(x0 + rules.ends_mm, y0 + rules.edges_mm, x1 - rules.ends_mm, y1 - rules.edges_mm)
    inner: BaseGeometry = wood
    if rules.edges_mm > 0:
        inner = wood.difference(edges_of(wood).buffer(rules.edges_mm, cap_style="square", join_style="mitre"))
    return inner.intersection(shapely.box(x0 + rules.ends_mm, y0, x1 - rules.ends_mm, y1))
