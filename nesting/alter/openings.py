"""Cut-outs and drillings: holes, openings, bearer slots, wing seats, bolt patterns."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from nesting.alter.axis import Axis
from nesting.alter.frame import PlanFrame, Spot
from nesting.alter.hole_shapes import disc, placed, rounded_rectangle
from nesting.alter.step import Change, Setting, Step, fixed, reshaped
from nesting.carve.section import Section
from nesting.carve.section.section_key import SectionKey, section_of
from nesting.wood.part import Part
from vectorize.basics.errors import PartError
from vectorize.basics.quantity import Angle, Length
from vectorize.shapes.boolean import cut, united
from vectorize.shapes.outline import Outline
from vectorize.shapes.segment import Point

_TOUCH_MM = 1e-6


@dataclass(frozen=True, slots=True)
class RoundHole(Step):
    """Round holes of one diameter, each wholly inside the part."""

    make: Literal["hole"] = field(default="hole", kw_only=True, repr=False)
    at: tuple[Spot, ...]
    diameter_mm: Length

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the part with the holes drilled."""
        return _with_holes(part, setting.frame.points(self.at), self.diameter_mm, setting.axis)


@dataclass(frozen=True, slots=True)
class BoltPattern(Step):
    """Four holes at the corners of a rectangle, the same at each place of `at` (its middle).

    `pitch_mm` is the distance between bolts along the axis and across it; `angle_deg` turns the pattern.
    """

    make: Literal["bolts"] = field(default="bolts", kw_only=True, repr=False)
    at: tuple[Spot, ...]
    pitch_mm: tuple[Length, Length]
    diameter_mm: Length
    angle_deg: Angle = 0.0

    def centres(self, frame: PlanFrame) -> tuple[Point, ...]:
        """Return the middles of all holes, place by place."""
        along, across = self.pitch_mm
        angle = math.radians(frame.axis.aft_deg + self.angle_deg)
        cos, sin = math.cos(angle), math.sin(angle)
        corners = [
            (-along / 2, -across / 2),
            (along / 2, -across / 2),
            (along / 2, across / 2),
            (-along / 2, across / 2),
        ]
        return tuple(
            (x + cos * a - sin * b, y + sin * a + cos * b) for x, y in frame.points(self.at) for a, b in corners
        )

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the part with all bolt holes drilled."""
        for pitch in self.pitch_mm:
            _check_size(part, "the pitch of a bolt pattern", pitch)
        return _with_holes(part, self.centres(setting.frame), self.diameter_mm, setting.axis)


@dataclass(frozen=True, slots=True)
class Opening(Step):
    """A rectangular opening with round corners, its middle at `at`, turned by `angle_deg` from the axis.

    An `is_open` one may run out over the edge of the part; any other must lie inside.
    """

    make: Literal["opening"] = field(default="opening", kw_only=True, repr=False)
    at: Spot
    length_mm: Length
    width_mm: Length
    corner_mm: Length = 0.0
    angle_deg: Angle = 0.0
    is_open: Annotated[bool, Field(alias="open")] = False

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the part with the opening cut."""
        _check_size(part, "an opening", min(self.length_mm, self.width_mm))
        shape = rounded_rectangle(self.length_mm, self.width_mm, self.corner_mm)
        at = setting.frame.point(self.at)
        shape = placed(shape, at, setting.axis.aft_deg + self.angle_deg)
        what = f"the opening of {self.length_mm:g} x {self.width_mm:g} mm at {_where(at, setting.axis)}"
        if self.is_open:
            return Change((notched(part, shape, what),))
        return Change((drilled(part, [(what, shape)]),))


