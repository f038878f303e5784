from __future__ import annotations

import io

import numpy as np
import pikepdf
import pypdfium2
import pytest

from nesting.charts.shopping_card import shopping_card_pdf
from nesting.patterns.page_strip import BOTTOM_STRIP_MM, LEFT_STRIP_MM
from nesting.patterns.papers import find_paper
from nesting.patterns.pattern_settings import PatternSettings
from nesting.patterns.sheets import part_pattern
from tests.nesting.patterns.pattern_shapes import letter_f, long_part, pdf_pages

INCH = 25.4


def pattern_pdf(part, **settings) -> bytes:
    made = part_pattern(part, settings=PatternSettings(**settings), formats=("pdf",))
    return next(iter(made.values()))


def bar_lengths_mm(page: np.ndarray, size_mm: tuple[float, float], margin_mm: float = 10.0) -> dict[str, float]:
    """Measure the four bars from the picture alone: the longest dark runs in the strips.

    Rows through the middle of a line give the longest run of it; rows along its grey edge a shorter one.
    The millimetres come from the page's own pixels: its size over their number.
    """
    rows, columns = page.shape
    mm_x, mm_y = size_mm[0] / columns, size_mm[1] / rows
    bottom = page[
        round((size_mm[1] - margin_mm - BOTTOM_STRIP_MM) / mm_y) : round((size_mm[1] - margin_mm + 0.5) / mm_y)
    ]
    left = page[:, round((margin_mm - 0.5) / mm_x) : round((margin_mm + LEFT_STRIP_MM - 0.5) / mm_x)]
    lengths = {}
    for where, strip, mm in (("across", bottom[:, : round(135 / mm_x)], mm_x), ("up", left.T, mm_y)):
        runs = sorted({round(longest_run(line) * mm, 3) for line in strip if longest_run(line) * mm > 90})
        assert runs, f"no bar {where}"
        lengths[f"{where} mm"] = max(run for run in runs if run < 100.9)
        lengths[f"{where} in"] = max(runs)
    return lengths


def longest_run(line: np.ndarray) -> float:
    """Length of the longest dark run in pixels, its ends found where the grey passes half."""
    dark = np.concatenate(([255], line, [255])).astype(float)
    edges = np.flatnonzero(np.diff((dark < 128).astype(int)))
    if len(edges) == 0:
        return 0.0
    starts, ends = edges[::2], edges[1::2]
    best = int(np.argmax(ends - starts))
    start, end = starts[best], ends[best]
    before = start + (dark[start] - 128) / (dark[start] - dark[start + 1])
    after = end + (128 - dark[end]) / (dark[end + 1] - dark[end])
    return after - before


# A line of 0.13 mm has round ends: the run is longer by its width.
PEN_MM = 0.13


@pytest.mark.parametrize(("dpi", "tolerance_mm"), [(300, 0.15), (600, 0.08)])
@pytest.mark.parametrize(
    ("paper", "size_mm"), [("A4", (210, 297)), ("Letter", (8.5 * INCH, 11 * INCH)), ("A4 and Letter", (210, 11 * INCH))]
)
def test_check_bars_measure_true_in_the_rasterised_page(paper, size_mm, dpi, tolerance_mm):
    page = pdf_pages(pattern_pdf(letter_f(), paper=paper), dpi)[0]
    bars = bar_lengths_mm(page, size_mm)
    assert bars["across mm"] - PEN_MM == pytest.approx(100.0, abs=tolerance_mm)
    assert bars["up mm"] - PEN_MM == pytest.approx(100.0, abs=tolerance_mm)
    assert bars["across in"] - PEN_MM == pytest.approx(101.6, abs=tolerance_mm)
    assert bars["up in"] - PEN_MM == pytest.approx(101.6, abs=tolerance_mm)


def test_every_page_of_a_tiled_pattern_carries_the_bars():
    pages = pdf_pages(pattern_pdf(long_part()), 300)
    assert len(pages) >= 4
    for page in pages:
        assert bar_lengths_mm(page, (210, 297))["up mm"] - PEN_MM == pytest.approx(100.0, abs=0.15)


WORDY = {
    "is_mirrored": True,
    "printer_bars_mm": (99.2, 100.4),
    "model": "A glider with a name that runs on and on and on",
}


@pytest.mark.parametrize(
    ("paper", "more"),
    [("A4", {}), ("Letter", {}), ("A3", {}), ("Tabloid", {}), ("A4 and Letter", {}), ("A4", WORDY)],
)
def test_nothing_is_inked_in_the_margin(paper, more):
    for page in pdf_pages(pattern_pdf(long_part(), paper=paper, **more), 100):
        margin = int(10 / INCH * 100) - 1
        inked = np.flatnonzero((page < 250).any(axis=1))
        across = np.flatnonzero((page < 250).any(axis=0))
        assert inked[0] >= margin
        assert inked[-1] < page.shape[0] - margin
        assert across[0] >= margin
        assert across[-1] < page.shape[1] - margin


# ISO 216 and ANSI/ASME Y14.1, in mm; 0.01 mm is a hundredth of what a printer can place.
SHEETS_MM = {
    "A4": (210, 297), "A3": (297, 420), "A2": (420, 594), "A1": (594, 841), "A0": (841, 1189),
    "Letter": (215.9, 279.4), "Tabloid": (279.4, 431.8), "ANSI C": (431.8, 558.8), "ANSI D": (558.8, 863.6),
    "ANSI E": (863.6, 1117.6), "ANSI F": (711.2, 1016.0),
}  # fmt: skip


@pytest.mark.parametrize("paper", SHEETS_MM)
def test_page_boxes_are_those_of_the_standards(paper):
    document = pypdfium2.PdfDocument(pattern_pdf(letter_f(), paper=paper))
    x0, y0, x1, y1 = document[0].get_mediabox()
    document.close()
    assert (x0, y0) == (0, 0)
    assert (x1 * INCH / 72, y1 * INCH / 72) == pytest.approx(SHEETS_MM[paper], abs=0.01)


def test_viewers_are_told_not_to_scale():
    with pikepdf.open(io.BytesIO(pattern_pdf(letter_f()))) as pdf:
        assert pdf.Root.ViewerPreferences.PrintScaling == "/None"


# ISO 32000-1, 9.9: an embedded font has its program in FontFile, FontFile2 or FontFile3 of its descriptor.
@pytest.mark.parametrize(
    ("data", "subject"),
    [
        (pattern_pdf(letter_f()), "True-size pattern in millimetres; print at 100 %"),
        (shopping_card_pdf("Sedge", [], paper=find_paper("A4")), "Card to read; nothing on it is at true size"),
    ],
    ids=["pattern", "card"],
)
def test_every_font_that_is_declared_is_embedded_and_the_file_says_what_it_is(data, subject):
    with pikepdf.open(io.BytesIO(data)) as pdf:
        fonts = [found for found in pdf.objects if isinstance(found, pikepdf.Dictionary) and "/BaseFont" in found]
        descriptors = [inner.FontDescriptor for f in fonts for inner in f.get("/DescendantFonts", [f])]
        assert fonts
        assert all({"/FontFile", "/FontFile2", "/FontFile3"} & set(d.keys()) for d in descriptors)
        assert str(pdf.Root.Lang) == "en"
        assert (str(pdf.docinfo["/Author"]), str(pdf.docinfo["/Subject"])) == ("Sheetwood", subject)
