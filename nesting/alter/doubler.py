"""Doublers: a second layer over part of an outline, its ends raked and staggered."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Literal

from nesting.alter.axis import Axis
from nesting.alter.frame import Spot
from nesting.alter.hole_shapes import middle_of_section
from nesting.alter.notches import open_notches
from nesting.alter.step import Change, Setting, Step, fixed, reshaped
from nesting.wood.covering import DEFAULT_GLUE
from nesting.wood.glued_seams import Seam
from nesting.wood.part import Part
from vectorize.basics.errors import PartError
from vectorize.basics.quantity import Angle, Length
from vectorize.shapes.boolean import common, cut
from vectorize.shapes.offset import offset_edges
from vectorize.shapes.outline import Outline

RAKE_DEG = 45.0
"""An end across the grain is where a fuselage breaks; slanted by this it is not (common practice, no source)."""
STAGGER_MM = 10.0
"""The doublers of the two sides end this far apart, for the same reason (common practice, no source)."""

AT_END_MM = 1.0
"""An end this near to the part's own end is that end: a nose that is traced lies a hair off station 0."""

_REACH_MM = 1e4


@dataclass(frozen=True, slots=True)
class Doubler(Step):
    """A doubler over a station range, or over what lies inside a picked line.

    `margin_mm` sets it in from the parent's edge (0: flush); cut-outs, and slots and seats that are open to that
    edge, are carried through at their size.
    An end that lies on the part is raked by `rake_deg` from square, its middle at the station given; an
    end beyond the part, or within 1 mm of its end, follows the part's edge. The right one's ends are drawn
    in by `stagger_mm` against the left one's. Ends of a picked line are as picked.
    """

    make: Literal["doubler"] = field(default="doubler", kw_only=True, repr=False)
    stations_mm: tuple[Length, Length] | None = None
    within: tuple[Spot, ...] = ()
    margin_mm: Length = 0.0
    rake_deg: Angle = RAKE_DEG
    stagger_mm: Length = STAGGER_MM
    sides: Literal["both", "left", "right"] = "both"
    glue: str = DEFAULT_GLUE

    def check(self, part: str, setting: Setting) -> None:
        """Raise PartError for what cannot be, whatever the part is like."""
        if (self.stations_mm is None) == (not self.within):
            raise PartError("a doubler needs either the stations it runs between or a closed line round it.")
        if not 0 <= self.rake_deg <= 75:
            raise PartError(f"a doubler's ends are raked by {self.rake_deg:g} deg; give 0 to 75 deg.")
        if self.margin_mm < 0 or self.stagger_mm < 0:
            raise PartError(
                f"a doubler's margin is {self.margin_mm:g} mm and its stagger {self.stagger_mm:g} mm; "
                "both must be 0 or more."
            )

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the doubler, or the left and the right one, with the glue over its whole face."""
        change = self._made(part, setting)
        seams = (
            Seam(f"the face of {made.name}", (made.name,), 0.0, (0.0, 0.0), self.glue, is_whole_face=True)
            for made in change.parts
        )
        return replace(change, seams=tuple(seams))

    def _made(self, part: Part, setting: Setting) -> Change:
        inset = self._inset(part)
        if self.within:
            picked = Outline.from_points(setting.frame.points(self.within))
            outline = reshaped(part, common(inset, picked), "taking what lies inside the picked line").outline
            count = part.count * (2 if self.sides == "both" else 1)
            return Change((replace(part, outline=outline, count=count),))
        left = self._between(part, inset, setting.axis, 0.0)
        right = self._between(part, inset, setting.axis, self.stagger_mm)
        if self.sides != "both":
            return Change((left if self.sides == "left" else right,))
        if self.stagger_mm == 0:
            return Change((replace(left, count=2 * part.count),))
        pair = (replace(left, name=f"{part.name} left"), replace(right, name=f"{part.name} right"))
        text = (
            f"its free ends are raked by {self.rake_deg:g} deg; those of the right one stand {self.stagger_mm:g} mm in."
        )
        return Change(pair, notes=(fixed("doubler-ends", part, text),))

    def _inset(self, part: Part) -> Outline:
        """Return the parent set in by the margin, its cut-outs, open slots and seats at their size."""
        if self.margin_mm == 0:
            return part.outline
        rim = Outline(part.outline.exterior)
        kept_edges = {i for notch in open_notches(rim.exterior) for i in notch}
        outer = [i for i in range(len(rim.exterior.segments)) if i not in kept_edges]
        pieces = offset_edges(rim, outer, -self.margin_mm)
        if not pieces:
            widest = 2 * _inner_radius_mm(part.outline)
            raise PartError(
                f"part {part.name}: a margin of {self.margin_mm:g} mm eats the doubler; "
                f"its parent is {widest:.1f} mm wide at most, so a margin must be under {widest / 2:.1f} mm."
            )
        holes = [Outline(ring) for ring in part.outline.cutouts]
        kept = [left for piece in pieces for left in (cut(piece, *holes) if holes else (piece,))]
        return reshaped(part, kept, f"setting it in by {self.margin_mm:g} mm").outline

    def _between(self, part: Part, inset: Outline, axis: Axis, draw_in_mm: float) -> Part:
        first, last = sorted(self.stations_mm or (0.0, 0.0))
        nose, tail = axis.stations_of(part.outline)
        if last <= nose or first >= tail:
            raise PartError(
                f"part {part.name}: a doubler from station {first:.1f} to {last:.1f} mm misses its parent, "
                f"which runs from {nose:.1f} to {tail:.1f} mm."
            )
        begin = None if first <= nose + AT_END_MM else first + draw_in_mm
        end = None if last >= tail - AT_END_MM else last - draw_in_mm
        length = (tail if end is None else end) - (nose if begin is None else begin)
        if length <= 0:
            raise PartError(
                f"part {part.name}: a doubler of {last - first:.1f} mm cannot have its ends drawn in by "
                f"{draw_in_mm:g} mm each; make it longer or the stagger smaller."
            )
        band = _raked_band(part.outline, axis, begin, end, self.rake_deg)
        return reshaped(part, common(inset, band), f"taking station {first:.1f} to {last:.1f} mm")


def _raked_band(outline: Outline, axis: Axis, begin_mm: float | None, end_mm: float | None, rake_deg: float) -> Outline:
    """Return everything between two slanted lines; None stands for no end there."""
    slope = math.tan(math.radians(rake_deg))

    def ends(station_mm: float | None, far_mm: float) -> list[tuple[float, float]]:
        if station_mm is None:
            return [(far_mm, -_REACH_MM), (far_mm, _REACH_MM)]
        middle = middle_of_section(outline, station_mm, datum=axis.datum, aft=axis.aft, up=axis.up) or 0.0
        return [(station_mm + slope * (h - middle), h) for h in (-_REACH_MM, _REACH_MM)]

    # Beyond the part the band must reach past the slanted line of the other end.
    far = _REACH_MM * (2 + 2 * slope)
    corners = [*ends(begin_mm, -far), *reversed(ends(end_mm, far))]
    return Outline.from_points([axis.point(*corner) for corner in corners])


def _inner_radius_mm(outline: Outline) -> float:
    import shapely

    circle = shapely.maximum_inscribed_circle(Outline(outline.exterior).to_polygon(0.01), tolerance=0.05)
    return float(circle.length)