@dataclass(frozen=True, slots=True)
class BearerSlot(Step):
    """The slot for an engine between its bearers, open at the nose.

    Args:
        at: Any point on the engine's centre line.
        width_mm: Between the bearers: the width of the crankcase.
        depth_mm: From the foremost wood on the centre line to the end of the slot.
        corner_mm: Of the two inner corners, so that no crack starts there.
    """

    make: Literal["bearer slot"] = field(default="bearer slot", kw_only=True, repr=False)
    at: Spot
    width_mm: Length
    depth_mm: Length
    corner_mm: Length = 3.0

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the part with the slot cut."""
        _check_size(part, "a bearer slot", min(self.width_mm, self.depth_mm))
        axis = setting.axis
        height = axis.height_mm(setting.frame.point(self.at))
        nose = _foremost_station(part, axis, height)
        # Long enough to reach past the nose everywhere, so that only the two inner corners stay round.
        ahead = 2 * self.corner_mm + max(0.0, nose - axis.stations_of(part.outline)[0]) + 1.0
        length = self.depth_mm + ahead
        shape = rounded_rectangle(length, self.width_mm, self.corner_mm)
        middle = axis.point(nose + self.depth_mm - length / 2, height)
        what = f"the bearer slot of {self.width_mm:g} mm, {self.depth_mm:g} mm deep at height {height:.1f} mm"
        return Change((notched(part, placed(shape, middle, axis.aft_deg), what),))


@dataclass(frozen=True, slots=True)
class WingSeat(Step):
    """A wing slot in the shape of a section, or a seat open to one side.

    Args:
        at: Where the nose of the wing's section lies on the plan.
        chord_mm: Its chord at the fuselage.
        section: Its section there.
        thickness_mm: Of the wing there; None: as the section has it.
        incidence_deg: Nose up against the axis.
        allowance_mm: Room all round for covering, sheeting or glue.
        opens: "none" for a closed slot through which the wing is slid, else the side it is let in from.
    """

    make: Literal["wing seat"] = field(default="wing seat", kw_only=True, repr=False)
    at: Spot
    chord_mm: Length
    section: SectionKey
    thickness_mm: Length | None = None
    incidence_deg: Angle = 0.0
    allowance_mm: Length = 0.0
    opens: Literal["none", "up", "down"] = "none"

    def check(self, part: str, setting: Setting) -> None:
        """Raise PartError or JobError where there is no such section."""
        self._section(part, setting)

    def _section(self, part: str, setting: Setting) -> Section:
        chord, thickness = self.chord_mm, self.thickness_mm
        return section_of(self.section, chord_mm=chord, thickness_mm=thickness, part=part, of_file=setting.of_file)

    def shape(self, section: Section, frame: PlanFrame) -> Outline:
        """Return what is cut out, in place."""
        from vectorize.shapes.offset import offset_outline

        axis, nose = frame.axis, frame.point(self.at)
        _, up = axis.aft, axis.up
        outline = Outline(section.ring(chord_mm=self.chord_mm))
        if self.allowance_mm:
            outline = offset_outline(outline, self.allowance_mm)[0]
        if self.opens != "none":
            outline = self._opened(section, outline)
        is_flipped = abs(axis.aft[0] * up[1] - axis.aft[1] * up[0] + 1) < 1e-9
        tilt = math.radians(-self.incidence_deg)

        def move(point: Point) -> Point:
            x = math.cos(tilt) * point[0] - math.sin(tilt) * point[1]
            y = math.sin(tilt) * point[0] + math.cos(tilt) * point[1]
            (ax, ay), (ux, uy) = axis.aft, axis.up
            return (nose[0] + x * ax + y * ux, nose[1] + x * ay + y * uy)

        return outline.mapped(move, mirrors=is_flipped)

    def _opened(self, section: Section, outline: Outline) -> Outline:
        """Add what lies above (or below) the line from nose to tail, which runs inside the section."""
        x0, _, x1, _ = outline.bounds
        upper, lower = (side * self.chord_mm for side in section.heights(np.array([0.0, 1.0])))
        nose = float(upper[0] + lower[0]) / 2
        tail = float(lower[1] if self.opens == "up" else upper[1])
        far = 1e3 if self.opens == "up" else -1e3
        wall = Outline.from_points([(x0, nose), (x1, tail), (x1, far), (x0, far)])
        return united(outline, wall)[0]

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the part with the seat cut."""
        what = (
            f"the wing {'slot' if self.opens == 'none' else 'seat'} of {self.chord_mm:g} mm chord at "
            f"{_where(setting.frame.point(self.at), setting.axis)}"
        )
        section = self._section(part.name, setting)
        shape = self.shape(section, setting.frame)
        changed = drilled(part, [(what, shape)]) if self.opens == "none" else notched(part, shape, what)
        text = f"{what} is cut to {section.name} at {self.incidence_deg:g} deg incidence."
        return Change((changed,), notes=(fixed("wing-seat", part, text),))


