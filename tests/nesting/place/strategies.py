"""Random parts for properties: coordinates are eighths of a millimetre, so that moves by whole numbers are exact."""

import math

from hypothesis import strategies as st

from nesting.wood.part import Part
from vectorize.shapes.outline import Outline


@st.composite
def outlines(draw, smallest=8.0, largest=60.0):
    """A star-shaped polygon of 3 to 9 corners, often concave."""
    corners = draw(st.integers(3, 9))
    size = draw(st.floats(smallest, largest))
    stretch = draw(st.floats(0.4, 1.0))
    points = []
    for k in range(corners):
        radius = size / 2 * draw(st.floats(0.45, 1.0))
        angle = 2 * math.pi * (k + draw(st.floats(-0.2, 0.2))) / corners
        points.append((eighth(radius * math.cos(angle)), eighth(stretch * radius * math.sin(angle))))
    return Outline.from_points(points)


def eighth(value):
    return round(value * 8) / 8


@st.composite
def part_lists(draw, most=5):
    count = draw(st.integers(1, most))
    return [
        Part(
            f"P{k}",
            draw(outlines()),
            "balsa",
            3.0,
            grain_tolerance_deg=draw(st.sampled_from([0.0, 3.0, 90.0])),
            count=draw(st.integers(1, 3)),
            hand=draw(st.sampled_from(["either", "left", "pair"])),
        )
        for k in range(count)
    ]
