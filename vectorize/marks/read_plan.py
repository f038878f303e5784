"""What a plan says of itself: its lettering, its dimensions, and the scale that they share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from vectorize.basics.errors import ScanError
from vectorize.basics.notes import Note
from vectorize.basics.watch import Watcher, unwatched
from vectorize.marks.dimensions import LEAST_AGREEING, Dimension, ProposedScale, agreed, find_spans
from vectorize.marks.lettering import Text, find_lettering, read_lettering
from vectorize.marks.lettering.detect import guess_px_per_mm, upright_tones

if TYPE_CHECKING:
    from vectorize.page import Page
    from vectorize.shapes.segment import Point


@dataclass(frozen=True, slots=True)
class PlanReading:
    """What was read off a page; points are original pixels."""

    texts: tuple[Text, ...]
    dimensions: tuple[Dimension, ...]
    scale: ProposedScale | None
    notes: tuple[Note, ...]

    def as_json(self) -> dict[str, Any]:
        """Return it as the JSON contract has it."""
        return {
            "texts": [
                {
                    "text": text.text,
                    "box_px": [_pair(corner) for corner in text.box_px],
                    "turn_deg": round(text.turn_deg, 1),
                    "sure": round(text.sure, 3),
                    "readings": [{"text": one.text, "sure": round(one.sure, 3)} for one in text.readings],
                }
                for text in self.texts
            ],
            "dimensions": [
                {
                    "text": self.texts[one.text].text,
                    "length_mm": round(one.length_mm, 4),
                    "from": _pair(one.start),
                    "to": _pair(one.end),
                    "sure": round(one.sure, 3),
                    "agrees": one.agrees,
                }
                for one in self.dimensions
            ],
            "scale": None
            if self.scale is None
            else {
                "px_per_mm": [round(factor, 6) for factor in self.scale.px_per_mm],
                "sigma_share": round(self.scale.sigma_share, 6),
                "used": self.scale.used,
            },
            "notes": [note.as_json() for note in self.notes],
        }


def read_plan(page: Page, *, watch: Watcher = unwatched) -> PlanReading:
    """Return what is lettered on a page, the dimensions in it and the scale that they share.

    Args:
        page: A picture; what it states of its size is only a hint.
        watch: Is told each stage as it begins.

    Raises:
        ScanError: The page is a drawing, whose lettering is strokes.
    """
    if page.grey is None:
        raise ScanError(
            f"{page.name} is a drawing, of which no lettering is read; give a scan or photo of the plan, or set known "
            "dimensions in job.toml."
        )
    stated = None if page.stated_px_per_mm is None else page.stated_px_per_mm[0]
    px_per_mm = stated or guess_px_per_mm(upright_tones(page.grey))
    watch("finding the lettering", 0.0)
    boxes = find_lettering(page.grey, px_per_mm=px_per_mm)
    watch("reading it", 0.3)
    texts = read_lettering(page.grey, boxes=boxes)
    watch("following dimension lines", 0.7)
    spans = find_spans(page.grey, texts, px_per_mm=px_per_mm)
    dimensions, scale = agreed(texts, spans, stated_px_per_mm=stated)
    return PlanReading(texts, dimensions, scale, (*page.notes, *_notes(dimensions, scale)))


def _notes(dimensions: tuple[Dimension, ...], scale: ProposedScale | None) -> tuple[Note, ...]:
    if scale is not None:
        return ()
    found = f"{len(dimensions)} possible dimension{'' if len(dimensions) == 1 else 's'} found"
    text = (
        f"no scale is proposed: {found}, and {LEAST_AGREEING} must agree; give known dimensions by hand "
        "(`sheetwood scale --add`)."
    )
    return (Note("no-scale", text, state="open"),)


def _pair(point: Point) -> list[float]:
    return [round(point[0], 2), round(point[1], 2)]
