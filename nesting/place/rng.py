"""A small random generator for kernels: one 64-bit word of state, handed in by the caller.

Source: xorshift64* of Vigna 2016, doi:10.1145/2845077.
"""

from __future__ import annotations

import numpy as np

from nesting.place.kernel_arrays import Ints, Words
from vectorize.basics.compiled import compiled

_STAR = np.uint64(0x2545F4914F6CDD1D)
_S12, _S25, _S27, _S11 = np.uint64(12), np.uint64(25), np.uint64(27), np.uint64(11)


def seeded(seed: int, stream: int) -> Words:
    """Return the state of an own stream for `seed`; streams of one seed differ."""
    word = np.random.SeedSequence([seed % 2**63, stream]).generate_state(1, np.uint64)
    return np.maximum(word, np.uint64(1))


@compiled
def uniform(state: Words) -> float:
    """Return a number from 0 up to, but without, 1."""
    word = state[0]
    word ^= word >> _S12
    word ^= word << _S25
    word ^= word >> _S27
    state[0] = word
    return float((word * _STAR) >> _S11) * (1.0 / 9007199254740992.0)


@compiled
def below(state: Words, limit: int) -> int:
    """Return a whole number from 0 to `limit` - 1."""
    return min(int(uniform(state) * limit), limit - 1)


@compiled
def shuffle(state: Words, items: Ints, count: int) -> None:
    """Put the first `count` entries of `items` in random order."""
    for k in range(count - 1, 0, -1):
        other = below(state, k + 1)
        items[k], items[other] = items[other], items[k]
