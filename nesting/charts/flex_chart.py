"""The picture of ways to build a panel: mass, bending, twist and stiffness as bars, and the elastic axis in words."""

from __future__ import annotations

from nesting.charts.bars import PICTURE_WIDTH_MM, SMALL_MM, draw_bars, write, write_lines
from nesting.patterns.drawing import Drawing
from nesting.wood.estimate import Estimate
from nesting.wood.flex.panel_flex import FlexReport
from vectorize.basics.units import measure, unit_of

_NAMES_MM = 48.0
_ROW_MM = 7.0


def draw_flex(drawing: Drawing, report: FlexReport, *, units: str) -> None:
    """Draw the picture, its upper left corner at the origin and everything below it."""
    first = report.options[0]
    write(drawing, f"{report.part}: ways to build it compared", 0, -5, height_mm=3.5, is_bold=True)
    blocks = (
        (f"mass, {unit_of('mass', units)}", [option.mass_g for option in report.options]),
        (f"first bending against {first.name}", [option.first_bending for option in report.options]),
        (f"first twist against {first.name}", [option.first_twist for option in report.options]),
        ("stiffness under a load at the tip", [option.stiffness for option in report.options]),
        ("stiffness per mass", [report.per_gram(option) for option in report.options]),
    )
    y = -14.0
    for number, (title, values) in enumerate(blocks):
        rows = [(option.name, value) for option, value in zip(report.options, values, strict=True)]

        def words(value: Estimate, *, is_mass: bool = number == 0) -> str:
            if is_mass:
                return measure(value.value, "mass", units=units, decimals=2, sigma=value.sigma)
            return f"x {value.value:.2f} ± {value.sigma:.2f}"

        y = draw_bars(drawing, rows, title, words, y, names_mm=_NAMES_MM, row_mm=_ROW_MM)
    write_lines(drawing, report.caution, 0, y - 1, PICTURE_WIDTH_MM, height_mm=SMALL_MM)
