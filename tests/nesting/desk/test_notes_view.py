"""Notes and faults at the desk in the units of the job; names and the builder's own words as they were written."""

from nesting.desk.notes_view import notes_view, spoken
from vectorize.basics.notes import Note
from vectorize.basics.spoken import Speech

VIEW = {
    "notes": notes_view([Note("bridged", "part 3 mm fin: a gap of 1.4 mm was bridged", part="3 mm fin")]),
    "rack_fault": "the board is 100 mm wide",
    "parts": ({"fault": "needs 12.7 mm", "marks": [{"kind": "line", "text": "drill 3 mm"}]},),
    "width_mm": 3.0,
    "compare": {"advice": "B1 saves 28.3 g", "boards": [{"objection": "bows 2.5 mm"}]},
    "fixes": [{"ballast_g": 28.3, "flying_mass_g": 283.0, "text": "28.3 g of ballast at nose"}],
    "bindings": [{"what": "room", "gain": 28.3, "text": "room binds: 28.3 g lighter"}],
    "layout": {"faults": ["rib lies 12.7 mm outside"], "unplaced": [{"part": "rib", "reason": "it is 254 mm long"}]},
    "board": {"notes": "3 mm from the shop", "blemishes": [{"text": "dent of 5 mm", "is_soft": True}]},
}


def test_an_inch_job_hears_of_gaps_in_inches():
    said = spoken(VIEW, Speech("in", ("3 mm fin",)))
    assert said["notes"][0]["text"] == "part 3 mm fin: a gap of 0.055 in was bridged"
    assert said["rack_fault"] == "the board is 3.94 in wide"
    assert said["parts"][0] == {"fault": "needs 1/2 in", "marks": [{"kind": "line", "text": "drill 3 mm"}]}
    assert said["width_mm"] == 3.0


def test_all_that_stages_say_is_in_the_jobs_units_and_what_the_builder_wrote_is_not():
    said = spoken(VIEW, Speech("in"))
    # An avoirdupois ounce is 28.35 g, an inch 25.4 mm (NIST SP 811, appendix B).
    assert said["compare"] == {"advice": "B1 saves 1.00 oz", "boards": [{"objection": "bows 0.098 in"}]}
    assert said["fixes"][0]["text"] == "1.00 oz of ballast at nose"
    assert said["bindings"][0]["text"] == "room binds: 1.00 oz lighter"
    assert said["layout"]["faults"] == ["rib lies 1/2 in outside"]
    assert said["layout"]["unplaced"] == [{"part": "rib", "reason": "it is 10 in long"}]
    assert said["board"] == VIEW["board"]


def test_a_metric_job_is_shown_as_it_is():
    assert spoken(VIEW, Speech("mm")) is VIEW
