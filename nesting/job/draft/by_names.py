"""Regions told apart by the names in them: a part has one name.

A tailplane and its elevator share a hinge line, and the tracer may take both for one part; two names in it say that
they are two. A frame with cross pieces may look like a ruled list; a single name in it says that it is a part.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import shapely

from nesting.job.draft.blocks import box_of
from nesting.job.draft.drafted import Said
from nesting.job.draft.joining import Region, home_of
from nesting.job.draft.vocabulary import plain_phrase
from vectorize.marks.lettering import Text

if TYPE_CHECKING:
    from vectorize.faces.growth import Grower
    from vectorize.faces.sheet import Drawing

LEAST_NAMED = 0.8
"""A name that is less sure than this tells no parts apart."""

MOST_SHARED = 0.02
"""Parts that grow from two names share less than this of the smaller one."""

LEAST_MADE_UP = 0.85
"""They make up at least this share of the region, or what grew is a bay of it and no part."""

ALONG = 9
"""So many places along each long side of a name are asked which face of the sheet they lie in."""


def parted(
    drawing: Drawing, regions: Sequence[Region], said: Sequence[Said], texts: Sequence[Text], *, px_per_mm: float
) -> list[Region]:
    """Return the regions, those with several names parted if what grows from each name is a part by itself.

    A name that stands at a station within a part grows into the same part as its own name: that stays whole.
    """
    named: dict[int, dict[tuple[str, ...], Text]] = {}
    for one in said:
        if one.name is None or one.name.sure < LEAST_NAMED:
            continue
        home = home_of(box_of(texts[one.text]), regions)
        if home is not None:
            named.setdefault(home, {}).setdefault(plain_phrase(one.name.value), texts[one.text])
    several = {k: tuple(names.values()) for k, names in named.items() if len(names) > 1}
    if not several:
        return list(regions)
    grower = drawing.grower(px_per_mm)
    made: list[Region] = []
    for k, region in enumerate(regions):
        made += _grown_apart(drawing, grower, region, several[k]) if k in several else [region]
    return made


def holds_one_name(area: shapely.Polygon, said: Sequence[Said], texts: Sequence[Text]) -> bool:
    """Return whether a single name stands in an area, and nothing else but what may belong to it."""
    inside = [one for one in said if area.contains(box_of(texts[one.text]).centroid)]
    named = [one for one in inside if one.name is not None and one.name.sure >= LEAST_NAMED]
    others = [one for one in inside if one not in named and (one.name is not None or one.number is not None)]
    return len(named) == 1 and not others


def _grown_apart(drawing: Drawing, grower: Grower, region: Region, names: Sequence[Text]) -> list[Region]:
    """Return the parts that grow from names in a region, or the region if they overlap or leave some of it."""
    grown = [_grown(drawing, grower, name) for name in names]
    parts = [part for part in grown if part is not None]
    overlap = any(a.area.intersection(b.area).area > MOST_SHARED * _smaller(a, b) for a, b in combinations(parts, 2))
    made_up = shapely.union_all([part.area for part in parts]).intersection(region.area).area if parts else 0.0
    is_apart = len(parts) == len(names) and not overlap and made_up > LEAST_MADE_UP * region.area.area
    return parts if is_apart else [region]


def _smaller(first: Region, second: Region) -> float:
    return min(first.area.area, second.area.area)


def _grown(drawing: Drawing, grower: Grower, name: Text) -> Region | None:
    """Return the part that grows from the face that a name stands in, None on the sheet's ground."""
    regions = drawing.regions
    a, b, c, d = np.array(name.box_px)
    spots = [end + share * along for end, along in ((a, b - a), (d, c - d)) for share in np.linspace(0, 1, ALONG)]
    faces = Counter(face for x, y in spots if (face := regions.at((float(x), float(y)))))
    if not faces or (most := faces.most_common(1)[0][0]) in regions.outside:
        return None
    inside = regions.deepest(most)
    loops = regions.loops(grower.grown(frozenset({most}), inside).regions)
    outer = max(loops, key=lambda loop: loop.signed_area_px, default=None)
    if outer is None or outer.signed_area_px <= 0:
        return None
    return Region(inside, outer.points, shapely.Polygon(outer.points).buffer(0))
