"""Lines of lettering that belong together: a name with what stands under it.

Joined are lines that run the same way, with no more than about a line between them, side by side or one under the
other, as long as they do not say the same thing twice.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from shapely import Geometry
from shapely.geometry import MultiPoint, Polygon

from nesting.job.draft.drafted import Said, Value
from nesting.job.draft.grammar import KNOWN_NAME
from vectorize.marks.lettering import Text
from vectorize.shapes.segment import Points

LEAN_DEG = 8.0
"""Lines of one label run the same way within this."""

UNDER = 1.3
"""Between the lines of a label lie at most so many heights of the taller one."""

AFTER = 1.6
"""Between the pieces of one line lie at most so many heights."""

TALLER = 1.15
"""A line this many times as tall as the others of its label is the name."""

HEADING = 2.0
"""What unknown words on top of a label gain as a name, and the tallest of several; misread ones stay misread."""

UNKNOWN = 0.5
"""Letters that are a name less surely than this are none."""

IN_LINE = 3.0
CUT_OFF = 0.6
"""What a name is sure if letters go on within so many heights of it: a line of worn lettering is read in pieces."""

PARTS = ("name", "material", "thickness_mm", "count", "hand", "length_mm")


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """Lines that make one label: what they say, where they stand, and their area in pixels."""

    said: tuple[Said, ...]
    area: Geometry

    def best(self, kind: str) -> Value[Any] | None:
        """Return the surest value of a kind that any line of the label gives."""
        values = [value for one in self.said if (value := getattr(one, kind)) is not None]
        return max(values, key=lambda value: value.sure, default=None)

    @property
    def is_sheet(self) -> bool:
        """Whether it says that the part is of sheet, and not of which wood."""
        return any(one.is_sheet for one in self.said)


def box_of(text: Text) -> Polygon:
    """Return the box of a line of lettering."""
    return Polygon(text.box_px)


def make_blocks(said: Sequence[Said], texts: Sequence[Text], homes: Mapping[int, int | None]) -> list[Block]:
    """Return the labels that lines make; lines in different parts (`homes`) are never one label."""
    telling = [
        _less_sure_if_cut(one, said, texts)
        for one in said
        if (one.tells and not one.is_grain) or one.length_mm is not None
    ]
    groups: list[list[Said]] = [[one] for one in telling]
    pairs = sorted(
        (gap, i, j)
        for i, first in enumerate(telling)
        for j, second in enumerate(telling[:i])
        if homes[first.text] == homes[second.text] and (gap := _gap(texts[first.text], texts[second.text])) is not None
    )
    of = list(range(len(telling)))
    for _, i, j in pairs:
        if of[i] != of[j] and not _clash(groups[of[i]], groups[of[j]]):
            kept, gone = of[i], of[j]
            groups[kept] += groups[gone]
            groups[gone] = []
            of = [kept if k == gone else k for k in of]
    return [_block(group, texts) for group in groups if group]


def _less_sure_if_cut(one: Said, said: Sequence[Said], texts: Sequence[Text]) -> Said:
    """Return a line with its name less sure where letters that say nothing go on in line with it: WING CRA."""
    if one.name is None:
        return one
    others = (other for other in said if other.text != one.text and _says_nothing(other, texts[other.text]))
    goes_on = any(_is_in_line(texts[one.text], texts[other.text]) for other in others)
    return replace(one, name=one.name.times(CUT_OFF)) if goes_on else one


def _says_nothing(one: Said, text: Text) -> bool:
    """Return whether a line is letters that are no name and mean nothing."""
    is_known = one.material or one.thickness_mm or one.count or one.hand or one.is_sheet or one.is_grain or one.number
    is_name = one.name is not None and one.name.sure >= UNKNOWN
    return sum(map(str.isalpha, text.text)) >= 2 and text.sure > UNKNOWN and not (is_known or is_name or one.is_remark)


def _is_in_line(first: Text, second: Text) -> bool:
    """Return whether a text goes on in line with another, in letters as high as its own."""
    a, b = np.array(first.box_px), np.array(second.box_px)
    along = (a[1] - a[0]) / max(math.dist(a[0], a[1]), 1e-9)
    low, high = sorted((_height(a), _height(b)))
    aside, under = (_between(a @ axis, b @ axis) / high for axis in (along, np.array([-along[1], along[0]])))
    return bool(under < -0.5 and -0.2 < aside < IN_LINE and low > 0.7 * high)


def _gap(first: Text, second: Text) -> float | None:
    """Return how far apart two lines of a label stand, in heights; None if they cannot be of one."""
    lean = abs((first.turn_deg - second.turn_deg + 180) % 360 - 180)
    a, b = np.array(first.box_px), np.array(second.box_px)
    if lean > LEAN_DEG and min(len(first.text), len(second.text)) > 2:
        return None
    longer = a if math.dist(a[0], a[1]) >= math.dist(b[0], b[1]) else b
    along = (longer[1] - longer[0]) / max(math.dist(longer[0], longer[1]), 1e-9)
    down = np.array([-along[1], along[0]])
    height = max(_height(a), _height(b))
    aside, under = (_between(a @ axis, b @ axis) / height for axis in (along, down))
    if under < UNDER and aside < 0:
        return max(under, 0.0)
    return aside if under < -0.3 and aside < AFTER else None


def _height(box: Points) -> float:
    return max(1.0, math.dist(box[1], box[2]))


def _between(first: Points, second: Points) -> float:
    """Return the room between two spans of a line, below 0 where they overlap."""
    return float(max(first.min(), second.min()) - min(first.max(), second.max()))


def _clash(first: Sequence[Said], second: Sequence[Said]) -> bool:
    """Return whether two labels both give a value of one kind, and not the same."""
    for kind in PARTS[:-1]:
        values = [{getattr(one, kind).value for one in group if getattr(one, kind)} for group in (first, second)]
        if kind == "hand":
            continue
        if all(values) and values[0] != values[1]:
            if kind == "name" and min(_surest_name(first), _surest_name(second)) < 0.5:
                continue
            return True
    return False


def _surest_name(group: Sequence[Said]) -> float:
    return max((one.name.sure for one in group if one.name is not None), default=0.0)


def _block(group: Sequence[Said], texts: Sequence[Text]) -> Block:
    """Return a label; words that are no known name count more on top of what tells wood or count."""
    tells_wood = any(one.thickness_mm or one.count or one.material for one in group)
    heights = {one.text: _height(np.array(texts[one.text].box_px)) for one in group}
    named = [one for one in group if one.name is not None]
    others = [heights[one.text] for one in group if one.name is None]
    lines = []
    for one in group:
        share = 1.0
        if one.name is not None and tells_wood and len(named) == 1:
            share = HEADING if not others or heights[one.text] > TALLER * max(others) else 0.75 * HEADING
        lines.append(_with_name_times(one, share))
    corners = [corner for one in group for corner in texts[one.text].box_px]
    return Block(tuple(lines), MultiPoint(corners).convex_hull)


def _with_name_times(one: Said, share: float) -> Said:
    if one.name is None or share == 1.0:
        return one
    return replace(one, name=replace(one.name, sure=min(KNOWN_NAME * one.name_read, one.name.sure * share)))
