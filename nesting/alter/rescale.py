"""The same part at another model scale: slots for stock keep the thickness of the stock."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Literal

from nesting.alter.frame import Spot
from nesting.alter.hole_shapes import placed, rounded_rectangle
from nesting.alter.step import Change, Setting, Step, fixed, reshaped
from nesting.wood.match import MATCH_MM
from nesting.wood.part import Part
from vectorize.basics.errors import PartError
from vectorize.basics.quantity import Length
from vectorize.shapes.boolean import cut, united
from vectorize.shapes.outline import Outline, Ring
from vectorize.shapes.segment import Line, Point, Segment

BOLT_MM = 6.0
"""Round holes up to this take bolts and dowels, which do not grow with the model (common practice, no source)."""

_SQUARE_DEG = 3.0


@dataclass(frozen=True, slots=True)
class Rescale(Step):
    """A part for a model `factor` times the size.

    Slots whose width is a stock thickness keep that width about their middle line, and so do round holes
    of up to 6 mm. Stock thicknesses are `stock_mm`, or where that is empty those of the boards at hand.

    Args:
        factor: New size over old.
        about: The point that stays in place; by default the origin of the plan's axis.
        stock_mm: Thicknesses of sheet that slots take.
        thickness_mm: Of the part itself at the new scale, where that changes.
    """

    make: Literal["rescale"] = field(default="rescale", kw_only=True, repr=False)
    factor: float
    about: Spot | None = None
    stock_mm: tuple[Length, ...] = ()
    thickness_mm: Length | None = None

    def check(self, part: str, setting: Setting) -> None:
        """Raise PartError for what cannot be, whatever the part is like."""
        if not 0.05 <= self.factor <= 20:
            raise PartError(f"a scale factor of {self.factor:g}; give 0.05 to 20.")

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the part at the new scale, with a note for what kept its size."""
        cx, cy = setting.frame.maybe(self.about) or setting.axis.datum
        k = self.factor
        outline = part.outline.mapped(lambda p: (cx + k * (p[0] - cx), cy + k * (p[1] - cy)))
        stock = self.stock_mm or tuple(sorted({board.true_thickness_mm for board in setting.boards}))
        bolts = [(ring, ring.as_circle()) for ring in part.outline.cutouts]
        kept = sum(1 for _, circle in bolts if circle is not None and 2 * circle[1] <= BOLT_MM)
        cutouts = tuple(_kept_cutout(ring, k, stock) for ring in outline.cutouts)
        outline = Outline(outline.exterior, cutouts)
        notches = stock_notches(outline.exterior, k, stock)
        for notch in notches:
            outline = notch.restored(part, outline)
        slots = len(notches) + sum(_is_slot(ring, stock) for ring in part.outline.cutouts)
        changed = replace(part, outline=outline, thickness_mm=self.thickness_mm or part.thickness_mm)
        text = (
            f"scaled by {k:g}; {slots} slots kept their stock thickness and {kept} round holes up to {BOLT_MM:g} mm "
            "their diameter."
        )
        return Change((changed,), notes=(fixed("rescaled", part, text),))


def _stock(width_mm: float, stock_mm: tuple[float, ...]) -> bool:
    """Return whether a slot of that width takes a stock thickness: with up to 0.3 mm of room."""
    return any(-MATCH_MM <= width_mm - thickness <= 2 * MATCH_MM for thickness in stock_mm)


def _rectangle(ring: Ring) -> tuple[Point, float, float, float] | None:
    """Return (middle, length, width, angle in degrees) where the ring is a rectangle of four lines."""
    pieces = ring.segments
    if len(pieces) != 4 or not all(isinstance(piece, Line) for piece in pieces):
        return None
    corners = [piece.start for piece in pieces]
    diagonals = math.dist(corners[0], corners[2]), math.dist(corners[1], corners[3])
    if abs(diagonals[0] - diagonals[1]) > 0.02 * max(diagonals):
        return None
    middle = (sum(x for x, _ in corners) / 4, sum(y for _, y in corners) / 4)
    long, short = sorted(pieces[:2], key=lambda piece: -piece.length)
    angle = math.degrees(math.atan2(long.end[1] - long.start[1], long.end[0] - long.start[0]))
    return middle, long.length, short.length, angle


