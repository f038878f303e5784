"""The nesting rules that `[nest]` asks for."""

from __future__ import annotations

from nesting.job.folder import Job
from nesting.place.layout import Placement
from nesting.place.layout_rules import NestRules, Pin
from vectorize.shapes.outline import Pose


def rules_of(job: Job) -> NestRules:
    """Return the nesting rules of a job: the tool's defaults, with what `[nest]` says."""
    nest = job.spec.nest
    return NestRules.for_tool(
        nest.tool,
        kerf_mm=nest.kerf,
        clearance_mm=nest.clearance,
        ends_mm=nest.ends,
        edges_mm=nest.edges,
        allows_part_in_cutout=nest.cutouts,
        entry_hole_mm=nest.entry_hole,
        side_by_side=nest.side_by_side,
        on_soft_patches=nest.soft_patches,
    )


def pins_of(job: Job) -> tuple[Pin, ...]:
    """Return the copies that `[[nest.pin]]` fixes on boards."""
    return tuple(
        Pin(pin.board, Placement(pin.part, pin.copy_number, Pose(pin.x, pin.y, pin.angle, pin.flipped)))
        for pin in job.spec.nest.pin
    )
