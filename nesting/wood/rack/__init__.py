"""The rack file: boards as rows of a table that any spreadsheet opens and saves.

Read tolerantly: a byte order mark, semicolons or tabs, decimal commas, blank lines, empty trailing
columns, headings in any case or spelling near enough, units in the heading (`mass (g)`) or in each
cell (`1 1/4 oz`). Columns that Sheetwood has no use for are kept in the board's notes.
"""

from nesting.wood.rack.boards_from_rows import parse_rack
from nesting.wood.rack.boards_to_rows import format_rack
from nesting.wood.rack.rack_rows import COLUMNS, read_rows, units_of

__all__ = ["COLUMNS", "format_rack", "parse_rack", "read_rows", "units_of"]
