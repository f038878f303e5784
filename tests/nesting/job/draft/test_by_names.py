"""Regions told apart by the names that stand in them."""

import numpy as np
import pytest
from shapely.geometry import box

from nesting.job.draft import by_names
from nesting.job.draft.drafted import Said, Value
from nesting.job.draft.joining import Region
from tests.nesting.job.draft.test_draft import sheet
from tests.vectorize.marks.lettering.lettered_pages import PX_PER_MM
from vectorize.faces.sheet import read_drawing
from vectorize.marks.lettering import Reading, Text
from vectorize.marks.read_plan import PlanReading, provisional_scale

WIDE = [(20, 20), (120, 20), (120, 50), (20, 50)]
FLAP = [(20, 50), (120, 50), (120, 66), (20, 66)]


@pytest.fixture(scope="module")
def hinged():
    """Return the drawing of two outlines with a common side.

    +-----------+
    |   WIDE    |
    +-----------+
    |   FLAP    |
    +-----------+
    """
    page = sheet([WIDE, FLAP], ())
    return read_drawing(page, provisional_scale(page, PlanReading((), (), None, ())), gap_mm=2.0)


def area(left, top, right, bottom):
    found = box(*(PX_PER_MM * side for side in (left, top, right, bottom)))
    return Region((0.0, 0.0), np.array(found.exterior.coords[:-1]), found)


def labels(*names):
    """Return names with their places in mm and how sure each is, as texts and what they say."""
    texts, said = [], []
    for k, (name, (x, y), sure) in enumerate(names):
        corners = [(x, y), (x + 20, y), (x + 20, y + 5), (x, y + 5)]
        texts.append(
            Text(name, tuple((PX_PER_MM * a, PX_PER_MM * b) for a, b in corners), 0.0, sure, (Reading(name, sure),))
        )
        said.append(Said(k, name=Value(name, sure, k, name)))
    return said, texts


def bounds_mm(regions):
    return [[round(side / PX_PER_MM) for side in region.area.bounds] for region in regions]


def test_two_names_in_one_region_part_it_where_what_grows_from_them_meets(hinged):
    said, texts = labels(("STAB", (60, 30), 0.95), ("ELEVATOR", (60, 55), 0.95))
    made = by_names.parted(hinged, [area(20, 20, 120, 66)], said, texts, px_per_mm=PX_PER_MM)
    assert sorted(bounds_mm(made)) == [[20, 20, 120, 50], [20, 50, 120, 66]]


@pytest.mark.parametrize(
    ("names", "region"),
    [
        ((("STAB", (60, 30), 0.95), ("F2", (90, 30), 0.95)), (20, 20, 120, 66)),  # one grows into the other's part
        ((("STAB", (60, 30), 0.95), ("ELEVATOR", (60, 55), 0.5)), (20, 20, 120, 66)),  # one is hardly read
        ((("STAB", (60, 30), 0.95), ("STAB", (60, 55), 0.95)), (20, 20, 120, 66)),  # one name twice
        ((("STAB", (60, 30), 0.95), ("ELEVATOR", (60, 55), 0.95)), (20, 20, 120, 110)),  # the rest would be lost
    ],
)
def test_a_region_stays_whole_where_names_do_not_part_all_of_it(hinged, names, region):
    said, texts = labels(*names)
    made = by_names.parted(hinged, [area(*region)], said, texts, px_per_mm=PX_PER_MM)
    assert bounds_mm(made) == [list(region)]


def test_what_holds_a_single_label_is_no_list():
    frame = box(0, 0, 100 * PX_PER_MM, 80 * PX_PER_MM)
    one, texts = labels(("F3", (20, 20), 0.9))
    assert by_names.holds_one_name(frame, one, texts)
    two, texts = labels(("F3", (20, 20), 0.9), ("RIB", (20, 40), 0.9))
    assert not by_names.holds_one_name(frame, two, texts)
    assert not by_names.holds_one_name(frame, (), ())
