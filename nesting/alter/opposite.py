"""The other hand of a part, and a pair from one."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Literal

from nesting.alter.frame import Spot
from nesting.alter.step import Change, Setting, Step
from nesting.wood.part import Hand, Part
from vectorize.basics.errors import PartError
from vectorize.shapes.segment import Point

_OTHER: dict[Hand, Hand] = {"left": "right", "right": "left", "either": "either", "pair": "pair"}


@dataclass(frozen=True, slots=True)
class Opposite(Step):
    """The mirror image across the line through two points; by default across the plan's axis."""

    make: Literal["opposite"] = field(default="opposite", kw_only=True, repr=False)
    across: tuple[Spot, Spot] | None = None

    def check(self, part: str, setting: Setting) -> None:
        """Raise PartError for what cannot be, whatever the part is like."""
        if self.across is not None and math.dist(*setting.frame.line(self.across)) < 1e-6:
            raise PartError("the line to mirror across has no length; give two different points.")

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the part turned over, with its grain, centre of mass and hand."""
        axis, across = setting.axis, self.across
        first, second = (axis.point(0.0), axis.point(1.0)) if across is None else setting.frame.line(across)
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
class Pair(Step):
    """Both hands of a part: one as drawn and one mirrored, cut from one outline."""

    make: Literal["pair"] = field(default="pair", kw_only=True, repr=False)

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
