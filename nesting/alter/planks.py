"""A part wider than any board as planks along the grain, to be glued edge to edge."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from nesting.alter.grain import GrainFrame
from nesting.alter.step import Change, Setting, Step, fixed
from nesting.wood.board import MARGIN_AT_EDGES_MM
from nesting.wood.covering import DEFAULT_GLUE
from nesting.wood.glued_seams import Seam, moved, upright_seam
from nesting.wood.part import Part
from vectorize.basics.errors import PartError
from vectorize.basics.quantity import Length
from vectorize.shapes.boolean import common
from vectorize.shapes.outline import Outline

TRUED_EDGE_MM = 0.5
"""Wood left on each edge that is trued before glueing (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Planks(Step):
    """The part cut into planks of equal width along the grain.

    Each plank is sawn wider by `trued_mm` at every edge that will be glued, and weighs what is left of it
    when that is planed off; together they weigh as much as the part.

    Args:
        width_mm: Widest plank that a board gives, trueing included; None: the widest board at hand less 2 mm.
        trued_mm: Allowance on each glued edge.
        glue: What they are glued with.
    """

    make: Literal["planks"] = field(default="planks", kw_only=True, repr=False)
    width_mm: Length | None = None
    trued_mm: Length = TRUED_EDGE_MM
    glue: str = DEFAULT_GLUE

    def applied(self, part: Part, setting: Setting) -> Change:
        """Return the planks; a part that is narrow enough stays as it is.

        Raises:
            PartError: No width is given and no board of the stock is at hand, or one too narrow for a plank.
        """
        widest = self._widest(part, setting)
        frame = GrainFrame.of(part)
        flat = frame.from_plan(part.outline)
        _, low, _, high = flat.bounds
        if high - low <= widest:
            return Change((part,))
        count = self._count(part, high - low, widest)
        edges = [low + (high - low) * i / count for i in range(count + 1)]
        rows = [_plank(part, flat, frame, edges[i], edges[i + 1], self._trued(i, count)) for i in range(count)]
        numbers = itertools.count(1)
        rows = [[replace(plank, name=f"{part.name} plank {next(numbers)}") for plank in row] for row in rows]
        named = tuple(plank for row in rows for plank in row)
        text = (
            f"{high - low:.1f} mm wide across the grain, it is made of {len(named)} planks of up to {widest:.1f} mm, "
            f"each sawn {self.trued_mm:g} mm wider at a glued edge."
        )
        seams = self._seams(part, flat, frame, edges, rows, setting)
        return Change(named, notes=(fixed("planked", part, text),), seams=seams)

    def _seams(
        self, part: Part, flat: Outline, frame: GrainFrame, edges: Sequence[float], rows: Sequence[Sequence[Part]],
        setting: Setting,
    ) -> tuple[Seam, ...]:  # fmt: skip
        x0, _, x1, _ = flat.bounds
        depth_mm, _ = setting.true_thickness_mm(part)
        found = (
            upright_seam(
                f"seam {n} of {part.name}",
                [plank.name for row in rows[n - 1 : n + 1] for plank in row],
                flat,
                ((x0 - 1, edges[n]), (x1 + 1, edges[n])),
                depth_mm=depth_mm,
                glue=self.glue,
            )
            for n in range(1, len(rows))
        )
        return tuple(moved(seam, frame.point_to_plan) for seam in found if seam is not None)

    def _widest(self, part: Part, setting: Setting) -> float:
        if self.width_mm is not None:
            return self.width_mm
        boards = setting.boards_for(part)
        if not boards:
            raise PartError(
                f"part {part.name}: there is no board of {part.material} {part.thickness_mm:g} mm to plank it from; "
                "add one to the rack or give the width of a plank."
            )
        return max(board.width_mm for board in boards) - 2 * MARGIN_AT_EDGES_MM

    def _count(self, part: Part, across_mm: float, widest_mm: float) -> int:
        """Return the least number of planks: two have one glued edge each, the inner ones of more have two."""
        if across_mm / 2 + self.trued_mm <= widest_mm:
            return 2
        if widest_mm <= 2 * self.trued_mm:
            raise PartError(
                f"part {part.name}: planks of {widest_mm:g} mm leave nothing after {self.trued_mm:g} mm is trued off "
                "both edges."
            )
        return math.ceil(across_mm / (widest_mm - 2 * self.trued_mm) - 1e-9)

    def _trued(self, i: int, count: int) -> tuple[float, float]:
        return (0.0 if i == 0 else self.trued_mm, 0.0 if i == count - 1 else self.trued_mm)


def _plank(
    part: Part, flat: Outline, frame: GrainFrame, low: float, high: float, trued: tuple[float, float]
) -> list[Part]:
    """Return the piece (or pieces, where the part is hollow there) between two lines along the grain."""
    x0, _, x1, _ = flat.bounds
    sawn = common(flat, Outline.rectangle(x0 - 1, low - trued[0], x1 + 1, high + trued[1]))
    planks = []
    for piece in sawn:
        left = common(piece, Outline.rectangle(x0 - 1, low, x1 + 1, high))
        net = sum(one.area_mm2 for one in left)
        if net < 1.0:
            continue
        u = sum(one.area_mm2 * one.centroid[0] for one in left) / net
        v = sum(one.area_mm2 * one.centroid[1] for one in left) / net
        planks.append(
            replace(
                part,
                outline=frame.to_plan(piece),
                finished_share=min(1.0, part.finished_share * net / piece.area_mm2),
                finished_centroid=frame.point_to_plan((u, v)),
                weighed_g=None,
            )
        )
    return planks
