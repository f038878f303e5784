"""What a joined sheet's seams leave in doubt: how badly the scans fit that a part lies on."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vectorize.scale.joined.mosaic import BLEND_MM
from vectorize.scale.joined.overlap import inverse, moved
from vectorize.shapes.segment import Points

TEAR_SHARE = 0.12
"""Share of a tear's step that edges on a torn scan are off by, as its axes and turn give way to both halves.

Measured on 44 drawn parts of scans with steps of 0.6 to 2 mm.
"""


@dataclass(frozen=True, slots=True)
class Tear:
    """Where two scans stop fitting: a place in original pixels of the first, and the step there in mm."""

    at: tuple[float, float]
    step_mm: float


@dataclass(frozen=True, slots=True)
class SeamMisfit:
    """How two scans fit after all were adjusted: root mean square and 95th percentile across their shared lines.

    `tear` is where one of the two looks torn, if it does.
    """

    first: str
    second: str
    rms_mm: float
    high_mm: float
    tear: Tear | None = None

    @property
    def doubt_mm(self) -> float:
        """Return the standard deviation that the seam leaves to edges on either scan."""
        return self.rms_mm if self.tear is None else math.hypot(self.rms_mm, TEAR_SHARE * self.tear.step_mm)


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """A scan and its 2 x 3 map from original pixels to pixels of the joined sheet."""

    name: str
    size_px: tuple[int, int]
    to_sheet: Points

    def rim_px(self, sheet_px: Points) -> Points:
        """Return how far inside the scan (N, 2) pixels of the sheet lie, in pixels of the scan, negative outside."""
        x, y = moved(inverse(self.to_sheet), sheet_px).T
        columns, rows = self.size_px
        rim = np.minimum(np.minimum(x, columns - 1 - x), np.minimum(y, rows - 1 - y))
        return np.asarray(rim, np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class SeamDoubt:
    """The seams of a joined sheet, in its pixels."""

    places: tuple[Placed, ...]
    seams: tuple[SeamMisfit, ...]
    px_per_mm: float

    def across(self, outline_px: Points) -> tuple[float, float]:
        """Return by how many mm the scans that show an outline miss the rest, and how long the join in it is, in mm.

        The worst seam of any of those scans counts: a sheet that did not lie flat, or a scanner
        that slipped, does not do so at the seam only. The join is 0 mm long where one scan shows all of the outline.

        Args:
            outline_px: (N, 2) points of the outline in pixels of the sheet, closer to each other than `BLEND_MM`.
        """
        shown = self._shown(outline_px)
        names = {self.places[n].name for n in np.flatnonzero(shown.any(axis=1)).tolist()}
        misfit = max((seam.doubt_mm for seam in self.seams if {seam.first, seam.second} & names), default=0.0)
        joint = outline_px[shown.sum(axis=0) > 1]
        return misfit, float(np.ptp(joint, axis=0).max()) / self.px_per_mm if len(joint) else 0.0

    def _shown(self, points: Points) -> NDArray[np.bool_]:
        """Return which scans, (M, N), the working picture takes each point from."""
        rims = np.array([place.rim_px(points) / _own_px_per_mm(place, self.px_per_mm) for place in self.places])
        return np.asarray((rims > 0) & (rims.max(axis=0) - rims < BLEND_MM))


def _own_px_per_mm(place: Placed, sheet_px_per_mm: float) -> float:
    return sheet_px_per_mm * float(np.sqrt(abs(np.linalg.det(place.to_sheet[:, :2]))))
