"""The nesting rules that `[nest]` asks for."""

from __future__ import annotations

from nesting.job.folder import Job
from nesting.place.problem import NestRules


def rules_of(job: Job) -> NestRules:
    """Return the nesting rules of a job: the tool's defaults, with what `[nest]` says."""
    nest = job.spec.nest
    return NestRules.for_tool(
        nest.tool, kerf_mm=nest.kerf, clearance_mm=nest.clearance, ends_mm=nest.ends, edges_mm=nest.edges
    )
