"""The plan scale: one map from original pixels to millimetres, with its uncertainty.

The map is fitted to known dimensions. Skew, and whatever else `vectorize.scale.flatten` found, is part of
it, so nothing is ever resampled and no part can be sheared by a corrected picture.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from vectorize.basics.notes import Note
from vectorize.scale.scale_uncertainty import SizeDoubt
from vectorize.shapes.segment import Point, Points

if TYPE_CHECKING:
    from vectorize.scale.joined.seam_uncertainty import SeamDoubt
    from vectorize.scale.lens import Lens


@dataclass(frozen=True, slots=True)
class PointMisfit:
    """How far from its stated place a known point lies under the fitted map."""

    name: str
    error_mm: float


@dataclass(frozen=True, slots=True)
class Residual:
    """What a known dimension measures under the fitted scale."""

    name: str
    stated_mm: float
    measured_mm: float

    @property
    def error_mm(self) -> float:
        """Return measured less stated."""
        return self.measured_mm - self.stated_mm


@dataclass(frozen=True, slots=True, eq=False)
class PlanScale:
    """The map from original pixels to millimetres, y up, from the lower left of the deskewed page.

    `matrix` is the 3 x 3 map in homogeneous coordinates (affine unless perspective was removed), of pixels from which
    the bulge of the `lens`, if any, was taken out. On a photo with points of known place, mm are theirs.
    `mm_per_px` are the factors along the picture's own x and y before it is turned by `skew_deg`.
    `doubt` is how unsure its lengths are; `seams` what joining several scans adds to that. `is_sheet`
    says that `page_mm` is a sheet whose corners were seen, so that what lies beyond is not of it. `wave_mm` is how far
    straight lines stray, as root mean square, since a photographed sheet did not lie flat.
    `tells` words a pixel of the page for messages, where it is none of the one file that the page was read from.
    """

    matrix: Points
    mm_per_px: tuple[float, float]
    skew_deg: float
    page_mm: tuple[float, float]
    residuals: tuple[Residual, ...] = ()
    doubt: SizeDoubt = field(default=SizeDoubt())
    is_true_size: bool = True
    notes: tuple[Note, ...] = field(default=())
    lens: Lens | None = None
    points: tuple[PointMisfit, ...] = ()
    seams: SeamDoubt | None = None
    is_sheet: bool = False
    wave_mm: float = 0.0
    tells: Callable[[Point], str] | None = None

    def to_mm(self, points: ArrayLike) -> Points:
        """Return (N, 2) page points in millimetres for (N, 2) original pixels."""
        return projected(self.matrix, points if self.lens is None else self.lens.straightened(points))

    def to_px(self, points: ArrayLike) -> Points:
        """Return (N, 2) original pixels for (N, 2) page points in millimetres."""
        flat = projected(np.asarray(np.linalg.inv(self.matrix), np.float64), points)
        return flat if self.lens is None else self.lens.bent(flat)

    def told(self, point: tuple[float, ...]) -> str:
        """Return a pixel of the page as a message names it: as a person finds it in the file."""
        x, y = float(point[0]), float(point[1])
        return f"({x:.0f}, {y:.0f})" if self.tells is None else self.tells((x, y))

    @property
    def px_per_mm(self) -> float:
        """Return the mean number of pixels per millimetre."""
        return 2.0 / (self.mm_per_px[0] + self.mm_per_px[1])


def projected(matrix: Points, points: ArrayLike) -> Points:
    """Return (N, 2) points under a 3 x 3 projective map."""
    array = np.asarray(points, np.float64).reshape(-1, 2)
    mapped = array @ matrix[:, :2].T + matrix[:, 2]
    return np.asarray(mapped[:, :2] / mapped[:, 2:], np.float64)
