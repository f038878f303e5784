"""Stiffness along a part as it is built, drawn under its side view, a line for each board."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from nesting.charts.bars import SMALL_MM, write, write_lines
from nesting.choice.compare import Comparison
from nesting.patterns.drawing import Drawing, Layer, draw_line
from nesting.wood.beam import Loading
from nesting.wood.flex.built_up import BuiltStiffness
from nesting.wood.flex.slabs import Floats
from vectorize.basics.units import measure

_WIDTH_MM = 150.0
_STRIP_MM = 28.0
_PENS = (Layer.OUTLINE, Layer.MARK, Layer.GRAIN, Layer.SIZE, Layer.JOIN, Layer.GUIDE)
_WAYS: tuple[Loading, ...] = ("edgewise", "flatwise")


@dataclass(frozen=True, slots=True)
class SideView:
    """A part with what is glued on: rings of (height, station) in mm."""

    rings: tuple[Floats, ...]


def draw_built(drawing: Drawing, comparison: Comparison, view: SideView, *, units: str) -> None:
    """Draw the side view and the stiffness below it, its upper left corner at the origin."""
    built = [(c.board.name, c.built) for c in comparison.candidates if c.built is not None]
    low = min(float(ring[:, 1].min()) for ring in view.rings)
    scale = _WIDTH_MM / (max(float(ring[:, 1].max()) for ring in view.rings) - low)
    write(
        drawing, f"{comparison.part} with all that is glued on: stiffness along it", 0, -5, height_mm=3.5, is_bold=True
    )
    y = _draw_view(drawing, view, low, scale, -12.0)
    for way in _WAYS:
        y = _draw_strip(
            drawing, way, [(name, one.along, one.weakest_mm[way]) for name, one in built], low, scale, y, units
        )
    write_lines(drawing, comparison.caution, 0, y - 2, _WIDTH_MM + 35, height_mm=SMALL_MM)


def _draw_view(drawing: Drawing, view: SideView, low: float, scale: float, top: float) -> float:
    highest = max(float(ring[:, 0].max()) for ring in view.rings)
    lowest = min(float(ring[:, 0].min()) for ring in view.rings)
    for ring in view.rings:
        points = [((s - low) * scale, top + (height - highest) * scale) for height, s in ring.tolist()]
        draw_line(drawing, *points, points[0], layer=Layer.PAGE)
    return top - (highest - lowest) * scale - 10.0


def _draw_strip(
    drawing: Drawing,
    way: Loading,
    boards: Sequence[tuple[str, BuiltStiffness, float]],
    low: float,
    scale: float,
    top: float,
    units: str,
) -> float:
    """Draw one way of loading; return where the next begins. The greatest value is as high as the strip."""
    write(drawing, f"{way}, against the greatest", 0, top, is_bold=True)
    base = top - 4.0 - _STRIP_MM
    most = max(float(one.values(way).max()) for _, one, _ in boards)
    draw_line(drawing, (0.0, base), (_WIDTH_MM, base), layer=Layer.PAGE)
    ends: list[float] = []
    for number, (name, one, weakest) in enumerate(boards):
        pen = _PENS[number % len(_PENS)]
        values = (one.values(way) / most * _STRIP_MM).tolist()
        points = [((s - low) * scale, base + v) for s, v in zip(one.stations_mm.tolist(), values, strict=True)]
        draw_line(drawing, *points, layer=pen)
        # Names of lines that end together stand above one another.
        at = points[-1][1]
        while any(abs(at - other) < 3.5 for other in ends):
            at += 3.5
        ends.append(at)
        write(drawing, name, _WIDTH_MM + 2, at, height_mm=SMALL_MM)
        if number == 0:
            x = (weakest - low) * scale
            draw_line(drawing, (x, base), (x, base + _STRIP_MM), layer=Layer.HELP)
            words = f"weakest at {measure(weakest, 'length', units=units)}"
            write(drawing, words, x, base - 4.0, height_mm=SMALL_MM, align="middle")
    return base - 10.0
