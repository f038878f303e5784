"""Grow, shrink, stretch, rescale, and undo the foreshortening of a panel under dihedral."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field, replace
from typing import Literal

from nesting.alter.axis import Axis, direction_deg
from nesting.alter.frame import PlanFrame, Spot
from nesting.alter.picked_edges import picked_edges
from nesting.alter.step import Change, Setting, Step, fixed, reshaped, to_check
from nesting.wood.part import Part
from vectorize.basics.errors import PartError
from vectorize.basics.quantity import Angle, Length
from vectorize.shapes.offset import offset_edges, offset_outline
from vectorize.shapes.outline import Outline, Ring
from vectorize.shapes.segment import Line, Point, Segment, mapped
from vectorize.shapes.segment_parts import part_of


@dataclass(frozen=True, slots=True)
class Grow(Step):
    """A sanding allowance: out by `by_mm` all round, or only along the edges nearest to `along`; in where negative.

    An edge runs from corner to corner, or to one of `ends`. Corners stay sharp (mitred); cut-outs keep their
    size unless `cutouts`.
    """

    make: Literal["grow"] = field(default="grow", kw_only=True, repr=False)
    by_mm: Length
    along: tuple[Spot, ...] = ()
    ends: tuple[Spot, ...] = ()
    cutouts: bool = False

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the grown or shrunk part."""
        what = f"{'growing' if self.by_mm > 0 else 'shrinking'} it by {abs(self.by_mm):g} mm"
        if self.along:
            along, ends = setting.frame.points(self.along), setting.frame.points(self.ends)
            ring, picked = picked_edges(part.outline.exterior, along, ends=ends, part=part.name)
            pieces = offset_edges(Outline(ring, part.outline.cutouts), picked, self.by_mm)
        else:
            pieces = offset_outline(part.outline, self.by_mm, with_cutouts=self.cutouts)
        return Change((reshaped(part, pieces, what),))


