"""The parts that a plan shows, with what its lettering says of each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from shapely.geometry import Polygon

from nesting.job.draft.accepting import Stock, settled
from nesting.job.draft.arrows import grain_arrow
from nesting.job.draft.balloons import Balloon, find_balloons
from nesting.job.draft.blocks import box_of, make_blocks
from nesting.job.draft.by_names import holds_one_name, parted
from nesting.job.draft.dashed import dashed_regions, is_told
from nesting.job.draft.drafted import DraftPart, Said, Value
from nesting.job.draft.grammar import is_metric, said
from nesting.job.draft.joining import KINDS, Labelled, Region, home_of, join_labels, reached, take_rows, unique_names
from nesting.job.draft.parts_list import find_list
from nesting.job.draft.series import bear_out
from vectorize.basics.errors import ScanError
from vectorize.basics.notes import Note
from vectorize.basics.watch import Watcher, portion, unwatched
from vectorize.faces.candidates import find_regions
from vectorize.faces.part_pick import TraceSettings
from vectorize.faces.sheet import read_drawing
from vectorize.marks.leaders import find_leaders
from vectorize.marks.read_plan import provisional_scale

if TYPE_CHECKING:
    from nesting.job.draft.vocabulary import Vocabulary
    from vectorize.faces.candidates import Candidate
    from vectorize.faces.sheet import Drawing
    from vectorize.marks.lettering import Text
    from vectorize.marks.read_plan import PlanReading
    from vectorize.page import Page
    from vectorize.shapes.segment import Point

SHEET_IS_BALSA = 0.6
SHEET_IS_BALSA_HERE = 0.95
"""'Sheet' alone is balsa (common practice, no source); more surely where the same plan names no other wood so."""

DASHED_SHARE = 0.8
"""What dashes leave of a name: they may show a part behind, or only where one lies on it."""

LEAST_TOLD = 0.1
"""What is less sure than this of a part is not worth a look: a cross read as a 4, half a letter as a name."""

MADE_UP = 0.0
"""How sure a name is that is made up here."""


@dataclass(frozen=True, slots=True)
class Draft:
    """The parts of a plan with what is lettered on them, the size that it is drawn in, and what was noticed.

    `unlettered` are pixels in regions that may be parts too; nothing is lettered in them or beside them.
    """

    parts: tuple[DraftPart, ...]
    unlettered: tuple[Point, ...]
    size: Value[str] | None
    notes: tuple[Note, ...]

    def as_json(self, texts: Sequence[Text]) -> list[dict[str, Any]]:
        """Return the parts as the JSON contract has them; `texts` is the lettering that they were read from."""
        return [_part_json(part, texts) for part in self.parts]


def _part_json(part: DraftPart, texts: Sequence[Text]) -> dict[str, Any]:
    values = {kind: getattr(part, kind) for kind in KINDS}
    boxes = {kind: texts[v.text].box_px for kind, v in values.items() if v is not None and v.text >= 0}
    return {
        "name": part.name.value,
        "inside": _rounded(part.inside),
        **{kind: None if values[kind] is None else values[kind].value for kind in KINDS[1:]},
        "grain": None if part.grain is None else [_rounded(end) for end in part.grain],
        "sure": {kind: 0.0 if value is None else round(value.sure, 3) for kind, value in values.items()},
        "others": {kind: [[other, round(sure, 3)] for other, sure in v.others] for kind, v in values.items() if v},
        "boxes": [{"of": kind, "box_px": [_rounded(corner) for corner in box]} for kind, box in boxes.items()],
    }


def _rounded(point: Point) -> list[float]:
    return [round(point[0], 2), round(point[1], 2)]


def draft_parts(
    page: Page,
    reading: PlanReading,
    words: Vocabulary,
    *,
    stock: Sequence[Stock] = (),
    watch: Watcher = unwatched,
) -> Draft:
    """Return the parts that a page shows, each with name, wood, count, hand and grain as far as they are lettered.

    Regions that nothing is lettered in or beside are left out; a name that is missing is made up.

    Args:
        page: A picture.
        reading: Its lettering and dimensions.
        words: The words of plans.
        stock: The boards at hand; a thickness that none has and that no sheet is sold in is less sure.
        watch: Is told each stage as it begins.
    """
    scale = provisional_scale(page, reading)
    try:
        drawing = read_drawing(page, scale, gap_mm=TraceSettings().gap_mm, watch=portion(watch, 0.0, 0.9))
    except ScanError as error:
        return Draft((), (), None, (Note("no-parts", str(error), state="open"),))
    watch("looking for parts", 0.9)
    found = find_regions(drawing, scale)
    lines = _lines(reading, words)
    labelled_regions = _labelled(drawing, found, lines, reading.texts, words, px_per_mm=scale.px_per_mm)
    size = max((one.size for one in lines if one.size is not None), key=lambda value: value.sure, default=None)
    parts = settled(_parts(labelled_regions), stock)
    bare = tuple(r.inside for r, one in labelled_regions if not set(one.values) - {"hand"} and not r.is_dashed)
    return Draft(parts, bare, size, ())


def _labelled(
    drawing: Drawing,
    found: Sequence[Candidate],
    lines: Sequence[Said],
    texts: Sequence[Text],
    words: Vocabulary,
    *,
    px_per_mm: float,
) -> list[tuple[Region, Labelled]]:
    """Return the regions that may be parts with what labels, lists and arrows say of each."""
    table = find_list(texts, {one.text: one for one in lines}, words)
    listed = frozenset[int]() if table is None else table.texts
    free = _free(lines, texts, listed, _areas(found, "title block"))
    balloons = find_balloons(drawing, free, texts, px_per_mm=px_per_mm)
    ringed = {balloon.text for balloon in balloons}
    free = [one for one in free if one.text not in ringed]
    regions = _without(balloons, _regions(found, free, texts))
    regions = parted(drawing, regions, free, texts, px_per_mm=px_per_mm)
    dashed = dashed_regions(drawing, regions, px_per_mm=px_per_mm)
    joined = _joined(drawing, [*dashed, *regions], free, texts, px_per_mm=px_per_mm)
    told = [region for region, one in zip(dashed, joined, strict=False) if is_told(one)]
    if len(told) < len(dashed):  # what stands in the others stands in the parts round them
        joined = _joined(drawing, [*told, *regions], free, texts, px_per_mm=px_per_mm)
    regions = [*told, *regions]
    if table is not None:
        pointed = {b.mark: k for b in balloons if b.tip and (k := reached(b.tip, regions, px_per_mm)) is not None}
        take_rows(table.rows, joined, pointed)
    _bare_sheet(joined)
    bear_out(joined)
    for one in joined:
        one.values = {kind: value for kind, value in one.values.items() if value.sure >= LEAST_TOLD}
    return list(zip(regions, joined, strict=True))


def _joined(
    drawing: Drawing, regions: Sequence[Region], free: Sequence[Said], texts: Sequence[Text], *, px_per_mm: float
) -> list[Labelled]:
    """Return what the labels that stand free in or beside regions, or have leaders to them, and arrows say of each."""
    homes = {one.text: home_of(box_of(texts[one.text]), regions) for one in free}
    blocks = make_blocks(free, texts, homes)
    outside = [one.text for block in blocks for one in block.said if homes[one.text] is None]
    boxes = [np.array(texts[index].box_px) for index in outside]
    tips = find_leaders(drawing.regions.work, boxes, px_per_mm=px_per_mm, pen_px=drawing.pen_px)
    led = {outside[k]: tip for k, tip in tips.items()}
    joined = join_labels(blocks, regions, homes=homes, tips=led, px_per_mm=px_per_mm)
    for one in free:
        home = homes[one.text]
        if one.is_grain and home is not None and joined[home].grain is None:
            box, area = np.array(texts[one.text].box_px), regions[home].area
            joined[home].grain = grain_arrow(drawing, box, area, px_per_mm=px_per_mm)
    return joined


def _without(balloons: Sequence[Balloon], regions: Sequence[Region]) -> list[Region]:
    """Return the regions that are no ring of a balloon."""
    rings = [Polygon(balloon.ring).buffer(0.1 * Polygon(balloon.ring).length) for balloon in balloons]
    return [region for region in regions if not any(ring.contains(region.area) for ring in rings)]


def _regions(found: Sequence[Candidate], free: Sequence[Said], texts: Sequence[Text]) -> list[Region]:
    """Return the candidates that are parts, and those like ruled lists that hold nothing but one label."""
    made = [(candidate.kind, _region(candidate)) for candidate in found]
    return [
        region
        for kind, region in made
        if kind == "part" or (kind == "list" and holds_one_name(region.area, free, texts))
    ]


def _region(candidate: Candidate) -> Region:
    boundary = candidate.exterior.points
    area = Polygon(boundary)
    return Region(candidate.point, boundary, area if area.is_valid else area.buffer(0))


def _areas(found: Sequence[Candidate], kind: str) -> list[Polygon]:
    return [Polygon(candidate.exterior.points).buffer(0) for candidate in found if candidate.kind == kind]


def _lines(reading: PlanReading, words: Vocabulary) -> list[Said]:
    """Return what every line says; the figure of a dimension is no thickness."""
    metric = is_metric(reading.texts)
    sizes = {one.text for one in reading.dimensions if one.agrees}
    lines = [said(index, text, words, is_metric=metric) for index, text in enumerate(reading.texts)]
    return [replace(one, length_mm=None) if one.text in sizes else one for one in lines]


def _free(
    lines: Sequence[Said], texts: Sequence[Text], listed: frozenset[int], title_blocks: Sequence[Polygon]
) -> list[Said]:
    """Return the lines that stand neither in a list nor in a title block."""
    free = []
    for one in lines:
        middle = box_of(texts[one.text]).centroid
        if one.text not in listed and not any(block.contains(middle) for block in title_blocks):
            free.append(one)
    return free


def _bare_sheet(labelled: Sequence[Labelled]) -> None:
    """Take 'sheet' without a wood for balsa, surely if the plan says 'balsa' elsewhere."""
    woods = {one.values["material"].value for one in labelled if "material" in one.values}
    sure = SHEET_IS_BALSA_HERE if "balsa" in woods else SHEET_IS_BALSA
    for one in labelled:
        if one.is_sheet and "material" not in one.values and (thick := one.values.get("thickness_mm")) is not None:
            one.values["material"] = Value("balsa", sure * min(1.0, thick.sure), thick.text, thick.written)


def _parts(labelled: Sequence[tuple[Region, Labelled]]) -> list[DraftPart]:
    told = [(region, one) for region, one in labelled if set(one.values) - {"hand"}]
    names = unique_names([_name(number, region, one.values) for number, (region, one) in enumerate(told, start=1)])
    return [
        DraftPart(
            name=name,
            inside=region.inside,
            boundary=region.boundary,
            is_lettered="name" in one.values,
            material=one.values.get("material"),
            thickness_mm=one.values.get("thickness_mm"),
            count=one.values.get("count"),
            hand=one.values.get("hand"),
            grain=one.grain,
            is_dashed=region.is_dashed,
        )
        for name, (region, one) in zip(names, told, strict=True)
    ]


def _name(number: int, region: Region, values: Mapping[str, Value[Any]]) -> Value[str]:
    """Return the name of a part; one that is drawn in dashes is only offered."""
    name = values.get("name") or Value(f"part {number}", MADE_UP, -1, "")
    return name.times(DASHED_SHARE) if region.is_dashed else name
