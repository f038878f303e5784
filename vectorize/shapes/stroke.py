"""Strokes: what one pull of a pen leaves on a drawing."""

from __future__ import annotations

from dataclasses import dataclass

from vectorize.shapes.segment import Segment


@dataclass(frozen=True, slots=True)
class Stroke:
    """One unbroken pen stroke of a drawing, as exact curves in the coordinates of its page.

    `pen_width` is in the same units, 0 for a hairline or where the file does not say. A shape that
    is filled but not drawn round is a closed stroke with `is_filled` and no pen width. `groups` are all
    names of the groups that it stands in, in formats whose groups nest; `layer` is the outermost one's.
    """

    segments: tuple[Segment, ...]
    is_closed: bool
    layer: str = ""
    pen_width: float = 0.0
    is_dashed: bool = False
    is_filled: bool = False
    groups: tuple[str, ...] = ()
