"""Title blocks, parts lists and their fields: lettered rectangles that are no parts.

A part may be a lettered rectangle too. It stands free and is not ruled; a title block stands in a corner of the plan's
frame or is ruled into fields, and a field of one shares its sides with the next.
"""

from __future__ import annotations

from typing import Literal

import cv2
import numpy as np

from vectorize.faces.cutouts import LETTER_MM
from vectorize.shapes.segment import Points

RECTANGLE_SHARE = 0.97
"""A rectangle fills this much of the smallest one about it."""

LETTERED_SHARE = 0.1
FEWEST_LETTERS = 3
"""So many letters, covering more than this share of a rectangle, may be a field of a title block."""

RULED_SHARE = 0.03
FEWEST_RULED_LETTERS = 8
"""The same for a whole title block, that lines rule into fields."""

CORNER_MM = 12.0
"""A title block lies within this distance of both sides of the frame that make its corner."""

FRAME_SHARE = 0.6
"""What is drawn in one piece over this share of the width and the height of all is a frame."""


def lettered_rectangle(
    edge_mm: Points, *, marks_mm: Points, pen_mm: float, is_ruled: bool, is_free: bool
) -> Literal["title block", "list", None]:
    """Return what a rectangle full of lettering is, None where it may well be a part.

    A 'list' is ruled and lettered but stands free, away from the frame's corners: most likely no part.

    Args:
        edge_mm: (N, 2) points along the boundary in question, in mm: a photograph's are seen from straight above.
        marks_mm: (M, 4) boxes x0, y0, x1, y1 of everything on the sheet that is drawn in one piece.
        pen_mm: Width of the lines: no mark is thinner.
        is_ruled: Whether lines divide what is inside into fields.
        is_free: Whether the boundary is one stroke, and no side of it belongs to anything else.
    """
    points = edge_mm.astype(np.float32)
    (_, (a, b), _) = cv2.minAreaRect(points)
    if cv2.contourArea(points) < RECTANGLE_SHARE * a * b:
        return None
    box = np.concatenate([points.min(axis=0), points.max(axis=0)])
    letters = _letters_in(marks_mm, box)
    covered = float(np.sum(np.prod(np.maximum(letters, pen_mm), axis=1)))
    fewest, share = (FEWEST_RULED_LETTERS, RULED_SHARE) if is_ruled else (FEWEST_LETTERS, LETTERED_SHARE)
    if len(letters) < fewest or covered <= share * a * b:
        return None
    if not is_free or _is_in_corner(marks_mm, box):
        return "title block"
    return "list" if is_ruled else None


def _letters_in(marks: Points, box: Points) -> Points:
    """Return the width and height of every mark of a letter's size within a box."""
    is_inside = np.all(marks[:, :2] > box[:2], axis=1) & np.all(marks[:, 2:] < box[2:], axis=1)
    sizes = marks[is_inside, 2:] - marks[is_inside, :2]
    return np.asarray(sizes[np.max(sizes, axis=1, initial=0) < LETTER_MM], np.float64)


def _is_in_corner(marks: Points, box: Points) -> bool:
    """Return whether a box lies near two adjoining sides of a frame."""
    whole = marks[:, 2:].max(axis=0) - marks[:, :2].min(axis=0)
    frames = marks[np.all(marks[:, 2:] - marks[:, :2] > FRAME_SHARE * whole, axis=1)]
    near = np.abs(frames - box) < CORNER_MM
    return bool(np.any((near[:, 0] | near[:, 2]) & (near[:, 1] | near[:, 3])))
