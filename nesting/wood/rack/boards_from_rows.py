"""Rows of the rack file as boards."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import get_args

from nesting.wood.board import BendTest, Blemish, Board, Cut
from nesting.wood.density import check_density
from nesting.wood.rack.rack_rows import KINDS, NEEDED, READINGS, Row, read_rows
from vectorize.basics.errors import RackError, UnitError
from vectorize.basics.units import MASS
from vectorize.basics.wording import shown
from vectorize.shapes.outline import Outline

MOST_LETTERS = 100
"""Of a board's name, which also names the file for its outline."""

_SIGN = r"(?:[A-Za-z]{2,3}|[^\w\s%+\-.,/])?"
_PRICE = re.compile(rf"{_SIGN}\s?(\d{{1,7}}(?:[.,]\d{{1,2}})?)\s?{_SIGN}")
"""A number with a currency before it or behind it."""

SideFile = Callable[[str], tuple[Outline | None, tuple[Blemish, ...]]]

_CUT_WORDS: Mapping[str, Cut] = {
    "a": "tangential", "flat": "tangential", "plain": "tangential", "b": "mixed", "random": "mixed",
    "c": "quarter", "radial": "quarter", "quartersawn": "quarter", "quarter sawn": "quarter",
    "": "unknown", "?": "unknown",
    **{cut: cut for cut in get_args(Cut)},
}  # fmt: skip


def parse_rack(text: str, *, name: str = "rack.csv", side: SideFile | None = None) -> tuple[Board, ...]:
    """Return the boards of a rack file in the order of its rows.

    The scale's step, where no column states it, is the finest last digit among the readings.

    Args:
        text: The whole file.
        name: How to call the file in messages.
        side: Returns, for a board's name, the outline and flaws that its row cannot hold.

    Raises:
        RackError: With row and column: a missing heading or value, a number that cannot be read or
            be, two boards of one name, a density that no sheet wood has.
    """
    rows = read_rows(text, name)
    try:
        steps = _finest_steps_g(rows)
        boards = tuple(_board(row, steps, side) for row in rows)
    except UnitError as error:
        raise RackError(str(error)) from error
    _refuse_duplicates(boards, rows)
    return boards


def _refuse_duplicates(boards: tuple[Board, ...], rows: list[Row]) -> None:
    seen: dict[str, int] = {}
    for board, row in zip(boards, rows, strict=True):
        first = seen.setdefault(board.name.casefold(), row.number)
        if first != row.number:
            raise RackError(
                f"{row.where('name')}: board {board.name} is named in row {first} already; "
                "give every board a name of its own."
            )


def _finest_steps_g(rows: list[Row]) -> dict[float, float]:
    """Return, for each unit (as grams) of the mass readings, the scale's step: their finest last digit.

    A spreadsheet drops the zero of 35.0, so one reading alone would make the scale look coarser than it is.
    """
    steps: dict[float, float] = {}
    for row in rows:
        for unit_g, step in filter(None, (_last_digit(row, column) for column in READINGS if column in row.columns)):
            steps[unit_g] = min(step * unit_g, steps.get(unit_g, math.inf))
    return steps


def _last_digit(row: Row, column: str) -> tuple[float, float] | None:
    """Return (grams per unit, place value of the last digit in that unit) of a reading."""
    text = row.text(column)
    fraction = re.search(r"/\s*(\d+)", text)
    digits = re.search(r"\d+(?:[.,](\d*))?", text)
    if not digits or (fraction and int(fraction[1]) == 0):
        return None
    step = 1 / int(fraction[1]) if fraction else 10.0 ** -len(digits[1] or "")
    letters = re.search(r"[a-zA-Z]+\s*$", text)
    unit = letters[0].strip() if letters else row.columns[column].unit or "g"
    return float(MASS.factors.get(unit.lower(), 1)), step


