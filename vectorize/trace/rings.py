"""How loops of lines become rings in millimetres, measured on the ink of a picture."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from vectorize.faces.any_sheet import Sheet
from vectorize.faces.picking import TraceSettings
from vectorize.faces.regions import Loop
from vectorize.faces.sheet import Drawing
from vectorize.fit.edge_uncertainty import uncertainty
from vectorize.fit.halves import Axis
from vectorize.fit.measured_ring import Fitted, clean_points, fitted
from vectorize.scale.plan_scale import PlanScale
from vectorize.shapes.outline import Outline, Ring
from vectorize.shapes.primitives import Round
from vectorize.shapes.segment import Point, Points


class Rings(Protocol):
    """A sheet, and how its loops become rings in millimetres."""

    @property
    def sheet(self) -> Sheet:
        """The page that was read."""

    def clean_points(self, loop: Loop) -> Points:
        """Return the points of a loop's line where nothing disturbs it."""

    def fitted(
        self,
        loop: Loop,
        scale: PlanScale,
        settings: TraceSettings,
        *,
        mirror: tuple[Point, Point] | None = None,
        circle: Round | None = None,
    ) -> Fitted:
        """Return a loop as a ring in mm, completed about `mirror` and moved to the true edge."""

    def image(self, ring: Ring, mirror: tuple[Point, Point], scale: PlanScale) -> Ring:
        """Return the mirror image of a ring in mm about a line in pixels."""

    def uncertainty(self, outline: Outline, scale: PlanScale, body: Fitted, *, is_half: bool) -> tuple[float, float]:
        """Return one standard deviation of the edge in mm, and of the area in mm2."""


@dataclass(frozen=True, slots=True, eq=False)
class InkRings:
    """Rings that are fitted to the ink of a picture."""

    sheet: Drawing

    def clean_points(self, loop: Loop) -> Points:
        """Return the points of a loop's centre line where nothing disturbs it."""
        return clean_points(self.sheet, loop)

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

    def uncertainty(self, outline: Outline, scale: PlanScale, body: Fitted, *, is_half: bool) -> tuple[float, float]:
        """Return one standard deviation of the edge in mm, and of the area in mm2."""
        # A half is not set right between the pixels: its sides may be off as a whole.
        is_rounded = self.sheet.is_black_and_white and not is_half
        return uncertainty(outline, scale, spread_mm=body.rms_mm, is_rounded=is_rounded)
