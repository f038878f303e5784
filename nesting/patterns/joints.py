"""Joining marks: where two pages meet, and the quartered discs that are laid on each other."""

from __future__ import annotations

import math

from shapely.geometry import LineString
from shapely.geometry import Point as Spot
from shapely.geometry.base import BaseGeometry

from nesting.patterns.drawing import Drawing, Fill, Layer, Stroke, Text, draw_line
from nesting.patterns.tiles import Joint
from vectorize.curve import Line, Point
from vectorize.outline import Ring

MARK_RADIUS_MM = 2.5
EDGE_CLEAR_MM = 1.5


def draw_joint(drawing: Drawing, joint: Joint, drawn: BaseGeometry) -> None:
    """Draw the line to cut and lay at, and two quartered discs on it, clear of what is drawn if that can be.

    The line stops short of every drawn edge, so that nothing blurs the line to saw.
    """
    line = LineString([joint.begin, joint.end]).difference(drawn.buffer(EDGE_CLEAR_MM))
    for piece in getattr(line, "geoms", [line]):
        if piece.length > EDGE_CLEAR_MM:
            draw_line(drawing, *piece.coords, layer=Layer.JOIN)
    upright = joint.begin[0] == joint.end[0]
    for x, y in mark_places(joint, drawn):
        draw_quartered(drawing, (x, y))
        at = (x + 0.9, y + 3.2) if upright else (x + 3.2, y + 0.7)
        drawing.draw(Text(joint.label, at, 1.8, 90.0 if upright else 0.0, "start", layer=Layer.PAGE))


def mark_places(joint: Joint, drawn: BaseGeometry) -> tuple[Point, Point]:
    """Return where the two discs sit: near a fifth and four fifths of the joint, off the drawn lines."""
    (x0, y0), (x1, y1) = joint.begin, joint.end
    length = math.hypot(x1 - x0, y1 - y0)

    def at(share: float) -> Point:
        return (x0 + share * (x1 - x0), y0 + share * (y1 - y0))

    places = []
    for wanted in (0.2, 0.8):
        shares = sorted((wanted + step / 100 for step in range(-14, 15)), key=lambda share: abs(share - wanted))
        clear = MARK_RADIUS_MM + 1.0
        free = (s for s in shares if length * min(s, 1 - s) > clear and drawn.distance(Spot(at(s))) > clear)
        places.append(at(next(free, wanted)))
    return places[0], places[1]


def draw_quartered(drawing: Drawing, at: Point) -> None:
    """Draw a circle with two opposite quarters filled: its centre can be seen and measured to a hair."""
    x, y = at
    r = MARK_RADIUS_MM
    drawing.draw(Stroke(Ring.circle(at, r).segments, Layer.PAGE, is_closed=True))
    for sign in (1.0, -1.0):
        corner = Ring.circle(at, r).segments[0]
        quarter = [corner.point_at(i / 16) for i in range(9)]
        points = [(x + sign * (px - x), y + sign * (py - y)) for px, py in quarter]
        drawing.draw(Fill(Ring.from_points([at, *points]), Layer.PAGE))
    for end in (
        (x - r - 1.5, y, x - r, y),
        (x + r, y, x + r + 1.5, y),
        (x, y - r - 1.5, x, y - r),
        (x, y + r, x, y + r + 1.5),
    ):
        drawing.draw(Stroke((Line(end[:2], end[2:]),), Layer.PAGE))
