"""What tracing gives: parts with their outlines, and notes."""

from __future__ import annotations

from dataclasses import dataclass

from vectorize.basics.errors import SheetwoodError
from vectorize.basics.notes import Note
from vectorize.faces.part_pick import OpenOutlineError, PartPick
from vectorize.shapes.alternative import Alternative
from vectorize.shapes.outline import Outline
from vectorize.shapes.segment import Point


@dataclass(frozen=True, slots=True)
class TracedPart:
    """A part's outline in mm on the deskewed page, and where it was picked.

    The sigmas say how sure its edge and area are if the shape is right, `sure` with what probability that is, and
    `alternatives` what else it may be.
    """

    name: str
    outline: Outline
    sigma_edge_mm: float
    sigma_area_mm2: float
    pen_width_mm: float
    inside_px: Point
    sure: float = 1.0
    alternatives: tuple[Alternative, ...] = ()


@dataclass(frozen=True, slots=True)
class Trace:
    """Traced parts, and notes on what was repaired, guessed or left open."""

    parts: tuple[TracedPart, ...]
    notes: tuple[Note, ...] = ()


def open_part(pick: PartPick, error: SheetwoodError) -> Note:
    """Return the note of a part that could not be traced, at the place to look at."""
    at = pick.inside[0] if pick.inside else None
    if isinstance(error, OpenOutlineError) and error.at is not None:
        at = error.at
    return Note("open-part", f"{pick.name}: {error}", state="open", part=pick.name, at=at)
