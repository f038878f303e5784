"""Slots and tabs by which parts hold each other, cut to the thickness that was measured."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Annotated, Literal

from pydantic import Field

from nesting.alter.frame import Spot
from nesting.alter.hole_shapes import middle_of_section, placed, rounded_rectangle
from nesting.alter.openings import drilled, notched
from nesting.alter.picked_edges import nearest_on
from nesting.alter.step import Change, Setting, Step, fixed, reshaped
from nesting.wood.names import PartName
from nesting.wood.part import Part
from vectorize.basics.errors import PartError
from vectorize.basics.notes import Note
from vectorize.basics.quantity import Angle, Length
from vectorize.shapes.boolean import united
from vectorize.shapes.outline import Outline
from vectorize.shapes.segment_parts import direction_at

CLEARANCE_MM = 0.1
"""A slot is this much wider than the sheet in it is thick, for a push fit (common practice, no source)."""

_ROOT_MM = 1.0


@dataclass(frozen=True, slots=True)
class Slot(Step):
    """A closed slot for the tab of another part.

    Args:
        at: The middle of the slot.
        mate: Name of the part that goes through it; its measured thickness sets the width.
        length_mm: Of the tab; the slot is longer by the clearance.
        angle_deg: Of the slot's length against the axis.
        clearance_mm: Added to both the tab's length and the sheet's thickness.
    """

    make: Literal["slot"] = field(default="slot", kw_only=True, repr=False)
    at: Spot
    mate: Annotated[PartName, Field(alias="for")]
    length_mm: Length
    angle_deg: Angle = 0.0
    clearance_mm: Length = CLEARANCE_MM

    @property
    def needs(self) -> tuple[str, ...]:
        """Return the mate."""
        return (self.mate,)

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the part with the slot."""
        thickness, source = _thickness(self.mate, part, setting)
        width = thickness + self.clearance_mm
        shape = rounded_rectangle(self.length_mm + self.clearance_mm, width)
        shape = placed(shape, setting.frame.point(self.at), setting.axis.aft_deg + self.angle_deg)
        changed = drilled(part, [(f"the slot of {self.length_mm:g} mm for {self.mate}", shape)])
        return Change((changed,), notes=(_width_note(part, self.mate, thickness, width, source),))


@dataclass(frozen=True, slots=True)
class Tab(Step):
    """A tab on the edge nearest to `at`, as long as the slotted part is thick.

    Args:
        at: A point on or near the edge: the middle of the tab.
        mate: Name of the part whose slot takes it.
        width_mm: Along the edge.
        proud_mm: How far it stands out beyond the mate, to be sanded off.
    """

    make: Literal["tab"] = field(default="tab", kw_only=True, repr=False)
    at: Spot
    mate: Annotated[PartName, Field(alias="for")]
    width_mm: Length
    proud_mm: Length = 0.0

    @property
    def needs(self) -> tuple[str, ...]:
        """Return the mate."""
        return (self.mate,)

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the part with the tab."""
        thickness, source = _thickness(self.mate, part, setting)
        pieces = part.outline.exterior.segments
        index, share = nearest_on(pieces, setting.frame.point(self.at))
        foot, along = pieces[index].point_at(share), direction_at(pieces[index], share)
        length = thickness + self.proud_mm
        # The root reaches into the part, so that a bent edge leaves no gap under the tab.
        shape = Outline.rectangle(-self.width_mm / 2, -length, self.width_mm / 2, _ROOT_MM)
        shape = placed(shape, foot, math.degrees(math.atan2(along[1], along[0])))
        changed = reshaped(part, united(part.outline, shape), f"adding a tab for {self.mate}")
        text = f"a tab of {self.width_mm:g} mm stands {length:.2f} mm out for {self.mate} ({source})."
        return Change((changed,), notes=(fixed("tab", part, text),))


@dataclass(frozen=True, slots=True)
class HalfLap(Step):
    """A slot from one edge to the middle, for two parts that cross and slide into each other.

    Args:
        at: A point on the line where they cross.
        mate: The other part; its measured thickness sets the width.
        opens: The side from which the mate slides in: "up" or "down" the plan's heights.
        clearance_mm: Added to the width; half of it to the depth.
    """

    make: Literal["half lap"] = field(default="half lap", kw_only=True, repr=False)
    at: Spot
    mate: Annotated[PartName, Field(alias="for")]
    opens: Literal["up", "down"]
    clearance_mm: Length = CLEARANCE_MM

    @property
    def needs(self) -> tuple[str, ...]:
        """Return the mate."""
        return (self.mate,)

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the part with the slot."""
        axis = setting.axis
        thickness, source = _thickness(self.mate, part, setting)
        width = thickness + self.clearance_mm
        station = axis.station_mm(setting.frame.point(self.at))
        middle = middle_of_section(part.outline, station, datum=axis.datum, aft=axis.aft, up=axis.up)
        if middle is None:
            nose, tail = axis.stations_of(part.outline)
            raise PartError(
                f"part {part.name}: a half lap at station {station:.1f} mm is off the part, "
                f"which runs from {nose:.1f} to {tail:.1f} mm."
            )
        sign = 1.0 if self.opens == "up" else -1.0
        end, far = middle - sign * self.clearance_mm / 4, middle + sign * 1e4
        corners = [(-width / 2, end), (width / 2, end), (width / 2, far), (-width / 2, far)]
        shape = Outline.from_points([axis.point(station + s, h) for s, h in corners])
        changed = notched(part, shape, f"the half lap for {self.mate} at station {station:.1f} mm")
        return Change((changed,), notes=(_width_note(part, self.mate, thickness, width, source),))


def _thickness(mate: str, part: Part, setting: Setting) -> tuple[float, str]:
    return setting.true_thickness_mm(setting.part(mate, wanted_by=part.name))


def _width_note(part: Part, mate: str, thickness_mm: float, width_mm: float, source: str) -> Note:
    return fixed("slot-width", part, f"the slot for {mate} is {width_mm:.2f} mm wide: {thickness_mm:.2f} mm, {source}.")
