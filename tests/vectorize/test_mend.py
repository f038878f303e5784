"""A boundary that breaks at an edge of a few pixels is closed along the line work."""

import numpy as np

from vectorize.linework.graph import Edge
from vectorize.linework.mend import mended

# A triangle 0-1-2 whose corner at 2 is cut by a short edge 2-3; a spur 3-4 ends beside it.
#
#      2-3--4
#     /   \
#    0-----1
NODES = np.array([(0, 0), (200, 0), (90, 100), (98, 100), (110, 100)], float)


def line(a, b):
    return Edge(a, b, np.array([NODES[a], NODES[b]]))


EDGES = [line(0, 1), line(1, 3), line(2, 3), line(2, 0), line(4, 3)]


def test_a_whole_boundary_stays_as_it_is():
    steps = [(0, True), (1, True), (2, False), (3, True)]
    assert mended(EDGES, steps) == steps


def test_a_missing_short_edge_is_put_in():
    assert mended(EDGES, [(0, True), (1, True), (3, True)]) == [(0, True), (1, True), (2, False), (3, True)]


def test_a_spur_in_place_of_a_short_edge_is_taken_out():
    # Walked the other way round, 1-0-2 and then from 4 to 3: the break lies between 2 and 4.
    found = mended(EDGES, [(0, False), (3, False), (4, True), (1, False)])
    assert found == sorted([(0, False), (3, False), (2, True), (1, False)])


def test_what_lies_far_apart_stays_broken():
    assert mended(EDGES, [(1, True), (3, True)]) == [(1, True), (2, False), (3, True)]
    assert mended(EDGES, [(0, True), (2, False), (3, True)]) == [(0, True), (2, False), (3, True)]
