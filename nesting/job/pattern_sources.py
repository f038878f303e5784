"""What patterns are drawn from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from nesting.job.deriving import Carving
from nesting.job.plans import OpenPlan
from nesting.job.store import StoredOutline
from nesting.patterns.part_marks import PartMark
from nesting.place.layout import Layout
from nesting.wood.bent_wire import BentWire
from nesting.wood.board import Board
from nesting.wood.part import Part


@dataclass(frozen=True, slots=True)
class PatternSources:
    """All that patterns are drawn from, but for how.

    `only` is the part that alone is asked for, `chosen` the parts with a pattern of their own; `plans` are those that
    may have an overlay, `drills_mm` the drills at hand where templates are wanted.
    """

    only: str | None
    parts: tuple[Part, ...]
    chosen: tuple[str, ...]
    boards: tuple[Board, ...]
    layout: Layout
    mass_g: Mapping[tuple[str, int], float]
    marks: Mapping[str, tuple[PartMark, ...]]
    wires: tuple[BentWire, ...]
    drills_mm: tuple[float, ...] | None
    carvings: tuple[Carving, ...]
    plans: Mapping[str, OpenPlan]
    outlines: tuple[StoredOutline, ...]
