"""Parts of drawn sheets with what is lettered in and beside them."""

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from nesting.job.draft import draft_parts, is_accepted, load_vocabulary
from tests.vectorize.marks.lettering.lettered_pages import FONT, PX_PER_MM
from vectorize.marks.read_plan import read_plan
from vectorize.page import Page

WORDS = load_vocabulary()


def sheet(outlines, words, *, size_mm=(190.0, 120.0), lines=()):
    """Return a page with closed outlines, open lines and lettering; all in mm from the upper left."""
    picture = Image.new("L", tuple(round(side * PX_PER_MM) for side in size_mm), 255)
    pen = ImageDraw.Draw(picture)

    def px(points):
        return [(x * PX_PER_MM, y * PX_PER_MM) for x, y in points]

    for outline in outlines:
        pen.line([*px(outline), *px(outline[:2])], fill=0, width=4, joint="curve")
    for line in lines:
        pen.line(px(line), fill=0, width=2)
    for text, at, high_mm in words:
        pen.text(px([at])[0], text, fill=0, font=ImageFont.truetype(FONT, round(high_mm * PX_PER_MM)))
    grey = np.asarray(picture)
    rows, columns = grey.shape
    return Page("plan.png", 1, 1, grey, (), columns, rows, stated_px_per_mm=(PX_PER_MM, PX_PER_MM))


def drafted(page):
    reading = read_plan(page)
    draft = draft_parts(page, reading, WORDS)
    return {part.name.value: part for part in draft.parts}, draft


FIN = [(12, 12), (82, 12), (82, 58), (30, 58)]
RIB = [(12, 72), (90, 66), (110, 74), (110, 90), (12, 92)]
PLATE = [(140, 66), (170, 66), (170, 96), (140, 96)]


# One label in two lines inside, one in one line, one beside.
#
#   +-----------+
#   | FIN       |   +------+
#   | 2 mm ...  |   |      |  GUSSET
#   +-----------+   +------+  1.5 mm ply 4 off
LETTERED = (
    ("FIN", (40, 22), 6.0),
    ("2 mm balsa  1 off", (36, 34), 4.0),
    ("R3 - 3 mm balsa, 6 off", (22, 77), 4.5),
    ("GUSSET", (143, 101), 5.0),
    ("1.5 mm ply  4 off", (139, 108), 4.0),
    ("SPAN 700 mm", (120, 20), 4.0),
)


@pytest.fixture(scope="module")
def parts():
    return drafted(sheet((FIN, RIB, PLATE), LETTERED))[0]


def test_labels_in_and_beside_parts_say_name_wood_and_count(parts):
    said = {
        name: (part.material.value, part.thickness_mm.value, part.count.value) for name, part in sorted(parts.items())
    }
    assert said == {"FIN": ("balsa", 2.0, 1), "GUSSET": ("ply", 1.5, 4), "R3": ("balsa", 3.0, 6)}


def test_every_value_says_where_it_was_read_and_how_surely(parts):
    fin = parts["FIN"]
    assert fin.thickness_mm.written.startswith("2 mm balsa")
    assert all(value.sure > 0.85 for value in (fin.name, fin.material, fin.thickness_mm, fin.count))
    assert fin.texts


def test_the_pixel_given_for_a_part_lies_in_it(parts):
    x, y = (value / PX_PER_MM for value in parts["GUSSET"].inside)
    assert 140 < x < 170
    assert 66 < y < 96


def test_a_name_that_stands_twice_is_made_two_and_both_are_doubtful():
    twins = [[(x + dx, y) for x, y in PLATE] for dx in (-120, -60, 0)]
    names = [("R2", (30 + dx - 10, 76), 6.0) for dx in (0, 60, 120)]
    found, draft = drafted(sheet(twins, [("R1", names[0][1], 6.0), names[1], names[2]]))
    assert sorted(found) == ["R1", "R2", "R2 (2)"]
    assert found["R1"].name.sure > 0.9 > found["R2"].name.sure
    assert all(part.is_lettered for part in draft.parts)


