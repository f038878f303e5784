"""Bearers of another wood are weighed, balanced at their place and laid out like any other part."""

import pytest

from .test_wood_commands import MODEL

BEARERS = """grain = "0 deg"

[[part.step]]
make = "bearers"
at = [[40, 70], [40, 170]]
length = "40 mm"
width = "6 mm"
material = "basswood"
"""


@pytest.fixture
def bearing(small_job):
    text = (small_job.folder / "job.toml").read_text(encoding="utf-8")
    text = text.replace('grain = "0 deg"\n', BEARERS, 1).replace("[nest]\n", f"{MODEL}\n[nest]\n")
    (small_job.folder / "job.toml").write_text(text, encoding="utf-8")
    rack = small_job.folder / "rack.csv"
    rack.write_text(rack.read_text(encoding="utf-8") + "hard,basswood,3 mm,3.0 mm,300 mm,80 mm,36.0 g,,,\n", "utf-8")
    return small_job


def test_each_bearer_has_its_own_weight_at_its_own_place(sheetwood, bearing):
    entries = sheetwood("balance", bearing.folder, "--json").json["entries"]
    bearers = [entry for entry in entries if entry["what"].startswith("plate bearer") and "wood" in entry["what"]]
    assert [entry["part"] for entry in bearers] == ["plate bearer 1", "plate bearer 2"]
    for entry in bearers:
        # 40 x 6 x 3 mm at 36 g / (300 x 80 x 3 mm), its middle 20 mm aft of the datum at the fore end.
        assert entry["mass_g"] == pytest.approx(40 * 6 * 3 * 36 / (300 * 80 * 3), rel=0.01)
        assert entry["station_mm"] == pytest.approx(20.0, abs=0.1)


def test_they_are_laid_on_a_board_of_their_wood(sheetwood, bearing):
    boards = sheetwood("nest", bearing.folder, "--sweeps", "1", "--json").json["boards"]
    (hard,) = [board for board in boards if board["name"] == "hard"]
    assert {placed["part"] for placed in hard["placements"]} == {"plate bearer 1", "plate bearer 2"}
