"""Bodies that would stand in each other, and those that have no place: set apart so that each is seen."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from nesting.job.body import Body
from vectorize.shapes.mesh import Floats

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

INSIDE_SHARE = 0.5
"""A part stands inside another if so much of its outline does; a fin in its slot does not."""
GAP_MM = 15.0
"""Between bodies that lie beside the model."""
_TOUCH_MM = 1e-6
_COARSE_MM = 0.1


def off_each_other(bodies: Sequence[Body]) -> tuple[tuple[Body, ...], tuple[tuple[str, str], ...]]:
    """Return the bodies, each that stands inside another one moved onto its face, and (part, other part) of those.

    The larger one stays. Upright ones go to the side that is nearer, left first; those that lie flat go up.
    """
    found: dict[int, Body] = {}
    moved: dict[str, str] = {}
    order = sorted(range(len(bodies)), key=lambda number: -bodies[number].mesh.volume_mm3)
    for number in order:
        body = bodies[number]
        others = [(one, _footprint(one)) for one in found.values() if one.stance.is_flat == body.stance.is_flat]
        away, under = _way_out(body, others)
        if under is not None:
            moved.setdefault(body.part.name, under.part.name)
        found[number] = body.moved(away)
    return tuple(found[number] for number in range(len(bodies))), tuple(moved.items())


def _way_out(body: Body, others: Sequence[tuple[Body, BaseGeometry]]) -> tuple[Floats, Body | None]:
    """Return the least move off all that a body stands inside of, and the first of those."""
    axis = 2 if body.stance.is_flat else 1
    mine = _footprint(body)
    inside = [one for one, shape in others if mine.intersection(shape).area > INSIDE_SHARE * mine.area]
    first = next((one for one in inside if _overlaps(body, one, 0.0, axis)), None)
    ways = [_to_side(body, inside, way, axis) for way in ((1.0,) if axis == 2 else (-1.0, 1.0))]
    step = np.zeros(3)
    step[axis] = min(ways, key=lambda by: round(abs(by), 6))
    return step, first


def _to_side(body: Body, inside: Iterable[Body], way: float, axis: int) -> float:
    """Return how far a body goes one way until it is in none of the others any more."""
    by = 0.0
    while hit := next((one for one in inside if _overlaps(body, one, by, axis)), None):
        low, high = _reach(body, axis)
        begin, end = _reach(hit, axis)
        by = end - low if way > 0 else begin - high
    return by


def _overlaps(body: Body, other: Body, by: float, axis: int) -> bool:
    (low, high), (begin, end) = _reach(body, axis), _reach(other, axis)
    return low + by < end - _TOUCH_MM and high + by > begin + _TOUCH_MM


def _reach(body: Body, axis: int) -> tuple[float, float]:
    along = body.mesh.points[:, axis]
    return float(along.min()), float(along.max())


def _footprint(body: Body) -> BaseGeometry:
    """Return the shape that a body covers, seen along its own thickness."""
    from shapely import affinity

    keep = [0, 1] if body.stance.is_flat else [0, 2]
    turn, shift = body.stance.turn[keep], body.stance.shift[keep]
    shape = body.part.outline.to_polygon(_COARSE_MM)
    return affinity.affine_transform(shape, [*turn[0, :2], *turn[1, :2], *shift])


def laid_beside(bodies: Sequence[Body], model: Sequence[Body]) -> tuple[Body, ...]:
    """Return bodies that have no place in rows at the right of the model, long sides along it, largest first."""
    if not bodies:
        return ()
    corner, length = _free_corner(model)
    flat = sorted((_along(body) for body in bodies), key=lambda body: -_size(body)[0])
    length = max(length, _size(flat[0])[0], 1.6 * sum(_size(body)[0] * _size(body)[1] for body in flat) ** 0.5)
    laid, aft, right, deep = [], 0.0, 0.0, 0.0
    for body in flat:
        size = _size(body)
        if aft and aft + size[0] > length:
            aft, right, deep = 0.0, right + deep + GAP_MM, 0.0
        laid.append(body.moved(corner + np.array([aft, right, 0.0]) - body.mesh.points.min(axis=0)))
        aft, deep = aft + size[0] + GAP_MM, max(deep, size[1])
    return tuple(laid)


def _free_corner(model: Sequence[Body]) -> tuple[Floats, float]:
    """Return a corner at the right of the model, level with its lowest point, and how long the model is."""
    if not model:
        return np.zeros(3), 0.0
    low = np.min([body.mesh.points.min(axis=0) for body in model], axis=0)
    high = np.max([body.mesh.points.max(axis=0) for body in model], axis=0)
    return np.array([low[0], high[1] + 3 * GAP_MM, low[2]]), float(high[0] - low[0])


def _size(body: Body) -> Floats:
    size: Floats = np.ptp(body.mesh.points, axis=0)
    return size


def _along(body: Body) -> Body:
    """Return a body that lies on its plan turned so that its long side runs along the model."""
    import shapely

    box = shapely.get_coordinates(body.part.outline.to_polygon(_COARSE_MM).minimum_rotated_rectangle)
    side = max(np.diff(box[:3], axis=0), key=lambda one: float(np.hypot(*one)))
    cos, sin = side / np.hypot(*side)
    turn = np.array([[cos, sin, 0.0], [-sin, cos, 0.0], [0.0, 0.0, 1.0]])
    return replace(body, mesh=body.mesh.moved(turn), grain=turn @ body.grain)
