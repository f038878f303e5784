"""Two carved panels weighed against each other."""

import pytest

from nesting.balance.weights import weigh_parts
from nesting.job.deriving import Carving
from nesting.job.panels import panel_notes, weighed_panel
from nesting.job.step_tables import CarveTable
from nesting.wood.board import Board
from nesting.wood.part import Part
from tests.nesting.carve.carved_panels import high_point_panel, rectangle
from vectorize.basics.errors import JobError

BOTH = ("left", "right")
PANEL = high_point_panel(rectangle(120, 300))


def _carving(name, board, **more):
    table = CarveTable(section="NACA 0009", span=((0, 0), (1, 0)), leading=(0, 1), **more)
    part = Part(name, PANEL.planform.outline, "balsa", 8.0, board=board, finished_share=0.6)
    return Carving(name, PANEL, table, (part,))


def _weights(*carvings):
    boards = [
        Board("light", "balsa", 8.0, 900, 150, mass_g=140.0),
        Board("heavy", "balsa", 8.0, 900, 150, mass_g=146.0),
    ]
    return weigh_parts([piece for c in carvings for piece in c.pieces], boards)


def test_the_note_says_which_is_heavier_where_and_what_to_take_off():
    left, right = _carving("left", "light"), _carving("right", "heavy", against="left")
    weights = _weights(left, right)
    (note,) = panel_notes([left, right], weights, asked=BOTH)
    difference = weighed_panel(right, weights).mass_g - weighed_panel(left, weights).mass_g
    assert f"take {difference:.2f} g off right" in note.text  # equal planforms: equal arms
    assert "by thirds from root to tip: +" in note.text
    assert note.state == "fixed"


def test_a_lateral_target_is_a_mass_at_the_tip():
    left, right = _carving("left", "light"), _carving("right", "heavy", against="left", heavier_by="0.5 g")
    (note,) = panel_notes([left, right], _weights(left, right), asked=BOTH)
    assert "for right to be heavier as by 0.5 g at 300 mm, take" in note.text
    assert "off left" in note.text


def test_more_than_sanding_can_give_stays_open():
    left, right = _carving("left", "light"), _carving("right", "heavy", against="left", heavier_by="40 g")
    (note,) = panel_notes([left, right], _weights(left, right), asked=BOTH)
    assert note.state == "open"
    assert "spoils the section" in note.text


def test_a_panel_without_a_weight_is_said():
    left, right = _carving("left", "light"), _carving("right", "heavy", against="left")
    (note,) = panel_notes([left, right], _weights(right), asked=BOTH)
    assert (note.code, note.state) == ("panels-not-weighed", "open")


def test_the_other_panel_must_be_carved():
    with pytest.raises(JobError, match="against 'keel', which is not a carved part; carved parts: none"):
        panel_notes(
            [_carving("right", "heavy", against="keel")], _weights(_carving("right", "heavy")), asked=("right",)
        )


def test_a_panel_that_could_not_be_carved_stops_nothing_else():
    right = _carving("right", "heavy", against="left")
    (note,) = panel_notes([right], _weights(right), asked=BOTH)
    assert (note.code, note.state) == ("panels-not-weighed", "open")
    assert "against left: that could not be carved" in note.text
