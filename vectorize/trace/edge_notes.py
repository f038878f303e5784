"""Open notes on edges that may lie farther off than sanding takes away."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from vectorize.basics.notes import Note
from vectorize.fit.way_by_ink import DoubtfulCorner
from vectorize.shapes.segment import Point

if TYPE_CHECKING:
    from vectorize.scale.plan_scale import PlanScale

WAVE_LIMIT_MM = 0.15
"""Two standard deviations of 0.3 mm are what a builder sands off an edge (common practice, no source)."""


def edge_notes(name: str, corners: Sequence[DoubtfulCorner], scale: PlanScale, inside_px: Point) -> list[Note]:
    """Return open notes on each doubtful corner of a part, at its place, and on a sheet that was not flat."""
    notes = []
    for corner in corners:
        ((x, y),) = scale.to_px([corner.at]).tolist()
        text = _text(name, corner, scale)
        notes.append(Note("doubtful-corner", text, "open", name, (x, y)))
    if scale.wave_mm > WAVE_LIMIT_MM:
        text = (
            f"the edge of {name} may be off by {2 * scale.wave_mm:.1f} mm: the sheet did not lie flat, as lines along "
            f"its margin tell that should be straight and stray by {scale.wave_mm:.2f} mm; press it flat under glass "
            "and photograph it again, or scan it."
        )
        notes.append(Note("not-flat", text, "open", name, inside_px))
    return notes


def _text(name: str, corner: DoubtfulCorner, scale: PlanScale) -> str:
    then = "compare it with the plan, and correct the edge if need be."
    if corner.tips is None:
        ((x, y),) = scale.to_px([corner.at]).tolist()
        text = f"a corner of {name} at {scale.told((x, y))} may be off by {corner.off_mm:.1f} mm: the ink there agrees "
        return text + f"with no way of the line; {then}"
    near, far = (scale.told((x, y)) for x, y in scale.to_px(corner.tips).tolist())
    text = (
        f"the tip of {name} at {near} may as well lie at {far}, and the edge there be off by {corner.off_mm:.1f} mm: "
    )
    return text + f"the ink does not tell a point from a blunt end; {then}"
