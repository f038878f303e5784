"""A part as it is built: its pieces, and the doublers and skins glued onto its faces, station by station."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from nesting.alter.axis import Axis
from nesting.carve.planform import Floats, stretches_at
from nesting.job.deriving import owner_of
from nesting.job.model_values import Model
from nesting.job.schema import JobSpec
from nesting.wood.board import Board
from nesting.wood.density import Wood, board_gradient, board_thickness, material_of
from nesting.wood.estimate import UNIFORM_SIGMA, Estimate
from nesting.wood.flex.built_up import BuiltStiffness, Cell, Stray, Way, built_stiffness
from nesting.wood.flex.slabs import Stuff
from nesting.wood.flex.woods import board_by_default, wood_of_board
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline

STATIONS = 121
"""So many stations are looked at along a part."""
ALONG_DEG = 20.0
"""A part that lies within this of the plan's way aft is bent along that; any other along its own long side."""
_LEAST_CELL_MM = 1e-3


@dataclass(frozen=True, slots=True)
class Layer:
    """One piece: in the middle (0), on the left (1) or the right (-1) face; its rings are (height, station)."""

    part: Part
    rings: tuple[Floats, ...]
    face: int


@dataclass(frozen=True, slots=True)
class BuiltPart:
    """All that is glued together to one part, along the direction in which it is bent."""

    name: str
    axis: Axis
    layers: tuple[Layer, ...]
    stations: int = STATIONS

    def stiffness(self, model: Model, boards: Mapping[str, Board]) -> BuiltStiffness:
        """Return its stiffness, pieces from the given boards by their name, others from those chosen for them."""
        woods = [boards.get(layer.part.name) or _chosen(model, layer.part) for layer in self.layers]
        thick = [board_thickness(board, accuracy=model.wood.accuracy) for board in woods]
        reached = [(station, at) for station in self._stations() if any(at := self._stretches(station))]
        sections = [at for _, at in reached]
        values = [one.value for one in thick]
        return built_stiffness(
            [station for station, _ in reached],
            [self._cells(at, values) for at in sections],
            self._stuffs(model, woods),
            thicker={source: [self._cells(at, varied) for at in sections] for source, varied in _varied(thick).items()},
            strays=[
                stray
                for kind, (layer, board) in enumerate(zip(self.layers, woods, strict=True))
                for stray in _strays(kind, layer, board, model.wood, np.array([station for station, _ in reached]))
            ],
        )

    @property
    def rings(self) -> tuple[Floats, ...]:
        """Return the rings of all its pieces as (height, station), for a picture."""
        return tuple(ring for layer in self.layers for ring in layer.rings)

    def _stations(self) -> list[float]:
        ends = [float(end) for layer in self.layers if layer.face == 0 for ring in layer.rings
                for end in (ring[:, 1].min(), ring[:, 1].max())]  # fmt: skip
        low, high = min(ends), max(ends)
        return [low + (high - low) * (number + 0.5) / self.stations for number in range(self.stations)]

    def _stretches(self, station: float) -> list[tuple[tuple[float, float], ...]]:
        return [stretches_at(layer.rings, station) for layer in self.layers]

    def _cells(self, at: Sequence[tuple[tuple[float, float], ...]], thick: Sequence[float]) -> list[Cell]:
        """Return the stacks between all heights at which a layer begins or ends."""
        heights = sorted({height for stretches in at for stretch in stretches for height in stretch})
        cells = [
            Cell(low, high, self._stack((low + high) / 2, at, thick))
            for low, high in pairwise(heights)
            if high - low > _LEAST_CELL_MM
        ]
        return [cell for cell in cells if cell.layers]

    def _stack(
        self, height: float, at: Sequence[tuple[tuple[float, float], ...]], thick: Sequence[float]
    ) -> tuple[tuple[int, float, float], ...]:
        """Return the layers at a height: those of the middle about z = 0, then outwards on either face."""
        there = [any(low < height < high for low, high in stretches) for stretches in at]
        core = [number for number, layer in enumerate(self.layers) if layer.face == 0]
        # Where a doubler bridges an opening it still lies in the plane of the face.
        whole = sum(thick[n] for n in core if there[n]) or max(thick[n] for n in core)
        found, z = [], -whole / 2
        for n in core:
            if there[n]:
                found.append((n, z, z + thick[n]))
                z += thick[n]
        reach = {1: whole / 2, -1: whole / 2}
        for n, layer in enumerate(self.layers):
            if there[n] and layer.face:
                low, high = sorted((layer.face * reach[layer.face], layer.face * (reach[layer.face] + thick[n])))
                found.append((n, low, high))
                reach[layer.face] += thick[n]
        return tuple(found)

    def _stuffs(self, model: Model, woods: Sequence[Board]) -> dict[Way, tuple[Stuff, ...]]:
        """Return what the layers are of: bent across their thickness only in the middle and flatwise."""

        def of(*, is_core_stretched: bool) -> tuple[Stuff, ...]:
            return tuple(
                wood_of_board(
                    board, layer.part.grain_deg - self.axis.aft_deg, name=layer.part.name, wood=model.wood,
                    is_stretched=layer.face != 0 or is_core_stretched,
                )
                for layer, board in zip(self.layers, woods, strict=True)
            )  # fmt: skip

        bent, stretched = of(is_core_stretched=False), of(is_core_stretched=True)
        return {"flatwise": bent, "edgewise": stretched, "twist": bent}


