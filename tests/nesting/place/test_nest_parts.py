import math
from concurrent.futures import ThreadPoolExecutor

import pytest

from nesting.place.layout import Placement
from nesting.place.layout_rules import NestRules, Pin
from nesting.place.nest_parts import nest_parts
from nesting.wood.board import Blemish, Board
from nesting.wood.part import Part
from vectorize.basics.errors import InputError, NoSolutionError, OutlineError, ToleranceError
from vectorize.shapes.outline import Outline, Pose, Ring

BARE = NestRules("knife", 0.0, 0.0, 0.0, 0.0)


def plate(name, length, width, **options):
    return Part(name, Outline.rectangle(3, 4, 3 + length, 4 + width), "balsa", 3.0, **options)


def board(name="B1", length=1000.0, width=100.0, **options):
    return Board(name, "balsa", 3.0, length, width, **options)


def nest(parts, boards, rules=BARE, **options):
    layout = nest_parts(parts, boards, rules=rules, max_sweeps=50, time_limit_s=None, **options)
    assert layout.proof.is_proved, layout.proof.faults
    return layout


def test_a_part_equal_to_the_board_is_placed():
    layout = nest([plate("A", 100, 50)], [board(length=100, width=50)])
    assert not layout.unplaced
    assert layout.boards[0].used_fraction == pytest.approx(1.0)


def test_two_and_four_plates_fill_a_board_exactly():
    assert not nest([plate("A", 762, 254, count=2)], [board(length=762, width=508)]).unplaced
    assert not nest([plate("A", 50, 25, count=4)], [board(length=100, width=50)]).unplaced


def test_a_fit_that_is_exact_with_its_gap_is_found():
    rules = NestRules("saw", 0.5, 1.5, 6.0, 1.0)
    assert not nest([plate("A", 988, 31.3, count=2), plate("B", 988, 31.4)], [board()], rules).unplaced


def test_the_size_of_a_part_too_large_is_told_along_and_across_its_grain():
    layout = nest([plate("post", 20, 150, grain_deg=90.0), plate("tall", 150, 20, grain_deg=90.0)], [board()])
    (left,) = layout.unplaced
    assert left.part == "tall"
    assert "20.0 × 150.0 mm along and across the grain" in left.reason
    assert "1000.0 × 100.0 mm" in left.reason


def test_a_part_too_wide_is_named_with_sizes_and_the_rest_is_placed():
    layout = nest([plate("wide", 300, 112), plate("rib", 100, 10)], [board(), board("B2", 500)])
    assert [u.part for u in layout.unplaced] == ["wide"]
    for word in ("wide", "300.0 × 112.0", "B1", "1000.0 × 100.0", "Edge-glue", "scarf"):
        assert word in layout.unplaced[0].reason


def test_nothing_that_fits_is_proved_to_have_no_solution():
    with pytest.raises(NoSolutionError, match=r"300\.0 × 112\.0 mm"):
        nest_parts([plate("wide", 300, 112)], [board()], rules=BARE)
    with pytest.raises(NoSolutionError, match="no board"):
        nest_parts([plate("A", 10, 10)], [], rules=BARE)


def test_no_parts_need_no_board():
    assert nest([], []).boards == ()
    assert nest([], [board()]).boards == ()


def test_material_thickness_and_tie_are_kept():
    parts = [plate("A", 50, 20), plate("B", 50, 20, board="B3"), Part("C", plate("C", 50, 20).outline, "ply", 0.8)]
    boards = [board("B1"), board("B2"), board("B3"), Board("P1", "ply", 0.8, 300, 300)]
    where = {p.part: b.board for b in nest(parts, boards).boards for p in b.placements}
    assert where == {"A": "B1", "B": "B3", "C": "P1"}


