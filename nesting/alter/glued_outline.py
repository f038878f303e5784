"""Planks and lengths as they are once glued: without what they were sawn larger by."""

from __future__ import annotations

from collections.abc import Sequence

from nesting.wood.part import Part
from vectorize.shapes.boolean import common
from vectorize.shapes.outline import Outline, Pose


def glued_outlines(parts: Sequence[Part]) -> dict[str, Outline]:
    """Return the outlines of planks and lengths as they are once glued, for those that are sawn with something to true.

    Two neighbours are sawn with the same allowance each, so they meet in the middle of what they share; so do the
    halves of a scarf, of whose slopes each fills as much.
    """
    found: dict[str, Outline] = {}
    for part in parts:
        if part.finished_share == 1.0:
            continue
        outline = part.outline
        for other in parts:
            if other.name != part.name and _is_neighbour(part, other):
                outline = _up_to(outline, part, other)
        if outline is not part.outline:
            found[part.name] = outline
    return found


def _is_neighbour(part: Part, other: Part) -> bool:
    """Return whether two pieces are of one kind and drawn on the same plan."""
    return (part.plan, part.material, part.grain_deg, part.thickness_mm) == (
        other.plan, other.material, other.grain_deg, other.thickness_mm,
    )  # fmt: skip


def _up_to(outline: Outline, part: Part, other: Part) -> Outline:
    """Return what is left of a piece up to the middle of what it shares with another one."""
    turn = Pose(angle_deg=-part.grain_deg)
    mine, theirs = part.outline.placed(turn), other.outline.placed(turn)
    shared = common(mine, theirs)
    if not shared:
        return outline
    low = [max(mine.bounds[i], theirs.bounds[i]) for i in range(2)]
    high = [min(mine.bounds[i + 2], theirs.bounds[i + 2]) for i in range(2)]
    away = [abs(a - b) / size for a, b, size in zip(mine.centroid, theirs.centroid, mine.size_mm, strict=True)]
    axis = int(away[1] > away[0])
    middle = (low[axis] + high[axis]) / 2
    box = [mine.bounds[0] - 1, mine.bounds[1] - 1, mine.bounds[2] + 1, mine.bounds[3] + 1]
    box[axis + (2 if mine.centroid[axis] < theirs.centroid[axis] else 0)] = middle
    left = common(outline.placed(turn), Outline.rectangle(*box))
    return left[0].placed(Pose(angle_deg=part.grain_deg)) if len(left) == 1 else outline