def _is_slot(ring: Ring, stock_mm: tuple[float, ...]) -> bool:
    box = _rectangle(ring)
    return box is not None and (_stock(box[1], stock_mm) or _stock(box[2], stock_mm))


def _kept_cutout(ring: Ring, factor: float, stock_mm: tuple[float, ...]) -> Ring:
    """Return a scaled cut-out with what is stock about it back at its old size."""
    circle = ring.as_circle()
    if circle is not None:
        centre, radius = circle
        return Ring.circle(centre, radius / factor) if 2 * radius / factor <= BOLT_MM else ring
    box = _rectangle(ring)
    if box is None:
        return ring
    middle, length, width, angle = box
    old = (length / factor, width / factor)
    sides = tuple(size if _stock(size, stock_mm) else size * factor for size in old)
    if sides == (old[0] * factor, old[1] * factor):
        return ring
    return placed(rounded_rectangle(*sides), middle, angle).exterior


@dataclass(frozen=True, slots=True)
class StockNotch:
    """A slot open at the edge: its mouth, its floor, and the width it should have."""

    mouth: tuple[Point, Point]
    floor: tuple[Point, Point]
    width_mm: Length

    def restored(self, part: Part, outline: Outline) -> Outline:
        """Return `outline` with the slot brought to `width_mm` about its middle line.

        Raises:
            PartError: The part falls apart over it.
        """
        (m1, m2), (a, b) = self.mouth, self.floor
        ux, uy = (b[0] - a[0]) / math.dist(a, b), (b[1] - a[1]) / math.dist(a, b)
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        depth = max(math.dist(m1, a), math.dist(m2, b))
        if math.dist(a, b) > self.width_mm:
            (outline,) = united(outline, Outline.from_points([m1, a, b, m2]))
        # Towards the mouth, at right angles to the floor.
        out = (m1[0] - a[0], m1[1] - a[1])
        nx, ny = (-uy, ux) if out[0] * -uy + out[1] * ux > 0 else (uy, -ux)
        reach, half = depth + self.width_mm, self.width_mm / 2
        corners = [
            (middle[0] + s * half * ux + d * nx, middle[1] + s * half * uy + d * ny)
            for s, d in ((-1, 0.0), (1, 0.0), (1, reach), (-1, reach))
        ]
        pieces = cut(outline, Outline.from_points(corners))
        return reshaped(replace(part, outline=outline), pieces, "keeping a slot at its stock width").outline


def stock_notches(exterior: Ring, factor: float, stock_mm: tuple[float, ...]) -> tuple[StockNotch, ...]:
    """Return the open slots of a ring scaled by `factor` that were as wide as a stock thickness before.

    A slot is two sides at right angles to a floor, both turning into the part, at least half as deep as wide.
    """
    found = []
    pieces = exterior.segments
    for i, floor in enumerate(pieces):
        before, after = pieces[i - 1], pieces[(i + 1) % len(pieces)]
        if not all(isinstance(piece, Line) for piece in (before, floor, after)):
            continue
        if not (_turns_right(before, floor) and _turns_right(floor, after)):
            continue
        is_deep = min(before.length, after.length) >= floor.length / 2
        if is_deep and _stock(floor.length / factor, stock_mm):
            found.append(StockNotch((before.start, after.end), (floor.start, floor.end), floor.length / factor))
    return tuple(found)


def _turns_right(before: Segment, after: Segment) -> bool:
    """Return whether a counter-clockwise ring turns into the part by a right angle here."""
    ax, ay = before.end[0] - before.start[0], before.end[1] - before.start[1]
    bx, by = after.end[0] - after.start[0], after.end[1] - after.start[1]
    turn = math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by))
    return abs(turn + 90) <= _SQUARE_DEG
