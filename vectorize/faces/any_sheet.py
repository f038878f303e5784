"""What tracing asks of a page that was read, be it a picture or a drawing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from vectorize.basics.notes import Note
from vectorize.faces.regions import Regions
from vectorize.shapes.segment import Point, Points

if TYPE_CHECKING:
    from vectorize.faces.growth import Grower
    from vectorize.faces.line_features import SheetFeatures
    from vectorize.faces.words import Words
    from vectorize.lines.runs import Runs
    from vectorize.scale.plan_scale import PlanScale


class Sheet(Protocol):
    """A page as a graph of lines with faces."""

    @property
    def regions(self) -> Regions:
        """The faces between the lines."""

    @property
    def runs(self) -> Runs:
        """How lines continue each other."""

    @property
    def ink_px(self) -> Points:
        """Ink across each edge, nan where unknown."""

    @property
    def pen_px(self) -> float:
        """The mean width of the lines."""

    @property
    def notes(self) -> tuple[Note, ...]:
        """What reading the page had to say."""

    def marks_mm(self, scale: PlanScale) -> Points:
        """Return the boxes x0, y0, x1, y1 of all marks in mm, (M, 4)."""

    def words(self, px_per_mm: float) -> Words:
        """Return where words stand."""

    def features(self, px_per_mm: float) -> SheetFeatures:
        """Return what is told of every line to those that judge them."""

    def runs_along(self, axis: tuple[Point, Point], px_per_mm: float) -> frozenset[int]:
        """Return the runs that lie on a line."""

    def grower(self, px_per_mm: float, axis: tuple[Point, Point] | None = None) -> Grower:
        """Return what finds the regions of a part; a half-plan's axis is never crossed."""
