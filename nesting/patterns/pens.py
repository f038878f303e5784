"""One table of line widths, dashes and colours for every format.

Widths are from the series of ISO 128 (0.13, 0.18, 0.25, 0.35, 0.5 mm). The dashes alone tell the layers
apart in black and white; colour only helps on a screen. docs/explanation/drawing.md gives the reasons.
"""

from __future__ import annotations

from dataclasses import dataclass

from nesting.patterns.drawing import Layer


@dataclass(frozen=True, slots=True)
class Pen:
    """Line width and dashes in millimetres, colour as shares of red, green and blue."""

    width_mm: float
    dashes_mm: tuple[float, ...] = ()
    rgb: tuple[float, float, float] = (0.0, 0.0, 0.0)

    @property
    def rgb_bytes(self) -> tuple[int, int, int]:
        """Return red, green and blue from 0 to 255."""
        red, green, blue = (round(255 * share) for share in self.rgb)
        return red, green, blue

    @property
    def hex_colour(self) -> str:
        """Return the colour as `#rrggbb`."""
        return "#" + "".join(f"{value:02x}" for value in self.rgb_bytes)


_BLACK = (0.0, 0.0, 0.0)
_PINE = (0.0, 0.30, 0.16)
_PLUM = (0.36, 0.0, 0.36)
_UMBER = (0.40, 0.22, 0.0)
_SLATE = (0.25, 0.25, 0.25)

PENS: dict[Layer, Pen] = {
    Layer.OUTLINE: Pen(0.25, (), _BLACK),
    Layer.OPENING: Pen(0.25, (), _PINE),
    Layer.DRILL: Pen(0.25, (), _PLUM),
    Layer.MARK: Pen(0.18, (4.0, 1.2), _UMBER),
    Layer.GUIDE: Pen(0.13, (), _PINE),
    Layer.GRAIN: Pen(0.18, (), _UMBER),
    Layer.HELP: Pen(0.18, (0.8, 0.8), _SLATE),
    Layer.WORDS: Pen(0.18, (), _SLATE),
    Layer.BOARD: Pen(0.18, (8.0, 1.5, 1.0, 1.5), _SLATE),
    Layer.SCISSORS: Pen(0.18, (1.0, 1.5), _SLATE),
    Layer.SIZE: Pen(0.18, (), _SLATE),
    Layer.PROOF: Pen(0.13, (), _BLACK),
    Layer.JOIN: Pen(0.13, (0.6, 1.8), _BLACK),
    Layer.PAGE: Pen(0.13, (), _BLACK),
}
