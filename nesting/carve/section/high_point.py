"""The section that sheet wings are carved to: a high point, a round nose, a thin trailing edge."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from nesting.carve.section.heights import Floats, Section
from vectorize.basics.errors import PartError


@dataclass(frozen=True)
class HighPoint(Section):
    """A section as sheet wings are carved: a high point, a nose radius and a trailing thickness.

    All in chords. From the round nose the surface rises to the high point, where it is level, as
    a root, a line and a parabola; from there it falls to the trailing edge as a parabola. Flat-bottomed: the lower
    side is flat but for the round nose. Symmetrical: both halves are alike about the middle.

    Common practice, no source.
    """

    thickness: float
    high_at: float = 0.30
    nose: float = 0.01
    trailing: float = 0.01
    is_flat_bottomed: bool = False

    def __post_init__(self) -> None:
        if not 0.05 <= self.high_at <= 0.95:
            raise PartError(f"a high point at {100 * self.high_at:g} % of chord; give 5 to 95 %.")
        if not 0 < self.trailing < self.thickness:
            raise PartError(
                f"a trailing edge of {100 * self.trailing:.2f} % of chord on a section "
                f"{100 * self.thickness:.2f} % thick; it must be above zero and less than the section."
            )
        most = _widest_nose(self)
        if not 0 < self.nose <= most:
            raise PartError(
                f"a nose radius of {100 * self.nose:.2f} % of chord; this section takes more than 0 and "
                f"up to {100 * most:.2f} %."
            )

    @property
    def name(self) -> str:  # type: ignore[override]
        """Return a description."""
        kind = "flat-bottomed" if self.is_flat_bottomed else "symmetrical"
        return f"{kind} section, high point at {100 * self.high_at:g} %"

    @property
    def _rise(self) -> float:
        """From the middle of the nose to the high point."""
        return self.thickness - self.nose if self.is_flat_bottomed else self.thickness / 2

    @property
    def _front(self) -> tuple[float, float, float]:
        """Return a, b, c of a sqrt(u) + b u + c u², which is 1 and level at u = 1 and has the nose's radius at 0."""
        a = math.sqrt(2 * self.nose * self.high_at) / self._rise
        return a, 2 - 1.5 * a, a / 2 - 1

    def heights(self, x: Floats) -> tuple[Floats, Floats]:
        """Return (upper, lower) heights."""
        x = np.asarray(x, dtype=np.float64)
        a, b, c = self._front
        u = np.clip(x / self.high_at, 0.0, 1.0)
        v = np.clip((x - self.high_at) / (1 - self.high_at), 0.0, 1.0)
        base = self.nose if self.is_flat_bottomed else 0.0
        end = self.trailing if self.is_flat_bottomed else self.trailing / 2
        front = base + self._rise * (a * np.sqrt(u) + b * u + c * u * u)
        upper = np.where(x <= self.high_at, front, base + self._rise - (base + self._rise - end) * v * v)
        return upper, self._bottom(x) if self.is_flat_bottomed else -upper

    def _bottom(self, x: Floats) -> Floats:
        inside = np.clip(self.nose**2 - (self.nose - np.minimum(x, self.nose)) ** 2, 0.0, None)
        return np.asarray(self.nose - np.sqrt(inside))

    @property
    def nose_radius(self) -> float:
        """Return the radius of the nose."""
        return self.nose

    @cached_property
    def greatest_thickness(self) -> tuple[float, float]:
        """Return the thickness at the high point, which is the greatest there is."""
        return self.thickness, self.high_at

    @cached_property
    def high_point(self) -> float:
        """Return where the upper surface is highest."""
        return self.high_at

    def resized(self, *, thickness: float | None = None, trailing: float | None = None) -> HighPoint:
        """Return the section with another thickness or trailing thickness.

        The nose radius goes with the square of the thickness, as in the NACA family, so that the front keeps its form.
        """
        new = self.thickness if thickness is None else thickness
        return replace(
            self,
            thickness=new,
            trailing=self.trailing if trailing is None else trailing,
            nose=self.nose * (new / self.thickness) ** 2,
        )


def _widest_nose(section: HighPoint) -> float:
    """Return the largest nose radius for which the front rises all the way: sqrt(2 r h) <= 8/3 of the rise."""
    if not section.is_flat_bottomed:
        return (8 / 3 * section.thickness / 2) ** 2 / (2 * section.high_at)
    # (t - r) 8/3 = sqrt(2 r h), a quadratic in r.
    k, t = 64 / 9, section.thickness
    half = (2 * k * t + 2 * section.high_at) / (2 * k)
    return half - math.sqrt(half * half - t * t)
