"""Search and proof ask for the same margins, whichever of the two is the smaller."""

import math

import pytest
import shapely

from nesting.place.layout_rules import NestRules
from nesting.place.margins import edges_of, usable_area
from nesting.place.nest_parts import nest_parts
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline, Ring

PLATE = Part("plate", Outline.rectangle(0, 0, 100, 20), "balsa", 3.0, count=4)
HAIR_MM = 1e-6  # rounding of the geometry library on sizes of a few hundred mm

#  0,80 +-----------------+ 260,80     a leftover: sawn square at the left,
#       |                  \           slanting at the right, and a notch below
#       |      +--+         \
#  0,0  +------+  +----------+ 300,0
LEFTOVER = Ring.from_points([(0, 0), (120, 0), (120, 25), (150, 25), (150, 0), (300, 0), (260, 80), (0, 80)])


def board(outline=None):
    return Board("B1", "balsa", 3.0, 300.0, 80.0, outline=outline)


def rules(ends_mm, edges_mm):
    return NestRules("knife", 0.0, 0.0, ends_mm, edges_mm)


BOARDS = {"whole": board(), "sawn square": board(Outline.rectangle(0, 0, 300, 80)), "odd": board(Outline(LEFTOVER))}


@pytest.mark.parametrize("margins", [(0.0, 1.0), (0.5, 3.0), (6.0, 1.0), (2.0, 0.0), (0.0, 0.0), (4.0, 4.0)])
@pytest.mark.parametrize("shape", BOARDS)
def test_what_the_search_lays_the_proof_accepts(shape, margins):
    layout = nest_parts([PLATE], [BOARDS[shape]], rules=rules(*margins), max_sweeps=20, time_limit_s=None)
    assert not layout.unplaced
    assert layout.proof.faults == ()


@pytest.mark.parametrize("margins", [(0.0, 5.0), (5.0, 0.0), (2.0, 5.0), (5.0, 2.0)])
@pytest.mark.parametrize("shape", BOARDS)
def test_the_area_for_parts_keeps_both_margins_and_wastes_none_at_straight_edges(shape, margins):
    ends_mm, edges_mm = margins
    wood = BOARDS[shape].shape.to_polygon()
    area = usable_area(BOARDS[shape], rules(*margins))
    assert area.distance(edges_of(wood)) == pytest.approx(edges_mm, abs=HAIR_MM)
    assert area.bounds[0] == pytest.approx(wood.bounds[0] + ends_mm, abs=HAIR_MM)
    assert wood.buffer(HAIR_MM).covers(area)
    # By hand: the distances from both ends and from the edges, point by point on a grid.
    for x in range(0, 301, 5):
        for y in range(0, 81, 5):
            point = shapely.Point(x + 0.25, y + 0.25)
            inside_mm = min(
                point.distance(edges_of(wood)) - edges_mm, point.x - ends_mm, wood.bounds[2] - ends_mm - point.x
            )
            if not wood.covers(point) or inside_mm < 0:
                assert not area.covers(point)
            elif inside_mm > edges_mm * (math.sqrt(2) - 1):  # what the mitre at an inside corner may cost
                assert area.covers(point)


def test_ends_are_the_straight_cuts_across_and_everything_else_is_edge():
    assert edges_of(board().shape.to_polygon()).length == pytest.approx(2 * 300.0)
    assert edges_of(Outline(LEFTOVER).to_polygon()).length == pytest.approx(LEFTOVER_LENGTH_MM - 80.0)
    ring = Outline(Ring.circle((0.0, 0.0), 50.0)).to_polygon()
    assert edges_of(ring).length == pytest.approx(ring.length)


LEFTOVER_LENGTH_MM = 120 + 25 + 30 + 25 + 150 + math.hypot(40, 80) + 260 + 80


def test_a_part_may_end_where_the_board_ends_if_asked():
    strip = Part("strip", Outline.rectangle(0, 0, 300, 70), "balsa", 3.0)
    for one in (BOARDS["whole"], BOARDS["sawn square"]):
        layout = nest_parts([strip], [one], rules=rules(0.0, 1.0), max_sweeps=5, time_limit_s=None)
        assert layout.proof.is_proved, layout.proof.faults
