"""What the page is told of the balance: entries of the job with their units, three of anything included."""

import json
from pathlib import Path

from nesting.desk.balance_view import balance_view
from nesting.job.folder import read_spec

SEDGE = Path(__file__).parents[3] / "nesting" / "demo" / "sedge" / "job.toml"


def test_a_chord_of_three_sections_and_the_points_of_one_scan_are_told_as_they_are():
    view = balance_view(read_spec(SEDGE.read_text(encoding="utf-8")), None)
    assert [section["span_mm"] for section in view["chord"]["sections"]] == [0.0, 230.0, 320.0]
    assert view["datum"] == (411.0, 656.0)
    assert view["seats"]["fin"]["at"] == (3578.0, 502.0)
    json.dumps(view)
