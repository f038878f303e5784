"""Joining marks: where two pages meet, and the quartered discs that are laid on each other."""

from __future__ import annotations

import math

from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as Spot
from shapely.geometry.base import BaseGeometry

from nesting.patterns.drawing import Drawing, Fill, Layer, Stroke, Text, draw_line, text_corners
from nesting.patterns.paper_tiles import Joint
from vectorize.shapes.outline import Ring
from vectorize.shapes.segment import Line, Point

MARK_RADIUS_MM = 2.5
EDGE_CLEAR_MM = 1.5


def draw_joint(drawing: Drawing, joint: Joint, ink: BaseGeometry) -> None:
    """Draw the line to cut and lay at, and two quartered discs on it, clear of all `ink` if that can be.

    The line stops short of every drawn edge and word, so that nothing blurs the line to saw.
    """
    line = LineString([joint.begin, joint.end]).difference(ink.buffer(EDGE_CLEAR_MM))
    for piece in getattr(line, "geoms", [line]):
        if piece.length > EDGE_CLEAR_MM:
            draw_line(drawing, *piece.coords, layer=Layer.JOIN)
    for at in mark_places(joint, ink):
        draw_quartered(drawing, at)
        drawing.draw(_label(joint, at))


def _label(joint: Joint, at: Point) -> Text:
    x, y = at
    is_upright = joint.begin[0] == joint.end[0]
    start = (x + 2.2, y + 3.2) if is_upright else (x + 3.2, y + 0.9)
    return Text(joint.label, start, 1.8, 90.0 if is_upright else 0.0, "start", layer=Layer.PAGE)


def mark_places(joint: Joint, ink: BaseGeometry) -> tuple[Point, Point]:
    """Return where the two discs sit: near a fifth and four fifths of the joint, they and their label off the ink."""
    (x0, y0), (x1, y1) = joint.begin, joint.end
    length = math.hypot(x1 - x0, y1 - y0)

    def at(share: float) -> Point:
        return (x0 + share * (x1 - x0), y0 + share * (y1 - y0))

    def is_clear(share: float) -> bool:
        spot = at(share)
        taken = Spot(spot).buffer(MARK_RADIUS_MM).union(Polygon(text_corners(_label(joint, spot))))
        return length * min(share, 1 - share) > 3 * MARK_RADIUS_MM and ink.distance(taken) > 1.0

    places = []
    for wanted in (0.2, 0.8):
        shares = sorted((wanted + step / 100 for step in range(-25, 26)), key=lambda s: abs(s - wanted))
        places.append(at(next(filter(is_clear, shares), wanted)))
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
