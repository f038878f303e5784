"""Labels and the parts that they belong to: inside them, at the end of a leader, or beside them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from scipy.optimize import linear_sum_assignment
from shapely.geometry import Point as Spot
from shapely.geometry import Polygon

from nesting.job.draft.blocks import Block
from nesting.job.draft.drafted import Value
from nesting.job.draft.parts_list import Row, same_name
from vectorize.shapes.segment import Point, Points

FAR_MM = 25.0
"""A label farther from a part than this is not beside it."""

BESIDE_SURE = 0.97
ONE_LEFT_SHARE = 0.5
"""A label is taken to be beside a part if the next part that could have it is twice as far away."""

LEAST_MARGIN = 0.1
"""A label that another part is as near to belongs to neither."""

LEADER_SURE = 0.97
"""How surely a leader that was followed leads to the part of its label."""

REMARK_SHARE = 0.4
"""What a value counts in a remark, such as 'ply doubler each side': it may be on something else in the part."""

DOUBTS = 0.45
"""A value surer than this casts doubt on another one for the same part."""

ACROSS_SHARE = 0.5
"""A label lies in a part if at least this share of it does."""

TIP_MM = 1.0
"""A leader to a part may stop short of its edge by this."""

KINDS = ("name", "material", "thickness_mm", "count", "hand")


@dataclass(frozen=True, slots=True, eq=False)
class Region:
    """A region that may be a part: a pixel in it, its boundary in pixels (N, 2), and the area within."""

    inside: Point
    boundary: Points
    area: Polygon
    is_dashed: bool = False


@dataclass(slots=True)
class Labelled:
    """What labels say of a region, and the ends of the grain arrow in it."""

    values: dict[str, Value[Any]] = field(default_factory=dict)
    is_sheet: bool = False
    grain: tuple[Point, Point] | None = None


def home_of(box: Polygon, regions: Sequence[Region]) -> int | None:
    """Return the smallest region that most of a box lies in."""
    found = [
        (region.area.area, k)
        for k, region in enumerate(regions)
        if region.area.intersects(box) and region.area.intersection(box).area >= ACROSS_SHARE * box.area
    ]
    return min(found)[1] if found else None


def join_labels(
    blocks: Sequence[Block],
    regions: Sequence[Region],
    *,
    homes: Mapping[int, int | None],
    tips: Mapping[int, Point],
    px_per_mm: float,
) -> list[Labelled]:
    """Return what the labels say of every region.

    Args:
        blocks: The labels.
        regions: What may be parts.
        homes: For each text, the region that it stands in.
        tips: Where the leader of a text ends, for those that have one.
        px_per_mm: Pixels per millimetre.
    """
    labelled = [Labelled() for _ in regions]
    outside: list[Block] = []
    for block in blocks:
        home, sure = homes[block.said[0].text], 1.0
        if home is None:
            home, sure = _led(block, regions, tips, px_per_mm), LEADER_SURE
        if home is None:
            outside.append(block)
        else:
            _take(labelled[home], block, sure)
    _beside(outside, regions, labelled, px_per_mm)
    return labelled


def _led(block: Block, regions: Sequence[Region], tips: Mapping[int, Point], px_per_mm: float) -> int | None:
    """Return the region that a label's leader ends in, or on the edge of."""
    ends = [tips[one.text] for one in block.said if one.text in tips]
    return reached(ends[0], regions, px_per_mm) if ends else None


def reached(tip: Point, regions: Sequence[Region], px_per_mm: float) -> int | None:
    """Return the smallest region that a leader ends in, or on the edge of."""
    spot = Spot(tip)
    found = [(r.area.area, k) for k, r in enumerate(regions) if r.area.distance(spot) < TIP_MM * px_per_mm]
    return min(found)[1] if found else None


def _take(labelled: Labelled, block: Block, sure: float) -> None:
    """Add what a label says of a region; two labels that contradict each other leave both doubtful."""
    labelled.is_sheet |= block.is_sheet
    for kind in KINDS:
        value = block.best(kind)
        if value is None:
            continue
        value = value.times(sure)
        if kind != "name" and kind != "hand" and any(one.is_remark for one in block.said if one.text == value.text):
            value = value.times(REMARK_SHARE)
        before = labelled.values.get(kind)
        labelled.values[kind] = value if before is None else _of_two(before, value, kind)
    if "thickness_mm" not in labelled.values and (length := block.best("length_mm")) is not None:
        labelled.values["thickness_mm"] = length.times(sure * _length_share(block))


def _length_share(block: Block) -> float:
    """Return how surely a length without words is the thickness that a label states."""
    if block.is_sheet or block.best("material") is not None:
        return 1.0  # the line was read in two pieces
    has_name = (name := block.best("name")) is not None and name.sure > 0.8
    return 0.9 if has_name else 0.4