@dataclass(frozen=True, slots=True)
class Stretch(Step):
    """The part lengthened by `by_mm` at a station: everything ahead moves forward, straight wood fills the gap.

    Where aft `moves`, what lies behind moves aft instead. Curves away from the cut stay exactly as they are.
    """

    make: Literal["stretch"] = field(default="stretch", kw_only=True, repr=False)
    station_mm: Length
    by_mm: Length
    moves: Literal["fore", "aft"] = "fore"

    def check(self, part: str, setting: Setting) -> None:
        """Raise PartError for what cannot be, whatever the part is like."""
        if not (math.isfinite(self.by_mm) and self.by_mm > 0):
            raise PartError(f"a stretch of {self.by_mm:g} mm cannot be; give more than zero.")

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the lengthened part."""
        axis = setting.axis
        nose, tail = axis.stations_of(part.outline)
        if not nose < self.station_mm < tail:
            raise PartError(
                f"part {part.name}: a stretch at station {self.station_mm:.1f} mm is off the part, "
                f"which runs from {nose:.1f} to {tail:.1f} mm."
            )
        exterior, *cutouts = (self._stretched(ring, axis) for ring in part.outline.rings)
        changed = replace(part, outline=Outline(exterior, tuple(cutouts)))
        notes = [fixed("stretched", part, f"it is {self.by_mm:g} mm longer at station {self.station_mm:.1f} mm.")]
        if any(self._is_crossed(ring, axis) for ring in part.outline.cutouts):
            text = f"station {self.station_mm:.1f} mm runs through a cut-out, which is stretched too."
            notes.append(to_check("cutout-stretched", part, text))
        return Change((changed,), notes=tuple(notes))

    def _is_crossed(self, ring: Ring, axis: Axis) -> bool:
        low, high = axis.stations_of(Outline(ring))
        return low < self.station_mm < high

    def _stretched(self, ring: Ring, axis: Axis) -> Ring:
        """Split the ring at the station, move one side, and join the cuts with straight lines."""
        pieces: list[Segment] = []
        for segment in ring.segments:
            for piece in _split_at(segment, axis, self.station_mm):
                moved = self._moved(piece, axis)
                if pieces and math.dist(pieces[-1].end, moved.start) > 1e-9:
                    pieces.append(Line(pieces[-1].end, moved.start))
                pieces.append(moved)
        if math.dist(pieces[-1].end, pieces[0].start) > 1e-9:
            pieces.append(Line(pieces[-1].end, pieces[0].start))
        return Ring(tuple(pieces))

    def _moved(self, piece: Segment, axis: Axis) -> Segment:
        moves_aft = self.moves == "aft"
        is_behind = axis.station_mm(piece.point_at(0.5)) > self.station_mm
        if is_behind != moves_aft:
            return piece
        step = self.by_mm if moves_aft else -self.by_mm
        dx, dy = step * axis.aft[0], step * axis.aft[1]
        return mapped(piece, lambda p: (p[0] + dx, p[1] + dy), keeps_circles=True, mirrors=False)


def _split_at(segment: Segment, axis: Axis, station_mm: float) -> list[Segment]:
    """Return the stretches of `segment` between its crossings of a station."""
    from scipy.optimize import brentq

    def beyond(share: float) -> float:
        return axis.station_mm(segment.point_at(share)) - station_mm

    # Lines cross once, arcs at most twice, cubics three times: 33 samples tell the crossings apart.
    shares = [i / 32 for i in range(33)]
    values = [beyond(share) for share in shares]
    cuts = [0.0]
    for i in range(32):
        if values[i] * values[i + 1] < 0:
            cuts.append(float(brentq(beyond, shares[i], shares[i + 1], xtol=1e-14)))
        elif values[i] == 0 and i > 0:
            cuts.append(shares[i])
    cuts.append(1.0)
    return [part_of(segment, a, b) for a, b in itertools.pairwise(cuts) if b - a > 1e-12]


@dataclass(frozen=True, slots=True)
class Foreshortened(Step):
    """A panel drawn in projection under dihedral, brought to its true length: 1/cos δ along the span.

    Args:
        dihedral_deg: δ, between the panel and the plane of the plan.
        span: A point on the root rib, which stays where it is, and one towards the tip.
        face: The face that the plan shows; where it is the upper one, the lower is longer by the root bevel.
    """

    make: Literal["foreshortened"] = field(default="foreshortened", kw_only=True, repr=False)
    dihedral_deg: Angle
    span: tuple[Spot, Spot]
    face: Literal["lower", "upper"] = "lower"

    def check(self, part: str, setting: Setting) -> None:
        """Raise PartError for what cannot be, whatever the part is like."""
        if not 0 < self.dihedral_deg < 60:
            raise PartError(f"a dihedral of {self.dihedral_deg:g} deg; give more than 0 and less than 60 deg.")

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the panel as it is cut, with a note on the bevel of its root."""
        factor = 1 / math.cos(math.radians(self.dihedral_deg))
        root, tip = setting.frame.line(self.span)
        along = Axis(root, direction_deg(root, tip))
        outline = stretched_along(part.outline, factor, root, along.aft_deg)
        thickness, _ = setting.true_thickness_mm(part)
        bevel = thickness * math.tan(math.radians(self.dihedral_deg))
        text = (
            f"drawn under {self.dihedral_deg:g} deg of dihedral, it is {100 * (factor - 1):.2f} % longer in the flat; "
            f"its root is bevelled by {bevel:.2f} mm over {thickness:g} mm of thickness, off the upper edge."
        )
        if self.face == "upper":
            outline = _with_bevel(replace(part, outline=outline), along, bevel)
            text += " The plan shows the upper face, so that much was added at the root."
        return Change((replace(part, outline=outline),), notes=(fixed("foreshortened", part, text),))


def _with_bevel(part: Part, span: Axis, bevel_mm: float) -> Outline:
    low, _ = span.stations_of(part.outline)
    step = Stretch(low + max(0.05, bevel_mm / 100), bevel_mm)
    return step.applied(part, Setting(PlanFrame(axis=span))).parts[0].outline


def stretched_along(outline: Outline, factor: float, about: Point, direction_deg: float) -> Outline:
    """Return `outline` stretched by `factor` along a direction, `about` staying in place; arcs become cubics."""
    angle = math.radians(direction_deg)
    ux, uy = math.cos(angle), math.sin(angle)

    def move(point: Point) -> Point:
        along = (point[0] - about[0]) * ux + (point[1] - about[1]) * uy
        return (point[0] + (factor - 1) * along * ux, point[1] + (factor - 1) * along * uy)

    return outline.mapped(move, keeps_circles=False)
