"""The rack file as a table: which column is which, and each row with what a message needs to point at it."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from vectorize.basics.errors import RackError
from vectorize.basics.units import ANGLE, FREQUENCY, LENGTH, MASS, Kind, parse
from vectorize.basics.wording import listed, shown

COLUMNS = (
    "name", "material", "thickness", "measured thickness", "length", "width", "mass", "scale step", "cut", "bow",
    "left end", "right end", "bend span", "bend load", "bend sag", "total sag", "tone", "grain", "price",
    "notes",
)  # fmt: skip
"""Headings as `format_rack` writes them; only name, material, thickness, length and width must be there."""

NEEDED = ("name", "material", "thickness", "length", "width")
READINGS = ("mass", "left end", "right end")
KINDS: Mapping[str, Kind] = {
    **dict.fromkeys(("thickness", "measured thickness", "length", "width", "bow"), LENGTH),
    **dict.fromkeys(("bend span", "bend sag", "total sag"), LENGTH),
    **dict.fromkeys(("mass", "scale step", "left end", "right end", "bend load"), MASS),
    "grain": ANGLE,
    "tone": FREQUENCY,
}
_ALIASES = {
    "board": "name", "wood": "material", "weight": "mass", "thick": "thickness", "nominal thickness": "thickness",
    "true thickness": "measured thickness", "actual thickness": "measured thickness",
    "thickness measured": "measured thickness", "measured": "measured thickness",
    "resolution": "scale step", "step": "scale step", "grain cut": "cut",
    "note": "notes", "remarks": "notes", "comment": "notes", "left reading": "left end", "right reading": "right end",
    "reading left": "left end", "reading right": "right end", "warp": "bow", "grain angle": "grain",
    "cost": "price",
}  # fmt: skip
_IMPERIAL = {unit for unit, factor in LENGTH.factors.items() if factor in (LENGTH.factors["in"], LENGTH.factors["ft"])}
_LONGEST_HEADING = 200
_UNIT_IN_HEADING = re.compile(
    r"^(?P<name>.*?)\s*(?:[(\[](?P<bracketed>[^)\]]*)[)\]]|[,\s_](?P<bare>mm|cm|m|in|inch|g|kg|oz|lb|deg|Hz|kHz))\s*$",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the file: its heading as we call it (None: not ours), as written, and its unit."""

    name: str | None
    written: str
    unit: str | None


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table with what a message needs to point at it."""

    file: str
    number: int
    cells: Mapping[str, str]
    columns: Mapping[str, Column]
    extra: tuple[str, ...]
    has_decimal_commas: bool

    def text(self, column: str) -> str:
        """Return the cell as written, empty where the file has none."""
        return self.cells.get(column, "")

    def where(self, column: str) -> str:
        """Return file, row and column for a message."""
        return f"{self.file} row {self.number}, column {shown(self.columns[column].written)}"

    def number_in(self, column: str) -> float | None:
        """Return the cell in mm, g or degrees, or None when it is empty."""
        text = self.text(column)
        if not text:
            return None
        if self.has_decimal_commas:
            text = re.sub(r"^(\d+),(\d+)(?![\d.,])", r"\1.\2", text)
        return parse(text, KINDS[column], default_unit=self.columns[column].unit, what=self.where(column))


def read_rows(text: str, file: str) -> list[Row]:
    """Return the rows below the heading; blank lines and empty trailing columns are passed over.

    Raises:
        RackError: An empty file, a heading that is missing or there twice, a cell beyond the heading or without end.
    """
    text = text.lstrip("\ufeff")
    delimiter = delimiter_of(text)
    lines = [
        (number, [cell.strip() for cell in cells])
        for number, cells in numbered_lines(text, delimiter, file)
        if any(cell.strip() for cell in cells)
    ]
    if not lines:
        raise RackError(f"{file} is empty; its first row names the columns: {', '.join(NEEDED)}, mass …")
    (_, heading), *body = lines
    columns = [_column(cell) for cell in heading]
    _check_heading(columns, file)
    # A spreadsheet separates cells by semicolons just where the comma is its decimal mark.
    return [_row(file, number, cells, columns, has_decimal_commas=delimiter == ";") for number, cells in body]


def units_of(rows: Iterable[Row]) -> str | None:
    """Return the system that most lengths of a rack are written in, `mm` or `in`; None where there is no row."""
    found = Counter(_is_imperial(row) for row in rows)
    return None if not found else "in" if found[True] > found[False] else "mm"


def _is_imperial(row: Row) -> bool:
    unit = row.columns["length"].unit or row.text("length").lstrip(" \t0123456789.,/+-½¼¾⅛⅜⅝⅞⅓⅔")
    return unit.strip().lower() in _IMPERIAL


def numbered_lines(text: str, delimiter: str, file: str) -> Iterable[tuple[int, list[str]]]:
    """Give the cells of each row with the number of its first line; a cell may span several.

    Raises:
        RackError: A cell without end.
    """
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    start = 1
    try:
        for cells in reader:
            yield start, cells
            start = reader.line_num + 1
    except csv.Error as error:
        # A quotation mark that is never closed, or what is no table, makes one cell of all that follows.
        longest = csv.field_size_limit()
        raise RackError(
            f"{file} row {start}: a cell holds more than {longest} characters, which no cell does; close its quotation "
            "mark, or shorten it."
        ) from error


def delimiter_of(text: str) -> str:
    """Return the mark between cells: whichever the heading holds most of, for a heading has no numbers."""
    heading = next((line for line in text.splitlines() if line.strip(" \t;,")), "")
    return max(";\t,", key=heading.count)


def _column(heading: str) -> Column:
    # No heading is as long, and looking for a unit in it would take the square of its length.
    match = _UNIT_IN_HEADING.match(heading) if len(heading) <= _LONGEST_HEADING else None
    words = match["name"] if match else heading
    unit = (match["bracketed"] or match["bare"]) if match else None
    return Column(_known_heading(words), heading, unit.strip() if unit else None)


def _known_heading(words: str) -> str | None:
    if len(words) > _LONGEST_HEADING:
        return None
    key = " ".join(re.sub(r"[_\-.:]+", " ", words).casefold().split())
    if key in COLUMNS:
        return key
    if key in _ALIASES:
        return _ALIASES[key]
    near = get_close_matches(key, (*COLUMNS, *_ALIASES), n=1, cutoff=0.82)
    return _ALIASES.get(near[0], near[0]) if near else None


def _check_heading(columns: list[Column], file: str) -> None:
    names = [column.name for column in columns if column.name]
    for needed in NEEDED:
        if needed not in names:
            found = listed(shown(column.written) for column in columns if column.written)
            raise RackError(f"{file} has no column {needed!r}; its first row holds {found}. Add the column.")
    for column in columns:
        if column.name and names.count(column.name) > 1:
            twins = " and ".join(shown(c.written) for c in columns if c.name == column.name)
            raise RackError(f"{file} has two columns for {column.name}: {twins}; keep one.")


def _row(file: str, number: int, cells: list[str], columns: list[Column], *, has_decimal_commas: bool) -> Row:
    beyond = [cell for cell in cells[len(columns) :] if cell]
    if beyond:
        raise RackError(
            f"{file} row {number} has a cell {shown(beyond[0])} in column {len(columns) + 1}, beyond the "
            f"{len(columns)} that the first row names; put a number with a decimal comma in quotes, or name the column."
        )
    pairs = list(zip(columns, cells, strict=False))
    extra = tuple(f"{c.written}: {cell}" if c.written else cell for c, cell in pairs if c.name is None and cell)
    ours = {column.name: (column, cell) for column, cell in pairs if column.name}
    missing = {column.name: (column, "") for column in columns if column.name and column.name not in ours}
    known = {**ours, **missing}
    texts = {name: cell for name, (_, cell) in known.items()}
    return Row(file, number, texts, {name: c for name, (c, _) in known.items()}, extra, has_decimal_commas)
