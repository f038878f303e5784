"""Template strips: female half-templates that are laid on the wing while it is sanded."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nesting.carve.panel import CarvedPanel
from nesting.carve.panel_lines import Side
from nesting.carve.section import Section
from vectorize.basics.errors import PartError
from vectorize.shapes.boolean import common, cut
from vectorize.shapes.offset import offset_outline
from vectorize.shapes.outline import Outline
from vectorize.shapes.segment import Point

EAR_MM = 12.0
"""How far a template stands out ahead and behind; there the two halves touch when the section is right."""
BACK_MM = 14.0
"""Card or ply left behind the deepest point of the cut, to hold it by."""
_FLAT_MM = 1e-6


@dataclass(frozen=True, slots=True)
class TemplateStrip:
    """One half-template in its own frame: x aft from the leading edge, y up, in mm.

    `marks` are short lines to draw: the chord line's ends, high point, leading and trailing edge. `words` are
    what is written on it, `words_at` the middle of the space for them at the back.
    """

    side: Side
    station_mm: float
    chord_mm: float
    outline: Outline
    marks: tuple[tuple[Point, Point], ...]
    words: tuple[str, ...]
    words_at: Point


def template_strips(
    panel: CarvedPanel, stations_mm: tuple[float, ...], *, covering_mm: float = 0.0
) -> tuple[TemplateStrip, ...]:
    """Return the half-templates of each station, upper and (where it is not flat) lower.

    The curves are the section's own. `covering_mm` of covering on the finished wing makes them wider by
    as much all round; by default it is left out, for it is less than sanding holds.

    Raises:
        PartError: A station off the panel, or where the chord is too short for a template.
    """
    if covering_mm < 0:
        raise PartError(f"a covering {covering_mm:g} mm thick cannot be; give 0 or more.")
    strips: list[TemplateStrip] = []
    for number, station in enumerate(stations_mm, start=1):
        strips.extend(_at_station(panel, number, panel.planform.checked_station(station), covering_mm))
    return tuple(strips)


def _at_station(panel: CarvedPanel, number: int, station: float, covering: float) -> list[TemplateStrip]:
    chord = float(panel.planform.chord(np.array([station]))[0])
    if chord < 10.0:
        raise PartError(
            f"at span station {station:.1f} mm the chord is {chord:.1f} mm; a template needs 10 mm. Move it inward."
        )
    section = panel.section_at(station)
    base = panel.chord_height(section, chord)
    solid = section_outline(section, chord, base)
    upper, lower = panel.heights(station, np.array([0.0, 1.0]))
    is_flat = _is_flat(section)
    # The halves meet on this line; a flat bottom stands on the bench, so there the line is the bench.
    split = (0.0, 0.0) if is_flat else (float(upper[0] + lower[0]) / 2, float(upper[1] + lower[1]) / 2)
    sides: tuple[Side, ...] = ("upper",) if is_flat else ("upper", "lower")
    return [_strip(panel, section, solid, side, number, station, chord, split, covering, is_flat) for side in sides]


def section_outline(section: Section, chord_mm: float, base_mm: float) -> Outline:
    """Return the section as it is carved: from the leading edge aft, its chord line at a height of `base_mm`."""
    outline = Outline(section.ring(chord_mm=chord_mm)).mapped(lambda p: (p[0], p[1] + base_mm))
    x0, y0, x1, y1 = outline.bounds
    if x0 > -1e-6 and x1 < chord_mm + 1e-6:
        return outline
    # A cambered section bulges a hair beyond its chord; the panel ends at the planform's edge.
    return common(outline, Outline.rectangle(0.0, y0 - 1, chord_mm, y1 + 1))[0]


def _is_flat(section: Section) -> bool:
    lower = section.heights(np.linspace(0.25, 1.0, 31))[1]
    return bool(np.abs(lower).max() < _FLAT_MM)


def _strip(
    panel: CarvedPanel,
    section: Section,
    solid: Outline,
    side: Side,
    number: int,
    station: float,
    chord: float,
    split: tuple[float, float],
    covering: float,
    is_flat: bool,
) -> TemplateStrip:
    _, low, _, high = solid.bounds
    far = high + covering + BACK_MM if side == "upper" else low - covering - BACK_MM
    ahead, behind = -EAR_MM, chord + EAR_MM
    block = Outline.from_points(
        [(ahead, split[0]), (0.0, split[0]), (chord, split[1]), (behind, split[1]), (behind, far), (ahead, far)]
    )
    tools = [offset_outline(solid, covering)[0] if covering else solid]
    if is_flat:
        # The template comes down from above: nothing may be left under the round of the nose.
        nose = section.nose_radius * chord
        tools.append(Outline.rectangle(-covering, -1.0, nose, nose + 1e-3))
    outline = cut(block, *tools)[0]
    sign = 1.0 if side == "upper" else -1.0
    high_at = section.high_point * chord
    top = far - sign * 1.0
    upper, lower = panel.heights(station, np.array([section.high_point]))
    foot = float(upper[0]) if side == "upper" else float(lower[0])
    marks = (
        ((-EAR_MM + 1.0, split[0] + sign * 1.5), (-3.0, split[0] + sign * 1.5)),
        ((chord + 3.0, split[1] + sign * 1.5), (chord + EAR_MM - 1.0, split[1] + sign * 1.5)),
        ((0.0, top - sign * 4.0), (0.0, top)),
        ((chord, top - sign * 4.0), (chord, top)),
        ((high_at, foot + sign * (covering + 1.0)), (high_at, foot + sign * (covering + 4.0))),
    )
    words = (f"{number} {side}", f"station {station:.0f} mm, chord {chord:.1f} mm, high point {high_at:.1f} mm")
    return TemplateStrip(side, station, chord, outline, marks, words, (chord / 2, far - sign * 5.0))
