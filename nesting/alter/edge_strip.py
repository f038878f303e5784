"""A strip of harder wood let into an edge: the panel shrinks, the strip appears as a part of its own."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from nesting.alter.frame import Spot
from nesting.alter.picked_edges import picked_edges
from nesting.alter.step import Change, Setting, Step, fixed, reshaped
from nesting.wood.covering import DEFAULT_GLUE
from nesting.wood.glued_seams import edge_seam
from nesting.wood.part import Part
from vectorize.basics.errors import PartError
from vectorize.basics.quantity import Length
from vectorize.shapes.boolean import cut
from vectorize.shapes.offset import offset_edges
from vectorize.shapes.outline import Outline, Ring
from vectorize.shapes.ring_crossings import corner_indices, distance_to
from vectorize.shapes.segment import Point, Segment

Run = tuple[Segment, ...]

_ON_EDGE_MM = 0.01


@dataclass(frozen=True, slots=True)
class EdgeStrip(Step):
    """A strip `width_mm` wide along the edges nearest to `along`, such as a leading edge of basswood.

    Args:
        along: A point on each edge that gets a strip; edges in a row get one strip round the corner.
        width_mm: Measured at right angles to the edge.
        material: Of the strip.
        thickness_mm: Of the strip; None: as the panel.
        ends: Where the strip ends though there is no corner, such as where the edge bends into the tip.
        glue: What it is glued with.
    """

    make: Literal["edge strip"] = field(default="edge strip", kw_only=True, repr=False)
    along: tuple[Spot, ...]
    width_mm: Length
    material: str
    thickness_mm: Length | None = None
    ends: tuple[Spot, ...] = ()
    glue: str = DEFAULT_GLUE

    def check(self, part: str, setting: Setting) -> None:
        """Raise PartError for what cannot be, whatever the part is like."""
        if not self.along:
            raise PartError("an edge strip needs a point on the edge that gets it.")
        if not (math.isfinite(self.width_mm) and self.width_mm > 0):
            raise PartError(f"an edge strip {self.width_mm:g} mm wide cannot be; give more than zero.")

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the panel less the strip, and the strip as an extra."""
        ring, picked = picked_edges(
            part.outline.exterior,
            setting.frame.points(self.along),
            ends=setting.frame.points(self.ends),
            part=part.name,
        )
        pieces = offset_edges(Outline(ring, part.outline.cutouts), picked, -self.width_mm)
        panel = reshaped(part, pieces, f"letting in a strip of {self.width_mm:g} mm")
        strips = cut(part.outline, panel.outline)
        runs, material = _runs(ring, picked), setting.material(self.material)
        made = tuple(
            replace(
                part,
                name=f"{part.name} edge strip" + (f" {n}" if len(strips) > 1 else ""),
                outline=strip,
                material=material,
                thickness_mm=self.thickness_mm or part.thickness_mm,
                grain_deg=_grain(strip, runs),
                is_grain_assumed=False,
                board=None,
                boards=(),
                weighed_g=None,
            )
            for n, strip in enumerate(strips, start=1)
        )
        text = f"a strip of {material}, {self.width_mm:g} mm wide, is let into its edge."
        seams = tuple(edge_seam(f"seam of {strip.name}", strip, panel, glue=self.glue) for strip in made)
        return Change((panel,), made, (fixed("edge-strip", part, text),), seams)


def _grain(strip: Outline, runs: Sequence[Run]) -> float:
    """Return the direction along a strip: of its longest edge, from end to end, for that is how stock is let in.

    The two points of a strip that lie farthest apart are its diagonal's, which a narrow stock cannot hold.
    """
    own = [run for run in runs if distance_to(strip.exterior.segments, _middle(run)) < _ON_EDGE_MM]
    longest = max(own or runs, key=lambda run: sum(segment.length for segment in run))
    (x0, y0), (x1, y1) = longest[0].start, longest[-1].end
    return math.degrees(math.atan2(y1 - y0, x1 - x0)) % 180.0


def _middle(run: Run) -> Point:
    return run[len(run) // 2].point_at(0.5)


def _runs(ring: Ring, picked: frozenset[int]) -> list[Run]:
    """Return the picked pieces of a ring, those that follow each other without a corner together."""
    breaks = corner_indices(ring)
    begins = [i for i in sorted(picked) if i in breaks or (i - 1) % len(ring.segments) not in picked]
    return [_run_from(ring, i, picked, breaks) for i in begins or sorted(picked)[:1]]


def _run_from(ring: Ring, begin: int, picked: frozenset[int], breaks: Collection[int]) -> Run:
    run, at = [ring.segments[begin]], (begin + 1) % len(ring.segments)
    while at in picked and at not in breaks and at != begin:
        run.append(ring.segments[at])
        at = (at + 1) % len(ring.segments)
    return tuple(run)
