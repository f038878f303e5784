"""Cutting strips against plans worked out by hand and against trying every way to cut."""

import random
from itertools import product

import pytest

from nesting.wood.strip_cutting import StripPiece, cut_strips


def test_a_kerf_more_or_less_decides_whether_two_pieces_come_from_one_length():
    halves = [StripPiece("half", 499.5, 2)]
    one = cut_strips(halves, new_mm=1000.0, kerf_mm=1.0)
    assert (one.bought, one.least_bought, one.is_proved) == (1, 1, True)
    assert one.lengths[0].rest_mm == pytest.approx(0.0)
    two = cut_strips(halves, new_mm=1000.0, kerf_mm=1.1)
    assert (two.bought, two.is_proved) == (2, True)


def test_a_plan_is_found_that_longest_first_misses():
    # Longest first cuts 6+4 and 4+3, and has 3 left: three lengths. 4+3+3 and 6+4 take two.
    pieces = [StripPiece("a", 6), StripPiece("b", 4, 2), StripPiece("c", 3, 2)]
    plan = cut_strips(pieces, new_mm=10)
    assert (plan.bought, plan.is_proved) == (2, True)
    assert sorted(name for length in plan.lengths for name, _ in length.cuts) == ["a", "b", "b", "c", "c"]


def test_offcuts_go_first_and_the_shortest_that_does():
    plan = cut_strips([StripPiece("spar", 290)], new_mm=900, offcuts_mm=[700, 310, 200], at_hand=1)
    (length,) = plan.lengths
    assert (length.origin, length.length_mm, length.cuts) == ("offcut", 310, (("spar", 290),))


def test_whole_lengths_at_hand_go_before_new_ones():
    plan = cut_strips([StripPiece("spar", 600, 3)], new_mm=900, at_hand=2)
    assert [length.origin for length in plan.lengths] == ["at hand", "at hand", "new"]


def test_a_piece_longer_than_any_length_is_left_out():
    plan = cut_strips([StripPiece("boom", 950), StripPiece("spar", 600)], new_mm=900, offcuts_mm=[100])
    assert [piece.name for piece in plan.left_out] == ["boom"]
    assert plan.bought == 1


def test_where_the_search_is_stopped_the_bound_stays_true():
    pieces = [StripPiece(str(n), 231.0 + 17.3 * (n * n % 13), 2) for n in range(14)]
    short, full = (cut_strips(pieces, new_mm=1000, kerf_mm=1, most_steps=steps) for steps in (1, 20_000))
    assert short.least_bought <= full.bought <= short.bought
    assert sum(len(length.cuts) for length in short.lengths) == 28


def fewest(sizes, offcuts, new_mm, kerf):
    """The fewest new lengths and, with those, the least millimetres of offcuts, by trying every way to cut."""
    stock = [*offcuts, *[new_mm] * len(sizes)]
    best = (len(sizes) + 1, 0.0)
    for where in product(range(len(stock)), repeat=len(sizes)):
        if any(b > len(offcuts) and b - 1 not in where for b in where):
            continue  # new lengths are alike: they are begun in order
        loads = {b: sum(s + kerf for s, at in zip(sizes, where, strict=True) if at == b) for b in set(where)}
        if all(load <= stock[b] + kerf + 1e-9 for b, load in loads.items()):
            new = sum(b >= len(offcuts) for b in loads)
            best = min(best, (new, round(sum(stock[b] for b in loads if b < len(offcuts)), 6)))
    return best


@pytest.mark.parametrize("seed", range(12))
def test_no_way_to_cut_is_better_on_small_random_jobs(seed):
    rng = random.Random(seed)
    sizes = [rng.randint(80, 620) for _ in range(5)]
    offcuts = sorted(rng.randint(90, 500) for _ in range(2))
    kerf = rng.choice([0.0, 1.0, 2.5])
    plan = cut_strips([StripPiece(str(s), s) for s in sizes], new_mm=700.0, offcuts_mm=offcuts, kerf_mm=kerf)
    used = sum(length.length_mm for length in plan.lengths if length.origin == "offcut")
    assert plan.is_proved
    assert (plan.bought, round(used, 6)) == fewest(sizes, offcuts, 700.0, kerf)
    for length in plan.lengths:
        assert sum(s for _, s in length.cuts) + kerf * (len(length.cuts) - 1) <= length.length_mm + 1e-6