def test_blemishes_and_an_irregular_edge_are_kept_clear_of():
    knot = Blemish(Outline(Ring.circle((40, 50), 15)))
    flawed = board(length=200, blemishes=(knot, Blemish(Outline.rectangle(100, 0, 110, 60), is_soft=True)))
    assert not nest([plate("A", 30, 30, count=6), plate("B", 60, 20)], [flawed]).unplaced
    corner = Outline.from_points([(0, 0), (200, 0), (200, 40), (120, 40), (120, 100), (0, 100)])
    offcut = board(length=200, outline=corner)
    assert not nest([plate("A", 78, 38), plate("B", 118, 98)], [offcut], NestRules(ends_mm=1)).unplaced


def test_small_parts_lie_in_the_cutouts_of_large_ones():
    frame = Part("frame", Outline(Ring.rectangle(0, 0, 98, 98), (Ring.rectangle(10, 10, 88, 88),)), "balsa", 3.0)
    rules = NestRules("laser", 0.2, 0.0, 1.0, 1.0)
    square = board(length=100, width=100)
    assert not nest([frame, plate("core", 70, 70)], [square], rules).unplaced
    assert nest([frame, plate("core", 70, 70)], [square], NestRules("laser", 0.2, 0, 1, 1, False)).unplaced


def test_grain_turned_on_the_plan_is_turned_back():
    slanting = plate("A", 90, 20, grain_deg=30.0)
    layout = nest([slanting], [board()])
    assert layout.boards[0].placements[0].pose.angle_deg % 180 == pytest.approx(150.0)


def test_a_part_that_fits_only_tilted_is_tilted_within_its_tolerance():
    # A slim bar whose ends are cut so that it fits a board 40 mm wide only when turned by 2 to 3 degrees.
    slant = math.tan(math.radians(3))
    bar = Outline.from_points([(0, 0), (400, -400 * slant), (400, 20 - 400 * slant), (0, 20)])
    layout = nest([Part("bar", bar, "balsa", 3.0)], [board(length=402, width=31)])
    assert not layout.unplaced
    strict = Part("bar", bar, "balsa", 3.0, grain_tolerance_deg=0.0)
    with pytest.raises(NoSolutionError):
        nest([strict], [board(length=402, width=31)])


def test_a_couple_lies_side_by_side():
    parts = [plate("left", 300, 40), plate("right", 300, 40), plate("fin", 200, 90)]
    rules = NestRules(side_by_side=(("left", "right"),))
    assert not nest(parts, [board()], rules).unplaced


def test_pinned_copies_stay_and_others_keep_clear():
    pin = Pin("B1", Placement("A", 2, Pose(200, 30)))
    layout = nest([plate("A", 90, 40, count=3)], [board()], NestRules("saw"), pinned=[pin])
    assert pin.placement in layout.boards[0].placements
    assert sum(len(b.placements) for b in layout.boards) == 3


def test_an_executor_runs_independent_searches_and_gives_the_same_every_time():
    parts = [plate("A", 90, 40, count=3), Part("T", Outline.from_points([(0, 0), (70, 0), (0, 50)]), "balsa", 3.0)]
    with ThreadPoolExecutor(2) as threads:
        one, other = (nest(parts, [board()], NestRules("saw"), executor=threads, starts=2) for _ in range(2))
    assert one.boards == other.boards


def test_parts_far_out_on_the_plan_are_placed_as_well():
    far = Part("far", Outline.rectangle(1e6, 1e6, 1e6 + 100, 1e6 + 50), "balsa", 3.0)
    assert not nest([far], [board(length=100, width=50)]).unplaced


def test_a_needle_and_a_plate_share_a_board():
    needle = Part("needle", Outline.from_points([(0, 0), (900, 0.2), (0, 0.4)]), "balsa", 3.0)
    assert not nest([needle, plate("A", 900, 90)], [board()], NestRules("saw")).unplaced


def test_more_parts_than_wood_leaves_some_out_with_a_reason():
    layout = nest([plate("A", 100, 50, count=4)], [board(length=200, width=60)])
    assert len(layout.unplaced) == 2
    assert "no room was left" in layout.unplaced[0].reason


