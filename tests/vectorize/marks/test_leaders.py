"""Leaders are followed from their text to their tip, over lines that they cross."""

import numpy as np

from vectorize.lines.graph import Edge, LineWork
from vectorize.marks.leaders import find_leaders

PX_PER_MM = 8.0
BOX = np.array([(0.0, 0.0), (100.0, 0.0), (100.0, 24.0), (0.0, 24.0)])


def work(*chains):
    """Return line work of chains of points; equal points are one node."""
    nodes, edges = [], []
    for chain in chains:
        ends = []
        for point in (chain[0], chain[-1]):
            if point not in nodes:
                nodes.append(point)
            ends.append(nodes.index(point))
        edges.append(Edge(ends[0], ends[1], np.array(chain, float)))
    return LineWork(np.array(nodes, float), tuple(edges))


def followed(*chains, **options):
    return find_leaders(work(*chains), [BOX], px_per_mm=PX_PER_MM, pen_px=3.0, **options).get(0)


def line(start, end, count=30):
    return [tuple(p) for p in np.linspace(start, end, count)]


#  TEXT ----x----> tip      (an outline crosses at x)
def test_a_leader_goes_straight_on_over_what_it_crosses():
    cross = (200.0, 12.0)
    found = followed(
        line((108.0, 12.0), cross), line(cross, (320.0, 12.0)), line((200.0, -90.0), cross), line(cross, (200.0, 90.0))
    )
    assert found == (320.0, 12.0)


def test_a_line_that_runs_by_is_no_leader():
    assert followed(line((-200.0, 30.0), (400.0, 30.0))) is None


def test_a_short_stroke_and_one_far_away_are_none():
    assert followed(line((108.0, 12.0), (120.0, 12.0))) is None
    assert followed(line((190.0, 12.0), (400.0, 12.0))) is None


def test_from_a_ring_a_leader_may_begin_on_another_line():
    ring = [(110.0, 12.0), (105.0, 40.0), (-5.0, 40.0), (-5.0, -10.0), (105.0, -10.0), (110.0, 12.0)]
    leader = line((110.0, 12.0), (300.0, 60.0))
    assert followed(ring, leader) is None
    assert followed(ring, leader, starts_anywhere=True) == (300.0, 60.0)
