"""Lengths as they are lettered; an inch is exactly 25.4 mm (international yard and pound agreement, 1959)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vectorize.marks.figures import LARGEST_MM, SMALLEST_MM, lengths
from vectorize.marks.lettering import Reading

EXACT_MM = 1e-9


def read(*texts):
    return lengths([Reading(text, 1.0 - 0.1 * k) for k, text in enumerate(texts)])


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("257.1", 257.1),
        ("48.4MM", 48.4),
        ("3,5 mm", 3.5),
        ("12 cm", 120.0),
        ('8.64"', 8.64 * 25.4),
        ('.5"', 12.7),
        ('4 27/32"', (4 + 27 / 32) * 25.4),
        ('7-9/16"', (7 + 9 / 16) * 25.4),
        ('I/16"', 25.4 / 16),
        ("9o mm", 90.0),
        ("3 ft", 914.4),
        ('<1.07">', 1.07 * 25.4),
        ("10''", 254.0),
        ("CHECK 300 MM", 300.0),
        ("CHECK 30OMM", 300.0),
    ],
)
def test_the_likeliest_length_is_what_a_builder_reads(text, mm):
    assert read(text)[0].mm == pytest.approx(mm, abs=EXACT_MM)


def test_a_lost_space_leaves_every_proper_way_to_part_the_figures():
    found = {round(length.mm / 25.4, 6) for length in read('473/4"')}
    assert found == {47.75}
    assert {round(length.mm / 25.4, 6) for length in read('1113/32"')} == {111 + 3 / 32, 11 + 13 / 32}


@pytest.mark.parametrize(
    "text", ["", "R3", "Ø3", "RUDDER", "3 mm ply", "1:1", "2/0", '4/8"', '9/8"', '1/3"', "11-6-62", "2 REQ'D"]
)
def test_what_states_no_length_gives_none(text):
    assert read(text) == ()


def test_other_readings_are_kept_behind_the_likeliest():
    assert [length.mm for length in read("28.3 MM", "26.3 MM")] == [28.3, 26.3]


def test_the_last_place_is_the_step():
    assert [read(text)[0].step_mm for text in ("28.3 mm", "28 mm", '2.20"', '3 1/16"')] == pytest.approx(
        [0.1, 1.0, 0.254, 25.4 / 16]
    )


@given(st.text(max_size=40) | st.from_regex(r"[0-9OIl./ \-]{0,30}[\"m']{0,3}", fullmatch=True))
def test_any_text_is_taken_or_left(text):
    for length in read(text):
        assert SMALLEST_MM <= length.mm <= LARGEST_MM
        assert 0 < length.sure <= 1
        assert length.step_mm > 0
