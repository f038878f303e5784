"""Boards: pieces of sheet wood with size, scale reading and flaws."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any, Literal

from vectorize.basics.errors import RackError
from vectorize.shapes.outline import Outline

Cut = Literal["tangential", "mixed", "quarter", "unknown"]


MARGIN_AT_ENDS_MM = 6.0
"""Kept free at each end of a board, where it is often split or crushed (common practice, no source)."""
MARGIN_AT_EDGES_MM = 1.0
"""Kept free along each edge of a board, which is seldom quite straight (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Blemish:
    """A flaw on a board, in the board's own frame. A `is_soft` patch is allowed under parts that do not matter."""

    outline: Outline
    is_soft: bool = False
    text: str = ""


@dataclass(frozen=True, slots=True)
class BendTest:
    """A board laid across two supports with a load at mid-span, and how far it sagged there.

    `sag_mm` is what the load alone added, unless `is_from_straight`: then it was measured from a
    straight edge and holds the sag under the board's own weight too.

    Raises:
        RackError: A span, load or sag that cannot be.
    """

    span_mm: float
    load_g: float
    sag_mm: float
    is_from_straight: bool = False
    sag_step_mm: float = 0.5

    def __post_init__(self) -> None:
        for what, value in {"span": self.span_mm, "load": self.load_g, "sag": self.sag_mm}.items():
            if not (math.isfinite(value) and value > 0):
                raise RackError(f"bend test: {what} is {value:g}; it must be above zero.")


@dataclass(frozen=True, slots=True)
class Board:
    """One board: x along its length, y across, origin at the lower left corner.

    The grain runs along x unless `grain_deg` says otherwise. An offcut has an `outline` of its own;
    length and width are then those of its bounding box. `measured_thickness_mm` is None where nobody measured.
    `end_readings_g` are what a scale under the left end, then under the right end, shows while the other
    end rests on a block of the same height.
    `tone_hz` is what the board sounds at along its length when its middle is held and its end tapped.
    `price` is what it cost, in the currency of the rack.

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
    end_readings_g: tuple[float, float] | None = None
    bend_test: BendTest | None = None
    tone_hz: float | None = None
    # What it cost moves no part on it: layouts know a board by its repr.
    price: float | None = field(default=None, repr=False)

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
        if not (math.isfinite(self.mass_resolution_g) and self.mass_resolution_g > 0):
            raise RackError(f"board {self.name}: the scale's step is {self.mass_resolution_g:g} g; it must be above 0.")
        if not (math.isfinite(self.bow_mm) and self.bow_mm >= 0):
            raise RackError(f"board {self.name}: bow is {self.bow_mm:g} mm; it must be zero or more.")
        if self.tone_hz is not None and not (math.isfinite(self.tone_hz) and self.tone_hz > 0):
            raise RackError(f"board {self.name}: its tone is {self.tone_hz:g} Hz; it must be above zero.")
        if self.price is not None and not (math.isfinite(self.price) and self.price >= 0):
            raise RackError(f"board {self.name}: its price is {self.price:g}; it must be zero or more.")
        for reading in self.end_readings_g or ():
            if not (math.isfinite(reading) and reading > 0):
                raise RackError(f"board {self.name}: an end reading is {reading:g} g; it must be above zero.")

    @property
    def known_mass_g(self) -> float | None:
        """Return the scale reading, or the sum of the two end readings, or None where nobody weighed."""
        if self.mass_g is None and self.end_readings_g is not None:
            return sum(self.end_readings_g)
        return self.mass_g

    def as_json(self) -> dict[str, Any]:
        """Return what is known of the board as every result and the desk spell it."""
        return {
            "name": self.name,
            "material": self.material,
            "thickness_mm": self.thickness_mm,
            "measured_thickness_mm": self.measured_thickness_mm,
            "length_mm": self.length_mm,
            "width_mm": self.width_mm,
            "mass_g": self.known_mass_g,
            "cut": self.cut,
            "bow_mm": self.bow_mm,
        }

    @property
    def true_thickness_mm(self) -> float:
        """Return the measured thickness, or the nominal one where nobody measured."""
        return self.thickness_mm if self.measured_thickness_mm is None else self.measured_thickness_mm

    @property
    def shape(self) -> Outline:
        """Return the board's outline: its own, or the rectangle of length and width."""
        return self.outline or Outline.rectangle(0.0, 0.0, self.length_mm, self.width_mm)
