import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.balance.aerodynamic_chord import Section, mean_chord
from vectorize.basics.errors import JobError


def test_a_swept_tapered_wing_of_the_notes():
    # Public-domain aeronautical software notes: 400 at the root, 200 at 1000 with its leading edge 600 aft.
    found = mean_chord([Section(0, 400, 0), Section(1000, 200, 600)])
    assert found.length_mm == pytest.approx(311.1111, abs=0.001)
    assert found.span_mm == pytest.approx(444.4444, abs=0.001)
    assert found.leading_edge_mm == pytest.approx(266.6667, abs=0.001)
    assert found.station_mm(0.25) == pytest.approx(344.4444, abs=0.001)
    assert found.half_area_mm2 == pytest.approx(300000, abs=0.001)


@pytest.mark.parametrize(
    ("root", "tip", "span", "length", "at"),
    [
        (8, 4, 1, 6.2222, 4 / 9),  # a teaching page gives the length
        (100, 100, 500, 100, 250),  # derived, exact
        (100, 0, 500, 66.6667, 166.6667),  # derived
        (250, 150, 600, 204.1667, 275),  # derived
    ],
)
def test_straight_tapers(root, tip, span, length, at):
    found = mean_chord([Section(0, root, 0), Section(span, tip, 50)])
    assert found.length_mm == pytest.approx(length, abs=0.001)
    assert found.span_mm == pytest.approx(at, abs=0.001)


def test_the_leading_edge_of_the_mean_chord_of_a_taper():
    found = mean_chord([Section(0, 250, 0), Section(600, 150, 50)])
    assert found.leading_edge_mm == pytest.approx(22.9167, abs=0.001)  # derived
    assert found.half_area_mm2 == pytest.approx(120000)
    assert found.share(found.station_mm(0.3)) == pytest.approx(0.3)


@given(st.floats(0.05, 0.95))
def test_cutting_a_panel_in_two_changes_nothing(at):
    root, tip = Section(0, 250, 0), Section(600, 150, 50)
    middle = Section(600 * at, 250 - 100 * at, 50 * at)
    whole, halves = mean_chord([root, tip]), mean_chord([root, middle, tip])
    assert halves.length_mm == pytest.approx(whole.length_mm)
    assert halves.leading_edge_mm == pytest.approx(whole.leading_edge_mm)


@pytest.mark.parametrize(
    ("sections", "words"),
    [
        ([Section(0, 100, 0)], "root and its tip"),
        ([Section(100, 100, 0), Section(0, 80, 0)], "from root to tip"),
        ([Section(0, -1, 0), Section(100, 80, 0)], "zero or more"),
        ([Section(0, 0, 0), Section(100, 0, 0)], "no area"),
    ],
)
def test_wings_that_cannot_be_are_refused(sections, words):
    with pytest.raises(JobError, match=words):
        mean_chord(sections)
