"""What a message shows of what was found: never long, never what a terminal would obey."""

import pytest
from PIL import UnidentifiedImageError

from vectorize.basics.wording import reason_of, told


def test_the_ends_of_an_endless_message_are_told():
    said = told(f"sheetwood: board {'x' * 5000} is 1 mm thick; give it a thickness.")
    assert len(said) < 300
    assert said.startswith("sheetwood: board xx")
    assert said.endswith("x is 1 mm thick; give it a thickness.")


def test_what_a_terminal_would_obey_is_written_out():
    assert told("a \x1b[31mred\nword") == r"a \x1b[31mred\nword"


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (TypeError("'NoneType' object is not subscriptable"), ""),
        (KeyError("width"), ""),
        (OSError("image file is truncated (3 bytes)."), " (image file is truncated (3 bytes))"),
        (UnidentifiedImageError("cannot identify\nthis"), " (cannot identify)"),
        (OSError(), ""),
        (OSError("decoder error -2 when reading image file"), ""),
    ],
)
def test_only_what_is_said_of_the_file_is_passed_on(error, words):
    assert reason_of(error) == words
