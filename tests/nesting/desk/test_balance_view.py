"""What the page is told of the balance: entries of the job with their units, three of anything included."""

import json
from pathlib import Path

from nesting.desk.balance_view import balance_view
from nesting.job.folder import read_spec
from tests.nesting.desk.jobs import JOB

SEDGE = Path(__file__).parents[3] / "nesting" / "job" / "demo" / "sedge" / "job.toml"


def test_a_chord_of_three_sections_and_the_points_of_one_scan_are_told_as_they_are():
    view = balance_view(read_spec(SEDGE.read_text(encoding="utf-8")), None)
    assert [section["span_mm"] for section in view["chord"]["sections"]] == [0.0, 230.0, 320.0]
    assert view["datum"] == (411.0, 656.0)
    assert view["seats"]["fin"]["at"] == (3578.0, 502.0)
    json.dumps(view)


def test_coats_and_joints_are_told_with_the_names_that_may_be_chosen():
    job = (
        JOB
        + """
[[coat]]
name = "milk paint"
weight = "12 g/m2"
stage = "painted"
[[finish]]
parts = ["plate"]
both = ["tissue", "milk paint", "milk paint"]
sanding = "0.1 mm"
[[joint]]
name = "seam"
parts = ["plate"]
glue = "epoxy"
length = "40 mm"
width = "1/8 in"
"""
    )
    view = balance_view(read_spec(job), None)
    assert view["finishes"] == [
        {"parts": ["plate"], "both": ["tissue", "milk paint", "milk paint"], "top": [], "bottom": [], "edges": []}
        | {"sanding_mm": 0.1}
    ]
    (joint,) = view["joints"]
    assert joint == {"name": "seam", "parts": ["plate"], "glue": "epoxy", "length_mm": 40.0, "width_mm": 3.175}
    assert view["coats"][0] == "milk paint"
    assert {"tissue", "dope"} < set(view["coats"])
    assert "epoxy" in view["glues"]
