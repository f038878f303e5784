"""The shopping card: what to buy for the parts that the rack has no wood for, to take along to the shop."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from nesting.charts.bars import PAGE_MARGIN_MM, SMALL_MM, WORDS_MM, draw_table, write, write_lines
from nesting.patterns.drawing import Recorder
from nesting.patterns.papers import Paper
from nesting.patterns.typeface import wrapped
from nesting.patterns.write_pdf import CARD, Page, Sheet, pdf_bytes
from nesting.wood.shopping import Wanted, wanted_heads, wanted_row
from nesting.wood.stock import WASTE_WORDS, StockList, cutting_words, stock_heads, stock_row, total_words
from vectorize.basics.errors import InputError
from vectorize.basics.spoken import in_units

NOTHING = "The rack has all the wood that these parts need."
_SHARES = (0.09, 0.16, 0.18, 0.17, 0.13, 0.15, 0.12)
_ADVICE = (
    "Weigh each board in the shop. 'Asked for' is the window that the parts ask for; 'usual' runs from a light "
    "board of the material to an ordinary one."
)
_STOCK_SHARES, _FIGURES = (0.35, 0.15, 0.1, 0.15, 0.1, 0.15), (1, 2, 3, 4, 5)
_ROWS = 24
"""Boards on one page; more begin another."""


def shopping_card_pdf(
    title: str, wanted: Sequence[Wanted], *, stock: StockList | None = None, paper: Paper, units: str = "mm"
) -> bytes:
    """Return the card as a PDF: a table of the boards, and for which parts each is; nothing on it is at true size.

    With `stock`, further pages hold all that the job takes, and what is cut from each length of strip.

    Raises:
        InputError: A paper too small for a card.
    """
    if paper.width_mm < 190 or paper.height_mm < 250:
        raise InputError(f"a shopping card needs A4 or Letter at least; {paper.name} is smaller.")
    heading = f"Shopping card: {title}"
    groups = [wanted[i : i + _ROWS] for i in range(0, len(wanted), _ROWS)] or [()]
    sheets = [sheet for group in groups for sheet in _sheets(heading, group, paper, units)]
    if stock is not None and stock.lines:
        sheets += _stock_sheets(f"Stock list: {title}", stock, paper, units)
    pages = [Page(paper, (Sheet(tuple(sheet.elements)),)) for sheet in sheets]
    return pdf_bytes(pages, title=heading, subject=CARD)


def _stock_sheets(heading: str, stock: StockList, paper: Paper, units: str) -> list[Recorder]:
    """Everything that the job takes as a table, then in words how strips are cut and what each thing is for."""
    width, x = paper.width_mm - 2 * PAGE_MARGIN_MM, PAGE_MARGIN_MM
    columns, heads = [width * share for share in _STOCK_SHARES], stock_heads(stock.currency)[:-1]
    sheets = []
    for begin in range(0, len(stock.lines), _ROWS):
        recorder, y = _begun(heading, paper)
        sheets.append(recorder)
        rows = [stock_row(line, units=units)[:-1] for line in stock.lines[begin : begin + _ROWS]]
        y = draw_table(recorder, heads, rows, x, y, columns, right=_FIGURES, row_mm=6.0, height_mm=WORDS_MM)
    y = write_lines(recorder, WASTE_WORDS, x, y - 3.0, width, height_mm=SMALL_MM) - 4.0
    said = [f"{line.what}: for {stock_row(line, units=units)[-1]}" for line in stock.lines if line.parts]
    cuts = [words for strip in stock.strips for words in cutting_words(strip, units=units)]
    return [*sheets[:-1], *_written(heading, paper, recorder, y, filter(None, (total_words(stock), *cuts, *said)))]


def _written(heading: str, paper: Paper, recorder: Recorder, y: float, texts: Iterable[str]) -> list[Recorder]:
    """Write paragraphs down a page, and on as many further ones as they take."""
    sheets = [recorder]
    for text in texts:
        for words in wrapped(text, WORDS_MM, paper.width_mm - 2 * PAGE_MARGIN_MM):
            if y < PAGE_MARGIN_MM:
                recorder, y = _begun(heading, paper)
                sheets.append(recorder)
            write(recorder, words, PAGE_MARGIN_MM, y)
            y -= 1.75 * WORDS_MM
        y -= 1.5
    return sheets


def _sheets(heading: str, wanted: Sequence[Wanted], paper: Paper, units: str) -> list[Recorder]:
    """The table of some boards and the words to it, on as many pages as the words take."""
    width, x = paper.width_mm - 2 * PAGE_MARGIN_MM, PAGE_MARGIN_MM
    recorder, y = _begun(heading, paper)
    if not wanted:
        write_lines(recorder, NOTHING, x, y, width)
        return [recorder]
    rows = [wanted_row(line, units=units) for line in wanted]
    columns = [width * share for share in _SHARES]
    y = draw_table(recorder, wanted_heads(units), rows, x, y, columns, row_mm=6.0, height_mm=WORDS_MM)
    y = write_lines(recorder, _ADVICE, x, y - 3.0, width, height_mm=SMALL_MM) - 4.0
    texts = (
        f"{cells[0]} × {line.material}, {cells[2]}: for {in_units(line.purpose, units=units, kept=line.parts)}"
        for line, cells in zip(wanted, rows, strict=True)
    )
    return _written(heading, paper, recorder, y, texts)


def _begun(heading: str, paper: Paper) -> tuple[Recorder, float]:
    """A page with its heading, and the base line below it."""
    recorder, y = Recorder(), paper.height_mm - PAGE_MARGIN_MM - 6.0
    write(recorder, heading, PAGE_MARGIN_MM, y, height_mm=5.0, is_bold=True)
    return recorder, y - 11.0
