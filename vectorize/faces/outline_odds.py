"""How likely each line of a sheet is a part's outline, from a small network that has seen many drawn sheets.

Each line starts with its own features and then, round after round, hears the average of the lines that it is related
to: those that continue it, meet it, bound its faces, belong to its stroke, hang together with it, and the whole sheet
(message passing over a graph: Gilmer et al. 2017, arXiv 1704.01212). The weights come from `fixtures.training`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import IO

import numpy as np
from numpy.typing import NDArray

from vectorize.faces.line_features import SheetFeatures

Floats = NDArray[np.float64]

WEIGHTS = "outline_odds.npz"


@dataclass(frozen=True, slots=True, eq=False)
class OutlineNet:
    """The weights of the network; every matrix is (inputs, outputs)."""

    mean: Floats
    spread: Floats
    first: tuple[Floats, Floats]
    rounds: tuple[tuple[Floats, Floats], ...]
    last: tuple[Floats, Floats]

    def odds(self, sheet: SheetFeatures) -> Floats:
        """Return for each edge the log-odds that it is part of an outline, (E,)."""
        state = _positive((sheet.values - self.mean) / self.spread, *self.first)
        for weights, bias in self.rounds:
            heard = [spread @ (gather @ state) for gather, spread in sheet.relations]
            state = state + _positive(np.hstack([state, *heard]), weights, bias)
        weights, bias = self.last
        return np.asarray((state @ weights + bias)[:, 0], np.float64)


def _positive(values: Floats, weights: Floats, bias: Floats) -> Floats:
    return np.asarray(np.maximum(values @ weights + bias, 0.0), np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class OutlineJudge:
    """Networks that were trained on different sheets, and what tells how sure a reading by them is."""

    nets: tuple[OutlineNet, ...]
    sure_weights: Floats
    sure_bias: float

    @classmethod
    def read(cls, stream: IO[bytes]) -> OutlineJudge:
        """Return the judge whose weights a file holds, as `fixtures.training` writes it."""
        with np.load(stream) as kept:
            stored = {name: np.asarray(kept[name], np.float64) for name in kept.files}
        nets = tuple(_net(stored, k) for k in range(int(stored["nets"])))
        return cls(nets, stored["sure_weights"], float(stored["sure_bias"]))

    def odds(self, sheet: SheetFeatures) -> Floats:
        """Return the log-odds of each edge by each of the networks, (N, E)."""
        return np.array([net.odds(sheet) for net in self.nets])

    def sureness(self, doubts: Floats) -> float:
        """Return the probability that a reading is right, by logistic regression on its doubts, (D,)."""
        return float(1.0 / (1.0 + np.exp(-(doubts @ self.sure_weights + self.sure_bias))))


@cache
def shipped_judge() -> OutlineJudge:
    """Return the judge of this version."""
    with files("vectorize.faces").joinpath(WEIGHTS).open("rb") as stream:
        return OutlineJudge.read(stream)


def _net(stored: dict[str, Floats], number: int) -> OutlineNet:
    def layer(name: str) -> tuple[Floats, Floats]:
        return stored[f"{number}.{name}.weight"], stored[f"{number}.{name}.bias"]

    rounds = tuple(layer(f"rounds.{k}") for k in range(int(stored["rounds"])))
    return OutlineNet(stored[f"{number}.mean"], stored[f"{number}.spread"], layer("first"), rounds, layer("last"))
