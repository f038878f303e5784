"""How the plans of a job stand, as the JSON that the page shows. Nothing here reads a file or changes anything."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from nesting.desk.standing import PlanState, Standing
from nesting.job.schema import JobSpec, PlanTable
from vectorize.basics.quantity import Pixel
from vectorize.page import PageInfo
from vectorize.scale.plan_scale import PlanScale

if TYPE_CHECKING:
    from vectorize.scale.lens import Lens


def plans_view(spec: JobSpec, standing: Standing | None) -> list[dict[str, Any]]:
    """Return every plan with its known dimensions, scale and what was said of it."""
    known = {plan.name: plan for plan in standing.plans} if standing else {}
    return [_plan(number, table, known.get(table.name)) for number, table in enumerate(spec.plan)]


def _plan(number: int, table: PlanTable, state: PlanState | None) -> dict[str, Any]:
    scale = state.scale if state else None
    residuals = scale.residuals if scale else ()
    dimensions = [
        {
            "from": place_on_sheet(known.start, state),
            "to": place_on_sheet(known.end, state),
            "length_mm": known.length,
            "residual_mm": round(residuals[i].error_mm, 4) if i < len(residuals) else None,
        }
        for i, known in enumerate(table.known)
    ]
    return {
        "number": number,
        "name": table.name,
        "file": table.file or ", ".join(table.files),
        "page": table.page,
        "edge": table.edge,
        "size": table.size,
        "axes": table.axes,
        "flatten": list(table.flatten),
        "gap_mm": table.gap,
        "layers": None if table.layers is None else list(table.layers),
        "sheet": table.sheet,
        "corners": None if table.corners is None else [list(corner) for corner in table.corners],
        "bridges": [
            {"from": place_on_sheet(bridge.start, state), "to": place_on_sheet(bridge.end, state)}
            for bridge in table.bridge
        ],
        "is_drawing": state.is_drawing if state else False,
        "pages": [_page(info) for info in state.pages] if state else [],
        "known": dimensions,
        "scale": scale_view(scale),
        "notes": [note.as_json() for note in state.notes] if state else [],
        "fault": state.fault if state else None,
    }


def place_on_sheet(pixel: Pixel, state: PlanState | None) -> list[float]:
    """Return a point of a plan's files on the sheet as the page shows it."""
    return list(state.places.get(pixel, pixel[:2]) if state else pixel[:2])


def _page(info: PageInfo) -> dict[str, Any]:
    return {
        "number": info.number,
        "kind": info.kind,
        "width": info.width,
        "height": info.height,
        "size_mm": None if info.size_mm is None else list(info.size_mm),
        "layers": list(info.layers),
    }


def scale_view(scale: PlanScale | None) -> dict[str, Any] | None:
    """Return a plan scale: its factors, its page, its doubt, and the map from pixels to millimetres."""
    if scale is None:
        return None
    return {
        "mm_per_px": list(scale.mm_per_px),
        "skew_deg": scale.skew_deg,
        "page_mm": list(scale.page_mm),
        "sigma": scale.doubt.sigma,
        "is_true_size": scale.is_true_size,
        "matrix": scale.matrix.tolist(),
        "lens": _lens(scale.lens),
    }


def _lens(lens: Lens | None) -> dict[str, Any] | None:
    """Return the bulge that the page takes out before, and puts in after, the matrix."""
    if lens is None:
        return None
    return {"strength": lens.strength, "centre": list(lens.centre), "reach_px": lens.reach_px}
