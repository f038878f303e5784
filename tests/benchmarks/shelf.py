"""A good shelf packing of bounding boxes, to measure the engine against what a careful hand with a square does.

Parts are sorted, laid with the grain (turned over or half-turned makes no difference to a box), each on
the shelf where it leaves least, else on a new one. Both ways of shelves are tried: columns across the
board and rows along it; the better counts. Blemishes and irregular edges are kept clear of.
"""

from dataclasses import dataclass

import shapely

from nesting.place.layout_rules import suits
from nesting.place.margins import usable_area


@dataclass(frozen=True, slots=True)
class Shelves:
    unplaced: int
    last: int
    length_mm: float

    @property
    def key(self):
        return (self.unplaced, self.last, self.length_mm)


def shelf_packing(job) -> Shelves:
    """Return the better of column and row shelves: boxes left over, last board, length used on it."""
    return min((_pack(job, rows) for rows in (False, True)), key=lambda s: s.key)


def _boxes(job, board, part):
    """Return the sizes a part's box can have with its grain along the board's (both, if grain is free)."""
    turned = shapely.affinity.rotate(part.outline.to_polygon(0.01), board.grain_deg - part.grain_deg, origin=(0, 0))
    x0, y0, x1, y1 = turned.bounds
    sizes = [(x1 - x0, y1 - y0)]
    if part.grain_tolerance_deg >= 90:
        best = turned.minimum_rotated_rectangle
        corners = list(best.exterior.coords)
        a, b = (shapely.Point(corners[0]).distance(shapely.Point(corners[k])) for k in (1, 3))
        sizes = [(max(a, b), min(a, b)), (min(a, b), max(a, b))]
    return sizes


def _pack(job, rows: bool) -> Shelves:
    gap = job.rules.gap_mm
    rooms = [_Room(board, job.rules, rows) for board in job.boards]
    copies = [part for part in job.parts for _ in range(part.copies)]
    along = 1 if rows else 0
    copies.sort(key=lambda p: -min(_boxes(job, job.boards[0], p), key=lambda s: s[1 - along])[along])
    unplaced = 0
    for part in copies:
        soft = part.name in job.rules.on_soft_patches
        placed = any(
            suits(part, board) and room.place(_boxes(job, board, part), gap, soft)
            for board, room in zip(job.boards, rooms, strict=True)
        )
        unplaced += not placed
    used = [k for k, room in enumerate(rooms) if room.right is not None]
    if not used:
        return Shelves(unplaced, -1, 0.0)
    last = max(used)
    return Shelves(unplaced, last, rooms[last].right - job.boards[last].shape.bounds[0])


class _Room:
    """One board with its shelves; a shelf is (start, depth, filled so far)."""

    def __init__(self, board, rules, rows):
        self.usable = usable_area(board, rules)
        self.bad = [b.outline.to_polygon(0.01) for b in board.blemishes]
        self.is_soft = [b.is_soft for b in board.blemishes]
        self.bounds = self.usable.bounds
        self.rows = rows
        self.is_plain = board.outline is None and not board.blemishes
        self.shelves = []
        self.right = None

    def place(self, sizes, gap, soft) -> bool:
        options = []
        for length, width in sizes:
            deep, wide = (width, length) if self.rows else (length, width)
            for number, (start, depth, filled) in enumerate(self.shelves):
                at = self._free(start, filled, deep, wide, soft)
                if deep <= depth + 1e-9 and at is not None:
                    options.append((depth - deep, at, number, deep, wide))
        if options:
            _, at, number, deep, wide = min(options)
            start, depth, _ = self.shelves[number]
            self.shelves[number] = (start, depth, at + wide + gap)
            self._note(start, at, deep, wide)
            return True
        for length, width in sorted(sizes, key=lambda s: s[1] if self.rows else s[0]):
            deep, wide = (width, length) if self.rows else (length, width)
            low = self.bounds[1] if self.rows else self.bounds[0]
            start = max((s + d + gap for s, d, _ in self.shelves), default=low)
            for _ in range(1 if self.is_plain else 200):
                first = self.bounds[0] if self.rows else self.bounds[1]
                at = self._free(start, first, deep, wide, soft)
                if at is not None:
                    self.shelves.append((start, deep, at + wide + gap))
                    self._note(start, at, deep, wide)
                    return True
                start += 4.0
        return False

    def _note(self, start, at, deep, wide):
        right = at + wide if self.rows else start + deep
        self.right = right if self.right is None else max(self.right, right)

    def _free(self, start, filled, deep, wide, soft):
        """Return the first place along a shelf where a box is on sound wood."""
        high_deep, high_wide = (self.bounds[3], self.bounds[2]) if self.rows else (self.bounds[2], self.bounds[3])
        if start + deep > high_deep + 1e-9:
            return None
        at = filled
        while at + wide <= high_wide + 1e-9:
            if self.is_plain:
                return at
            box = (
                shapely.box(at, start, at + wide, start + deep)
                if self.rows
                else shapely.box(start, at, start + deep, at + wide)
            )
            bad = any(
                box.intersection(b).area > 1e-9 for b, s in zip(self.bad, self.is_soft, strict=True) if not (s and soft)
            )
            if not bad and box.difference(self.usable).area < 1e-9:
                return at
            at += 2.0
        return None
