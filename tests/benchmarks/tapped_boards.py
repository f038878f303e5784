"""How well the sound of taps is told, on simulated boards and on sounds that are none.

`python -m tests.benchmarks.tapped_boards --seed 90210 --count 60`: so many recordings of each kind (hands that damp,
bending modes, clipping, rooms that ring, 20 dB above noise): told within 2 % of E, told worse, refused, within two
sigma; and how many of other sounds were taken for a board.
`--measured 1000`: instead, so many boards measured as builders do, whose errors follow other laws than sigma assumes.
"""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from typing import Any

import numpy as np

from fixtures.struck_board import OTHERS, RATE_HZ, struck_board
from nesting.wood.board import Board
from nesting.wood.density import board_density
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


def measured(seed: int, number: int) -> tuple[Tapped, float] | None:
    """Return what is told of a made-up board that was measured, and error over sigma of E; None where it is refused.

    Rooms ring for up to 0.6 s. A calliper that shows twentieths of a millimetre is put to one place of a board that is
    a wedge, and one thickness in twenty is misread by 0.08 mm; rules and scales round.
    """
    draw = np.random.default_rng([seed, number])
    density, thickness, width = draw.uniform(90, 220), draw.uniform(2, 10), draw.uniform(75, 102)
    modulus, length = density * draw.uniform(14, 30), draw.choice((915.0, 1000.0)) + draw.uniform(-3, 3)
    sound = struck_board(
        draw, length_m=length / 1000, density_kg_m3=density, modulus_pa=modulus * 1e6, thickness_m=thickness / 1000,
        room_s=draw.uniform(0, 0.6), bending=draw.uniform(0.5, 1.5), hold=draw.uniform(0.05, 0.4),
        is_clipped=bool(draw.random() < 0.2),
    )  # fmt: skip
    wedge = draw.uniform(-0.1, 0.1) * draw.uniform(-0.5, 0.5)
    misread = 0.08 * draw.choice((-1, 1)) if draw.random() < 0.05 else 0.0
    read = thickness + wedge + misread + draw.normal(0, 0.02)
    step = 0.1 if draw.random() < 0.7 else 1.0
    board = Board(
        "tapped", "balsa", round(thickness), float(round(length + draw.normal(0, 0.3))),
        round(2 * (width + draw.normal(0, 0.1))) / 2, measured_thickness_mm=round(round(read / 0.05) * 0.05, 2),
        mass_g=round(round(density * length * width * thickness * 1e-6 / step) * step, 1), mass_resolution_g=step,
    )  # fmt: skip
    try:
        found = tapped_modulus(Recording(sound, RATE_HZ), length_mm=board.length_mm, density_kg_m3=board_density(board))
    except RecordingError:
        return None
    return found, (found.modulus_mpa.value - modulus) / found.modulus_mpa.sigma


def measured_figures(seed: int, count: int) -> tuple[int, float, float]:
    """Return how many of `count` measured boards were told, the share within two sigma, rms of error over sigma."""
    z = np.array([one[1] for n in range(count) if (one := measured(seed, n)) is not None])
    return len(z), float(np.mean(np.abs(z) < 2)), float(np.sqrt(np.mean(z**2)))


def main() -> None:
    """Print a line for each kind of recording, and for each other sound."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--count", type=int, default=40)
    parser.add_argument("--measured", type=int, default=0)
    asked = parser.parse_args()
    if asked.measured:
        told_of, inside, rms = measured_figures(asked.seed, asked.measured)
        print(f"{told_of} of {asked.measured} told, {inside:.1%} within two sigma, rms of error over sigma {rms:.2f}")
        return
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
