"""From one pick to a whole part: which lines only run through it, and which are its outline.

A part grows across dashed lines, across clearly thinner lines, and across lines that go on past the
outline. The last is seen where the boundary would have to turn off one run onto another although both go
straight on: there, the run that is less like an outline (loose ends, against closed) is crossed. It never
grows out to the edge of the page.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np

from vectorize.faces.regions import Loop, Regions
from vectorize.lines.runs import Arm, Runs
from vectorize.shapes.segment import Point, Points

THIN_SHARE = 0.62
"""A line with less than this share of the outline's ink across it is a thinner line."""

LIGHTER_SHARE = 0.85
"""Of two lines that are alike otherwise, one with less than this share of the other's ink runs through it."""

BORROWED_SHARE = 1.5
"""An edge with this many times the ink of the longest edge of its run was drawn with another pen."""

_MOST_ROUNDS = 60

Reason = Literal["dashed", "thinner", "runs through", "bridged"]


@dataclass(frozen=True, slots=True)
class Growth:
    """The regions of a part, and each edge that was crossed to reach them with the reason."""

    regions: frozenset[int]
    crossed: tuple[tuple[int, Reason], ...]


@dataclass(eq=False, slots=True)
class Grower:
    """Grows parts on one page; `ink_px` is the ink across each edge, nan where unknown.

    The runs `walls` are never crossed, and the edges `shared`, which close a loop that their own run only touches.
    """

    regions: Regions
    runs: Runs
    ink_px: Points
    walls: frozenset[int] = frozenset()
    shared: frozenset[int] = frozenset()

    def grown(self, picked: frozenset[int], point: Point, *, line: Literal["solid", "dashed"] = "solid") -> Growth:
        """Return the part that the picked regions belong to; `point` is the pick itself."""
        if line == "dashed":
            return self._grown_dashed(picked)
        open_runs: dict[int, Reason] = {}
        dashed = [k for k, run in enumerate(self.runs.runs) if run.is_dashed]
        chosen = self._flooded(picked, dashed)
        if chosen is None:
            chosen = picked
        else:
            open_runs.update(dict.fromkeys(dashed, "dashed"))
        refused: set[int] = set()
        for _ in range(_MOST_ROUNDS):
            step = self._next(picked, chosen, point, open_runs, refused)
            if step is None:
                break
            run, reason, chosen = step
            open_runs[run] = reason
        return Growth(chosen, self._crossed(chosen, open_runs))

    def _grown_dashed(self, picked: frozenset[int]) -> Growth:
        """Cross every solid line that can be crossed without leaving the sheet; dashed ones bound.

        A chain line is a centre line, and crossed too, unless that leads out on to the sheet.
        """
        solid = [k for k, run in enumerate(self.runs.runs) if not run.is_dashed]
        chains = [k for k, run in enumerate(self.runs.runs) if run.is_chain]
        for is_open in ([*solid, *chains], solid):
            whole = self._flooded(picked, is_open)
            if whole is not None:
                reasons: dict[int, Reason] = dict.fromkeys(solid, "runs through")
                return Growth(whole, self._crossed(whole, reasons | dict.fromkeys(chains, "dashed")))
        return Growth(picked, ())

    def _next(
        self,
        picked: frozenset[int],
        chosen: frozenset[int],
        point: Point,
        open_runs: dict[int, Reason],
        refused: set[int],
    ) -> tuple[int, Reason, frozenset[int]] | None:
        """Return the next run to cross, why, and the regions then reached; None when none is left."""
        loops = self.regions.loops(chosen)
        turns = self._turns(loops)
        for run, reason in self._offers(loops, turns, point):
            if run in refused or run in open_runs:
                continue
            wider = self._flooded(picked, [*open_runs, run])
            if wider is None:
                refused.add(run)
            elif wider != chosen and (
                reason != "runs through" or self._is_better(run, self._turns(self.regions.loops(wider)), turns)
            ):
                return run, reason, wider
        return None

    def _is_better(self, run: int, after: list[tuple[Arm, Arm]], before: list[tuple[Arm, Arm]]) -> bool:
        """Whether crossing a run leaves fewer turns; as many will do where it plainly has loose ends.

        Of three lines through a part, the first to be crossed only moves the turns on to the next.
        """
        return len(after) <= len(before) - (0 if self.runs.runs[run].rank <= 1 else 1)

    def _flooded(self, start: Iterable[int], open_runs: Iterable[int]) -> frozenset[int] | None:
        """Return every region reached across the open runs, None if the edge of the page is among them."""
        is_open = set(open_runs) - self.walls
        seen = set(start)
        queue = list(seen)
        while queue:
            for edge, other in self.regions.neighbours().get(queue.pop(), ()):
                if other not in seen and self.runs.of_edge[edge] in is_open and not self._is_borrowed(edge):
                    if other in self.regions.outside:
                        return None
                    seen.add(other)
                    queue.append(other)
        return frozenset(seen)

    def _is_borrowed(self, edge: int) -> bool:
        """Whether an edge is a stretch of an outline that another line ran into.

        It closes a loop, or it carries far more ink than its run.
        """
        return edge in self.shared or bool(self.ink_px[edge] > BORROWED_SHARE * self._run_ink(self.runs.of_edge[edge]))

    def _offers(self, loops: list[Loop], turns: list[tuple[Arm, Arm]], point: Point) -> list[tuple[int, Reason]]:
        """Return runs on the boundary that may be crossed, the surest first."""
        offers: list[tuple[int, Reason]] = []
        on_boundary = sorted({self.runs.of_edge[i] for loop in loops for i in loop.ids})
        offers += [(run, "thinner") for run in self._thin(loops) if not self._holds(run, point)]
        offers += [(run, "bridged") for run in on_boundary if self._is_optional(run)]
        through = []
        for arriving, leaving in turns:
            one, other = self.runs.of_edge[arriving[0]], self.runs.of_edge[leaving[0]]
            through += self._weaker(one, other, point)
        ranked = sorted(set(through), key=lambda run: (self.runs.runs[run].rank, run))
        return offers + [(run, "runs through") for run in ranked]

    def _weaker(self, one: int, other: int, point: Point) -> list[int]:
        """Of two runs that cross on the boundary, return the one that is less an outline, if one is."""
        ranks = self.runs.runs[one].rank, self.runs.runs[other].rank
        if ranks[0] != ranks[1]:
            return [one if ranks[0] < ranks[1] else other]
        if ranks[0] == 3:
            held = self._holds(one, point), self._holds(other, point)
            return [run for run, holds in zip((one, other), held, strict=True) if not holds]
        ink = [self._run_ink(run) for run in (one, other)]
        return [run for run, own, its in zip((one, other), ink, ink[::-1], strict=True) if own < LIGHTER_SHARE * its]

    def _run_ink(self, run: int) -> float:
        """Ink across the longest edge of a run."""
        edges = self.regions.work.edges
        return float(self.ink_px[max(self.runs.runs[run].edges, key=lambda i: edges[i].length)])

    def _turns(self, loops: list[Loop]) -> list[tuple[Arm, Arm]]:
        """Return the places where a boundary turns off although both lines go straight on."""
        found = []
        for loop in loops:
            count = len(loop.ids)
            for k in range(count):
                arriving = (loop.ids[k], 1 if loop.forwards[k] else 0)
                after = (k + 1) % count
                leaving = (loop.ids[after], 0 if loop.forwards[after] else 1)
                one, other = self.runs.partner.get(arriving), self.runs.partner.get(leaving)
                if one is None or other is None or one == leaving:
                    continue
                if one[0] in self.runs.overshoots and other[0] in self.runs.overshoots:
                    continue
                found.append((arriving, leaving))
        return found

    def _thin(self, loops: list[Loop]) -> list[int]:
        """Return the runs on the exterior whose line carries clearly less ink than most of it."""
        edges = self.regions.work.edges
        exterior = max(loops, key=lambda loop: loop.signed_area_px, default=None)
        if exterior is None:
            return []
        ids = [i for i in dict.fromkeys(exterior.ids) if not edges[i].is_bridge]
        ink = self.ink_px[ids]
        known = np.isfinite(ink)
        if not np.any(known):
            return []
        lengths = np.array([edges[i].length for i in ids])[known]
        order = np.argsort(ink[known])
        # The heavy half of the boundary sets the measure: what runs through is never most of it.
        heavy = ink[known][order][np.searchsorted(np.cumsum(lengths[order]), 0.6 * lengths.sum())]
        return sorted({self.runs.of_edge[i] for i, value in zip(ids, ink, strict=True) if value < THIN_SHARE * heavy})

    def _is_optional(self, run: int) -> bool:
        """Whether a run only bounds anything because it was taken on to a line that it may have stopped short of.

        So does what spans a wide gap: it is crossed wherever that does not lead out on to the sheet.
        """
        members = [self.regions.work.edges[i] for i in self.runs.runs[run].edges]
        return not self.runs.runs[run].is_closed and any(e.is_tee or e.wide is not None for e in members)

    def _holds(self, run: int, point: Point) -> bool:
        """Whether a closed run goes round the point."""
        if not self.runs.runs[run].is_closed:
            return False
        members = self.runs.runs[run].edges
        loop = _ordered([self.regions.work.edges[i].points for i in members])
        return cv2.pointPolygonTest(loop.astype(np.float32), point, False) >= 0

    def _crossed(self, chosen: frozenset[int], open_runs: dict[int, Reason]) -> tuple[tuple[int, Reason], ...]:
        """Return one inner edge, the longest, for each run that was crossed."""
        longest: dict[int, int] = {}
        edges = self.regions.work.edges
        for region in chosen:
            for edge, other in self.regions.neighbours().get(region, ()):
                run = self.runs.of_edge[edge]
                is_longer = run not in longest or edges[edge].length > edges[longest[run]].length
                if other in chosen and run in open_runs and is_longer:
                    longest[run] = edge
        return tuple((edge, open_runs[run]) for run, edge in sorted(longest.items()))


def _ordered(pieces: list[np.ndarray]) -> np.ndarray:
    """Chain point sequences that share end points into one closed sequence."""
    rest = list(pieces)
    chain = [rest.pop(0)]
    while rest:
        end = chain[-1][-1]
        gaps = [min(np.hypot(*(p[0] - end)), np.hypot(*(p[-1] - end))) for p in rest]
        piece = rest.pop(int(np.argmin(gaps)))
        chain.append(piece if np.hypot(*(piece[0] - end)) <= np.hypot(*(piece[-1] - end)) else piece[::-1])
    return np.vstack(chain)
