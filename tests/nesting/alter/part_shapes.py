"""Outlines with lines, arcs and cubics, used by several tests."""

from vectorize.shapes.outline import Outline, Ring
from vectorize.shapes.segment import Arc, Cubic, Line, Segment

#        cubic top
#      ______~~~~~___
#     |              \
#     |     ( )       )  round end, radius 20
#     |______________/
BODY = Outline(
    Ring(
        (
            Line((0, 0), (100, 0)),
            Arc((100, 0), (100, 40), 1.0),
            Cubic((100, 40), (70, 60), (30, 30), (0, 40)),
            Line((0, 40), (0, 0)),
        )
    ),
    (Ring.circle((50, 20), 6),),
)

# A fuselage profile about 300 mm long, nose at x = 0, grain along x.
FUSELAGE = Outline(
    Ring(
        (
            Line((0, 30), (0, 10)),
            Cubic((0, 10), (40, -8), (120, -5), (180, 12)),
            Line((180, 12), (300, 20)),
            Line((300, 20), (300, 32)),
            Line((300, 32), (180, 38)),
            Cubic((180, 38), (120, 46), (40, 48), (0, 30)),
        )
    )
)


def kinds(ring: Ring) -> list[str]:
    return sorted(type(segment).__name__ for segment in ring.segments)


def has_piece(ring: Ring, segment: Segment) -> bool:
    """Say whether the ring holds this very piece, unchanged."""
    return segment in ring.segments
