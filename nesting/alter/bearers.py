"""Bearers of harder wood let into a part, such as those that an engine is bolted to: each is a part of its own."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Literal

from nesting.alter.frame import Spot
from nesting.alter.hole_shapes import placed, rounded_rectangle
from nesting.alter.openings import notched
from nesting.alter.step import Change, Setting, Step
from nesting.wood.covering import DEFAULT_GLUE
from nesting.wood.glued_seams import edge_seam
from nesting.wood.part import Part
from vectorize.basics.errors import PartError
from vectorize.basics.quantity import Angle, Length
from vectorize.shapes.boolean import cut
from vectorize.shapes.outline import Outline


@dataclass(frozen=True, slots=True)
class Bearers(Step):
    """Rectangular bearers: the part gets an opening of their shape, and each is a part of its own wood.

    Holes that the part has where a bearer comes to lie, such as those of bolts, go through the bearer.

    Args:
        at: The middle of each bearer's fore end.
        length_mm: From there aft, along the grain of the bearer.
        width_mm: Across, in the plane of the part.
        material: Of the bearers.
        thickness_mm: Of the bearers; None: as the part.
        angle_deg: How far they are turned from the axis.
        glue: What they are glued in with.
    """

    make: Literal["bearers"] = field(default="bearers", kw_only=True, repr=False)
    at: tuple[Spot, ...]
    length_mm: Length
    width_mm: Length
    material: str
    thickness_mm: Length | None = None
    angle_deg: Angle = 0.0
    glue: str = DEFAULT_GLUE

    def check(self, part: str, setting: Setting) -> None:
        """Raise PartError for what cannot be, whatever the part is like."""
        if not self.at:
            raise PartError("bearers need a point at the fore end of each.")
        sizes = {"length": self.length_mm, "width": self.width_mm, "thickness": self.thickness_mm}
        for what, size in sizes.items():
            if size is not None and not (math.isfinite(size) and size > 0):
                raise PartError(f"a bearer's {what} of {size:g} mm cannot be; give more than zero.")

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the part with the openings, and the bearers as extras, glued in along their edges."""
        shapes = self._shapes(setting)
        body = part
        for number, shape in enumerate(shapes, start=1):
            body = notched(body, shape, f"letting in bearer {number} of {self.length_mm:g} x {self.width_mm:g} mm")
        made = tuple(self._bearer(part, shape, number, setting) for number, shape in enumerate(shapes, start=1))
        seams = tuple(edge_seam(f"seam of {bearer.name}", bearer, body, glue=self.glue) for bearer in made)
        return Change((body,), made, seams=seams)

    def _shapes(self, setting: Setting) -> tuple[Outline, ...]:
        angle = setting.axis.aft_deg + self.angle_deg
        ahead, up = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        half, shape = self.length_mm / 2, rounded_rectangle(self.length_mm, self.width_mm)
        return tuple(placed(shape, (x + half * ahead, y + half * up), angle) for x, y in setting.frame.points(self.at))

    def _bearer(self, part: Part, shape: Outline, number: int, setting: Setting) -> Part:
        """Return a bearer, with the holes of the part that come to lie in it.

        Raises:
            PartError: Those holes leave nothing of it, or cut it in two.
        """
        name = f"{part.name} bearer" + (f" {number}" if len(self.at) > 1 else "")
        pieces = cut(shape, *(Outline(ring.reversed()) for ring in part.outline.cutouts))
        if len(pieces) != 1:
            raise PartError(
                f"part {name}: the openings of part {part.name} leave {len(pieces)} pieces of it; move one of them."
            )
        return replace(
            part,
            name=name,
            outline=pieces[0],
            material=setting.material(self.material),
            thickness_mm=self.thickness_mm or part.thickness_mm,
            grain_deg=(setting.axis.aft_deg + self.angle_deg) % 180.0,
            is_grain_assumed=False,
            board=None,
            boards=(),
            weighed_g=None,
        )
