"""The search: programme and nesting in turn, with good solutions found early."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass

from nesting.choice.assign.choices import Option
from nesting.choice.assign.oracle import Oracle, load
from nesting.choice.assign.programme import Model, Solved

_FIRST_SHARES = (1.0, 0.92, 0.85, 0.78, 0.7, 0.6)
"""How full boards are taken to get in the first tries, of what the area alone would allow."""
_HALVINGS = 3


@dataclass(frozen=True, slots=True)
class Outcome:
    """The best that was found, whether nothing can be better, by how much at most, and whether time ran out."""

    best: Solved | None
    is_proved: bool
    gap: float
    is_late: bool


class Search:
    """Solves the model, asks the oracle board by board, and adds a cut for each load that does not fit.

    Before that it dives: it solves with boards taken to fill less and less until all fits, then moves single
    pieces to better boards where they find room. The dive gives good solutions early, the cuts the proof.
    """

    def __init__(self, model: Model, oracle: Oracle, tolerance: float) -> None:
        self.model, self.oracle, self.tolerance = model, oracle, tolerance
        self.rounds = 0
        self.deadline = 0.0
        self.incumbent: Solved | None = None

    def run(self, deadline: float) -> Outcome:
        """Return the best found until `deadline`, a time of `time.monotonic`."""
        self.deadline, self.oracle.deadline, self.incumbent = deadline, deadline, None
        bound = float("-inf")
        try:
            first = self._solve(1.0)
            bound = bound if first is None else first.value
            if first is not None and not self._fits_or_cuts(first):
                self._dive()
            while (solved := self._solve(1.0)) is not None:
                bound = solved.value
                if self.incumbent is not None and self.incumbent.value - bound <= self.tolerance:
                    return Outcome(self.incumbent, True, max(0.0, self.incumbent.value - bound), False)
                if self._fits_or_cuts(solved):
                    return Outcome(solved, True, 0.0, False)
                self._keep(self._repaired(solved))
        except TimeoutError:
            gap = float("inf") if self.incumbent is None else self.incumbent.value - bound
            return Outcome(self.incumbent, False, gap, True)
        finally:
            self.oracle.deadline = math.inf
        return Outcome(self.incumbent, True, 0.0, False)

    def _solve(self, room_share: float) -> Solved | None:
        left_s = self.deadline - time.monotonic()
        if left_s <= 0:
            raise TimeoutError
        self.rounds += 1
        return self.model.solve(time_limit_s=left_s, room_share=room_share)

    def _fits(self, board: str, counts: dict[str, int]) -> bool:
        return self.oracle.fits(self.model.problem.board(board), load(counts))

    def _fits_or_cuts(self, solved: Solved) -> bool:
        """Return whether every board's load fits; cut off the core of each that does not."""
        all_fit = True
        for board in self.model.problem.boards:
            wanted = solved.load_of(board.name)
            if not self._fits(board.name, dict(wanted)):
                self.model.forbid(board.name, self.oracle.core(board, wanted))
                all_fit = False
        return all_fit

    def _keep(self, solved: Solved | None) -> None:
        if solved is not None and (self.incumbent is None or solved.value < self.incumbent.value):
            self.incumbent = solved

    def _dive(self) -> None:
        """Find how full boards truly get, then polish: coarse shares first, then halving between good and bad."""
        bad = 1.0
        for share in _FIRST_SHARES:
            if self._try_share(share):
                good = share
                break
            bad = share
        else:
            return
        for _ in range(_HALVINGS):
            middle = (good + bad) / 2
            good, bad = (middle, bad) if self._try_share(middle) else (good, middle)
        if self.incumbent is not None:
            self._keep(self._polished(self.incumbent))

    def _try_share(self, share: float) -> bool:
        solved = self._solve(share)
        if solved is None:
            return False
        whole = all(self._fits(b.name, dict(solved.load_of(b.name))) for b in self.model.problem.boards)
        self._keep(solved if whole else self._repaired(solved))
        return whole

    def _loads(self, solved: Solved) -> dict[str, dict[str, int]]:
        return {board.name: dict(solved.load_of(board.name)) for board in self.model.problem.boards}

    def _repaired(self, solved: Solved) -> Solved | None:
        """Return a solution near one that did not fit: units without room go to the next best board that has some."""
        loads, homeless = self._loads(solved), []
        for board in self.model.problem.boards:
            wanted = load(loads[board.name])
            if self._fits(board.name, dict(wanted)):
                continue
            packed = dict(self.oracle.packed(board, wanted))
            homeless += [part for part, count in wanted for _ in range(count - packed.get(part, 0))]
            loads[board.name] = packed
        for part in sorted(homeless, key=lambda name: -self.model.problem.unit(name).part.outline.area_mm2):
            if not any(self._put(part, option.board, loads) for option in self._ranked(part)):
                return None
        return self._evaluated(loads)

    def _polished(self, solved: Solved) -> Solved | None:
        """Return a solution in which pieces have moved to better boards wherever they find room, dearest first."""
        loads = self._loads(solved)
        moves = [
            (self._rank(self._option(part, board)) - self._rank(better), part, board, better.board)
            for (part, board) in solved.counts
            for better in self._ranked(part)
            if self._rank(better) < self._rank(self._option(part, board))
        ]
        for _, part, board, better_board in sorted(moves, reverse=True):
            while loads[board].get(part, 0) and self._put(part, better_board, loads):
                loads[board][part] -= 1
        return self._evaluated(loads)

    def _option(self, part: str, board: str) -> Option:
        return next(option for option in self.model.problem.unit(part).options if option.board == board)

    def _ranked(self, part: str) -> list[Option]:
        """Return the boards that a part may come from, best first."""
        return sorted((o for o in self.model.problem.unit(part).options if o.objection is None), key=self._rank)

    def _rank(self, option: Option) -> float:
        return option.mass_g if self.model.objective == "light" else -option.stiffness_share

    def _put(self, part: str, board: str, loads: dict[str, dict[str, int]]) -> bool:
        more = {**loads[board], part: loads[board].get(part, 0) + 1}
        if not self._fits(board, more):
            return False
        loads[board] = more
        return True

    def _evaluated(self, loads: dict[str, dict[str, int]]) -> Solved | None:
        counts = {(part, board): count for board, held in loads.items() for part, count in held.items() if count}
        return self.model.evaluated(counts, time_limit_s=max(0.1, self.deadline - time.monotonic()))
