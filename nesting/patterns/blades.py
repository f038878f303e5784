"""Scroll-saw blades: which one for which thickness, and what it asks of the line.

Sources: two teeth in the work at all times, shop magazines; the entry hole is the blade's diagonal and the
least radius its sagitta in the kerf, both by geometry. Blade sizes: common practice, no source; number
systems differ between makers, so blades are called by their size.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from vectorize.basics.errors import InputError
from vectorize.basics.units import MM_PER_INCH

TEETH_IN_WORK = 2.0


@dataclass(frozen=True, slots=True)
class Blade:
    """A blade by its size; `kerf_mm` is the width of its cut, teeth and set included.

    Raises:
        InputError: A size that cannot be, or a kerf no wider than the blade is thick.
    """

    width_mm: float
    thickness_mm: float
    kerf_mm: float
    teeth_per_inch: float

    def __post_init__(self) -> None:
        sizes = (self.width_mm, self.thickness_mm, self.kerf_mm, self.teeth_per_inch)
        if not all(math.isfinite(size) and size > 0 for size in sizes):
            raise InputError(f"a blade has the sizes {sizes}; all must be above zero.")
        if self.kerf_mm <= self.thickness_mm:
            raise InputError(
                f"a blade {self.thickness_mm:g} mm thick has a kerf of {self.kerf_mm:g} mm; it must be wider than that."
            )

    @property
    def name(self) -> str:
        """Return what to ask for in a shop: width, thickness and teeth."""
        return f"{self.width_mm:.2f} × {self.thickness_mm:.2f} mm, {self.teeth_per_inch:g} teeth per inch"

    @property
    def entry_hole_mm(self) -> float:
        """Return the least hole that the blade passes: its diagonal."""
        return math.hypot(self.width_mm, self.thickness_mm)

    @property
    def least_radius_mm(self) -> float:
        """Return the tightest curve that it turns without rubbing: w² / (8 (kerf - t)), approximate."""
        return self.width_mm**2 / (8 * (self.kerf_mm - self.thickness_mm))


COMMON_BLADES: tuple[Blade, ...] = (
    Blade(0.56, 0.25, 0.36, 28),
    Blade(0.66, 0.33, 0.45, 25),
    Blade(0.81, 0.36, 0.50, 20),
    Blade(0.97, 0.41, 0.56, 16.5),
    Blade(1.14, 0.43, 0.60, 14),
    Blade(1.35, 0.46, 0.65, 11.5),
)
"""From fine to coarse; yours can be given instead."""


def teeth_needed(thickness_mm: float) -> float:
    """Return the least teeth per inch that keep two teeth in stock of this thickness."""
    return TEETH_IN_WORK / (thickness_mm / MM_PER_INCH)


def thickness_needed_mm(blade: Blade) -> float:
    """Return the least thickness in which the blade keeps two teeth."""
    return TEETH_IN_WORK * MM_PER_INCH / blade.teeth_per_inch


@dataclass(frozen=True, slots=True)
class BladeChoice:
    """The blade and why; `sandwich_mm` is the scrap to add where no blade is fine enough for the stock alone."""

    blade: Blade
    reason: str
    sandwich_mm: float = 0.0


def choose_blade(thickness_mm: float, *, tightest_mm: float = math.inf, blades: Sequence[Blade]) -> BladeChoice:
    """Return the coarsest blade with two teeth in the work that still turns `tightest_mm`, and why.

    If none turns it, the finest with the best radius is taken; if all are too coarse for the stock, the
    finest, with the scrap that must be added to it.

    Raises:
        InputError: No blades, or a thickness that is not above zero.
    """
    if not blades:
        raise InputError("no blade is given; name at least one, or leave the list out to use common sizes.")
    if not (math.isfinite(thickness_mm) and thickness_mm > 0):
        raise InputError(f"the stock is {thickness_mm:g} mm thick; it must be above zero.")
    needed = teeth_needed(thickness_mm)
    fine_enough = [blade for blade in blades if blade.teeth_per_inch >= needed - 1e-9]
    asks = f"{thickness_mm:g} mm asks for {needed:.1f} teeth per inch or more"
    if not fine_enough:
        finest = max(blades, key=lambda blade: blade.teeth_per_inch)
        scrap = thickness_needed_mm(finest) - thickness_mm
        reason = (
            f"{asks}, more than the finest blade has: sandwich the stock between scrap, {scrap:.1f} mm or more "
            "in all, or cut it with a knife"
        )
        return BladeChoice(finest, reason, scrap)
    turning = [blade for blade in fine_enough if blade.least_radius_mm <= tightest_mm]
    if turning:
        blade = min(turning, key=lambda blade: blade.teeth_per_inch)
        return BladeChoice(blade, f"{asks}; it turns a radius of {blade.least_radius_mm:.1f} mm")
    blade = min(fine_enough, key=lambda blade: blade.least_radius_mm)
    return BladeChoice(blade, f"{asks}; it turns {blade.least_radius_mm:.1f} mm, and tighter places are marked")


DRILLS_MM = (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0)
"""Drills for blade entries, common sizes; an entry larger than the last is rounded up to whole millimetres."""


def entry_drill_mm(blade: Blade) -> float:
    """Return the smallest common drill that lets the blade through."""
    return next((drill for drill in DRILLS_MM if drill >= blade.entry_hole_mm), float(math.ceil(blade.entry_hole_mm)))
