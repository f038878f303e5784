"""Upright lines of lettering through the recogniser, many at a time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from vectorize.marks.lettering.letter_strokes import LINE_PX

Grey = NDArray[np.uint8]

Step = tuple[tuple[int, float], ...]
"""What one step of a line may be: outputs of the recogniser with their probabilities, least output first."""

LEAST_SHARE = 0.002
"""Characters less likely than this at a step are not followed; the likeliest always is."""

WIDTH_STEP_PX = 64
"""Lines are padded to a multiple of this, so that those of like length are read together."""

BATCH_PX = 4800
"""So many columns are read in one go."""


def recognised(network: Any, lines: Sequence[Grey]) -> list[tuple[Step, ...]]:  # noqa: ANN401
    """Return what every step of every line may be, in the order given; only what is likely is kept.

    Args:
        network: The recogniser.
        lines: (LINE_PX, columns) each, dark on light.
    """
    padded = [-(-line.shape[1] // WIDTH_STEP_PX) * WIDTH_STEP_PX for line in lines]
    pending = sorted(range(len(lines)), key=lambda index: padded[index])
    results: dict[int, tuple[Step, ...]] = {}
    while pending:
        width = padded[pending[0]]
        most = max(1, BATCH_PX // width)
        batch = [index for index in pending[:most] if padded[index] == width]
        pending = pending[len(batch) :]
        network.setInput(np.stack([_tones(lines[index], width) for index in batch]))
        results.update(zip(batch, map(_likely, network.forward()), strict=True))
    return [results[index] for index in range(len(lines))]


def _tones(line: Grey, width: int) -> NDArray[np.float32]:
    """Return the line as the recogniser takes it: -1 black to 1 white in three equal colours, 0 beyond its end."""
    tones = np.zeros((3, LINE_PX, width), np.float32)
    tones[:, :, : line.shape[1]] = np.asarray(line, np.float32) / 127.5 - 1
    return tones


def _likely(steps: NDArray[np.float32]) -> tuple[Step, ...]:
    kept = steps >= np.minimum(LEAST_SHARE, steps.max(axis=1, keepdims=True))
    return tuple(
        tuple((index, float(step[index])) for index in np.flatnonzero(keep).tolist())
        for step, keep in zip(steps, kept, strict=True)
    )
