"""What is said in millimetres and grams, said in inches and ounces. Exact factors: 25.4 mm, 28.349523125 g (1959)."""

import pytest

from vectorize.basics.spoken import in_units


@pytest.mark.parametrize(
    ("metric", "imperial"),
    [
        ("a gap of 1.4 mm was bridged", "a gap of 0.055 in was bridged"),
        ("needs 25.4 mm.", "needs 1 in."),
        ("a bar of 2.38 mm", "a bar of 0.0937 in"),
        ("it is 100 x 40 mm", "it is 3.94 x 1.57 in"),
        ("balance 101.6 ± 0.3 mm", "balance 4.000 ± 0.012 in"),
        ("between 10.0 and 20.0 mm", "between 0.394 and 0.787 in"),
        ("moved by +2.0 mm, turned 3.0 deg", "moved by +0.079 in, turned 3.0 deg"),
        ("12.5 g at 80 mm", "0.44 oz at 3.15 in"),
        ("area 6.45 cm²", "area 1.000 in²"),
        ("area 645.16 mm2", "area 1.000 in²"),
        ("160 kg/m3", "10.0 lb/ft3"),
        ("a neck at (12.7, 5.0) mm is", "a neck at (0.500, 0.197) in is"),
        ("part fin is 3.175 mm balsa", "part fin is 1/8 in balsa"),
        ("is 2.38125 mm thick", "is 3/32 in thick"),
        ("misses by 3.172 mm", "misses by 0.12488 in"),
        ("off by 0.001 mm", "off by 0.00004 in"),
    ],
)
def test_metric_figures_are_said_in_inches_with_as_many_digits(metric, imperial):
    assert in_units(metric, units="in") == imperial
    assert in_units(metric, units="mm") == metric


@pytest.mark.parametrize(
    "text",
    [
        "3/32 in (2.4 mm)",
        "0.44 ± 0.01 oz (12.5 g)",
        "thickness is '3 mm', which no board has",
        'write edges = "1 mm" under [nest]',
        "rack.csv row 3",
        "part R2.5 mmx",
    ],
)
def test_what_is_in_both_systems_or_was_written_by_somebody_stays(text):
    assert in_units(text, units="in") == text


def test_where_both_stand_inches_go_first():
    assert in_units("it is 2.4 mm (3/32 in) thick", units="in") == "it is 3/32 in (2.4 mm) thick"
    assert in_units("weighs 12.5 g (0.44 oz).", units="in") == "weighs 0.44 oz (12.5 g)."


def test_names_stay_as_they_are():
    said = in_units("part 3 mm ply: 3 mm too wide", units="in", kept=("3 mm ply", "fin"))
    assert said == "part 3 mm ply: 0.12 in too wide"