def test_a_sheet_without_lettering_has_no_lettered_part():
    assert drafted(sheet((FIN, PLATE), ()))[0] == {}


def test_a_name_that_goes_on_in_letters_that_say_nothing_is_doubtful():
    alone, _ = drafted(sheet([FIN], [("WING", (20, 30), 6.0)]))
    cut, _ = drafted(sheet([FIN], [("WING", (20, 30), 6.0), ("CRA", (46, 30), 6.0)]))
    assert is_accepted(alone["WING"].name)
    assert all(not is_accepted(part.name) for part in cut.values())


def dashes(points, *, mm=3.0, gap_mm=1.5):
    """Return the strokes of a closed line drawn in dashes."""
    strokes = []
    for (x0, y0), (x1, y1) in zip(points, [*points[1:], points[0]], strict=True):
        length = float(np.hypot(x1 - x0, y1 - y0))
        for at in np.arange(0.0, length, mm + gap_mm):
            ends = np.array([at, min(at + mm, length)]) / length
            strokes.append([(x0 + (x1 - x0) * t, y0 + (y1 - y0) * t) for t in ends])
    return strokes


BODY = [(12, 20), (172, 20), (172, 90), (12, 90)]
HIDDEN = [(24, 30), (84, 30), (84, 80), (24, 80)]
BODY_LABEL = (("FUSELAGE", (104, 40), 6.0), ("3 mm balsa  2 off", (104, 52), 4.0))

#   +----------------------------+
#   |  - - - - -                 |
#   | |  D1     |   FUSELAGE     |
#   |  - - - - -                 |
#   +----------------------------+


def test_a_lettered_part_drawn_in_dashes_inside_another_is_offered_and_takes_no_label_from_it():
    label = (("D1", (36, 40), 6.0), ("1.5 mm ply  2 off", (32, 54), 4.0))
    parts, draft = drafted(sheet([BODY], (*BODY_LABEL, *label), lines=dashes(HIDDEN)))
    hidden, body = parts["D1"], parts["FUSELAGE"]
    assert hidden.is_dashed
    assert not is_accepted(hidden.name)
    assert (hidden.material.value, hidden.thickness_mm.value, hidden.count.value) == ("ply", 1.5, 2)
    assert not body.is_dashed
    assert is_accepted(body.name)
    assert (body.material.value, body.thickness_mm.value, body.count.value) == ("balsa", 3.0, 2)
    low, high = hidden.boundary.min(axis=0) / PX_PER_MM, hidden.boundary.max(axis=0) / PX_PER_MM
    assert low == pytest.approx([24, 30], abs=0.6)
    assert high == pytest.approx([84, 80], abs=0.6)
    assert draft.unlettered == ()


def test_dashes_round_nothing_lettered_are_no_part_and_keep_no_label_from_the_part_round_them():
    label = (("FUSELAGE", (32, 40), 6.0), ("3 mm balsa  2 off", (32, 52), 4.0))
    parts, draft = drafted(sheet([BODY], (("2", (50, 62), 4.0),), lines=dashes(HIDDEN)))
    assert not any(part.is_dashed for part in parts.values())
    assert len(draft.unlettered) + len(parts) == 1
    beside, _ = drafted(sheet([BODY], [(t, (x + 70, y), h) for t, (x, y), h in label], lines=dashes(HIDDEN)))
    assert list(beside) == ["FUSELAGE"]


def test_a_cross_that_reads_as_a_figure_keeps_no_label_from_its_part():
    label = (("R3", (150, 72), 5.0), ("3 mm balsa  2 off", (138, 100), 4.0))
    cross = ([(146, 86), (152, 86)], [(149, 83), (149, 89)])
    parts, draft = drafted(sheet([FIN, PLATE], label, lines=cross))
    assert (list(parts), len(draft.unlettered)) == (["R3"], 1)
    assert (parts["R3"].material.value, parts["R3"].thickness_mm.value, parts["R3"].count.value) == ("balsa", 3.0, 2)
