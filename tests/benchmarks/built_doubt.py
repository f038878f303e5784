"""How honest the doubt of a built-up body's stiffness is, on made-up boards whose errors follow other laws.

`python -m tests.benchmarks.built_doubt --seed 99 --count 1000`: so many bodies, each in two boards of balsa: core with
edge strips and doublers of ply or balsa, and a hole. How often the true ratio of EI, bent flatwise and edgewise, as a
whole and at a station, lies within two sigma of the told one, and the root mean square of error over sigma.
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from types import SimpleNamespace
from typing import cast

import numpy as np
from numpy.typing import NDArray

from nesting.alter.axis import Axis
from nesting.job.built_parts import BuiltPart, Layer
from nesting.job.model_values import Model
from nesting.wood.beam import ply_share, ply_stretch_share
from nesting.wood.board import BendTest, Board
from nesting.wood.density import USUAL
from nesting.wood.estimate import Estimate
from nesting.wood.flex.built_up import Way
from nesting.wood.material import MATERIALS
from nesting.wood.part import Part
from nesting.wood.stiffness import bend_test_sag_mm
from vectorize.shapes.outline import Outline

Floats = NDArray[np.float64]
Draw = np.random.Generator
_STATIONS, _SCATTER, _LONG_MM = 8, 0.12, 500.0
_MODEL = cast(Model, SimpleNamespace(wood=USUAL))


@dataclass(frozen=True, slots=True)
class Truth:
    """A board as it is: E in bending of its middle (MPa), its thickness, and E along it over that of its middle."""

    modulus_mpa: float
    thickness_mm: float
    change: float
    wave: float
    phase: float

    def along(self, places_mm: Floats) -> Floats:
        """Return E over that of the whole board: it runs evenly from end to end, and in a wave about that."""
        share = places_mm / 1000
        return np.asarray(1 + self.change * (share - 0.5) + self.wave * np.sin(self.phase + 20 * share))


class Trends:
    """What E per density of each material truly is: anything within its band, drawn once for a workshop."""

    def __init__(self, draw: Draw) -> None:
        self.draw = draw
        self.per_density = {
            name: draw.uniform(*MATERIALS[name].modulus_band) for name in ("balsa", "birch ply", "spruce")
        }

    def board(self, name: str, material: str, nominal_mm: float, density: float) -> tuple[Board, Truth]:
        """Return a board as its builder measured it, and as it is.

        E about its trend follows Laplace's law, gradients and waves even ones; calipers show twentieths of a
        millimetre, scales tenths or whole grams, rules half a millimetre of sag; one thickness in twenty is misread.
        """
        draw, kind = self.draw, MATERIALS[material]
        stray = 1 + draw.laplace(0, _SCATTER / math.sqrt(2))
        share = ply_share(kind.plies, kind.across_ratio)
        thickness = nominal_mm + draw.uniform(-0.25, 0.25)
        misread = 0.1 * draw.choice((-1, 1)) if draw.random() < 0.05 else 0.0
        step = 0.1 if draw.random() < 0.7 else 1.0
        board = Board(
            name, material, nominal_mm, 1000.0, 100.0, mass_resolution_g=step,
            measured_thickness_mm=round(round((thickness + draw.normal(0, 0.02) + misread) / 0.05) * 0.05, 2),
            mass_g=round(round(density * thickness * 0.1 / step) * step, 1),
        )  # fmt: skip
        spread = math.sqrt(3) * kind.gradient_spread
        truth = Truth(
            density * self.per_density[material] * stray * share, thickness, draw.uniform(-spread, spread),
            math.sqrt(2) * kind.local_spread * draw.uniform(0, 1.5), draw.uniform(0, 2 * math.pi),
        )  # fmt: skip
        return board, truth

    def tested(self, board: Board, truth: Truth) -> Board:
        """Return the board with a bend test, read off a rule."""
        whole = replace(board, measured_thickness_mm=truth.thickness_mm)
        test = BendTest(800.0, 200.0 * (truth.thickness_mm / 6) ** 3, 1.0)
        sag = bend_test_sag_mm(
            whole, test, truth.modulus_mpa, shear_ratio=MATERIALS[board.material].shear_ratio, density_kg_m3=150.0
        )
        return replace(board, bend_test=replace(test, sag_mm=max(0.5, round(sag * 2) / 2)))


@dataclass(frozen=True, slots=True)
class Shape:
    """A body: heights at its two ends, edge strips above and below, a doubler to a station, a hole round another."""

    heights_mm: tuple[float, float]
    strip_mm: float
    doubler_to_mm: float
    hole: tuple[float, float]
    hole_mm: float

    def height(self, station: Floats) -> Floats:
        """Return how high the body is at stations."""
        return np.asarray(np.interp(station, (0.0, _LONG_MM), self.heights_mm))

    def rings(self, low: float, high: float, station: tuple[float, float]) -> tuple[Floats, ...]:
        """Return the ring of a piece between two distances from its edges, for core (0, 0) or strips."""
        ends = np.array(station)
        tall = self.height(ends) / 2
        lower, upper = (np.where(at < 0, -tall, tall) + off for at, off in ((-1, low), (1, high)))
        return (np.column_stack([np.concatenate([lower, upper[::-1]]), np.concatenate([ends, ends[::-1]])]),)


def drawn_shape(draw: Draw) -> Shape:
    """Return a body between a plank and a tapered fuselage."""
    place = draw.uniform(0.3, 0.7) * _LONG_MM
    return Shape(
        (draw.uniform(50, 90), draw.uniform(30, 60)), draw.choice((0.0, 5.0)), draw.uniform(0.2, 0.6) * _LONG_MM,
        (place, place + 80), draw.uniform(0, 12),
    )  # fmt: skip


def body(shape: Shape) -> BuiltPart:
    """Return the body: core, edge strips, and a doubler on both faces."""
    whole = (0.0, _LONG_MM)
    hole = np.array([(-1, shape.hole[0]), (1, shape.hole[0]), (1, shape.hole[1]), (-1, shape.hole[1])])
    hole = hole * (shape.hole_mm / 2, 1)
    core = (*shape.rings(shape.strip_mm, -shape.strip_mm, whole), *([hole] if shape.hole_mm > 1 else []))
    half = shape.height(np.array(whole)) / 2
    along = np.array([0.0, _LONG_MM, _LONG_MM, 0.0])
    strips = [
        (np.column_stack([side * np.concatenate([half - shape.strip_mm, half[::-1]]), along]),) for side in (1, -1)
    ]
    doubler = shape.rings(0.0, 0.0, (0.0, shape.doubler_to_mm))
    pieces = [("body", core, 0), *((f"edge {n}", ring, 0) for n, ring in enumerate(strips) if shape.strip_mm)]
    pieces += [("doubler left", doubler, 1), ("doubler right", doubler, -1)]
    part = Outline.rectangle(0.0, 0.0, _LONG_MM, 50.0)
    layers = tuple(Layer(Part(name, part, "balsa", 6.0), rings, face) for name, rings, face in pieces)
    return BuiltPart("body", Axis(), layers, _STATIONS)


class Body:
    """EI of a body at its stations by hand: the transformed section, of true boards each lying somewhere on its own."""

    def __init__(self, shape: Shape, stations: Floats) -> None:
        self.stations = stations
        tall = shape.height(stations)
        inside = (stations > shape.hole[0]) & (stations < shape.hole[1])
        self.hole = np.where(inside, shape.hole_mm if shape.hole_mm > 1 else 0.0, 0.0)
        self.tall, self.core = tall, tall - 2 * shape.strip_mm
        self.is_doubled = stations < shape.doubler_to_mm

    def stiffness(self, way: Way, core: tuple[Truth, Floats], edge: Truth, skin: tuple[Truth, float]) -> Floats:
        """Return EI; `core` comes with E along it, `skin` with its E stretched over E bent."""
        (wood, local), (ply, stretched) = core, skin
        e, thick = wood.modulus_mpa * local, wood.thickness_mm
        skins = ply.modulus_mpa * stretched * self.is_doubled
        outer = thick / 2 + ply.thickness_mm
        edges = self.tall - self.core
        if way == "edgewise":
            bare = e * thick * (self.core**3 - self.hole**3) + edge.modulus_mpa * edge.thickness_mm * (
                self.tall**3 - self.core**3
            )
            return np.asarray((bare + 2 * skins * ply.thickness_mm * self.tall**3) / 12)
        bare = e * (self.core - self.hole) * thick**3 + edge.modulus_mpa * edges * edge.thickness_mm**3
        return np.asarray((bare + skins * self.tall * ((2 * outer) ** 3 - thick**3)) / 12)


def couple(draw: Draw) -> Iterator[tuple[float, Estimate]]:
    """Give (true ratio less the told one, the told one) of a body in two boards, in the order of `FIGURES`."""
    trends, shape = Trends(draw), drawn_shape(draw)
    built, thick = body(shape), draw.choice((5.0, 6.0, 8.0, 10.0))
    cores = [trends.board(name, "balsa", thick, draw.uniform(90, 220)) for name in ("one", "other")]
    edge_board, edge = trends.board("edge", "spruce", thick, 448 * draw.uniform(0.85, 1.15))
    material = str(draw.choice(("birch ply", "balsa")))
    skin_mm, skin_density = (0.8, 680.0) if material == "birch ply" else (3.0, 150.0)
    skin_board, skin = trends.board("skin", material, skin_mm, skin_density * draw.uniform(0.9, 1.1))
    kind = MATERIALS[material]
    stretched = ply_stretch_share(kind.plies, kind.across_ratio) / ply_share(kind.plies, kind.across_ratio)
    is_tested = draw.random() < 0.5
    others = {"doubler left": skin_board, "doubler right": skin_board, "edge 0": edge_board, "edge 1": edge_board}
    told, true = [], []
    for board, wood in cores:
        at_hand = trends.tested(board, wood) if is_tested else board
        one = built.stiffness(_MODEL, others | {"body": at_hand})
        place = draw.uniform(0, 1000 - _LONG_MM)
        turned = draw.choice((-1, 1))
        local = wood.along(place + (one.stations_mm if turned > 0 else _LONG_MM - one.stations_mm))
        by_hand = Body(shape, one.stations_mm)
        told.append(one)
        true.append({way: by_hand.stiffness(way, (wood, local), edge, (skin, stretched)) for way in _WAYS})
    number = int(draw.integers(_STATIONS))
    for way in _WAYS:
        (one, other), (ei, other_ei) = told, (true[0][way], true[1][way])
        whole, here = one.whole(way) / other.whole(way), one.at(way, number) / other.at(way, number)
        yield float(np.mean(1 / other_ei) / np.mean(1 / ei)) - whole.value, whole
        yield float(ei[number] / other_ei[number]) - here.value, here


_WAYS: tuple[Way, ...] = ("flatwise", "edgewise")
FIGURES = ("flatwise, whole", "flatwise, a station", "edgewise, whole", "edgewise, a station")


def errors(seed: int, count: int) -> Floats:
    """Return error over sigma, (count, 4), in the order of `FIGURES`."""
    draws = (np.random.default_rng([seed, number]) for number in range(count))
    return np.array([[error / ratio.sigma for error, ratio in couple(draw)] for draw in draws])


def main() -> None:
    """Print for each figure how often two sigma hold."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--count", type=int, default=1000)
    asked = parser.parse_args()
    found = errors(asked.seed, asked.count)
    for name, z in (*zip(FIGURES, found.T, strict=True), ("all", found)):
        print(f"{name}: {np.mean(np.abs(z) < 2):.1%} within two sigma, rms {np.sqrt(np.mean(z**2)):.2f}")


if __name__ == "__main__":
    main()
