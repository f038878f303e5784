"""From an ink mask to its skeleton: Zhang and Suen's thinning, told only where something has just gone.

A pixel's fate depends on its eight neighbours, so that it is looked at again only when one of them went.
The time is that of the ink and not of the sheet, nor of how thick a black border about it is.
Source: Zhang & Suen 1984, doi:10.1145/357994.358023, with the table of scikit-image (BSD licence), whose
skeleton this is, pixel for pixel.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from vectorize.basics.compiled import compiled

_FATES = np.array(
    [
        int(digit)
        for digit in (
            "0001001300311013000000002020303300000000300000000000000020003022"
            "0000000000000000000000000000000020000000200020003000000030003020"
            "0031001300000001000000000000000131000000000000002000000000000000"
            "2313001300000001000000000000000023010001000000003301000022002000"
        )
    ],
    np.uint8,
)
"""In which pass a pixel goes, by its neighbours: 1 the first, 2 the second, 3 both.

The neighbours are the bits of the index, clockwise from the upper left, which is the lowest.
"""


def thinned(mask: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """Return the one-pixel skeleton of a mask of 0 and 1, (rows, columns)."""
    padded = np.pad(mask, 1)
    flat = padded.reshape(-1)
    _thin(flat, np.flatnonzero(flat), padded.shape[1], _FATES)
    return padded[1:-1, 1:-1].astype(np.bool_)


@compiled
def _thin(  # pragma: no cover - compiled
    ink: NDArray[np.uint8], every: NDArray[np.int64], width: int, fates: NDArray[np.uint8]
) -> None:
    """Thin a flat mask with an empty border, and ink at `every`, in place; 2 marks what goes when the pass ends."""
    around = np.array([-width - 1, -width, -width + 1, 1, width + 1, width, width - 1, -1])
    gone = np.empty(len(every), np.int64)
    first = last = end = 0  # where in `gone` the last pass but one begins, and the last; where all ends
    turn = 0
    while turn < 2 or first < end:
        bit = 1 + turn % 2
        sources, steps = (every, around[:1] * 0) if turn < 2 else (gone, around)
        begin, this = (0, len(every)) if turn < 2 else (first, end)
        first, last = last, end
        for k in range(begin, this):
            for step in steps:
                at = sources[k] + step
                if ink[at] != 1:
                    continue
                neighbours = 0
                for i in range(8):
                    if ink[at + around[i]] != 0:
                        neighbours |= 1 << i
                if fates[neighbours] & bit:
                    ink[at] = 2
                    gone[end] = at
                    end += 1
        for k in range(last, end):
            ink[gone[k]] = 0
        turn += 1
