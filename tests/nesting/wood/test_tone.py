"""The tone of a board is the same in a file as on the page."""

import re
from pathlib import Path

from nesting.wood import tone

PAGE = Path(tone.__file__).parent.parent / "desk" / "static" / "boards.js"


def test_light_balsa_is_pale_and_heavy_balsa_dark():
    assert tone.wood_tone("balsa", 60.0) == tone.PALE
    assert tone.wood_tone("balsa", 400.0) == tone.DARK
    assert tone.PALE > tone.wood_tone("balsa", 130.0) > tone.DARK
    assert tone.wood_tone("birch ply", 700.0) == tone.PLY


def test_the_page_draws_boards_in_these_tones():
    text = PAGE.read_text(encoding="utf-8")
    for name in ("PALE", "DARK", "PLY"):
        (found,) = re.findall(rf"const {name} = \[([\d, ]+)\]", text)
        assert tuple(map(int, found.split(","))) == getattr(tone, name)
    for name in ("LIGHTEST_KG_M3", "HEAVIEST_KG_M3"):
        (found,) = re.findall(rf"const {name} = (\d+);", text)
        assert float(found) == getattr(tone, name)
