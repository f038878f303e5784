"""Whether a set of parts truly fits on a board: asked of the nesting, and remembered.

A search may fail on a set and yet succeed on a larger one. Answers here never contradict each other all
the same: what holds a set that did not fit does not fit, what lies within a set that did fit does. So a cut
taken from one answer stays true for all later ones.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from nesting.place.layout import BoardLayout, Placement
from nesting.wood.board import Board
from nesting.wood.part import Part

Lay = Callable[[list[Part], Board], BoardLayout | None]
"""Lays the given parts on one board, as many as it finds room for; None when it lays none."""

_WORTH_TRYING = 0.1
"""In looking for the core of a load only parts of less than this share of its area are tried left out: without a
large part the rest nearly always fits, and asking costs a nesting."""

Load = tuple[tuple[str, int], ...]
"""Units of each part on a board, sorted by part; counts above zero."""


def load(counts: Mapping[str, int]) -> Load:
    """Return counts by part as a load."""
    return tuple(sorted((part, count) for part, count in counts.items() if count > 0))


def holds(larger: Load, smaller: Load) -> bool:
    """Return whether a load has at least as many of everything as another."""
    have = dict(larger)
    return all(have.get(part, 0) >= count for part, count in smaller)


_Face = tuple[str, float, float, float, float, object, object]


def face_of(board: Board) -> _Face:
    """Return what nesting sees of a board; boards with the same face hold the same parts."""
    return (
        board.material,
        board.thickness_mm,
        board.length_mm,
        board.width_mm,
        board.grain_deg,
        board.outline,
        board.blemishes,
    )


@dataclass
class Oracle:
    """Asks `lay` whether loads fit, each question once per face of board."""

    lay: Lay
    make: Callable[[str, Board, int], Part]
    """Returns so many units of a part as a part for the nesting."""
    asked: int = 0
    deadline: float = math.inf
    """Time of `time.monotonic` after which a question that needs the nesting raises TimeoutError."""
    _fits: dict[_Face, list[tuple[Load, BoardLayout]]] = field(default_factory=dict)
    _fails: dict[_Face, list[Load]] = field(default_factory=dict)

    def fits(self, board: Board, wanted: Load) -> bool:
        """Return whether all of a load fits on a board."""
        face = face_of(board)
        if not wanted or any(holds(known, wanted) for known, _ in self._fits.get(face, ())):
            return True
        if any(holds(wanted, known) for known in self._fails.get(face, ())):
            return False
        return self.packed(board, wanted) == wanted

    def packed(self, board: Board, wanted: Load) -> Load:
        """Return what of a load nesting finds room for, in whole units, and remember what that says."""
        face, found = face_of(board), self._laid(board, wanted)
        laid = self._units(board, wanted, found)
        if found is not None and laid:
            self._fits.setdefault(face, []).append((laid, found))
        if laid != wanted:
            self._fails.setdefault(face, []).append(wanted)
        return laid

    def _units(self, board: Board, wanted: Load, found: BoardLayout | None) -> Load:
        """Return how many whole units of each part lie in a layout, counted from the first copy on."""
        there = {(placed.part, placed.copy) for placed in found.placements} if found is not None else set()
        counts = {}
        for part, count in wanted:
            each = self.make(part, board, 1).copies
            is_whole = (all((part, n * each + c) in there for c in range(1, each + 1)) for n in range(count))
            counts[part] = sum(is_whole)
        return load(counts)

    def layout(self, board: Board, wanted: Load) -> BoardLayout | None:
        """Return how a load that fits lies on a board: laid afresh, or as it lay within a larger load."""
        if not self.fits(board, wanted):
            return None
        fresh = self._laid(board, wanted)
        if fresh is not None and self._units(board, wanted, fresh) == wanted:
            return fresh
        larger = next(found for known, found in self._fits[face_of(board)] if holds(known, wanted))
        return self._thinned(board, wanted, larger)

    def _laid(self, board: Board, wanted: Load) -> BoardLayout | None:
        if time.monotonic() > self.deadline:
            raise TimeoutError
        self.asked += 1
        return self.lay([self.make(part, board, count) for part, count in wanted], board)

    def _thinned(self, board: Board, wanted: Load, larger: BoardLayout) -> BoardLayout:
        parts = {part: self.make(part, board, count) for part, count in wanted}
        kept = tuple(kept for part in parts.values() for kept in _first_units(larger, part))
        area = sum(parts[placement.part].outline.area_mm2 for placement in kept)
        return BoardLayout(board.name, kept, area / board.shape.area_mm2, larger.used_length_mm)

    def core(self, board: Board, wanted: Load) -> Load:
        """Return a smaller load within one that does not fit that does not fit either: small parts left out in turn."""
        kept = dict(wanted)
        areas = {part: self.make(part, board, 1).outline.area_mm2 for part in kept}
        whole = sum(areas[part] * count for part, count in wanted)
        for part in sorted(kept, key=lambda name: (areas[name], name)):
            while kept[part] > 0 and areas[part] < _WORTH_TRYING * whole:
                kept[part] -= 1
                if self.fits(board, load(kept)):
                    kept[part] += 1
                    break
        return load(kept)


def _first_units(layout: BoardLayout, part: Part) -> list[Placement]:
    """Return the placements of as many whole units as `part` counts, copies numbered anew from 1."""
    each = part.copies // part.count
    by_copy = {placed.copy: placed for placed in layout.placements if placed.part == part.name}
    starts = sorted(copy for copy in by_copy if (copy - 1) % each == 0)
    whole = [start for start in starts if all(start + c in by_copy for c in range(each))][: part.count]
    return [
        replace(by_copy[start + c], copy=number * each + c + 1)
        for number, start in enumerate(whole)
        for c in range(each)
    ]
