"""Balloons: numbers in rings, with leaders to the parts that a list describes under these numbers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from nesting.job.draft.drafted import Said
from vectorize.marks.leaders import find_leaders
from vectorize.marks.lettering import Text
from vectorize.shapes.segment import Point, Points

if TYPE_CHECKING:
    from vectorize.faces.sheet import Drawing

LEAST_MM, MOST_MM = 4.0, 16.0
"""Diameters of balloons."""

ROUND = 0.15
"""Height and width of a ring differ by less than this share."""

LEAST_FILLED = 0.45
"""The number leaves at least this share of the ring's inside free; a square has more than a circle can."""

MOST_FILLED = 1.1

LEAST_READ = 0.5
"""A text that is a number less surely than this is the name beside a hole: an r3 is read as 13 now and then."""


@dataclass(frozen=True, slots=True, eq=False)
class Balloon:
    """A mark in a ring: the number of its text, the ring's box in pixels (4, 2), and where its leader ends, if any."""

    mark: str
    text: int
    ring: Points
    tip: Point | None


def find_balloons(
    drawing: Drawing, said: Sequence[Said], texts: Sequence[Text], *, px_per_mm: float
) -> tuple[Balloon, ...]:
    """Return the balloons of a sheet."""
    rings = [
        (one, ring)
        for one in said
        if one.number is not None
        and one.number.sure > LEAST_READ
        and (ring := _ring(drawing, np.array(texts[one.text].box_px), px_per_mm)) is not None
    ]
    boxes = [ring for _, ring in rings]
    work = drawing.regions.work
    tips = find_leaders(work, boxes, px_per_mm=px_per_mm, pen_px=drawing.pen_px, starts_anywhere=True)
    return tuple(
        Balloon(one.number.value, one.text, ring, tips.get(k)) for k, (one, ring) in enumerate(rings) if one.number
    )


def _ring(drawing: Drawing, box: Points, px_per_mm: float) -> Points | None:
    """Return the box of the ring round a text, None where there is none."""
    regions = drawing.regions
    shares = np.linspace(-0.1, 1.1, 7)
    spots = [box[0] + x * (box[1] - box[0]) + y * (box[3] - box[0]) for x in shares for y in shares]
    near = {region for x, y in spots if (region := regions.at((float(x), float(y))))}
    for region in sorted(near - regions.outside):
        left, top, right, bottom = regions.boxes[region].tolist()
        wide, high = right - left, bottom - top
        if not (LEAST_MM * px_per_mm < wide < MOST_MM * px_per_mm and abs(wide / max(high, 1.0) - 1) < ROUND):
            continue
        if LEAST_FILLED < float(regions.area_px[region]) / (math.pi / 4 * wide * high) < MOST_FILLED:
            return np.array([(left, top), (right, top), (right, bottom), (left, bottom)])
    return None