def test_tied_parts_and_boards_of_slanting_grain_stay_lawful_while_the_search_swaps_and_repeats():
    boards = [board("B1", 260), board("B2", 260, grain_deg=90.0), board("B3", 260)]
    wedge = Outline.from_points([(0, 0), (80, 0), (80, 30), (0, 45)])
    parts = [Part(f"W{b.name}", wedge, "balsa", 3.0, count=4, board=b.name) for b in boards]
    parts += [Part("free", wedge, "balsa", 3.0, count=6)]
    layout = nest_parts(parts, boards, rules=NestRules("saw"), max_sweeps=800, time_limit_s=None)
    assert layout.proof.is_proved, layout.proof.faults


def test_a_part_lies_only_on_the_boards_that_it_may_come_from():
    boards = [board("B1"), board("B2", 260), board("B3", 260)]
    layout = nest([plate("A", 200, 60, count=2, boards=("B2", "B3"))], boards)
    assert [laid.board for laid in layout.boards] == ["B2", "B3"]
    with pytest.raises(InputError, match="tied to board 'B9'"):
        nest([plate("A", 200, 60, boards=("B2", "B9"))], boards)


def test_a_break_gives_the_best_so_far():
    calls = []

    def interrupt(progress):
        calls.append(progress)
        if len(calls) == 2:
            raise KeyboardInterrupt

    wedge = Part("W", Outline.from_points([(0, 0), (80, 0), (80, 10), (0, 45)]), "balsa", 3.0, count=8)
    layout = nest_parts([wedge], [board()], rules=NestRules("saw"), time_limit_s=60, on_progress=interrupt)
    assert layout.proof.is_proved
    assert layout.is_cut_short
    assert len(calls) == 2


def test_a_knife_for_thick_wood_is_remarked_on():
    notes = nest([plate("A", 100, 50)], [board()], NestRules.for_tool("knife")).notes
    assert [(note.code, note.part) for note in notes] == [("thick-for-knife", "A")]


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1.0])
def test_a_clearance_that_cannot_be_is_refused(bad):
    with pytest.raises(ToleranceError, match="clearance"):
        NestRules(clearance_mm=bad)


def test_doubled_and_unknown_names_are_refused():
    with pytest.raises(InputError, match="two parts are named 'A'"):
        nest([plate("A", 10, 10), plate("A", 20, 10)], [board()])
    with pytest.raises(InputError, match="'B9'"):
        nest([plate("A", 10, 10, board="B9")], [board()])


def test_an_outline_that_crosses_itself_is_named():
    bow_tie = Outline.from_points([(0, 0), (40, 0), (10, 30), (30, 40)])
    with pytest.raises(OutlineError, match="part bow"):
        nest([Part("bow", bow_tie, "balsa", 3.0)], [board()])


def test_edges_that_are_all_but_parallel_do_not_slip_through_each_other():
    # Two traced rectangles whose sides are off by some nanometres; the mirrored one slid through its twin.
    plate = [(10.1295118402643, 79.87049185743577), (10.12951132524304, 39.87951299844128),
             (110.12048996537754, 39.87951164765549), (110.12049050605988, 79.87049050604753)]  # fmt: skip
    fin = [(125.12952390921726, 74.8704903066534), (125.12950483557655, 44.87951134913834),
           (165.1204900315205, 44.879511094486126), (165.12049043861447, 74.87048976211412)]  # fmt: skip
    parts = [
        Part("plate", Outline.from_points(plate), "balsa", 3.0),
        Part("fin", Outline.from_points(fin), "balsa", 3.0, hand="pair"),
    ]
    layout = nest_parts(parts, [Board("B", "balsa", 3.0, 300.0, 80.0)], rules=NestRules.for_tool("knife"), max_sweeps=5)
    assert layout.proof.faults == ()
    assert len(layout.boards[0].placements) == 3
