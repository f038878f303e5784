"""The other hand of a part, and a pair from one."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from nesting.alter.step import Change, Setting
from nesting.wood.part import Hand, Part
from vectorize.basics.errors import PartError
from vectorize.shapes.segment import Point

_OTHER: dict[Hand, Hand] = {"left": "right", "right": "left", "either": "either", "pair": "pair"}


@dataclass(frozen=True, slots=True)
class Opposite:
    """The mirror image across the line through two points; by default across the plan's axis."""

    across: tuple[Point, Point] | None = None

    def __post_init__(self) -> None:
        if self.across is not None and math.dist(*self.across) < 1e-6:
            raise PartError("the line to mirror across has no length; give two different points.")

    @property
    def needs(self) -> tuple[str, ...]:
        """Return nothing: only the part itself is looked at."""
        return ()

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the part turned over, with its grain, centre of mass and hand."""
        first, second = self.across or (setting.axis.point(0.0), setting.axis.point(1.0))
        move = reflection(first, second)
        line_deg = math.degrees(math.atan2(second[1] - first[1], second[0] - first[0]))
        centroid = part.finished_centroid
        mirrored = replace(
            part,
            outline=part.outline.mapped(move, mirrors=True),
            grain_deg=(2 * line_deg - part.grain_deg) % 180.0,
            hand=_OTHER[part.hand],
            finished_centroid=None if centroid is None else move(centroid),
        )
        return Change((mirrored,))


@dataclass(frozen=True, slots=True)
class Pair:
    """Both hands of a part: one as drawn and one mirrored, cut from one outline."""

    @property
    def needs(self) -> tuple[str, ...]:
        """Return nothing: only the part itself is looked at."""
        return ()

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the part as a pair."""
        return Change((replace(part, hand="pair"),))


def reflection(first: Point, second: Point) -> Callable[[Point], Point]:
    """Return the mirror map across the line through two points."""
    dx, dy = second[0] - first[0], second[1] - first[1]
    size = math.hypot(dx, dy)
    ux, uy = dx / size, dy / size

    def move(point: Point) -> Point:
        x, y = point[0] - first[0], point[1] - first[1]
        along = x * ux + y * uy
        return (first[0] + 2 * along * ux - x, first[1] + 2 * along * uy - y)

    return move
