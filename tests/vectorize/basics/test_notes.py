"""Notes are read back as they were written, also those of earlier versions."""

import pytest

from vectorize.basics.notes import Note


def test_a_note_comes_back_as_it_was_written():
    note = Note("open-part", "the outline is open.", "open", "fin", (12.0, 30.5))
    assert Note.from_json(note.as_json()) == note


def test_a_code_of_an_earlier_version_is_read_as_the_present_one():
    written = Note("dpi-missing", "states no resolution.").as_json() | {"code": "dpi_missing"}
    assert Note.from_json(written).code == "dpi-missing"


@pytest.mark.parametrize("at", [[], "", 0, False, [1.0], [1.0, 2.0, 3.0, 4.0], ["a", "b"], {}])
def test_a_note_with_a_place_that_is_none_is_refused(at):
    written = Note("crossed", "a line crosses.").as_json() | {"at": at}
    with pytest.raises((TypeError, ValueError)):
        Note.from_json(written)
