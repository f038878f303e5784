"""A layout: which part lies where on which board, and the proof that it may."""

from __future__ import annotations

from dataclasses import dataclass

from vectorize.basics.notes import Note
from vectorize.shapes.outline import Pose


@dataclass(frozen=True, slots=True)
class Placement:
    """Copy number `copy` (from 1) of a part, moved by `pose` from its own frame onto the board's."""

    part: str
    copy: int
    pose: Pose


@dataclass(frozen=True, slots=True)
class BoardLayout:
    """The parts on one board.

    `used_fraction` is net part area over board area; `used_length_mm` is counted from the left end.
    """

    board: str
    placements: tuple[Placement, ...]
    used_fraction: float
    used_length_mm: float


@dataclass(frozen=True, slots=True)
class Unplaced:
    """A copy that found no place, and the reason in a sentence."""

    part: str
    copy: int
    reason: str


@dataclass(frozen=True, slots=True)
class Proof:
    """What the independent check found: `faults` is empty when the layout is proved.

    `least_gap_mm` is the smallest distance between two parts on a board (inf where there are none).
    """

    faults: tuple[str, ...]
    least_gap_mm: float

    @property
    def is_proved(self) -> bool:
        """Return whether no fault was found."""
        return not self.faults


@dataclass(frozen=True, slots=True)
class Layout:
    """All boards that carry parts, what found no place, and the proof.

    `is_cut_short` says that less wood is not proved impossible, `is_interrupted` that somebody ended the search.
    """

    boards: tuple[BoardLayout, ...]
    unplaced: tuple[Unplaced, ...]
    proof: Proof
    notes: tuple[Note, ...] = ()
    is_cut_short: bool = False
    is_interrupted: bool = False
