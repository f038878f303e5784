"""How a job stands: what follows from its files, as the worker that follows it hands it over."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from nesting.job.store import StoredOutline
from nesting.wood.board import Board
from nesting.wood.glued_seams import Seam
from nesting.wood.part import Part
from vectorize.basics.errors import CallError
from vectorize.basics.notes import Note
from vectorize.basics.quantity import Pixel
from vectorize.page import PageInfo
from vectorize.scale.plan_scale import PlanScale
from vectorize.shapes.segment import Point


@dataclass(frozen=True, slots=True)
class PlanState:
    """What is known of a plan: its scale, or why there is none.

    `places` are pixels of joined scans, as the job has them, on the sheet that they were joined to.
    """

    name: str
    width: float
    height: float
    scale: PlanScale | None
    notes: tuple[Note, ...]
    fault: str | None = None
    is_drawing: bool = False
    pages: tuple[PageInfo, ...] = ()
    places: Mapping[Pixel, Point] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Faults:
    """Sentences of stages that could not go on, by the name of the part or stage."""

    by_part: dict[str, str]
    rack: str | None = None
    balance: str | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """How a job stands: everything that follows from its files, as far as it can be made."""

    read_hash: str
    plans: tuple[PlanState, ...]
    outlines: tuple[StoredOutline, ...]
    parts: tuple[Part, ...]
    boards: tuple[Board, ...]
    notes: tuple[Note, ...]
    faults: Faults
    balance: dict[str, Any] | None = None
    seams: tuple[Seam, ...] = ()


def need_standing(standing: Standing | None) -> Standing:
    """Return how the job stands.

    Raises:
        CallError: It was not followed yet.
    """
    if standing is None:
        raise CallError("the desk is still reading the job; wait a moment and repeat.")
    return standing
