from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Point, box
from shapely.ops import unary_union

from nesting.patterns.paper_tiles import Content, column_letters, plan_tiles
from vectorize.basics.errors import InputError

WINDOW_MM = (180.0, 250.0)
OVERLAP_MM = 10.0


def tiling_of(*pieces, holes=()):
    return plan_tiles(Content(pieces, tuple(holes)), WINDOW_MM, overlap_mm=OVERLAP_MM, most_pages=200)


def on_own_frame(tiling, pieces):
    content = Content(tuple(pieces))
    return (content.turned() if tiling.is_turned else content).pieces


def test_what_fits_one_page_takes_one_and_has_no_joint():
    tiling = tiling_of(box(0, 0, 170, 240))
    assert [tile.label for tile in tiling.tiles] == ["1A"]
    assert tiling.joints == ()


def test_it_is_turned_where_that_saves_pages():
    assert len(tiling_of(box(0, 0, 240, 170)).tiles) == 1
    assert tiling_of(box(0, 0, 240, 170)).is_turned


@given(width=st.floats(20, 900), height=st.floats(20, 900))
def test_the_tiles_show_everything_and_neighbours_share_the_overlap(width, height):
    piece = box(0, 0, width, height)
    tiling = tiling_of(piece)
    (shown,) = on_own_frame(tiling, [piece])
    assert unary_union([box(*tile.window) for tile in tiling.tiles]).buffer(1e-6).contains(shown)
    for joint in tiling.joints:
        both = box(*joint.first.window).intersection(box(*joint.second.window))
        x0, y0, x1, y1 = both.bounds
        assert min(x1 - x0, y1 - y0) == pytest.approx(OVERLAP_MM)
        assert both.buffer(1e-6).contains(Point(joint.begin))


def test_a_tile_that_carries_nothing_is_left_out():
    #  two long strips at a right angle leave the inside of the L empty
    tiling = tiling_of(box(0, 0, 20, 700), box(0, 0, 700, 20))
    assert len(tiling.tiles) < 4 * 3
    pieces = unary_union(on_own_frame(tiling, [box(0, 0, 20, 700), box(0, 0, 700, 20)]))
    assert all(box(*tile.cell).intersects(pieces) for tile in tiling.tiles)


def test_joints_are_shifted_into_the_gap_between_parts():
    first, second = box(0, 0, 230, 160), box(236, 0, 440, 160)
    tiling = tiling_of(first, second)
    assert len(tiling.tiles) == 2
    assert tiling.cost == 0
    (joint,) = tiling.joints
    shown = on_own_frame(tiling, [first, second])
    assert not any(piece.buffer(-0.1).intersects(Point(joint.begin)) for piece in shown)


def test_no_joint_runs_near_the_centre_of_a_hole_if_it_can_be_helped():
    part = box(0, 0, 400, 100)
    centres = [(x, 50.0) for x in (195.0, 200.0, 205.0)]
    tiling = tiling_of(part, holes=centres)
    (joint,) = tiling.joints
    along = joint.begin[1] if tiling.is_turned else joint.begin[0]
    assert all(abs(along - x) >= OVERLAP_MM / 2 for x, _ in centres)


def test_too_many_pages_are_refused_with_their_number():
    with pytest.raises(InputError, match=r"3001 × 2001 mm and would take \d+ pages; the limit is 60"):
        plan_tiles(Content((box(0, 0, 3000, 2000),)), WINDOW_MM, overlap_mm=OVERLAP_MM, most_pages=60)


@pytest.mark.parametrize(
    ("column", "letters"), [(0, "A"), (25, "Z"), (26, "AA"), (27, "AB"), (701, "ZZ"), (702, "AAA")]
)
def test_columns_have_letters_as_spreadsheets_count(column, letters):
    assert column_letters(column) == letters
