"""What a layout must keep to: tool, clearance, margins, cut-outs, pairs, pinned copies."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from nesting.place.layout import Placement
from nesting.wood.board import MARGIN_AT_EDGES_MM, MARGIN_AT_ENDS_MM, Board
from nesting.wood.match import SUBSTITUTE_SHARE
from nesting.wood.part import Part
from vectorize.basics.errors import InputError, ToleranceError

Tool = Literal["saw", "knife", "laser", "router"]

_DEFAULTS: dict[Tool, tuple[float, float]] = {
    # kerf, clearance in mm; common practice, no source
    "saw": (0.5, 1.5),
    "knife": (0.0, 0.5),
    "laser": (0.2, 0.0),
    "router": (3.0, 0.0),
}

KNIFE_LIMIT_MM = 2.5
"""Thickest balsa that is usually cut with a knife; common practice, no source."""

SAME_THICKNESS_MM = 0.15
"""A part may be cut from a board whose nominal thickness differs by no more than this."""


@dataclass(frozen=True, slots=True)
class NestRules:
    """What every layout of a job must keep to.

    Two parts lie at least `gap_mm`, kerf plus clearance, apart. A part stays `ends_mm` from the ends of
    the board (least and greatest x) and `edges_mm` from every other edge, as `margins` defines them. A part may lie
    in a cut-out of another if `allows_part_in_cutout`; with a saw only where an entry hole of `entry_hole_mm` across
    fits the waste beside it (0 where the saw blade needs none). `side_by_side` names couples of parts whose copies
    are to lie beside each other on one board. Parts named in `on_soft_patches` may lie on soft blemishes.

    Raises:
        ToleranceError: A length that is negative or not finite.
        InputError: An unknown tool.
    """

    tool: Tool = "saw"
    kerf_mm: float = 0.5
    clearance_mm: float = 1.5
    ends_mm: float = MARGIN_AT_ENDS_MM
    edges_mm: float = MARGIN_AT_EDGES_MM
    allows_part_in_cutout: bool = True
    entry_hole_mm: float = 2.0
    side_by_side: tuple[tuple[str, str], ...] = ()
    on_soft_patches: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.tool not in _DEFAULTS:
            raise InputError(f"nest: tool is {self.tool!r}; expected one of {', '.join(_DEFAULTS)}.")
        for name in ("kerf_mm", "clearance_mm", "ends_mm", "edges_mm", "entry_hole_mm"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value >= 0):
                raise ToleranceError(f"nest: {name.removesuffix('_mm')} is {value} mm; it must be zero or more.")

    @staticmethod
    def for_tool(
        tool: Tool,
        *,
        kerf_mm: float | None = None,
        clearance_mm: float | None = None,
        ends_mm: float = MARGIN_AT_ENDS_MM,
        edges_mm: float = MARGIN_AT_EDGES_MM,
        allows_part_in_cutout: bool = True,
        entry_hole_mm: float = 2.0,
        side_by_side: tuple[tuple[str, str], ...] = (),
        on_soft_patches: tuple[str, ...] = (),
    ) -> NestRules:
        """Return rules with the usual kerf and clearance of `tool` where none is given."""
        kerf, clearance = _DEFAULTS.get(tool, (0.0, 0.0))
        return NestRules(
            tool,
            kerf if kerf_mm is None else kerf_mm,
            clearance if clearance_mm is None else clearance_mm,
            ends_mm,
            edges_mm,
            allows_part_in_cutout,
            entry_hole_mm,
            side_by_side,
            on_soft_patches,
        )

    @property
    def gap_mm(self) -> float:
        """Return the least distance between two parts."""
        return self.kerf_mm + self.clearance_mm

    @property
    def needs_entry_hole(self) -> bool:
        """Return whether a cut inside a cut-out must be begun through a drilled hole."""
        return self.tool == "saw" and self.entry_hole_mm > 0


@dataclass(frozen=True, slots=True)
class Pin:
    """A copy that the user has fixed on a board; nothing moves it."""

    board: str
    placement: Placement


def suits(part: Part, board: Board) -> bool:
    """Return whether `part` may be cut from `board`: same material and thickness, and tied to no others.

    A part that is tied to this very board takes it as a substitute a little off in thickness.
    """
    off_mm = abs(part.thickness_mm - board.thickness_mm)
    allowed_mm = SAME_THICKNESS_MM
    if part.board == board.name:
        allowed_mm = max(allowed_mm, SUBSTITUTE_SHARE * part.thickness_mm)
    is_same_wood = part.material == board.material and off_mm <= allowed_mm + 1e-9
    return is_same_wood and part.board in (None, board.name) and (not part.boards or board.name in part.boards)


def base_angle_deg(part: Part, board: Board, *, is_flipped: bool) -> float:
    """Return the turn, 0 up to 180, that lays the part's grain along the board's; a half-turn more does too."""
    own = 180.0 - part.grain_deg if is_flipped else part.grain_deg
    return (board.grain_deg - own) % 180.0


def check_names(
    parts: Sequence[Part], boards: Sequence[Board], rules: NestRules, *, to_lay: Sequence[Part] | None = None
) -> None:
    """Do nothing if names are unique and every name that is referred to exists.

    Only the parts `to_lay` (all without it) need the boards that they are tied to.

    Raises:
        InputError: With the name that is doubled or unknown.
    """
    for what, names in (("part", [p.name for p in parts]), ("board", [b.name for b in boards])):
        doubled = {name for name in names if names.count(name) > 1}
        if doubled:
            raise InputError(f"nest: two {what}s are named {min(doubled)!r}; give each a name of its own.")
    known = {part.name for part in parts}
    for name in (*(n for couple in rules.side_by_side for n in couple), *rules.on_soft_patches):
        if name not in known:
            raise InputError(f"nest: the rules speak of part {name!r}, which is not among the parts.")
    there = {board.name for board in boards}
    for part in parts if to_lay is None else to_lay:
        for name in (*filter(None, (part.board,)), *part.boards):
            if name not in there:
                raise InputError(f"part {part.name}: it is tied to board {name!r}, which is not in the rack.")