def drilled(part: Part, holes: Sequence[tuple[str, Outline]]) -> Part:
    """Return `part` with closed holes; each is given with the words that name it.

    Raises:
        PartError: A hole that runs over the edge, or that overlaps another or an existing cut-out.
    """
    from shapely.geometry import Polygon

    exterior = Polygon(part.outline.exterior.flattened())
    old = [("a cut-out that is there already", Polygon(ring.flattened())) for ring in part.outline.cutouts]
    shapes = [(what, hole.to_polygon()) for what, hole in holes]
    for i, (what, shape) in enumerate(shapes):
        if not exterior.contains(shape):
            beyond = shape.difference(exterior)
            share = 100 * beyond.area / shape.area
            raise PartError(
                f"part {part.name}: {what} does not lie inside the part; {share:.0f} % of it is over the edge."
            )
        for other, there in [*old, *shapes[:i]]:
            if shape.intersection(there).area > _TOUCH_MM:
                gap = math.dist(shape.centroid.coords[0], there.centroid.coords[0])
                raise PartError(
                    f"part {part.name}: {what} overlaps {other}; their middles are {gap:.1f} mm apart. "
                    "Move or shrink one."
                )
    return reshaped(part, cut(part.outline, *(hole for _, hole in holes)), holes[0][0] if holes else "drilling")


def notched(part: Part, shape: Outline, what: str) -> Part:
    """Return `part` less an opening that may run over its edge.

    Raises:
        PartError: It misses the part, or splits it.
    """
    left = cut(part.outline, shape)
    removed = part.outline.area_mm2 - sum(piece.area_mm2 for piece in left)
    if removed < 1e-3:
        raise PartError(f"part {part.name}: {what} misses the part.")
    return reshaped(part, left, what)


def _with_holes(part: Part, centres: Sequence[Point], diameter_mm: float, axis: Axis) -> Change:
    _check_size(part, "a hole", diameter_mm)
    holes = [(f"the {diameter_mm:g} mm hole at {_where(point, axis)}", disc(point, diameter_mm)) for point in centres]
    return Change((drilled(part, holes),))


def _check_size(part: Part, what: str, size_mm: float) -> None:
    if not (math.isfinite(size_mm) and size_mm > 0):
        raise PartError(f"part {part.name}: {what} of {size_mm:g} mm cannot be made; it must be above zero.")


def _where(point: Point, axis: Axis) -> str:
    return f"station {axis.station_mm(point):.1f}, height {axis.height_mm(point):.1f} mm"


def _foremost_station(part: Part, axis: Axis, height_mm: float) -> float:
    from shapely import get_coordinates
    from shapely.geometry import LineString

    nose, tail = axis.stations_of(part.outline)
    line = LineString([axis.point(nose - 1.0, height_mm), axis.point(tail + 1.0, height_mm)])
    met = get_coordinates(part.outline.to_polygon().intersection(line))
    if len(met) == 0:
        low, high = axis.heights_of(part.outline)
        raise PartError(
            f"part {part.name}: an engine centre line at height {height_mm:.1f} mm misses the part, "
            f"which lies between {low:.1f} and {high:.1f} mm."
        )
    return min(axis.station_mm((float(x), float(y))) for x, y in met)
