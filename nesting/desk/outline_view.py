"""Outlines as the JSON that the page draws: in millimetres, and in pixels of the plan that they were traced on."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from nesting.job.store import StoredOutline
from vectorize.scale.plan_scale import PlanScale
from vectorize.shapes.alternative import Alternative
from vectorize.shapes.outline import Outline
from vectorize.trace.traced import Trace

CHORD_MM = 0.03
"""Finer than a screen shows at any zoom that is of use; what is cut is never made from these points."""

_LENS_STEPS = 100
"""Steps along a page of a photo that a lens bent: between two, no line bows by a pixel."""


def outline_view(stored: StoredOutline, scale: PlanScale | None) -> dict[str, Any]:
    """Return an outline in millimetres and, where there is a scale, in pixels of its plan."""
    outline = stored.outline
    return {
        "outline": rings_mm(outline),
        "shape": outline.as_json(),
        "outline_px": None if scale is None else rings_px(outline, scale),
        "filled_px": []
        if scale is None
        else [ring for hole in stored.filled for ring in rings_px(Outline(hole), scale)],
        "area_mm2": outline.area_mm2,
        "perimeter_mm": outline.perimeter_mm,
        "size_mm": list(outline.size_mm),
        "centroid_mm": list(outline.centroid),
        "sigma_edge_mm": stored.traced.sigma_edge_mm,
        "sigma_area_mm2": stored.traced.sigma_area_mm2,
        "pen_width_mm": stored.pen_width_mm,
        "sure": stored.sure,
        "alternatives": [_alternative_view(other, scale) for other in stored.alternatives],
        "is_corrected": any(note.code == "corrected" for note in stored.notes),
        "notes": [note.as_json() for note in stored.notes],
    }


def _alternative_view(other: Alternative, scale: PlanScale | None) -> dict[str, Any]:
    """Return another reading of a part with its rings as the page draws them."""
    rings = {
        "outline": rings_mm(other.outline),
        "outline_px": None if scale is None else rings_px(other.outline, scale),
    }
    return other.as_json() | rings


def rings_mm(outline: Outline) -> list[list[list[float]]]:
    """Return the exterior and then the cut-outs as points in millimetres."""
    return [[[round(x, 3), round(y, 3)] for x, y in ring.flattened(CHORD_MM).tolist()] for ring in outline.rings]


def rings_px(outline: Outline, scale: PlanScale) -> list[list[list[float]]]:
    """Return the exterior and then the cut-outs as points in pixels of the plan that they were traced on."""
    most_mm = math.inf if scale.lens is None else max(scale.page_mm) / _LENS_STEPS
    rings = [scale.to_px(_spaced(ring.flattened(CHORD_MM), most_mm)) for ring in outline.rings]
    return [[[round(x, 2), round(y, 2)] for x, y in ring.tolist()] for ring in rings]


def _spaced(ring_mm: NDArray[np.float64], most_mm: float) -> NDArray[np.float64]:
    """Return a closed ring with no point farther than `most_mm` from the next: a lens bends the lines between."""
    steps = np.roll(ring_mm, -1, axis=0) - ring_mm
    counts = np.maximum(1, np.ceil(np.hypot(*steps.T) / most_mm)).astype(int)
    return np.vstack(
        [
            start + step * (np.arange(n) / n)[:, None]
            for start, step, n in zip(ring_mm, steps, counts.tolist(), strict=True)
        ]
    )


def regions_view(trace: Trace, scale: PlanScale) -> list[dict[str, Any]]:
    """Return the closed shapes of a plan, in pixels, with their sizes."""
    return [
        {
            "name": part.name,
            "at": [round(value, 1) for value in part.inside_px],
            "outline_px": rings_px(part.outline, scale),
            "size_mm": [round(value, 2) for value in part.outline.size_mm],
            "area_mm2": round(part.outline.area_mm2, 2),
            "perimeter_mm": round(part.outline.perimeter_mm, 2),
        }
        for part in trace.parts
    ]
