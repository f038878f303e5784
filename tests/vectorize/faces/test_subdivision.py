from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import polygonize, unary_union
from shapely.geometry import LineString

from tests.vectorize.faces.line_nets import divided_page, grid, line_work
from vectorize.faces.regions import divided


def test_every_cell_of_a_grid_is_a_face_of_its_size() -> None:
    regions, _ = divided_page(*grid(3, 2))
    assert sorted(regions.area_px[2:]) == pytest.approx([3600.0] * 6)
    assert regions.outside == {1}
    assert regions.area_px.sum() == pytest.approx(400 * 400)


def test_a_drawing_that_stands_free_in_a_face_is_taken_out_of_it() -> None:
    nodes = [(20, 20), (220, 20), (220, 220), (20, 220), (100, 100), (140, 100), (140, 140), (100, 140)]
    regions, _ = divided_page(nodes, [(0, 1), (1, 2), (2, 3), (3, 0), (4, 5), (5, 6), (6, 7), (7, 4)])
    around, inside = regions.at((40.0, 40.0)), regions.at((120.0, 120.0))
    assert around is not None
    assert inside is not None
    assert regions.area_px[around] == pytest.approx(200 * 200 - 40 * 40)
    assert regions.area_px[inside] == pytest.approx(40 * 40)
    assert regions.holes({around}) == [frozenset({inside})]
    assert len(regions.loops({around})) == 2


def test_lines_that_end_in_a_face_divide_nothing() -> None:
    nodes, pairs = grid(1, 1)
    regions, _ = divided_page([*nodes, (50, 50)], [*pairs, (0, 4)])
    assert len(regions.area_px) == 3
    assert regions.left[-1] == regions.right[-1] == regions.at((60.0, 40.0))


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(*[st.integers(5, 390)] * 4), min_size=3, max_size=12), st.randoms(use_true_random=False))
def test_boundaries_of_any_faces_close_and_areas_are_those_of_another_library(lines: list, random) -> None:
    """Faces and areas against GEOS, which nodes and polygonises the same lines by its own code."""
    whole = unary_union([LineString([(a, b), (c, d)]) for a, b, c, d in lines if (a, b) != (c, d)])
    pieces = [line.coords for line in getattr(whole, "geoms", [whole]) if line.length > 0]
    if not pieces:
        return
    names: dict[tuple[float, float], int] = {}
    pairs = [tuple(names.setdefault(p, len(names)) for p in (piece[0], piece[-1])) for piece in pieces]
    work = line_work(list(names), [pair for pair in pairs if pair[0] != pair[1]])
    regions = divided(work, rows=400, columns=400)
    cells = sorted(cell.area for cell in polygonize([LineString(piece) for piece in pieces]).geoms)
    # Nested drawings: GEOS gives rings with holes in them too.
    assert regions.area_px[2:].sum() == pytest.approx(sum(cells), rel=1e-6, abs=1e-3)
    assert len(regions.area_px) - 2 == len(cells)
    chosen = [face for face in range(2, len(regions.area_px)) if random.random() < 0.5]
    ends: Counter[int] = Counter()
    for index, forwards in regions.boundary(chosen):
        edge = work.edges[index]
        ends[edge.end if forwards else edge.start] += 1
        ends[edge.start if forwards else edge.end] -= 1
    assert not any(ends.values())
    walked = sum(loop.signed_area_px for loop in regions.loops(chosen))
    assert walked == pytest.approx(float(np.sum(regions.area_px[chosen])), rel=1e-6, abs=1e-3)
