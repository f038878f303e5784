"""One decorator for the kernels of tracing and of the search: machine code, no interpreter lock, kept on disk.

The first run on a machine compiles for some seconds; later ones load what was stored beside the
module, or in the user's cache folder where that cannot be written. Where neither can, everything
still runs, and `why_slow` says why the start takes long.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from functools import partial
from typing import TypeVar, cast

import numba

Function = TypeVar("Function", bound=Callable[..., object])

_uncached: list[str] = []


def compiled(function: Function) -> Function:
    """Return `function` as a kernel that runs without the interpreter lock."""
    return _jit(function, fastmath=False)


def inlined(function: Function) -> Function:
    """Return `function` as a kernel that is copied into its callers: handing over many arrays costs more than work."""
    return _jit(function, fastmath=False, forceinline=True)


def inlined_fast(function: Function) -> Function:
    """Return `function` as an inlined kernel whose sums may be reordered."""
    return _jit(function, fastmath=True, forceinline=True)


def _jit(function: Function, *, fastmath: bool, forceinline: bool = False) -> Function:
    jit = partial(numba.njit, nogil=True, error_model="numpy", fastmath=fastmath, forceinline=forceinline)
    try:
        return cast(Function, jit(function, cache=True))
    except RuntimeError as error:  # numba finds no folder that can be written
        if not _uncached:
            logging.getLogger(__name__).info("compiled kernels cannot be kept: %s", error)
        _uncached.append(function.__name__)
        return cast(Function, jit(function))


def why_slow() -> str | None:
    """Return a sentence when compiled kernels cannot be stored, else None."""
    if not _uncached:
        return None
    return (
        "The innermost loops had to be compiled anew, which takes some seconds: no folder for compiled code can be "
        "written. Set NUMBA_CACHE_DIR to a folder of yours."
    )
