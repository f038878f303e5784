"""What a file says of its resolution, and whether that can be believed."""

from __future__ import annotations

import math

from vectorize.basics.notes import Note
from vectorize.basics.units import MM_PER_INCH

GUESSED_PX_PER_MM = 300 / MM_PER_INCH
"""Stands in where a picture says nothing at all about its size."""

LEAST_DPI = 50.0
GREATEST_DPI = 2400.0
"""No desk scanner or camera file states less or more in earnest; 0, 1 and aspect ratios fall outside."""


def is_credible(dpi: tuple[float, float]) -> bool:
    """Return whether both values could be a scanner's resolution."""
    return all(math.isfinite(value) and LEAST_DPI <= value <= GREATEST_DPI for value in dpi)


def weigh_dpi(
    name: str, dpi: tuple[float, float] | None, width: float, height: float
) -> tuple[tuple[float, float] | None, Note]:
    """Return (pixels per mm along x and y, or None if they cannot be believed) and a note that says so.

    Args:
        name: File name for the note.
        dpi: Stated pixels per inch along x and y, or None.
        width: Width of the picture in pixels.
        height: Height of the picture in pixels.
    """
    if dpi is None:
        return None, Note("dpi-missing", f"{name} states no resolution; give a known dimension.")
    shown = f"{dpi[0]:g}" if math.isclose(dpi[0], dpi[1], rel_tol=1e-6) else f"{dpi[0]:g} x {dpi[1]:g}"
    if not is_credible(dpi):
        text = f"{name} states {shown} dpi, which is not credible; give a known dimension."
        return None, Note("dpi-not-credible", text)
    px_per_mm = (dpi[0] / MM_PER_INCH, dpi[1] / MM_PER_INCH)
    size = f"{width / px_per_mm[0]:.0f} x {height / px_per_mm[1]:.0f} mm"
    text = f"{name} states {shown} dpi: this page would be {size}. It is taken as a hint only."
    return px_per_mm, Note("dpi-stated", text)