def _board(row: Row, steps_g: Mapping[float, float], side: SideFile | None) -> Board:
    for needed in NEEDED:
        if not row.text(needed):
            raise RackError(f"{row.where(needed)} is empty; every board needs {', '.join(NEEDED)}.")
    if len(row.text("name")) > MOST_LETTERS or not row.text("name").isprintable():
        raise RackError(
            f"{row.where('name')} is {shown(row.text('name'))}; "
            f"write it on one line, with up to {MOST_LETTERS} letters."
        )
    sizes = {column: row.number_in(column) for column in KINDS if column in row.columns}
    for column, value in sizes.items():
        if value is not None and value <= 0 and column not in ("bow", "grain"):
            raise RackError(
                f"{row.where(column)} is {shown(row.text(column))}; it must be above zero"
                + (", or empty where nobody weighed." if column == "mass" else ".")
            )
    try:
        board = Board(
            name=row.text("name"),
            material=row.text("material"),
            thickness_mm=sizes["thickness"] or 0.0,
            length_mm=sizes["length"] or 0.0,
            width_mm=sizes["width"] or 0.0,
            measured_thickness_mm=sizes.get("measured thickness"),
            mass_g=sizes.get("mass"),
            mass_resolution_g=sizes.get("scale step") or _step_of(row, steps_g),
            cut=_cut(row),
            bow_mm=sizes.get("bow") or 0.0,
            grain_deg=sizes.get("grain") or 0.0,
            notes="; ".join(text for text in (row.text("notes"), *row.extra) if text),
            end_readings_g=_pair(row, sizes),
            bend_test=_bend_test(row, sizes),
            tone_hz=sizes.get("tone"),
            price=_price(row),
        )
    except RackError as error:
        raise error if row.file in str(error) else RackError(f"{row.file} row {row.number}: {error}") from error
    if side is not None:
        board = _with_side_file(board, *side(board.name))
    check_density(board, where=f"{row.file} row {row.number}: ")
    return board


def _with_side_file(board: Board, outline: Outline | None, blemishes: tuple[Blemish, ...]) -> Board:
    if outline is None:
        return replace(board, blemishes=blemishes)
    length, width = outline.size_mm
    return replace(board, outline=outline, length_mm=length, width_mm=width, blemishes=blemishes)


def _step_of(row: Row, steps_g: Mapping[float, float]) -> float:
    digits = [last for column in READINGS if column in row.columns and (last := _last_digit(row, column))]
    return steps_g[digits[0][0]] if digits else min(steps_g.values(), default=0.1)


def _cut(row: Row) -> Cut:
    word = " ".join(row.text("cut").casefold().replace("-", " ").replace("grain", "").split())
    if word not in _CUT_WORDS:
        raise RackError(
            f"{row.where('cut')} is {shown(row.text('cut'))}; write tangential, mixed or quarter (A, B or C)."
        )
    return _CUT_WORDS[word]


def _price(row: Row) -> float | None:
    """Return what the board cost: a number, with or without the sign of a currency."""
    text = row.text("price")
    if not text:
        return None
    number = _PRICE.fullmatch(text)
    if number is None:
        raise RackError(f"{row.where('price')} is {shown(text)}; write what the board cost, such as 3.20.")
    return float(number[1].replace(",", "."))


def _pair(row: Row, sizes: Mapping[str, float | None]) -> tuple[float, float] | None:
    left, right = sizes.get("left end"), sizes.get("right end")
    if left is None and right is None:
        return None
    if left is None or right is None:
        raise RackError(f"{row.file} row {row.number}: one end reading is missing; weigh both ends or neither.")
    return left, right


def _bend_test(row: Row, sizes: Mapping[str, float | None]) -> BendTest | None:
    span, load = sizes.get("bend span"), sizes.get("bend load")
    added, from_straight = sizes.get("bend sag"), sizes.get("total sag")
    if span is None and load is None and added is None and from_straight is None:
        return None
    sag = from_straight if added is None else added
    if span is None or load is None or sag is None:
        raise RackError(f"{row.file} row {row.number}: a bend test needs span, load and sag; one is missing.")
    return BendTest(span, load, sag, is_from_straight=added is None)
