"""The picture of a pattern shows where its pages join, as the PDF has them."""

import io

import numpy as np
import pypdfium2
import pytest
from PIL import Image
from shapely.geometry import box as rectangle
from shapely.ops import unary_union

from nesting.patterns.joins_preview import PageShare, page_shares, with_pages
from nesting.patterns.pages import tiling_of
from nesting.patterns.paper_tiles import Content
from nesting.patterns.pattern_settings import PatternSettings
from nesting.patterns.sheets import part_pattern
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline

LONG = rectangle(100, 50, 700, 130)


@pytest.mark.parametrize("is_mirrored", [False, True])
@pytest.mark.parametrize("area", [LONG, rectangle(50, 100, 130, 700), rectangle(0, 0, 500, 450)])
def test_the_pages_cover_the_drawing_and_neighbours_share_the_overlap(area, is_mirrored):
    settings = PatternSettings(is_mirrored=is_mirrored)
    shares = page_shares(tiling_of(Content((area,)), settings), settings)
    assert unary_union([rectangle(*share.cell) for share in shares]).buffer(1e-6).contains(area)
    for share in shares:
        assert rectangle(*share.window).buffer(1e-6).contains(rectangle(*share.cell))
    first, second = (rectangle(*share.window) for share in shares[:2])
    assert min(first.intersection(second).minimum_clearance, 1e9) == pytest.approx(settings.overlap_mm)
    assert rectangle(*shares[0].cell).intersection(rectangle(*shares[1].cell)).area == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("size", [(700, 80), (700, 230), (600, 100)])
def test_pages_in_a_row_are_named_from_left_to_right_also_where_the_paper_is_turned(size):
    settings = PatternSettings()
    shares = page_shares(tiling_of(Content((rectangle(0, 0, *size),)), settings), settings)
    first, *others = (share.cell[0] for share in sorted(shares, key=lambda share: share.words))
    assert all(first <= other for other in others)
    row = [share for share in shares if abs(share.cell[1] - shares[0].cell[1]) < 1.0]
    assert [share.words for share in sorted(row, key=lambda share: share.cell[0])] == [share.words for share in row]


def test_pages_are_named_as_the_pdf_names_them():
    settings = PatternSettings()
    part = Part("fuselage", Outline.rectangle(0, 0, 600, 60), "balsa", 3.0)
    files = part_pattern(part, settings=settings, formats=("pdf", "png"))
    shares = page_shares(tiling_of(Content((rectangle(0, 0, 600, 60),)), settings), settings)
    document = pypdfium2.PdfDocument(files["part-fuselage.pdf"])
    for share in shares:
        label, number = share.words.split(", page ")
        assert f"tile {label}" in document[int(number) - 1].get_textpage().get_text_range()


def test_one_page_is_left_as_it_is_and_joints_lie_where_they_are_said_to():
    settings = PatternSettings()
    assert page_shares(tiling_of(Content((rectangle(0, 0, 100, 100),)), settings), settings) == ()
    stream = io.BytesIO()
    Image.new("RGB", (1000, 200), "white").save(stream, "PNG", dpi=(150, 150))
    plain = stream.getvalue()
    assert with_pages(plain, (), (0, 0, 500, 100)) == plain
    shares = (
        PageShare("1A, page 2", (0, 0, 255, 100), (0, 0, 250, 100)),
        PageShare("A2, page 3", (245, 0, 500, 100), (250, 0, 500, 100)),
    )
    drawn = Image.open(io.BytesIO(with_pages(plain, shares, (0, 0, 500, 100))))
    assert drawn.info["dpi"] == pytest.approx((150, 150), abs=0.1)
    row = np.asarray(drawn.convert("L"))[150].astype(int)
    # 2 pixels to the millimetre: the joint at 250 mm is pixel 500, the strip reaches 5 mm either way.
    assert row[500] < 100
    assert set(row[492:497]) == set(row[504:509])
    assert 150 < row[494] < 250
    assert row[480] == row[520] == 255
