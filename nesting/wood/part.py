"""A part: an outline with what a builder must know to cut it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from nesting.wood.board import Board
from nesting.wood.scale_reading import WeighedAs
from vectorize.basics.errors import PartError
from vectorize.shapes.outline import Outline
from vectorize.shapes.segment import Point

Hand = Literal["either", "left", "right", "pair"]


@dataclass(frozen=True, slots=True)
class Surfaces:
    """What covering and paint go on, in mm²: the upper and the lower face, and all edges together."""

    top_mm2: float
    bottom_mm2: float
    edges_mm2: float


FREE_GRAIN_DEG = 90.0
"""A tolerance of 90 degrees either way lets the grain run in any direction."""


@dataclass(frozen=True, slots=True)
class Part:
    """An outline plus material, thickness, grain, count and hand.

    `outline` lies on the plan, in millimetres; its coordinates are the part's own frame, so the part's
    own origin is the origin of those coordinates. `grain_deg` is the direction of the grain in that
    frame (counter-clockwise from x, 0 to 180). A part of hand `left` or `right` is cut as drawn and
    never turned over; a `pair` is one as drawn and one mirrored for every `count`; `either` may be
    turned over freely. It is cut from `board` if one is named, else from any of `boards`, else from any
    board of its material and thickness. What is cut from a `strip` instead lies on no board; the strip is given
    as a board that lies as the part is planed from it.

    What is sawn is not always what flies: `finished_share` is the mass of the finished part over that of
    the sawn blank (1 unless it is carved, bevelled or trued afterwards), and `finished_centroid` its
    centre of mass in the part's frame, or None where that is the outline's own. `carved_blank_mm` is the thickness of
    the blank that the share was worked out for where the part is carved to a solid of its own: from a thicker board a
    smaller share of it flies. Weights and balance use `finished_share` and `centroid`; nesting and patterns use the
    blank. `carved_surfaces` are what is covered and sanded of a carved part, by its girth. `weighed_g` is what the
    scale said of one piece, `weighed_as` at which stage; None: nobody said, and the likelier one is taken.

    Raises:
        PartError: A thickness, count, tolerance or share that cannot be.
    """

    name: str
    outline: Outline
    material: str
    thickness_mm: float
    grain_deg: float = 0.0
    is_grain_assumed: bool = True
    grain_tolerance_deg: float = 3.0
    count: int = 1
    hand: Hand = "either"
    board: str | None = None
    boards: tuple[str, ...] = ()
    weighed_g: float | None = None
    weighed_as: WeighedAs | None = None
    sigma_area_mm2: float = 0.0
    plan: str | None = None
    finished_share: float = 1.0
    finished_centroid: Point | None = None
    carved_blank_mm: float | None = None
    carved_surfaces: Surfaces | None = None
    strip: Board | None = None

    def __post_init__(self) -> None:
        if not (math.isfinite(self.thickness_mm) and self.thickness_mm > 0):
            raise PartError(f"part {self.name}: thickness is {self.thickness_mm} mm; it must be above zero.")
        if self.count < 1:
            raise PartError(f"part {self.name}: count is {self.count}; it must be at least 1.")
        if not 0 <= self.grain_tolerance_deg <= FREE_GRAIN_DEG:
            raise PartError(
                f"part {self.name}: grain tolerance is {self.grain_tolerance_deg} deg; it must lie between 0 and 90."
            )

        if not 0 < self.finished_share <= 1:
            raise PartError(
                f"part {self.name}: {self.finished_share:.4g} of the blank is said to be left when it is finished; "
                "that share must lie above 0 and up to 1."
            )

    @property
    def centroid(self) -> Point:
        """Return the centre of mass of the finished part, in the part's own frame."""
        return self.finished_centroid or self.outline.centroid

    @property
    def copies(self) -> int:
        """Return how many pieces are to be cut: a pair is two."""
        return self.count * (2 if self.hand == "pair" else 1)

    def surfaces(self, thickness_mm: float) -> Surfaces:
        """Return what covering and paint go on: carved by the girth, flat by the outline and the board's thickness."""
        area = self.outline.area_mm2
        return self.carved_surfaces or Surfaces(area, area, self.outline.perimeter_mm * thickness_mm)

    def is_copy_flipped(self, copy: int) -> bool | None:
        """Return whether copy number `copy` (from 1) must be turned over; None where either side will do."""
        match self.hand:
            case "either":
                return None
            case "left" | "right":
                return False
            case "pair":
                return copy % 2 == 0
