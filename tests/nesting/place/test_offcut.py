import dataclasses

import pytest

from nesting.balance.weights import weigh_parts
from nesting.place.layout import BoardLayout, Placement
from nesting.place.offcut import offcuts, rack_after, side_file
from nesting.wood.board import Blemish, Board
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline, Pose

#   0        310         600
#   +---------+-----------+ 100
#   |  part   |           |
#   +---------+  offcut   |
#   |         part lies 5 mm off the ends and edges
BOARD = Board("B1", "balsa", 3.0, 600, 100, mass_g=24.0, bow_mm=4.0)
PART = Part("side", Outline.rectangle(0, 0, 300, 90), "balsa", 3.0)


def cut(board=BOARD, part=PART, at=(5.0, 5.0), **more):
    layout = BoardLayout("B1", (Placement(part.name, 1, Pose(*at)),), 0.45, 305.0)
    return offcuts(board, layout, [part], kerf_mm=0.5, **more)


def test_what_is_left_beside_a_part_is_an_offcut_with_its_share_of_the_mass():
    (left,) = cut()
    assert left.name == "B1-1"
    assert left.length_mm == pytest.approx(600 - 305.5, abs=0.1)
    assert left.width_mm == pytest.approx(100)
    assert left.mass_g == pytest.approx(24.0 * (600 - 305.5) / 600, rel=0.001)
    assert left.bow_mm == pytest.approx(4.0 * (294.5 / 600) ** 2, rel=0.001)
    assert left.outline is not None
    assert left.outline.bounds[:2] == pytest.approx((0, 0))
    assert "offcut of B1" in left.notes


def test_parts_offcuts_and_sawdust_add_up_to_the_board():
    wide = dataclasses.replace(PART, outline=Outline.rectangle(0, 0, 300, 40))
    pieces = cut(part=wide, at=(0.0, 0.0), least_width_mm=1.0, least_area_mm2=10.0)
    kerf_area = (300.5 * 40.5) - 300 * 40
    part_mass = weigh_parts([wide], [BOARD]).weights[0].mass_g
    total = sum(p.mass_g for p in pieces) + part_mass + kerf_area * 24.0 / 60000
    assert total == pytest.approx(24.0, abs=0.01)


def test_what_is_left_keeps_its_share_of_the_price():
    (left,) = cut(dataclasses.replace(BOARD, price=6.0))
    assert left.price == pytest.approx(6.0 * (600 - 305.5) / 600, rel=0.001)


def test_the_mass_follows_the_gradient_of_the_board():
    ends = (24.0 * (0.5 - 0.3 / 12), 24.0 * (0.5 + 0.3 / 12))
    board = dataclasses.replace(BOARD, end_readings_g=ends, mass_resolution_g=0.01)
    (left,) = cut(board)
    middle = (305.5 + 600) / 2 / 600 - 0.5
    assert left.mass_g == pytest.approx(24.0 * 294.5 / 600 * (1 + 0.3 * middle), rel=0.002)


def test_narrow_tongues_and_scrap_are_left_out():
    assert cut(part=dataclasses.replace(PART, outline=Outline.rectangle(0, 0, 580, 92)), at=(4.0, 4.0)) == ()


def test_flaws_go_with_the_piece_that_they_lie_in():
    knot = Blemish(Outline.rectangle(500, 50, 520, 70), text="knot")
    gone = Blemish(Outline.rectangle(100, 40, 120, 60), text="dent")
    (left,) = cut(dataclasses.replace(BOARD, blemishes=(knot, gone)))
    (kept,) = left.blemishes
    assert kept.text == "knot"
    assert kept.outline.bounds[0] == pytest.approx(500 - 305.5, abs=0.1)


def test_a_board_that_nobody_weighed_leaves_offcuts_that_nobody_weighed():
    assert cut(dataclasses.replace(BOARD, mass_g=None))[0].mass_g is None


def test_the_rack_afterwards_has_the_offcut_in_place_of_the_board():
    other = Board("B2", "balsa", 3.0, 600, 100)
    rack = rack_after([BOARD, other], {"B1": cut()})
    assert [board.name for board in rack] == ["B1-1", "B2"]
    assert [b.name for b in rack_after([BOARD, dataclasses.replace(other, name="b1-1")], {"B1": cut()})] == [
        "B1-1-2",
        "b1-1",
    ]


def test_the_side_file_holds_outline_and_flaws():
    (left,) = cut()
    data = side_file(left)
    assert data is not None
    assert Outline.from_json(data["outline"]).area_mm2 == pytest.approx(left.outline.area_mm2)
    assert side_file(BOARD) is None