def _of_two(first: Value[Any], second: Value[Any], kind: str) -> Value[Any]:
    best, other = (first, second) if first.sure >= second.sure else (second, first)
    if best.value == other.value:
        return replace(best, sure=1 - (1 - best.sure) * (1 - other.sure))
    share = 0.5 if kind == "name" else 0.9
    sure = best.sure * (1 - share * other.sure) if other.sure > DOUBTS else best.sure
    return replace(best, sure=sure, others=(*best.others, (other.value, other.sure)))


def take_rows(rows: Iterable[Row], labelled: Sequence[Labelled], pointed: Mapping[str, int]) -> None:
    """Give the rows of a parts list to the regions with their names, or that balloons with their marks point at.

    Args:
        rows: The rows.
        labelled: What labels say of every region; what a row says is added.
        pointed: The region that each mark points at.
    """
    for row in rows:
        home, sure = _of_row(row, labelled, pointed)
        if home is None:
            continue
        values = labelled[home].values
        told = dict(row.values) if row.name is None else {"name": row.name, **row.values}
        for kind, value in told.items():
            before = values.get(kind)
            values[kind] = value.times(sure) if before is None else _of_two(before, value.times(sure), kind)


def _of_row(row: Row, labelled: Sequence[Labelled], pointed: Mapping[str, int]) -> tuple[int | None, float]:
    """Return the region that a row of a list is on, and how surely."""
    if row.mark in pointed:
        return pointed[row.mark], LEADER_SURE
    wanted_names = [] if row.name is None else [row.name.value]
    for wanted in (*wanted_names, *([] if row.mark.isdecimal() else [row.mark])):
        named = [
            k for k, one in enumerate(labelled) if "name" in one.values and same_name(one.values["name"].value, wanted)
        ]
        if len(named) == 1:
            return named[0], min(1.0, labelled[named[0]].values["name"].sure + 0.02)
    return None, 0.0


def _beside(blocks: Sequence[Block], regions: Sequence[Region], labelled: list[Labelled], px_per_mm: float) -> None:
    """Give labels that stand free to the parts beside them, each kind once a part, the nearest taken together."""
    named = [b for b in blocks if (name := b.best("name")) is not None and name.sure > 0.5]
    for some in (named, [block for block in blocks if block not in named]):
        told = [block for block in some if _tells_apart(block)]
        if not told or not regions:
            continue
        away = np.array([[r.area.distance(b.area) / px_per_mm for r in regions] for b in told])
        away[away > FAR_MM] = np.inf
        for i, block in enumerate(told):
            for k, one in enumerate(labelled):
                if _is_told(one, block):
                    away[i, k] = np.inf
        rows, columns = linear_sum_assignment(np.where(np.isfinite(away), away, 1e4))
        for i, k in zip(rows.tolist(), columns.tolist(), strict=True):
            if np.isfinite(away[i, k]) and (margin := _margin(away, i, k)) > LEAST_MARGIN:
                _take(labelled[k], told[i], BESIDE_SURE * margin)


def _is_told(labelled: Labelled, block: Block) -> bool:
    """Return whether a part has a label of its own for what another one says; a cross read as a 4 is none."""
    pairs = [(labelled.values.get(kind), block.best(kind)) for kind in ("name", "thickness_mm", "count")]
    return any(own and other and min(own.sure, other.sure) > DOUBTS for own, other in pairs)


def _tells_apart(block: Block) -> bool:
    """Return whether a free label tells anything but a remark, and is read well enough to keep others off."""
    return any(
        (value := getattr(one, kind)) is not None and value.sure > DOUBTS and not one.is_remark
        for one in block.said
        for kind in KINDS
        if kind != "hand"
    )


def _margin(away: Points, row: int, column: int) -> float:
    """Return how surely a label belongs to a part, by how much farther any other pair for either would be."""
    others = np.concatenate([np.delete(away[row], column), np.delete(away[:, column], row)])
    nearest = float(others.min(initial=np.inf))
    if not np.isfinite(nearest):
        return 1.0
    ratio = (away[row, column] + 0.3) / (nearest + 0.3)
    return 1.0 if ratio <= ONE_LEFT_SHARE else max(0.0, 1.0 - (ratio - ONE_LEFT_SHARE))


def unique_names(names: Sequence[Value[str]]) -> list[Value[str]]:
    """Return the names with those that occur again numbered, and less sure: one of the two may be misread."""
    seen: dict[str, int] = defaultdict(int)
    count: dict[str, int] = defaultdict(int)
    for name in names:
        count[name.value.casefold()] += 1
    made = []
    taken = {name.value.casefold() for name in names}
    for name in names:
        key = name.value.casefold()
        seen[key] += 1
        if count[key] > 1:
            number = seen[key]
            fresh = name.value
            while number > 1 and fresh.casefold() in taken:
                fresh = f"{name.value} ({number})"
                number += 1
            taken.add(fresh.casefold())
            name = replace(name, value=fresh, sure=0.6 * name.sure)
        made.append(name)
    return made
