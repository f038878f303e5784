"""Notes and faults at the desk in the units of the job; names and the builder's own words as they were written."""

from nesting.desk.notes_view import notes_view, spoken
from vectorize.basics.notes import Note
from vectorize.basics.spoken import Speech

VIEW = {
    "notes": notes_view([Note("bridged", "part 3 mm fin: a gap of 1.4 mm was bridged", part="3 mm fin")]),
    "rack_fault": "the board is 100 mm wide",
    "parts": ({"fault": "needs 12.7 mm", "marks": [{"kind": "line", "text": "drill 3 mm"}]},),
    "width_mm": 3.0,
}


def test_an_inch_job_hears_of_gaps_in_inches():
    said = spoken(VIEW, Speech("in", ("3 mm fin",)))
    assert said["notes"][0]["text"] == "part 3 mm fin: a gap of 0.055 in was bridged"
    assert said["rack_fault"] == "the board is 3.94 in wide"
    assert said["parts"][0] == {"fault": "needs 1/2 in", "marks": [{"kind": "line", "text": "drill 3 mm"}]}
    assert said["width_mm"] == 3.0


def test_a_metric_job_is_shown_as_it_is():
    assert spoken(VIEW, Speech("mm")) is VIEW
