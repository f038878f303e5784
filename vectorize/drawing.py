"""What every pick on a page shares: its ink, line work, runs and regions."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from vectorize.errors import ScanError
from vectorize.ground import with_ground
from vectorize.growth import Grower
from vectorize.ink import Ink, find_ink
from vectorize.linework.bridges import with_bridges
from vectorize.linework.centre import Centred, centred
from vectorize.linework.crossings import with_crossings
from vectorize.linework.dashes import with_dashes
from vectorize.linework.graph import tidied
from vectorize.linework.runs import Runs, found_runs
from vectorize.linework.skeleton import skeleton_graph, thinned
from vectorize.regions import Regions, divided

if TYPE_CHECKING:
    from vectorize.scale import PlanScale
    from vectorize.scan import Page


@dataclass(frozen=True, slots=True, eq=False)
class Drawing:
    """A page read as a drawing. Lines are measured only where a part needs them, and once."""

    ink: Ink
    regions: Regions
    runs: Runs
    pen_px: float
    _measured: dict[int, Centred] = field(default_factory=dict)
    _marks: list[NDArray[np.int32]] = field(default_factory=list)

    def measured(self, index: int) -> Centred:
        """Return the centre line of edge `index`, from its start node to its end node."""
        if index not in self._measured:
            self._measured[index] = self._measure(index)
        return self._measured[index]

    def _measure(self, index: int) -> Centred:
        edge = self.regions.work.edges[index]
        if not edge.is_bridge:
            return centred(self.ink.darkness, edge.points, width_px=self.pen_px)
        pieces = [
            np.linspace(a, b, max(2, math.ceil(math.dist(a, b))), endpoint=False)
            for a, b in zip(edge.points[:-1], edge.points[1:], strict=True)
        ]
        line = np.vstack([*pieces, edge.points[-1:]])
        count = len(line)
        return Centred(line, np.full(count, self.pen_px), np.full(count, np.nan), np.zeros(count, np.bool_))

    def marks(self) -> NDArray[np.int32]:
        """Return the boxes (N, 4: x0, y0, x1, y1 in pixels) of everything drawn in one piece."""
        if not self._marks:
            _, _, stats, _ = cv2.connectedComponentsWithStats(self.ink.mask, connectivity=8)
            boxes = stats[1:, :4].astype(np.int32)
            boxes[:, 2:] += boxes[:, :2]
            self._marks.append(boxes)
        return self._marks[0]

    def ink_across(self, index: int) -> float:
        """Return the ink across an edge in pixels of full black, nan where it cannot be measured."""
        found = self.measured(index)
        return float(np.median(found.ink[found.is_clean])) if found.is_clean.sum() > 4 else math.nan

    def grower(self) -> Grower:
        """Return what finds the regions of a part on this page."""
        return Grower(self.regions, self.runs, self.ink_across)


def read_drawing(page: Page, scale: PlanScale, *, gap_mm: float) -> Drawing:
    """Return the ink, line work and regions of a picture; gaps of up to `gap_mm` are bridged."""
    if page.grey is None:
        raise ScanError(f"{page.name} is a drawing without a picture; save it as a picture of 300 dpi to trace it.")
    per_mm = scale.px_per_mm
    ink = find_ink(page.grey, px_per_mm=per_mm)
    skeleton = thinned(ink.mask)
    pen_px = float(np.count_nonzero(ink.mask)) / max(1.0, float(np.count_nonzero(skeleton)))
    work = tidied(skeleton_graph(skeleton), spur_px=1.2 * pen_px)
    work = with_crossings(work, pen_px=pen_px, reach_px=max(3.0 * pen_px, 1.6 * per_mm))
    work = with_dashes(work, px_per_mm=per_mm, pen_px=pen_px)
    work = with_bridges(work, gap_px=gap_mm * per_mm, px_per_mm=per_mm, pen_px=pen_px)
    regions = with_ground(divided(work, skeleton))
    return Drawing(ink, regions, found_runs(work, px_per_mm=per_mm, pen_px=pen_px), pen_px)
