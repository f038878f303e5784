"""How honest the doubt of a panel's springiness is, on made-up boards whose errors follow other laws than it assumes.

`python -m tests.benchmarks.flex_doubt --seed 99 --count 6000`: couples of boards, one panel from each; how often the
true ratio of first bending lies within two sigma of the told one, and error over sigma, with all errors and with each
alone (then against its own part of sigma).
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Iterator

import numpy as np

from nesting.job.flex_panel import PanelBuilder
from nesting.job.flex_tables import FlexOptionTable
from nesting.wood.board import Board
from nesting.wood.estimate import Estimate
from nesting.wood.flex.panel_flex import Panel, Springiness, side_by_side, springiness
from nesting.wood.flex.slabs import shares_of
from tests.nesting.carve.carved_panels import naca_panel, rectangle
from tests.nesting.job.flexed import built, carving_of, model_of

ERRORS = {"stiffness": ("about its trend",), "density along": ("wood along", "gradient"), "carving": ("carving",)}
"""The errors that are made up, and by which words their part of sigma is named."""
_LAPLACE_SPREAD, _CARVED_MM, _MEAN_THICKNESS_MM = 0.12, 0.17, 9.0


class Couples:
    """Couples of made-up boards for one panel, told as a builder measures them and as they truly are."""

    def __init__(self) -> None:
        self.panel = naca_panel(rectangle(100, 300))
        self.carving, self.base = carving_of(self.panel), built(self.panel)
        self.sections, self.beam = self.base.panel().sections, self.base.beam
        shares = shares_of(self.sections, stuffs=self.base.stuffs)
        self.flat, self.area = shares.flat_mm4[:, 0], shares.area_mm2[:, 0]

    def drawn(self, draw: np.random.Generator, errors: tuple[str, ...]) -> tuple[float, Estimate]:
        """Return (true ratio less the told one, the told one) of a couple with these errors."""
        (one, true_one), (other, true_other) = (self._board(draw, name, errors) for name in ("one", "other"))
        told = side_by_side("wing", [("one", one, 0.0, 100.0), ("other", other, 0.0, 100.0)], load_g=100.0)
        ratio = told.options[1].first_bending
        return math.sqrt(true_other / true_one) - ratio.value, ratio

    def _board(self, draw: np.random.Generator, name: str, errors: tuple[str, ...]) -> tuple[Springiness, float]:
        """Return what is told of a panel from a board, and the square of its true frequency.

        E about its trend is drawn from Laplace's law, the density runs along the board in a wave, one thickness in
        twenty is misread by 0.1 mm, scales round to 0.1 g, and the carver is even within 0.17 mm.
        """
        density, stray = draw.uniform(90, 220), draw.laplace(0, _LAPLACE_SPREAD / math.sqrt(2))
        wave, phase, place = 0.1 * draw.uniform(0, 1), draw.uniform(0, 2 * math.pi), draw.uniform(0, 0.7)
        thickness = 12.0 + draw.uniform(-0.3, 0.3)
        read = thickness + draw.normal(0, 0.025) + (0.1 * draw.choice((-1, 1)) if draw.random() < 0.05 else 0.0)
        carve = draw.uniform(-_CARVED_MM, _CARVED_MM) / _MEAN_THICKNESS_MM
        mass = round(density * 1000 * 150 * thickness * 1e-6, 1)
        board = Board(name, "balsa", 12.0, 1000, 150, measured_thickness_mm=round(read, 2), mass_g=mass)
        along = wave * np.sin(phase + 2 * math.pi * (place + self.beam.points_mm / 1000))
        local = 1 + (along if "density along" in errors else 0.0 * along)
        carved = 1 + (carve if "carving" in errors else 0.0)
        e = density * 20.0 * (1 + (stray if "stiffness" in errors else 0.0)) * local * carved**3 * self.flat
        m = density * local * carved * self.area
        mode, w = self.beam.bending_mode(e, m), self.beam.weights_mm
        return self._told(board), float((w * e) @ mode.strain2 / ((w * m) @ mode.swing2))

    def _told(self, board: Board) -> Springiness:
        option = FlexOptionTable(name=board.name, part="wing", boards=(board.name,))
        own = PanelBuilder(model_of(self.carving, board), self.carving, option)
        carver = f"carving of {board.name}"
        return springiness(Panel(self.beam, self.sections, tuple(own.stuffs), carver, 0.1, tuple(own.drifts)))


def couples(seed: int, count: int, errors: tuple[str, ...] = tuple(ERRORS)) -> Iterator[tuple[float, Estimate]]:
    """Give (error, told ratio) of `count` couples."""
    made, draw = Couples(), np.random.default_rng(seed)
    for _ in range(count):
        yield made.drawn(draw, errors)


def main() -> None:
    """Print how often two sigma hold, and what each error is beside its part of sigma."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--count", type=int, default=1000)
    asked = parser.parse_args()
    z = np.array([error / ratio.sigma for error, ratio in couples(asked.seed, asked.count)])
    print(f"all: {np.mean(np.abs(z) < 2):.1%} within two sigma, rms of error over sigma {np.sqrt(np.mean(z**2)):.2f}")
    for name, words in ERRORS.items():
        found = list(couples(asked.seed + 1, asked.count, (name,)))
        rms = math.sqrt(np.mean([error**2 for error, _ in found]))
        own = [effect for source, effect in found[0][1].doubts if any(word in source for word in words)]
        sigma = math.sqrt(sum(effect**2 for effect in own))
        print(f"{name} alone: rms {rms:.4f}, its part of sigma {sigma:.4f}, ratio {rms / sigma:.2f}")


if __name__ == "__main__":
    main()
