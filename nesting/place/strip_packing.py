"""Packing a strip: fixed height, the shortest length that takes all shapes. For stock in rolls and benchmarks."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from nesting.place.copies import Arrangement, Kind, Piece
from nesting.place.improve import Budget, improve, measure
from nesting.place.layout_rules import NestRules
from nesting.place.search_shapes import grown_polygon
from nesting.place.search_space import Yard, build_yard
from nesting.place.start import first_layout
from nesting.wood.board import Board
from vectorize.basics.errors import InputError, NoSolutionError, ToleranceError
from vectorize.shapes.outline import Outline, Pose


@dataclass(frozen=True, slots=True)
class StripLayout:
    """Where each shape lies (one pose per shape, in their order), the length used and the density.

    `density` is net area over height times length. `evaluations` counts the places that were valued.
    """

    poses: tuple[Pose, ...]
    length_mm: float
    density: float
    sweeps: int
    evaluations: int


def pack_strip(
    shapes: Sequence[Outline],
    *,
    strip_height: float,
    orientations: Sequence[Sequence[float]] | None = None,
    gap_mm: float = 0.0,
    time_limit_s: float | None = 10.0,
    max_sweeps: int | None = None,
    seed: int = 0,
    on_progress: Callable[[float], None] | None = None,
) -> StripLayout:
    """Return the shapes packed on a strip that is `strip_height` mm high (y) and as short as was found (x).

    `orientations` lists the allowed turns of each shape in degrees; by default 0 and 180. Give one
    outline object several times for copies: identity is how copies are known.

    Raises:
        ToleranceError: A height or gap that cannot be.
        InputError: As many lists of orientations as shapes are needed.
        NoSolutionError: A shape is higher than the strip in all its orientations.
    """
    if not (np.isfinite(strip_height) and strip_height > 0):
        raise ToleranceError(f"strip: the height is {strip_height} mm; it must be above zero.")
    turns = [(0.0, 180.0)] * len(shapes) if orientations is None else [tuple(t) for t in orientations]
    if len(turns) != len(shapes):
        raise InputError(f"strip: {len(shapes)} shapes but {len(turns)} lists of orientations were given.")
    if not shapes:
        return StripLayout((), 0.0, 0.0, 0, 0)
    yard = _strip_yard(shapes, turns, strip_height, gap_mm)
    budget = Budget(time_limit_s, max_sweeps)
    scene, missing = first_layout(yard, seed)
    if missing:
        x0, y0, x1, y1 = shapes[missing[0]].bounds
        raise NoSolutionError(
            f"strip: shape {missing[0]} is {x1 - x0:g} × {y1 - y0:g} mm; "
            f"no allowed turn fits a height of {strip_height:g} mm."
        )
    report = None if on_progress is None else lambda better: on_progress(measure(yard, better).length - gap_mm)
    scene = improve(yard, scene, budget=budget, seed=seed, on_better=report)
    poses = {p.copy: p.pose for p in yard.placements(scene, 0)}
    length = measure(yard, scene).length - gap_mm
    area = sum(shape.area_mm2 for shape in shapes)
    return StripLayout(
        tuple(poses[k] for k in range(len(shapes))),
        length,
        area / (strip_height * length),
        budget.sweeps,
        budget.evaluations,
    )


def _strip_yard(shapes: Sequence[Outline], turns: Sequence[tuple[float, ...]], height: float, gap_mm: float) -> Yard:
    kinds: list[Kind] = []
    numbers: dict[tuple[int, tuple[float, ...]], int] = {}
    pieces = []
    for k, shape in enumerate(shapes):
        key = (id(shape), turns[k])
        if key not in numbers:
            numbers[key] = len(kinds)
            polygon = grown_polygon(shape, grow_mm=gap_mm / 2, what=f"shape {k}")
            way = Arrangement(polygon, polygon, (("shape", Pose()),), 0.0)
            kinds.append(Kind((way,), 0.0, turns[k]))
        pieces.append(Piece(numbers[key], (("shape", k),)))
    longest = sum(np.hypot(*shape.size_mm) + gap_mm for shape in shapes)
    strip = Board("strip", "", 1.0, float(longest), height)
    rules = NestRules("laser", gap_mm, 0.0, 0.0, 0.0)
    return build_yard(kinds, pieces, [strip], rules)