def _varied(thick: Sequence[Estimate]) -> dict[str, list[float]]:
    """Return all thicknesses with one board's a standard deviation greater, by the name of that doubt."""
    sources = {one.main_doubt: one.sigma for one in thick if one.main_doubt is not None}
    return {
        source: [one.value + (sigma if one.main_doubt == source else 0.0) for one in thick]
        for source, sigma in sources.items()
    }


def _strays(kind: int, layer: Layer, board: Board, wood: Wood, stations: Floats) -> tuple[Stray, ...]:
    """Return how E may change along a layer: its board's E is a mean, and where on it the layer is cut nobody says.

    E follows the density, which runs evenly from end to end (`board_gradient`) but for what is left beside that.
    """
    along = np.concatenate([ring[:, 1] for ring in layer.rings])
    low, high = float(along.min()), float(along.max())
    long, change = high - low, board_gradient(board, wood=wood).change
    slope = math.hypot(change.value, change.sigma) / board.length_mm
    local = material_of(board, wood.materials).local_spread
    away, free = stations - (low + high) / 2, max(0.0, board.length_mm - long)
    here = f"{layer.part.name} on {board.name}"
    return (
        Stray(kind, f"gradient along {here}", slope * away),
        Stray(kind, f"place of {here}", np.full_like(stations, slope * free * UNIFORM_SIGMA)),
        Stray(kind, f"wood under {here}", np.full_like(stations, local)),
    )


def _chosen(model: Model, part: Part) -> Board:
    name = next((w.board for w in model.weights.chosen if (w.part, w.copy) == (part.name, 1)), None)
    found = next((board for board in model.woods if board.name == name), None)
    return found or board_by_default(part.material, part.thickness_mm)


def built_part(spec: JobSpec, model: Model, name: str) -> BuiltPart | None:
    """Return the part that a piece belongs to as it is built; None where it is one piece and nothing is glued on.

    A doubler belongs to the part that it was made from.
    """
    tables = {table.name: table for table in spec.part}
    owner = owner_of(name, tables) or name
    if _is_doubler(spec, owner) and tables[owner].source is not None:
        owner = str(tables[owner].source)
    core = [part for part in model.parts if owner_of(part.name, tables) == owner]
    glued = [
        (part, face)
        for table in spec.part
        if table.source == owner and _is_doubler(spec, table.name)
        for part in model.parts
        if owner_of(part.name, tables) == table.name
        for face in faces_of_doubler(spec, table.name, part)
    ]
    if not core or (len(core) == 1 and not glued):
        return None
    axis = _beam_axis(model.axes.get(owner, Axis()), [part.outline for part in core])
    layers = [_layer(part, axis, 0) for part in core] + [_layer(part, axis, face) for part, face in glued]
    return BuiltPart(owner, axis, tuple(layers))


def _is_doubler(spec: JobSpec, name: str) -> bool:
    return any(table.name == name and any(step.make == "doubler" for step in table.step) for table in spec.part)


def faces_of_doubler(spec: JobSpec, name: str, part: Part) -> tuple[int, ...]:
    """Return the faces that a doubler is glued to: the left is 1, the right is -1."""
    if part.name == f"{name} left":
        return (1,)
    if part.name == f"{name} right":
        return (-1,)
    table = next(table for table in spec.part if table.name == name)
    sides = next(step.sides for step in table.step if step.make == "doubler")
    return {"both": (1, -1), "left": (1,), "right": (-1,)}[sides]


def _layer(part: Part, axis: Axis, face: int) -> Layer:
    turn = np.array([axis.up, axis.aft]).T
    rings = tuple((ring.flattened() - np.asarray(axis.datum)) @ turn for ring in part.outline.rings)
    return Layer(part, rings, face)


def _beam_axis(axis: Axis, outlines: Sequence[Outline]) -> Axis:
    import shapely

    points = np.concatenate([outline.exterior.flattened() for outline in outlines])
    box = shapely.get_coordinates(shapely.minimum_rotated_rectangle(shapely.MultiPoint(points)))
    side = max(np.diff(box[:3], axis=0), key=lambda one: float(np.hypot(*one)))
    long_deg = math.degrees(math.atan2(side[1], side[0]))
    off = abs((long_deg - axis.aft_deg + 90) % 180 - 90)
    if off <= ALONG_DEG:
        return axis
    along = Axis((0.0, 0.0), long_deg)
    first = min(along.stations_of(outline)[0] for outline in outlines)
    return Axis(along.point(first), long_deg)
