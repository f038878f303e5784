"""Lettering that the first look at a page missed, found by a second one from nearer.

Whether the detector sees a mark of two letters depends on its height in the reduced page, and on how it falls on the
pixels there: an R1 that one look leaves out stands out in another.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from vectorize.marks.lettering.detect import find_lettering
from vectorize.marks.lettering.text_box import TextBox

Grey = NDArray[np.uint8]

NEARER = 1.25
"""The second look is in this many times the resolution of the first. Of six names that the first left out on eight
sheets it found four; a look from 0.8 times as near four, two of them hardly read; one from 1.5 times three."""

APART_SHARE = 0.1
"""Boxes that share more than this of the smaller one hold the same lettering."""


def find_overlooked(grey: Grey, boxes: Sequence[TextBox], *, px_per_mm: float) -> tuple[TextBox, ...]:
    """Return the boxes of lettering that is in none of `boxes`, from top to bottom and then from left to right.

    Args:
        grey: (rows, columns) 0 black to 255 white; light lettering on a dark sheet is turned over.
        boxes: Where lettering was found.
        px_per_mm: Pixels per millimetre, within a factor of two.
    """
    tree = shapely.STRtree([shapely.Polygon(box.points) for box in boxes])
    return tuple(box for box in find_lettering(grey, px_per_mm=px_per_mm / NEARER) if not _is_among(box, tree))


def _is_among(box: TextBox, tree: shapely.STRtree) -> bool:
    area = shapely.Polygon(box.points)
    near = tree.geometries[tree.query(area, predicate="intersects")]
    shared = shapely.area(shapely.intersection(near, area))
    return bool(np.any(shared > APART_SHARE * np.minimum(shapely.area(near), area.area)))
