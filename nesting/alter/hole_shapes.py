"""Outlines of the things that are cut out: round holes, rectangles with round corners, sections."""

from __future__ import annotations

import math

from vectorize.basics.errors import PartError
from vectorize.shapes.outline import Outline, Pose, Ring
from vectorize.shapes.segment import Arc, Line, Point, Segment


def disc(centre: Point, diameter_mm: float) -> Outline:
    """Return a round hole."""
    return Outline(Ring.circle(centre, diameter_mm / 2))


def rounded_rectangle(length_mm: float, width_mm: float, radius_mm: float = 0.0) -> Outline:
    """Return a rectangle about the origin, `length_mm` along x, with corners of `radius_mm`.

    Raises:
        PartError: A radius that does not fit.
    """
    if not 0 <= radius_mm <= min(length_mm, width_mm) / 2 + 1e-9:
        raise PartError(
            f"a corner radius of {radius_mm:g} mm does not fit an opening of {length_mm:g} x {width_mm:g} mm; "
            f"at most {min(length_mm, width_mm) / 2:g} mm does."
        )
    x, y, r = length_mm / 2, width_mm / 2, radius_mm
    if r < 1e-9:
        return Outline.rectangle(-x, -y, x, y)
    bulge = math.tan(math.pi / 8)
    ends: list[Point] = [
        (x - r, -y), (x, -y + r), (x, y - r), (x - r, y), (-x + r, y), (-x, y - r), (-x, -y + r), (-x + r, -y),
    ]  # fmt: skip
    segments: list[Segment] = []
    for i in range(0, 8, 2):
        segments.append(Arc(ends[i], ends[i + 1], bulge))
        start, end = ends[i + 1], ends[(i + 2) % 8]
        if math.dist(start, end) > 1e-9:
            segments.append(Line(start, end))
    return Outline(Ring(tuple(segments)))


def placed(outline: Outline, at: Point, angle_deg: float = 0.0) -> Outline:
    """Return `outline` turned about the origin and then moved to `at`."""
    return outline.placed(Pose(at[0], at[1], angle_deg))


def middle_of_section(outline: Outline, station_mm: float, *, datum: Point, aft: Point, up: Point) -> float | None:
    """Return the height halfway between the lowest and highest wood at a station, or None off the part."""
    from shapely import get_coordinates
    from shapely.geometry import LineString

    polygon = Outline(outline.exterior).to_polygon(0.01)
    x, y = datum[0] + station_mm * aft[0], datum[1] + station_mm * aft[1]
    far = 1e4
    line = LineString([(x - far * up[0], y - far * up[1]), (x + far * up[0], y + far * up[1])])
    section = polygon.intersection(line)
    if section.is_empty:
        return None
    heights = [(px - datum[0]) * up[0] + (py - datum[1]) * up[1] for px, py in get_coordinates(section).astype(float)]
    return float(min(heights) + max(heights)) / 2
