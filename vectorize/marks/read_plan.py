"""What a plan says of itself: its lettering, its dimensions, and the scale that they share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from vectorize.basics.errors import ScanError
from vectorize.basics.notes import Note
from vectorize.basics.watch import Watcher, unwatched
from vectorize.marks.dimensions import LEAST_AGREEING, Dimension, ProposedScale, agreed
from vectorize.marks.lettering import Text, find_lettering, find_overlooked, read_lettering
from vectorize.marks.lettering.detect import guess_px_per_mm, upright_tones
from vectorize.marks.spans import find_spans
from vectorize.scale.fit_scale import page_matrix, skew_of
from vectorize.scale.plan_scale import PlanScale

if TYPE_CHECKING:
    from vectorize.page import Page
    from vectorize.page.plan_page import Grey
    from vectorize.shapes.segment import Point

PENS_OFF = 2.2
"""Pens are between 0.2 and 1.1 mm wide; a stated resolution by which most are not is none."""


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
    grey = _grey(page)
    guessed = guess_px_per_mm(upright_tones(grey))
    stated = _credible(page, guessed)
    px_per_mm = stated or guessed
    watch("finding the lettering", 0.0)
    boxes = find_lettering(grey, px_per_mm=px_per_mm)
    overlooked = find_overlooked(grey, boxes, px_per_mm=px_per_mm)
    watch("reading it", 0.3)
    texts = read_lettering(grey, boxes=boxes, overlooked=overlooked)
    watch("following dimension lines", 0.7)
    spans = find_spans(grey, texts, px_per_mm=px_per_mm)
    dimensions, scale = agreed(texts, spans, stated_px_per_mm=stated)
    return PlanReading(texts, dimensions, scale, (*page.notes, *_notes(dimensions, scale)))


def provisional_scale(page: Page, reading: PlanReading) -> PlanScale:
    """Return a scale that is good enough to find parts by: the proposed one, else the stated one, else a guess."""
    guessed = guess_px_per_mm(upright_tones(_grey(page)))
    if reading.scale is not None:
        across, down = reading.scale.px_per_mm
    elif page.stated_px_per_mm is not None and _credible(page, guessed) is not None:
        across, down = page.stated_px_per_mm
    else:
        across = down = guessed
    factors = (1 / across, 1 / down)
    skew_deg = skew_of(page, factors, [])
    matrix, page_mm = page_matrix(page, factors, skew_deg)
    return PlanScale(matrix=matrix, mm_per_px=factors, skew_deg=skew_deg, page_mm=page_mm, is_true_size=False)


def _credible(page: Page, guessed: float) -> float | None:
    """Return the stated resolution if lines of it would be as wide as pens draw: many files state a default."""
    stated = None if page.stated_px_per_mm is None else page.stated_px_per_mm[0]
    return stated if stated is not None and 1 / PENS_OFF < stated / guessed < PENS_OFF else None


def _grey(page: Page) -> Grey:
    """Return the picture of a page.

    Raises:
        ScanError: It is a drawing.
    """
    if page.grey is None:
        raise ScanError(
            f"{page.name} is a drawing, of which no lettering is read; give a scan or photo of the plan, or set known "
            "dimensions in job.toml."
        )
    return page.grey


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
