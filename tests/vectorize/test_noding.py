"""Where a bridge crosses a drawn line, both get a node."""

import numpy as np
import pytest

from vectorize.linework.graph import Edge, LineWork
from vectorize.linework.noding import noded


def cross(*, is_bridge):
    """A line from west to east, and one from south to north across it.

    ```
        3
        |
    0 --+-- 1
        |
        2
    ```
    """
    nodes = np.array([(0, 0), (40, 0), (20.5, -20), (20.5, 20)], float)
    drawn = Edge(0, 1, np.column_stack([np.arange(41.0), np.zeros(41)]))
    bridge = Edge(2, 3, nodes[2:], is_bridge=is_bridge)
    return LineWork(nodes, (drawn, bridge))


def test_a_bridge_and_the_line_it_crosses_are_split_at_one_node():
    work = noded(cross(is_bridge=True))
    assert len(work.nodes) == 5
    assert work.nodes[4] == pytest.approx([20.5, 0.0])
    assert sorted((edge.start, edge.end) for edge in work.edges) == [(0, 4), (2, 4), (4, 1), (4, 3)]
    assert sum(edge.length for edge in work.edges) == pytest.approx(80.0)
    assert [edge.is_bridge for edge in work.edges if {2, 3} & {edge.start, edge.end}] == [True, True]


def test_drawn_lines_are_left_to_the_thinning():
    work = cross(is_bridge=False)
    assert len(noded(work).edges) == 2


def test_a_bridge_that_begins_on_a_line_is_not_split_from_it():
    nodes = np.array([(0, 0), (40, 0), (20, 20)], float)
    work = LineWork(nodes, (Edge(0, 1, nodes[:2]), Edge(1, 2, nodes[1:], is_bridge=True)))
    assert len(noded(work).edges) == 2
