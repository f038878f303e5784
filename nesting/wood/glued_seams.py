"""The glued joints that steps make themselves: seams between planks, round strips, in scarfs, between layers."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from nesting.wood.covering import DEFAULT_GLUE
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline
from vectorize.shapes.segment import Point

_CHORD_MM = 0.01
_TOUCH_MM = 0.02


@dataclass(frozen=True, slots=True)
class Seam:
    """A glued joint: between which parts, its area, its middle on the plan, and the glue; one for each copy.

    An upright seam runs through the thickness and is carved away with the wood: `left_share` of it stays.
    A doubler's seam is its whole face, and lies between two parts of the model; the others make one part.
    """

    name: str
    parts: tuple[str, ...]
    area_mm2: float
    at: Point
    glue: str = DEFAULT_GLUE
    is_upright: bool = False
    is_whole_face: bool = False
    left_share: float = 1.0


def upright_seam(
    name: str, parts: Sequence[str], outline: Outline, line: tuple[Point, Point], *, depth_mm: float, glue: str
) -> Seam | None:
    """Return the seam along a line through an outline, as deep as the wood; None where they do not meet."""
    from shapely.geometry import LineString

    met = outline.to_polygon(_CHORD_MM).intersection(LineString(line))
    if met.length < _TOUCH_MM:
        return None
    return Seam(name, tuple(parts), met.length * depth_mm, (met.centroid.x, met.centroid.y), glue, is_upright=True)


def edge_seam(name: str, strip: Part, panel: Part, *, glue: str) -> Seam:
    """Return the seam between a strip and the panel it is let into: their common edge, as deep as the thinner one."""
    rim = strip.outline.to_polygon(_CHORD_MM).exterior
    met = rim.intersection(panel.outline.to_polygon(_CHORD_MM).buffer(_TOUCH_MM))
    depth = min(strip.thickness_mm, panel.thickness_mm)
    at = (met.centroid.x, met.centroid.y)
    return Seam(name, (strip.name, panel.name), met.length * depth, at, glue, is_upright=True)


def flat_seam(
    name: str, parts: Sequence[str], faces: Iterable[Outline], *, glue: str, slope: float = math.inf, sides: int = 1
) -> Seam:
    """Return the seam over some faces; `slope` is its run for each millimetre of thickness where it slants."""
    outlines = tuple(faces)
    flat = sum(face.area_mm2 for face in outlines)
    x, y = (sum(face.area_mm2 * face.centroid[axis] for face in outlines) / flat for axis in (0, 1))
    return Seam(name, tuple(parts), flat * sides * math.hypot(1.0, 1.0 / slope), (x, y), glue)


def moved(seam: Seam, to_plan: Callable[[Point], Point]) -> Seam:
    """Return the seam with its middle brought back on the plan."""
    return replace(seam, at=to_plan(seam.at))


def settled(seam: Seam, parts: Mapping[str, Part]) -> Seam | None:
    """Return the seam by the parts that later steps made of those it names; None where fewer than two are left."""
    names = dict.fromkeys(n for name in seam.parts for n in parts if n == name or n.startswith(f"{name} "))
    if len(names) < 2:
        return None
    own = parts[next(iter(names))].outline
    area, at = (own.area_mm2, own.centroid) if seam.is_whole_face else (seam.area_mm2, seam.at)
    return replace(seam, parts=tuple(names), area_mm2=area, at=at)


def carved_seam(seam: Seam, shares: Mapping[str, float]) -> Seam:
    """Return the seam of pieces that are carved to the given shares; one that lies flat keeps its area."""
    mine = [shares[name] for name in seam.parts if name in shares]
    if not (mine and seam.is_upright):
        return seam
    return replace(seam, left_share=seam.left_share * sum(mine) / len(mine))
