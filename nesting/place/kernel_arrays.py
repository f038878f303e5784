"""Flat arrays that the kernels work on: every shape in every orientation, and what lies where.

A *variant* is one shape in one orientation about its own reference point, so that placing it is a
mere shift. A *piece* is what gets placed; *fixed* pieces (blemishes, board edges, pinned parts) follow
the movable ones. All boards lie in one plane, side by side along x with a wide gap between them, so
pieces on different boards can never collide.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]
Words = NDArray[np.uint64]


class Bank(NamedTuple):
    """Shapes by variant, in few arrays, because handing many to a kernel costs more than its work.

    `first[v]` is (first edge, first heart, number of circles, bare twin) of variant v; the row after the
    last variant ends the last. Parts are grown by half the gap; the bare twin is the same shape not
    grown, which is what must clear blemishes and the board's edge. `edges` are (x0, y0, x1, y1, length)
    with the material on their left. `hearts` are points inside, one in every separate piece of material.
    `form[v]` is the bounding box (x least, y least, x greatest, y greatest), the same of x + y and
    x - y, the root of the hull's area, and the diameter.
    `circles[v]` holds x, y and radius of circles inside the material, then of radius 0: all rows are
    equally long, so that a vector unit takes a row at a time.
    """

    first: Ints
    edges: Floats
    hearts: Floats
    form: Floats
    circles: Singles


class Choice(NamedTuple):
    """Where a piece may lie: entries `off[k]` to `off[k + 1]` are the (board, variant) pairs of kind k.

    `kind[i]` is the kind of piece i; `area` orders pieces by size.
    """

    kind: Ints
    off: Ints
    board: Ints
    variant: Ints
    area: Floats


class Scene(NamedTuple):
    """What lies where: one row per piece, fixed ones last.

    `spot` is (x least, y least, x greatest, y greatest of the bounding box, x, y of the reference point);
    `what` is (variant, board, soft, bare). A piece and a fixed one whose `soft` have opposite signs ignore
    each other (a soft patch under a part that may lie on it). What is `bare` meets bare twins.
    `rooms` is where boxes may lie on each board; a closed board has x least > x greatest.
    """

    spot: Floats
    what: Ints
    rooms: Floats


def copy_scene(scene: Scene) -> Scene:
    """Return a scene that shares no memory with `scene`."""
    return Scene._make(array.copy() for array in scene)
