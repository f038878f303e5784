"""More parts than one search holds: all are there, proved as a whole, each kit together, and rounds only save wood."""

import random
from concurrent.futures import Future

import pytest

from nesting.place import in_rounds
from nesting.place.in_rounds import nest_in_rounds, search_window
from nesting.place.layout import Layout, Proof
from nesting.place.layout_rules import NestRules
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline

RULES = NestRules("saw")
KITS = 6


@pytest.fixture(autouse=True)
def small_searches(monkeypatch):
    monkeypatch.setattr(in_rounds, "MOST_COPIES", 8)
    monkeypatch.setattr(in_rounds, "_ROUNDS", 3)


@pytest.fixture(scope="module")
def parts():
    rng = random.Random(3)
    return [
        Part(
            f"k{kit}: {name}", Outline.rectangle(0, 0, rng.uniform(40, 90), rng.uniform(15, 40)), "balsa", 3.0, count=2
        )
        for kit in range(KITS)
        for name in ("rib", "fin")
    ]


def boards(count, *, wood="balsa"):
    return [Board(f"B{number}", wood, 3.0, 300.0, 80.0) for number in range(count)]


def nest(parts, boards, **options):
    kit_of = {part.name: part.name.partition(":")[0] for part in parts}
    asked = {"time_limit_s": None, "max_sweeps": 40} | options
    return nest_in_rounds(parts, boards, rules=RULES, kit_of=kit_of, **asked)


def lying(layout):
    return sorted((place.part, place.copy) for board in layout.boards for place in board.placements)


def wood(layout):
    return len(layout.boards), sum(board.used_length_mm for board in layout.boards)


def test_all_copies_are_laid_out_once_and_the_whole_is_proved(parts):
    layout = nest(parts, boards(10))
    assert (layout.proof.is_proved, layout.unplaced) == (True, ())
    assert lying(layout) == sorted((part.name, copy) for part in parts for copy in (1, 2))
    assert nest(parts, boards(10)) == layout


def test_a_division_holds_whole_kits_and_no_more_than_one_search_can(parts):
    wood_of_all = in_rounds._Wood(
        tuple(parts), tuple(boards(10)), tuple((p.name, n) for p in parts for n in (1, 2)), RULES,
        {part.name: part.name[:2] for part in parts},
    )  # fmt: skip
    shares = in_rounds._divided(wood_of_all)
    kits = [{name[:2] for name, _ in copies} for copies, _ in shares]
    assert [len(copies) for copies, _ in shares] == [8, 8, 8]
    assert sum(map(len, kits)) == KITS
    names = [board.name for _, own in shares for board in own]
    assert names == [f"B{number}" for number in range(10)]


def test_going_on_from_a_layout_takes_no_more_wood(parts):
    first = nest(parts, boards(10), max_sweeps=4)
    onward = nest(parts, boards(10), start=first)
    assert onward.proof.is_proved
    assert wood(onward)[0] <= wood(first)[0]
    assert lying(onward) == lying(first)


def test_what_has_no_room_is_told_and_the_rest_is_laid_out(parts):
    layout = nest(parts, boards(2))
    assert layout.proof.is_proved
    assert 0 < len(layout.unplaced) < 2 * len(parts)
    assert all("no room was left" in one.reason for one in layout.unplaced)
    assert len(lying(layout)) + len(layout.unplaced) == 2 * len(parts)


def test_a_wood_that_no_board_has_is_told_part_by_part(parts):
    layout = nest(parts, boards(3, wood="spruce"))
    assert (layout.boards, len(layout.unplaced)) == ((), 2 * len(parts))
    assert all(f"part {one.part}: no board of 3 mm balsa" in one.reason for one in layout.unplaced)


def test_a_copy_that_is_left_out_needs_no_place(parts):
    layout = nest(parts, boards(10), left_out={("k0: rib", 2)})
    assert ("k0: rib", 2) not in lying(layout)
    assert (layout.proof.is_proved, len(lying(layout))) == (True, 2 * len(parts) - 1)


class Workers:
    """An executor of which each second task comes to no end, after the first ones."""

    def __init__(self, good, fault=None):
        self.good, self.fault, self.asked = good, fault or RuntimeError("KilledWorker"), 0

    def submit(self, work, window):
        self.asked += 1
        done = Future()
        if self.asked > self.good and self.asked % 2:
            done.set_exception(self.fault)
        else:
            done.set_result(work(window))
        return done


def test_a_worker_that_dies_leaves_its_boards_as_they_were(parts):
    layout = nest(parts, boards(10), executor=Workers(good=3), seats=2)
    assert (layout.proof.is_proved, len(lying(layout))) == (True, 2 * len(parts))
    # All of the first ones die: nothing is lost but their part of the search.
    lost = nest(parts, boards(10), executor=Workers(good=0), seats=2)
    assert lost.proof.is_proved
    assert len(lying(lost)) + len(lost.unplaced) == 2 * len(parts)


def test_a_search_that_is_stopped_gives_what_it_has(parts):
    workers = Workers(good=3, fault=KeyboardInterrupt())
    layout = nest(parts, boards(10), executor=workers, seats=2)
    assert (layout.is_interrupted, layout.proof.is_proved) == (True, True)
    assert len(lying(layout)) == 2 * len(parts)
    assert workers.asked == 5  # the three divisions and one round


def test_what_is_found_and_not_proved_is_not_taken_over(parts):
    own = in_rounds._Wood(tuple(parts[:1]), tuple(boards(1)), ((parts[0].name, 1),), RULES, {parts[0].name: "k0"})
    window = own.window(own.boards, own.copies, in_rounds._Limits(None, 2, 1), 0)
    found = search_window(window)
    own.take(window, Layout(found.boards, (), Proof(("it overlaps",), 0.0)))
    assert own.layouts == {}
    own.take(window, found)
    assert list(own.layouts) == ["B0"]
