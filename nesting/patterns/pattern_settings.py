"""How patterns are to look: paper, printer, tool, marks."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from nesting.patterns.blades import COMMON_BLADES, Blade
from nesting.patterns.papers import Paper, find_paper
from nesting.place.layout_rules import NestRules, Tool
from vectorize.basics.errors import InputError
from vectorize.shapes.offset import Corners

Format = Literal["pdf", "svg", "dxf", "png"]
FORMATS: tuple[Format, ...] = ("pdf", "svg", "dxf", "png")
Style = Literal["stick-on", "card"]
DxfVersion = Literal["R12", "R2000", "R2010"]

ALL_MARKS = frozenset(
    {
        "name", "count", "hand", "grain", "stock", "weight",
        "datum", "balance", "centre line", "doubler", "holes", "fold", "cutting",
    }
)  # fmt: skip
"""Every mark that can be switched; `cutting` is blade entries, relief cuts and the order numbers."""

BAR_MM = 100.0
LEAST_WIDTH_MM = 165.0
"""Width between the margins that the check bars (4 in and their strip) and the words beside them need."""


@dataclass(frozen=True, slots=True)
class PatternSettings:
    """All choices for paper and files; the defaults suit an ordinary A4 printer and a scroll saw.

    `printer_bars_mm` is what the two 100 mm bars measure (across, up) on a print made without
    correction: later prints are stretched so that they come out true. `kerf_mm` None takes the
    tool's default. `style` is `stick-on` (paper pattern with a generous edge) or `card` (template,
    cut to the line). `units` is the system named first in texts.

    Raises:
        InputError: An unknown paper or mark, a margin below 5 mm, bars more than 5 % off, a paper
            too small for the check bars.
    """

    paper: str = "A4"
    margin_mm: float = 10.0
    overlap_mm: float = 10.0
    printer_bars_mm: tuple[float, float] = (BAR_MM, BAR_MM)
    is_mirrored: bool = False
    tool: Tool = "saw"
    kerf_mm: float | None = None
    style: Style = "stick-on"
    marks: frozenset[str] = ALL_MARKS
    most_pages: int = 60
    dxf_version: DxfVersion = "R2010"
    blades: tuple[Blade, ...] = COMMON_BLADES
    units: str = "mm"
    model: str = ""

    def __post_init__(self) -> None:
        find_paper(self.paper)
        _check_range("pattern margin", self.margin_mm, 5.0, 40.0, "printers leave about 5 mm of each edge blank")
        _check_range("pattern overlap", self.overlap_mm, 8.0, 40.0, "the joining marks need 8 mm")
        for bar, where in zip(self.printer_bars_mm, ("across", "up"), strict=True):
            _check_range(
                f"the 100 mm bar {where}", bar, 95.0, 105.0, "more is not a printer's error but a scaled print"
            )
        unknown = sorted(self.marks - ALL_MARKS)
        if unknown:
            raise InputError(f"mark {unknown[0]!r} is not known; use any of {', '.join(sorted(ALL_MARKS))}.")
        if self.kerf_mm is not None:
            _check_range("kerf", self.kerf_mm, 0.0, 10.0, "it is the width of the cut")
        room_mm = self.page.width_mm - 2 * self.margin_mm
        if room_mm < LEAST_WIDTH_MM:
            raise InputError(
                f"margins of {self.margin_mm:g} mm leave {room_mm:.0f} mm of the width of {self.page.name}; "
                f"the check bars and the words beside them need {LEAST_WIDTH_MM:.0f} mm. "
                "Take a smaller margin or larger paper."
            )
        if not self.blades:
            raise InputError("no blade is given; name at least one, or leave the list out to use common sizes.")
        if self.most_pages < 1:
            raise InputError(f"the limit of pages is {self.most_pages}; it must be at least 1.")

    @property
    def page(self) -> Paper:
        """Return the paper."""
        return find_paper(self.paper)

    @property
    def is_sawn_by_hand(self) -> bool:
        """Return whether somebody follows the line with a saw or a knife."""
        return self.tool in ("saw", "knife")

    @property
    def path_kerf_mm(self) -> float:
        """Return the width that the path in SVG and DXF makes up for: a saw runs beside the line, a knife on it."""
        if self.is_sawn_by_hand:
            return 0.0
        return NestRules.for_tool(self.tool).kerf_mm if self.kerf_mm is None else self.kerf_mm

    @property
    def path_corners(self) -> Corners:
        """Return how the path goes about outside corners: a wide bit must not run on into the next part."""
        return "round" if self.tool == "router" else "mitre"

    @property
    def correction(self) -> tuple[float, float]:
        """Return the factors (across, up) by which paper is drawn larger than life."""
        across, up = self.printer_bars_mm
        return BAR_MM / across, BAR_MM / up


def _check_range(what: str, value: float, least: float, most: float, why: str) -> None:
    if not (math.isfinite(value) and least <= value <= most):
        raise InputError(f"{what} is {value:g} mm; it must lie between {least:g} and {most:g} mm ({why}).")
