"""How loops of lines become rings in millimetres: measured on the ink of a picture, exact on a drawing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from vectorize.faces.cutouts import Guess
from vectorize.faces.part_pick import TraceSettings
from vectorize.faces.regions import Loop
from vectorize.faces.sheet import Drawing
from vectorize.faces.stroke_outline import curves_along, image, mirrored, ring_of, steps_along
from vectorize.faces.stroke_sheet import StrokeSheet, affine_of
from vectorize.faces.sure_holes import LikelyHole
from vectorize.fit.edge_uncertainty import by_size, uncertainty
from vectorize.fit.halves import Axis
from vectorize.fit.way_by_ink import DoubtfulCorner
from vectorize.scale.plan_scale import PlanScale
from vectorize.shapes.offset_ring import offset_ring
from vectorize.shapes.outline import Outline, Ring
from vectorize.shapes.primitives import Round
from vectorize.shapes.segment import Point, Points
from vectorize.trace.measured_ring import Fitted, clean_points, fitted

NUMBERS_SIGMA_MM = 0.001
"""What is left of exact curves after a file's rounded numbers."""


@dataclass(frozen=True, slots=True, eq=False)
class InkRings:
    """Rings that are fitted to the ink of a picture."""

    sheet: Drawing
    guesses: dict[tuple[int, ...], Guess] = field(default_factory=dict)
    hole_forms: list[tuple[LikelyHole, ...]] = field(default_factory=list)

    def clean_points(self, loop: Loop, *, is_strict: bool = False) -> Points:
        """Return the points of a loop's centre line where nothing disturbs it."""
        return clean_points(self.sheet, loop, is_strict=is_strict)

    def fitted(
        self,
        loop: Loop,
        scale: PlanScale,
        settings: TraceSettings,
        *,
        mirror: tuple[Point, Point] | None = None,
        circle: Round | None = None,
    ) -> Fitted:
        """Return a loop as a ring in mm; see `measured_ring.fitted`."""
        return fitted(self.sheet, loop, scale, settings, mirror=mirror, circle=circle)

    def image(self, ring: Ring, mirror: tuple[Point, Point], scale: PlanScale) -> Ring:
        """Return the mirror image of a ring in mm about a line in pixels."""
        return ring.mapped(Axis.through(scale.to_mm(mirror)).image, mirrors=True)

    def uncertainty(
        self,
        outline: Outline,
        scale: PlanScale,
        body: Fitted,
        *,
        is_half: bool,
        doubts: Sequence[DoubtfulCorner] = (),
    ) -> tuple[float, float]:
        """Return one standard deviation of the edge in mm, and of the area in mm2."""
        # A half is not set right between the pixels: its sides may be off as a whole.
        is_rounded = self.sheet.is_black_and_white and not is_half
        off = max((doubt.off_mm for doubt in doubts), default=0.0)
        return uncertainty(outline, scale, spread_mm=body.rms_mm, is_rounded=is_rounded, corner_mm=off)


@dataclass(frozen=True, slots=True, eq=False)
class StrokeRings:
    """Rings of the exact curves of a drawing."""

    sheet: StrokeSheet
    guesses: dict[tuple[int, ...], Guess] = field(default_factory=dict)
    hole_forms: list[tuple[LikelyHole, ...]] = field(default_factory=list)

    def clean_points(self, loop: Loop, *, is_strict: bool = False) -> Points:
        """Return the points along a loop."""
        del is_strict
        return loop.points

    def fitted(
        self,
        loop: Loop,
        scale: PlanScale,
        settings: TraceSettings,
        *,
        mirror: tuple[Point, Point] | None = None,
        circle: Round | None = None,
    ) -> Fitted:
        """Return a loop as the exact ring in mm, completed about the sheet's axis and moved to the true edge.

        A `circle` is exact also where a line crosses it.

        Raises:
            PickError: A half that does not reach its centre line, or meets it more than twice.
        """
        del circle
        sheet = self.sheet
        steps, to_mm = steps_along(sheet.graph, loop), affine_of(scale)
        pen_mm = float(np.median(sheet.ink_px[list(loop.ids)])) / scale.px_per_mm
        if mirror is None or sheet.axis is None:
            curves = curves_along(sheet.work, steps)
        else:
            curves = mirrored(sheet.work, steps, sheet.axis, sheet.is_axis)
        ring = ring_of(curves, to_mm)
        if float(np.linalg.det(scale.matrix[:2, :2])) > 0:
            ring = ring.reversed()  # loops are walked as on a picture, whose y points down
        inward = settings.inward_pens * pen_mm
        return Fitted(offset_ring(ring, inward) if inward else ring, pen_mm, 0.0)

    def image(self, ring: Ring, mirror: tuple[Point, Point], scale: PlanScale) -> Ring:
        """Return the mirror image of a ring in mm about the centre line that the sheet was read with."""
        (ax, ay), (bx, by) = scale.to_mm(self.sheet.axis or mirror).tolist()
        return Ring(tuple(image(ring.segments, ((ax, ay), (bx, by)))))

    def uncertainty(
        self,
        outline: Outline,
        scale: PlanScale,
        body: Fitted,
        *,
        is_half: bool,
        doubts: Sequence[DoubtfulCorner] = (),
    ) -> tuple[float, float]:
        """Return one standard deviation of the edge in mm, and of the area in mm2."""
        del body, is_half, doubts
        edge, area = by_size(outline, scale)
        return math.hypot(NUMBERS_SIGMA_MM, edge), math.hypot(NUMBERS_SIGMA_MM * math.sqrt(outline.perimeter_mm), area)


Rings = InkRings | StrokeRings
"""A sheet, and how its loops become rings in millimetres."""
