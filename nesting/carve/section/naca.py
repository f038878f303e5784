"""NACA four-digit sections."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from nesting.carve.section.heights import Floats, Section
from vectorize.basics.errors import PartError


@dataclass(frozen=True)
class Naca4(Section):
    """A NACA four-digit section: camber `camber` at `camber_at`, thickness `thickness`, in chords.

    The thickness is laid off at right angles to the mean line and the trailing edge is open, as in the
    report; `trailing` thickens it in proportion to x.

    Source: Jacobs, Ward and Pinkerton, NACA Report 460 (1933); Abbott and von Doenhoff, Theory of Wing Sections.
    """

    camber: float
    camber_at: float
    thickness: float
    trailing: float | None = None

    def __post_init__(self) -> None:
        if not 0 < self.thickness < 0.6:
            raise PartError(
                f"a NACA section of {100 * self.thickness:g} % thickness; give more than 0 and less than 60 %."
            )

    @property
    def name(self) -> str:  # type: ignore[override]
        """Return the section's designation."""
        digits = f"{round(100 * self.camber)}{round(10 * self.camber_at)}"
        return f"NACA {digits}{100 * self.thickness:04.1f}".removesuffix(".0")

    def half_thickness(self, x: Floats) -> Floats:
        """Return half the thickness at `x`, in chords."""
        body = 0.2969 * np.sqrt(x) - 0.1260 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1015 * x**4
        own = self.thickness / 0.2 * body
        extra = 0.0 if self.trailing is None else self.trailing / 2 - 0.0021 / 0.2 * self.thickness
        return np.asarray(own + extra * x)

    def mean_line(self, x: Floats) -> tuple[Floats, Floats]:
        """Return the height of the mean line and its slope at `x`."""
        m, p = self.camber, self.camber_at
        if m == 0:
            return np.zeros_like(x), np.zeros_like(x)
        is_front = x < p
        front, back = m / p**2, m / (1 - p) ** 2
        y = np.where(is_front, front * (2 * p * x - x**2), back * (1 - 2 * p + 2 * p * x - x**2))
        return y, np.where(is_front, 2 * front * (p - x), 2 * back * (p - x))

    def surfaces(self, x: Floats) -> tuple[Floats, Floats]:
        """Return the (N, 2) points of the upper and of the lower surface that belong to `x` on the mean line."""
        half, (y, slope) = self.half_thickness(x), self.mean_line(x)
        angle = np.arctan(slope)
        dx, dy = half * np.sin(angle), half * np.cos(angle)
        return np.column_stack([x - dx, y + dy]), np.column_stack([x + dx, y - dy])

    def heights(self, x: Floats) -> tuple[Floats, Floats]:
        """Return (upper, lower) heights; a cambered nose bulges a hair ahead of x = 0 and is cut off there."""
        x = np.asarray(x, dtype=np.float64)
        if self.camber == 0:
            half = self.half_thickness(x)
            return half, -half
        upper = self.surfaces(self._mean_x(x, side=0))[0][:, 1]
        lower = self.surfaces(self._mean_x(x, side=1))[1][:, 1]
        return upper, lower

    def curves(self, s: Floats) -> tuple[Floats, Floats]:
        """Return both surfaces over the mean line at x = s², the bulge ahead of x = 0 included."""
        return self.surfaces(s**2)

    def _mean_x(self, x: Floats, *, side: int) -> Floats:
        """Return the place on the mean line whose surface point lies at `x`: table first, then a few secant steps."""
        table = (1 - np.cos(np.linspace(0, math.pi, 2001))) / 2
        along = self.surfaces(table)[side][:, 0]
        first = int(np.argmin(along))
        at = np.interp(x, along[first:], table[first:])
        for _ in range(4):
            missing = x - self.surfaces(at)[side][:, 0]
            at = np.clip(at + missing, table[first], 1.0)
        return np.asarray(at)

    @property
    def nose_radius(self) -> float:
        """Return 1.1019 t² (the report's; exactly half the square of 0.2969 t / 0.2)."""
        return 0.5 * (0.2969 * self.thickness / 0.2) ** 2

    def resized(self, *, thickness: float | None = None, trailing: float | None = None) -> Naca4:
        """Return the section with another thickness or trailing thickness."""
        return replace(
            self,
            thickness=self.thickness if thickness is None else thickness,
            trailing=self.trailing if trailing is None else trailing,
        )


def naca4(digits: str) -> Naca4:
    """Return the section of a four-digit designation such as `2412`.

    Raises:
        PartError: Not four digits, no thickness, or camber without a place for it.
    """
    if len(digits) != 4 or not digits.isdecimal() or digits[2:] == "00" or (digits[0] != "0" and digits[1] == "0"):
        raise PartError(
            f"{digits!r} is not a NACA four-digit section; write camber in %, its place in tenths and "
            "two digits of thickness, such as 2412 or 0012."
        )
    return Naca4(int(digits[0]) / 100, int(digits[1]) / 10, int(digits[2:]) / 100)
