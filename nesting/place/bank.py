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
Ints = NDArray[np.int64]
Words = NDArray[np.uint64]


class Bank(NamedTuple):
    """Shapes by variant: entries `off[v]` to `off[v + 1]` of the edge and pole arrays belong to variant v.

    Edges run with the material on their left. `edge_len` times a hair is the least depth that counts
    as crossing. `poles` are circles inside the material, largest first; the first `heart[v]` of them
    have one in every separate piece of material. `box` is (x least, y least, x greatest, y greatest).
    """

    edge_off: Ints
    edge_x0: Floats
    edge_y0: Floats
    edge_x1: Floats
    edge_y1: Floats
    edge_len: Floats
    pole_off: Ints
    pole_x: Floats
    pole_y: Floats
    pole_r: Floats
    heart: Ints
    box: Floats
    weight: Floats
    diameter: Floats


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
    """What lies where: reference point, variant, board and bounding box of each piece, fixed ones last.

    `board_box` is the room for boxes on each board; a closed board has x least > x greatest. A piece and a
    fixed one whose `soft` have opposite signs ignore each other (a soft patch under a part that may lie on it).
    """

    x: Floats
    y: Floats
    variant: Ints
    board: Ints
    soft: Ints
    box: Floats
    board_box: Floats


def copy_scene(scene: Scene) -> Scene:
    """Return a scene that shares no memory with `scene`."""
    return Scene._make(array.copy() for array in scene)
