"""Where a bridge crosses a drawn line, both get a node."""

import numpy as np
import pytest

from vectorize.lines.graph import Edge, LineWork
from vectorize.lines.split_at_bridges import split_at_intersections


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
    work = split_at_intersections(cross(is_bridge=True))
    assert len(work.nodes) == 5
    assert work.nodes[4] == pytest.approx([20.5, 0.0])
    assert sorted((edge.start, edge.end) for edge in work.edges) == [(0, 4), (2, 4), (4, 1), (4, 3)]
    assert sum(edge.length for edge in work.edges) == pytest.approx(80.0)
    assert [edge.is_bridge for edge in work.edges if {2, 3} & {edge.start, edge.end}] == [True, True]


def test_drawn_lines_are_left_to_the_thinning():
    work = cross(is_bridge=False)
    assert len(split_at_intersections(work).edges) == 2


def test_a_bridge_that_begins_on_a_line_is_not_split_from_it():
    nodes = np.array([(0, 0), (40, 0), (20, 20)], float)
    work = LineWork(nodes, (Edge(0, 1, nodes[:2]), Edge(1, 2, nodes[1:], is_bridge=True)))
    assert len(split_at_intersections(work).edges) == 2


@pytest.mark.parametrize("off", [0.0, 0.6, -0.6])
def test_a_loop_that_a_bridge_crosses_where_it_begins_stays_closed(off):
    """```
          ,--.
    2 - - 0   |     the loop starts and ends at node 0, where the bridge crosses it
          `--'
    ```"""
    turn = np.linspace(0, 2 * np.pi, 200)
    loop = np.column_stack([20 - 20 * np.cos(turn), 20 * np.sin(turn)])
    nodes = np.array([loop[0], (-10, off), (10, off)])
    work = split_at_intersections(LineWork(nodes, (Edge(0, 0, loop), Edge(1, 2, nodes[1:], is_bridge=True))))
    assert [edge.is_loop for edge in work.edges] == [True, False, False]
    assert sorted((edge.start, edge.end) for edge in work.edges[1:]) == [(0, 2), (1, 0)]


def test_a_line_that_a_bridge_crosses_at_its_end_keeps_what_it_joins_there():
    nodes = np.array([(0, 0), (20, 0), (40, 0), (20.0, -15), (20.0, 15)], float)
    drawn = (Edge(0, 1, nodes[:2]), Edge(1, 2, nodes[1:3]))
    work = split_at_intersections(LineWork(nodes, (*drawn, Edge(3, 4, nodes[3:], is_bridge=True))))
    assert sorted((edge.start, edge.end) for edge in work.edges) == [(0, 1), (1, 2), (1, 4), (3, 1)]
