"""Quantities as people write them. Factors: international yard and pound agreement 1959, exact."""

import contextlib
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vectorize.basics.errors import UnitError
from vectorize.basics.units import (
    ANGLE,
    AREA_WEIGHT,
    DENSITY,
    LENGTH,
    MASS,
    SHARE,
    STIFFNESS,
    format_density,
    format_length,
    format_mass,
    inch_fraction,
    parse,
    parse_length,
    parse_mass,
)


@pytest.mark.parametrize(
    ("text", "length_mm"),
    [
        ("3.5 mm", 3.5),
        ("3,5 mm", 3.5),
        ("0,125 mm", 0.125),
        ("3.5mm", 3.5),
        ("10 cm", 100.0),
        ("1 m", 1000.0),
        ("1 in", 25.4),
        ('1"', 25.4),
        ("1/16 in", 1.5875),
        ('3/32"', 2.38125),
        ("3/32 in", 2.38125),
        ("1 1/2 in", 38.1),
        ("1-1/2 in", 38.1),
        ('1 1/16"', 26.9875),
        ("½ in", 12.7),
        ('1½"', 38.1),
        ("1⅛ in", 28.575),
        ("36 in", 914.4),
        ("36 mm", 36.0),
        ("3 ft", 914.4),
        ("3'", 914.4),
        ("-30 mm", -30.0),
        ("−30 mm", -30.0),
        (".5 cm", 5.0),
        ("  2.5   mm ", 2.5),
    ],
)
def test_lengths_are_read_as_builders_write_them(text, length_mm):
    assert parse_length(text) == pytest.approx(length_mm, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("3", "without a unit"),
        ("1/16", "without a unit"),
        ("1.234,5 mm", "two ways"),
        ("1,234 mm", "two ways"),
        ("1.234.567 mm", "two ways"),
        ("", "does not begin with a number"),
        ("long", "does not begin with a number"),
        ("nan mm", "does not begin with a number"),
        ("1/0 in", "nothing below the line"),
        ("3 furlongs", "not a unit of length"),
        ("3 g", "not a unit of length"),
    ],
)
def test_doubtful_lengths_are_refused_with_the_reason(text, said):
    with pytest.raises(UnitError, match=said) as caught:
        parse_length(text, what="part fin: thickness")
    assert str(caught.value).startswith("part fin: thickness")
    assert caught.value.exit_code == 3


# Exact by definition; the rest follows from the pound, the inch and standard gravity 9.80665 m/s2.
@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("1 oz", MASS, 28.349523125),
        ("1 1/4 oz", MASS, 35.43690390625),
        ("1 lb", MASS, 453.59237),
        ("1 lb/ft3", DENSITY, 16.018463373960138),
        ("7.5 lb/ft3", DENSITY, 7.5 * 16.018463373960138),
        ("160 kg/m³", DENSITY, 160.0),
        ("1 psi", STIFFNESS, 6894.757293168e-6),
        ("3.4 GPa", STIFFNESS, 3400.0),
        ("1 oz/yd2", AREA_WEIGHT, 33.9057474748823),
        ("1 oz/ft2", AREA_WEIGHT, 305.15172727394065),
        ("30 deg", ANGLE, 30.0),
        ("30 %", SHARE, 0.3),
        ("0.3", SHARE, 0.3),
    ],
)
def test_factors_are_exact(text, kind, value):
    assert parse(text, kind) == pytest.approx(value, rel=1e-12)


def test_a_heading_may_give_the_unit_of_bare_numbers():
    assert parse_mass("35,4", default_unit="g") == pytest.approx(35.4)
    assert parse_mass("1 1/4 oz", default_unit="g") == pytest.approx(35.43690390625)


@given(st.integers(0, 40), st.integers(1, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_fractions_of_an_inch_survive_writing_and_reading(whole, numerator, denominator):
    inches = whole + Fraction(numerator, denominator)
    written = inch_fraction(float(inches) * 25.4)
    assert written is not None
    assert parse_length(f"{written} in") == pytest.approx(float(inches) * 25.4, abs=1e-9)


@given(st.text(max_size=20))
def test_any_text_gives_a_number_or_a_unit_error(text):
    with contextlib.suppress(UnitError):
        assert isinstance(parse(text, LENGTH), float)


def test_values_are_shown_in_both_systems():
    assert format_length(2.38125) == "2.4 mm (3/32 in)"
    assert format_length(2.38125, units="in") == "3/32 in (2.4 mm)"
    assert format_length(10.0) == "10.0 mm (0.394 in)"
    assert format_mass(35.43690390625) == "35.4 g (1.25 oz)"
    assert format_density(160.18463373960138) == "160 kg/m3 (10.0 lb/ft3)"
