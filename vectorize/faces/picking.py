"""Which regions of a page a pick means."""

from __future__ import annotations

import functools
import logging
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar

import cv2
from shapely.errors import ShapelyError

from vectorize.basics.errors import OutlineError, PickError, SheetwoodError
from vectorize.faces.leaks import Gap, find_gap
from vectorize.faces.part_pick import OpenOutlineError, PartPick
from vectorize.shapes.outline import check_outline
from vectorize.shapes.segment import Point

if TYPE_CHECKING:
    from vectorize.faces.any_sheet import Sheet
    from vectorize.scale.plan_scale import PlanScale

_Asked = ParamSpec("_Asked")
_Traced = TypeVar("_Traced")

BROKEN_DOWN = (ShapelyError, cv2.error, ValueError, ArithmeticError, IndexError)
"""What the libraries that geometry is done with raise where lines make no shape; linear algebra's is a ValueError."""

SPECK_MM = 2.0
"""A region smaller than a square of this side is a speck: a pick in it means the region around."""


def guarded(trace: Callable[_Asked, _Traced]) -> Callable[_Asked, _Traced]:
    """Return `trace`, which makes one part, so that what a library stumbles over becomes a PickError of that part.

    Dots of a coarse tint or crossing hatching can enclose slivers that have no three different corners. A part whose
    edge crosses itself is refused too: no later stage can weigh, lay or cut it.
    """

    @functools.wraps(trace)
    def one_part(*asked: _Asked.args, **how: _Asked.kwargs) -> _Traced:
        try:
            made = trace(*asked, **how)
            _refuse_crossing(made[0] if isinstance(made, tuple) else made)
            return made
        except SheetwoodError:
            raise
        except BROKEN_DOWN as error:
            logging.getLogger(__name__).info("a part could not be measured", exc_info=error)
            raise PickError(
                "the lines around the pick enclose no shape that can be measured, as dots of a tint or hatching may; "
                "pick another place in the part, or draw its outline at the desk."
            ) from error

    return one_part


def _refuse_crossing(part: Any) -> None:  # noqa: ANN401 - TracedPart, whose module imports this one
    try:
        check_outline(part.outline, what="the shape that the lines around the pick enclose")
    except OutlineError as error:
        said = str(error).removesuffix("draw it without crossings.")
        raise PickError(f"{said}pick another place in the part, or draw its outline at the desk.") from error


def picked_regions(drawing: Sheet, scale: PlanScale, pick: PartPick, point: Point) -> frozenset[int]:
    """Return the region at a pick; both beside a line under it that only runs through the part, as a crease does.

    Raises:
        PickError: The pick is outside the page, on a line that may be an edge, or in a region that is not closed.
    """
    where = scale.told(point)
    regions = drawing.regions
    if regions.at(point) is None:
        columns, rows = regions.extent
        raise PickError(f"the pick at {where} is outside the page of {columns:.0f} x {rows:.0f}; pick inside the part.")
    # A crease or a blot may lie under the pick; what it encloses is no part, so the region around is meant.
    speck = SPECK_MM * scale.px_per_mm
    near: set[int] = set()
    for reach in (0.6 * drawing.pen_px, speck / 2, speck):
        near = near or {r for r in regions.near(point, reach) if regions.area_px[r] >= speck**2 or r in regions.outside}
    if len(near) != 1:
        if near & regions.outside or not _grow_into_each_other(drawing, scale, pick, point, near):
            raise PickError(f"the pick at {where} lies on a line; move it into the part.")
        return frozenset(near)
    (region,) = near
    if region in regions.outside:
        raise _open_outline(where, find_gap(regions.mask(region), point), scale)
    return frozenset({region})


def _grow_into_each_other(drawing: Sheet, scale: PlanScale, pick: PartPick, point: Point, near: set[int]) -> bool:
    """Return whether the regions beside a pick are of one part, from whichever of them it grows."""
    grower = drawing.grower(scale.px_per_mm, pick.mirror)
    grown = [grower.grown(frozenset({region}), point, line=pick.line).regions for region in near]
    return bool(near) and all(near <= found for found in grown)


def _open_outline(where: str, gap: Gap | None, scale: PlanScale) -> OpenOutlineError:
    if gap is None:
        text = (
            f"the pick at {where} is not inside a closed outline but on the open ground of the sheet. "
            "Pick inside a part, or raise the gap that is bridged."
        )
        return OpenOutlineError(text, None)
    width = gap.width_px / scale.px_per_mm
    text = (
        f"the outline around {where} is open: {width:.1f} mm near {scale.told(gap.at)}. "
        "Raise the gap that is bridged above that, or draw the line closed."
    )
    return OpenOutlineError(text, gap.at)
