"""What is asked of a trace: where each part was picked, and how lines are to be read. Imports nothing heavy."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from vectorize.basics.errors import PickError
from vectorize.shapes.segment import Point

EdgeSide = Literal["centre", "inside", "outside", "solid"]


@dataclass(frozen=True, slots=True)
class PartPick:
    """What was picked for one part, in original pixels.

    `inside` are points in the part (more than one where lines divide it), `cutouts` points in regions to
    take away, `line` says which kind of line bounds it, `mirror` two points on a half-plan's centre line.
    """

    name: str
    inside: tuple[Point, ...]
    cutouts: tuple[Point, ...] = ()
    line: Literal["solid", "dashed"] = "solid"
    mirror: tuple[Point, Point] | None = None


@dataclass(frozen=True, slots=True)
class TraceSettings:
    """How to trace: where the true edge lies, how wide a gap is bridged, how closely curves are followed.

    `bridges` are gaps of any width that a person closed: pairs of points in pixels of the page. A part whose shape is
    less `sure` is left open.
    """

    edge: EdgeSide = "centre"
    gap_mm: float = 2.0
    tolerance_mm: float = 0.04
    bridges: tuple[tuple[Point, Point], ...] = ()
    sure: float = 0.9

    @property
    def inward_pens(self) -> float:
        """Return how far inside the middle of the line the true edge lies, in pen widths."""
        return {"inside": 0.5, "outside": -0.5}.get(self.edge, 0.0)


class OpenOutlineError(PickError):
    """A picked region runs out to the ground of the sheet; `at` is where its outline is probably open."""

    def __init__(self, message: str, at: Point | None) -> None:
        super().__init__(message)
        self.at = at
