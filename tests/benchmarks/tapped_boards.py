"""How well the sound of taps is told, on simulated boards and on sounds that are none.

`python -m tests.benchmarks.tapped_boards --seed 90210 --count 60`: so many recordings of each kind (hands that damp,
bending modes, clipping, rooms that ring, 20 dB above noise): told within 2 % of E, told worse, refused, within two
sigma; and how many of other sounds were taken for a board.
"""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from typing import Any

import numpy as np

from fixtures.struck_board import OTHERS, RATE_HZ, struck_board
from nesting.wood.estimate import Estimate
from nesting.wood.sound.recording import Recording
from nesting.wood.sound.tapped import Tapped, tapped_modulus
from vectorize.basics.errors import RecordingError

KINDS: tuple[Mapping[str, Any], ...] = (
    {},
    {"is_clipped": True},
    {"room_s": 0.3},
    {"room_s": 0.6},
    {"bending": 2.0},
    {"quality": (30, 45)},
    {"hold": 0.6},
    {"rate_hz": 22050},
    {"length_m": 0.92, "density_kg_m3": 680.0, "modulus_pa": 9e9, "thickness_m": 0.0015},
    {"room_s": 0.5, "is_clipped": True, "bending": 2.0},
    {"quality": (30, 45), "room_s": 0.4},
)


def told(kind: Mapping[str, Any], seed: int, number: int) -> tuple[Tapped, float] | None:
    """Return what is told of a simulated board and its true E over the told one less 1; None where it is refused."""
    draw = np.random.default_rng([number, seed])
    density = draw.uniform(90, 220)
    board = {"density_kg_m3": density, "modulus_pa": density * draw.uniform(14e6, 30e6)} | kind
    recording = Recording(struck_board(draw, **board), board.get("rate_hz", RATE_HZ))
    try:
        found = tapped_modulus(
            recording, length_mm=1000 * board.get("length_m", 1.0), density_kg_m3=Estimate(board["density_kg_m3"])
        )
    except RecordingError:
        return None
    return found, found.modulus_mpa.value * 1e6 / board["modulus_pa"] - 1


def main() -> None:
    """Print a line for each kind of recording, and for each other sound."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--count", type=int, default=40)
    asked = parser.parse_args()
    for kind in KINDS:
        found = [one for one in (told(kind, asked.seed, n) for n in range(asked.count)) if one is not None]
        good = sum(abs(off) <= 0.02 for _, off in found)
        inside = sum(abs(off) <= 2 * one.modulus_mpa.relative_sigma for one, off in found)
        worst = max((abs(off) for _, off in found), default=0.0)
        print(
            f"{kind or 'plain'}: {good} within 2 %, {len(found) - good} worse, {asked.count - len(found)} refused, "
            f"{inside} within two sigma, worst {worst:.1%}"
        )
    for other in OTHERS:
        taken = 0
        for number in range(asked.count):
            try:
                tapped_modulus(
                    Recording(other(np.random.default_rng([number, asked.seed])), RATE_HZ),
                    length_mm=1000.0,
                    density_kg_m3=Estimate(150.0),
                )
            except RecordingError:
                continue
            taken += 1
        print(f"{other.__name__}: {taken} of {asked.count} taken for a board")


if __name__ == "__main__":
    main()
