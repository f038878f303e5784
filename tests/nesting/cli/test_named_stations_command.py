"""`balance` tells named places in words, as JSON and on the card; patterns draw them."""

import pypdfium2
import pytest

from .test_wood_commands import MODEL

NAMED = """
[[station]]
name = "guide"
station = "50 mm"

[[station]]
name = "wheels"
at = [200, 440]
axle = true

[[station]]
name = "thrust line"
at = [40, 200]
to = { station = "80 mm", height = "-2 mm" }
"""


@pytest.fixture
def named(small_job):
    small_job.edit("[nest]\n", f"{MODEL}{NAMED}\n[nest]\n")
    return small_job


def test_named_places_are_told_for_each_loading(sheetwood, named):
    done = sheetwood("balance", named.folder, "--json")
    thrust, wheels, guide = done.json["stations"]
    assert [one["name"] for one in (thrust, wheels, guide)] == ["thrust line", "wheels", "guide"]
    for loading, at in zip(done.json["loadings"], guide["loadings"], strict=True):
        assert at["fuel_share"] == loading["fuel_share"]
        assert at["from_balance_mm"] == pytest.approx(50.0 - loading["balance_mm"])
    # The datum is at pixel (40, 200), 4 pixels to the millimetre, y down.
    assert (wheels["station_mm"], wheels["height_mm"]) == pytest.approx((40.0, -60.0), abs=0.3)
    assert thrust["line_deg"] == pytest.approx(1.43, abs=0.02)


def test_the_card_and_the_words_have_them(sheetwood, named):
    done = sheetwood("balance", named.folder)
    assert "Named places" in done.out
    card = pypdfium2.PdfDocument(named.folder / "out" / "bench-card.pdf")
    text = " ".join(card[0].get_textpage().get_text_range().split())
    assert "Aft of the balance point (mm):" in text
    assert "° ahead)" in text


def test_a_pattern_of_a_part_in_place_shows_them(sheetwood, named):
    done = sheetwood("pattern", named.folder, "--part", "plate", "--as", "svg")
    assert done.code in (0, 4), done.err
    drawn = (named.folder / "out" / "part-plate.svg").read_text(encoding="utf-8")
    assert "guide" in drawn


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('station = "50 mm"\n', "", "needs a 'station', or a point of the side view"),
        ('name = "guide"', 'name = "wheels"', "two entries of [[station]] are named 'wheels'"),
        ("axle = true", "axel = true", "axle"),
        ("at = [200, 440]", 'station = "40 mm"', "the axle is"),
    ],
)
def test_stations_that_cannot_be_are_refused(sheetwood, named, old, new, said):
    named.edit(old, new)
    done = sheetwood("balance", named.folder)
    assert done.code == 3
    assert said in " ".join(done.err.split())
