"""A strip of harder wood let into an edge: the panel shrinks, the strip appears as a part of its own."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from nesting.alter.boolean import cut
from nesting.alter.edges import picked_edges
from nesting.alter.offset import offset_edges
from nesting.alter.pieces import points_with_shares
from nesting.alter.step import Change, Setting, fixed, reshaped
from nesting.part import Part
from vectorize.curve import Point
from vectorize.errors import PartError
from vectorize.outline import Outline


@dataclass(frozen=True, slots=True)
class EdgeStrip:
    """A strip `width_mm` wide along the edges nearest to `near`, such as a leading edge of basswood.

    Args:
        near: A point on each edge that gets a strip; edges in a row get one strip round the corner.
        width_mm: Measured at right angles to the edge.
        material: Of the strip.
        thickness_mm: Of the strip; None: as the panel.
        ends: Where the strip ends though there is no corner, such as where the edge bends into the tip.
    """

    near: tuple[Point, ...]
    width_mm: float
    material: str
    thickness_mm: float | None = None
    ends: tuple[Point, ...] = ()

    def __post_init__(self) -> None:
        if not self.near:
            raise PartError("an edge strip needs a point on the edge that gets it.")
        if not (math.isfinite(self.width_mm) and self.width_mm > 0):
            raise PartError(f"an edge strip {self.width_mm:g} mm wide cannot be; give more than zero.")

    @property
    def needs(self) -> tuple[str, ...]:
        """Return nothing: only the part itself is looked at."""
        return ()

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the panel less the strip, and the strip as an extra."""
        ring, picked = picked_edges(part.outline.exterior, self.near, ends=self.ends, part=part.name)
        pieces = offset_edges(Outline(ring, part.outline.cutouts), picked, -self.width_mm)
        panel = reshaped(part, pieces, f"letting in a strip of {self.width_mm:g} mm")
        strips = cut(part.outline, panel.outline)
        made = tuple(
            replace(
                part,
                name=f"{part.name} edge strip" + (f" {n}" if len(strips) > 1 else ""),
                outline=strip,
                material=self.material,
                thickness_mm=self.thickness_mm or part.thickness_mm,
                grain_deg=_grain(strip),
                is_grain_assumed=False,
                board=None,
                boards=(),
                weighed_g=None,
            )
            for n, strip in enumerate(strips, start=1)
        )
        text = f"a strip of {self.material}, {self.width_mm:g} mm wide, is let into its edge."
        return Change((panel,), made, (fixed("edge-strip", part, text),))


def _grain(strip: Outline) -> float:
    """Return the direction between the two points of the strip that lie farthest apart."""
    points = [p for s in strip.exterior.segments for p in points_with_shares(s, 0.05)[0].tolist()]
    x, y = points[0]
    one = max(points, key=lambda p: math.dist(p, (x, y)))
    other = max(points, key=lambda p: math.dist(p, one))
    return math.degrees(math.atan2(other[1] - one[1], other[0] - one[0])) % 180.0
