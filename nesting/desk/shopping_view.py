"""What a job takes and what of it is still to be bought, as the page shows it and as a card to take along."""

from __future__ import annotations

from typing import Any

from nesting.balance.weights import WeightTable
from nesting.desk.notes_view import notes_view
from nesting.desk.standing import Standing, need_standing
from nesting.job.card_files import shopping_card_of
from nesting.job.folder import Job
from nesting.job.laid import Laid
from nesting.job.racking import shopping_list
from nesting.job.rules import rules_of
from nesting.job.stages import Memo, weights_of
from nesting.job.stocking import Takes, stock_list
from nesting.wood.shopping import Wanted, wanted_row
from nesting.wood.stock import WASTE_WORDS, StockList, cutting_words, stock_heads, stock_row, total_words
from vectorize.basics.errors import SheetwoodError
from vectorize.basics.notes import Note


def shopping_view(
    job: Job, standing: Standing | None, laid: Laid | None, memo: Memo, *, is_current: bool
) -> dict[str, Any] | None:
    """Return the boards to buy and all that the job takes, with their `texts`, or None while there are no parts.

    The figures are those of `rack want --json`; what was worked out before from the same is taken from `memo`.
    """
    if standing is None or not standing.parts or standing.faults.rack:
        return None
    try:
        wanted, stock, notes = _all(job, standing, laid if is_current else None, memo)
    except SheetwoodError as error:
        return {"wanted": [], "stock": None, "fault": str(error)}
    units = job.spec.job.units
    lines = [line.as_json() | {"texts": list(wanted_row(line, units=units)), "for": line.purpose} for line in wanted]
    return {"wanted": lines, "stock": _stock_view(stock, notes, units), "fault": None}


def _stock_view(stock: StockList, notes: tuple[Note, ...], units: str) -> dict[str, Any]:
    rows = [line.as_json() | {"texts": list(stock_row(line, units=units))} for line in stock.lines]
    return stock.as_json() | {
        "lines": rows,
        "heads": list(stock_heads(stock.currency)),
        "cuts": [words for strip in stock.strips for words in cutting_words(strip, units=units)],
        "total": total_words(stock),
        "hint": WASTE_WORDS,
        "notes": notes_view(notes),
    }


def shopping_card(job: Job, standing: Standing | None, laid: Laid | None, memo: Memo, *, is_current: bool) -> bytes:
    """Return the card as a PDF, made of the job as it is now.

    Raises:
        SheetwoodError: The job was not read yet, something in it cannot be, or its paper is too small.
    """
    wanted, stock, _ = _all(job, need_standing(standing), laid if is_current else None, memo)
    return shopping_card_of(job, wanted, stock)


def _all(
    job: Job, standing: Standing, laid: Laid | None, memo: Memo
) -> tuple[tuple[Wanted, ...], StockList, tuple[Note, ...]]:
    layout = laid.layout if laid else None
    parts, boards = standing.parts, standing.boards
    wanted = shopping_list(job, parts, boards, layout)
    weights: WeightTable = weights_of(job, parts, boards, layout, memo)
    takes = Takes(job.spec, rules_of(job).kerf_mm, parts, standing.seams, boards, layout, wanted, weights)
    stock, notes = memo.of(stock_list, takes=takes)
    return wanted, stock, notes
