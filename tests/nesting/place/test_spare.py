import pytest

from nesting.place.largest_rest import largest_offcut
from nesting.place.layout import BoardLayout, Layout, Placement, Proof
from nesting.place.layout_rules import NestRules, Pin
from nesting.place.nest_parts import nest_parts
from nesting.wood.board import Blemish, Board
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline, Pose

RULES = NestRules("knife", 0.0, 0.5, 0.0, 0.0)
SPAR = Part("spar", Outline.rectangle(0, 0, 900, 20), "balsa", 3.0)
RIBS = Part("rib", Outline.rectangle(0, 0, 60, 30), "balsa", 3.0, count=6)
PARTS = (SPAR, RIBS)
SCATTERED_X_MM = (0, 170, 330, 480, 640, 820)


def board(**options):
    return Board("B1", "balsa", 3.0, 1000.0, 100.0, **options)


def scattered():
    """Return a layout that nothing can shorten, with its ribs all along the board."""
    ribs = [Placement("rib", k, Pose(x, 45.0)) for k, x in enumerate(SCATTERED_X_MM, start=1)]
    placed = (Placement("spar", 1, Pose(0.0, 0.0)), *ribs)
    return Layout((BoardLayout("B1", placed, 0.29, 900.0),), (), Proof((), 0.5))


def offcut_mm2(layout, wood):
    x0, y0, x1, y1 = largest_offcut(wood, layout.boards[0].placements, PARTS, RULES)
    return (x1 - x0) * (y1 - y0)


def gathered(wood, **options):
    layout = nest_parts(
        PARTS, [wood], rules=RULES, start=scattered(), max_sweeps=4000, time_limit_s=None, seed=3, **options
    )
    assert layout.proof.is_proved, layout.proof.faults
    assert layout.boards[0].used_length_mm == pytest.approx(900.0)
    return layout


def test_of_layouts_that_take_the_same_wood_the_one_with_the_larger_offcut_is_kept():
    wood = board()
    # Beside the spar 79 mm are free; ribs upright in one corner take 190 mm of it.
    assert offcut_mm2(scattered(), wood) < 26_000
    assert offcut_mm2(gathered(wood), wood) > 50_000


def test_gathering_leaves_pinned_copies_and_blemishes_alone():
    flaw = Outline.rectangle(400, 60, 420, 80)
    wood = board(blemishes=(Blemish(flaw),))
    pin = Pin("B1", Placement("rib", 6, Pose(820.0, 45.0)))
    layout = gathered(wood, pinned=[pin])
    assert pin.placement in layout.boards[0].placements
    assert offcut_mm2(layout, wood) > offcut_mm2(scattered(), wood)


def test_a_sweep_limit_gathers_the_same_way_every_time():
    assert gathered(board()).boards == gathered(board()).boards
