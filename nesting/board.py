"""Boards: pieces of sheet wood with size, scale reading and flaws."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from vectorize.errors import RackError
from vectorize.outline import Outline

Cut = Literal["tangential", "mixed", "quarter", "unknown"]


@dataclass(frozen=True, slots=True)
class Blemish:
    """A flaw on a board, in the board's own frame. A `is_soft` patch is allowed under parts that do not matter."""

    outline: Outline
    is_soft: bool = False
    text: str = ""


@dataclass(frozen=True, slots=True)
class Board:
    """One board: x along its length, y across, origin at the lower left corner.

    The grain runs along x unless `grain_deg` says otherwise. An offcut has an `outline` of its own;
    length and width are then those of its bounding box. `measured_thickness_mm` is None where nobody measured.

    Raises:
        RackError: A size or mass that cannot be.
    """

    name: str
    material: str
    thickness_mm: float
    length_mm: float
    width_mm: float
    measured_thickness_mm: float | None = None
    mass_g: float | None = None
    mass_resolution_g: float = 0.1
    cut: Cut = "unknown"
    bow_mm: float = 0.0
    grain_deg: float = 0.0
    outline: Outline | None = None
    blemishes: tuple[Blemish, ...] = ()
    notes: str = ""

    def __post_init__(self) -> None:
        sizes = {"thickness": self.thickness_mm, "length": self.length_mm, "width": self.width_mm}
        if self.measured_thickness_mm is not None:
            sizes["measured thickness"] = self.measured_thickness_mm
        for what, size in sizes.items():
            if not (math.isfinite(size) and size > 0):
                raise RackError(f"board {self.name}: {what} is {size:g} mm; it must be above zero.")
        if self.mass_g is not None and not (math.isfinite(self.mass_g) and self.mass_g > 0):
            raise RackError(
                f"board {self.name}: mass is {self.mass_g:g} g; "
                "weigh it, or leave the cell empty to use the default density."
            )

    @property
    def true_thickness_mm(self) -> float:
        """Return the measured thickness, or the nominal one where nobody measured."""
        return self.thickness_mm if self.measured_thickness_mm is None else self.measured_thickness_mm

    @property
    def shape(self) -> Outline:
        """Return the board's outline: its own, or the rectangle of length and width."""
        return self.outline or Outline.rectangle(0.0, 0.0, self.length_mm, self.width_mm)
