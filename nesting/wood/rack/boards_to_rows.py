"""Boards as a rack file."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

from nesting.wood.board import Board
from nesting.wood.rack.rack_rows import COLUMNS, KINDS, NEEDED
from vectorize.basics.units import QUANTITIES, unit_of

_ALWAYS = (*NEEDED, "measured thickness", "mass", "cut", "bow", "notes")


def format_rack(boards: Iterable[Board], *, units: str = "mm") -> str:
    """Return the boards as a rack file that `parse_rack` reads back alike.

    It is in millimetres and grams, or in inches and ounces where `units` is `in`. Outlines and blemishes do not fit
    in a row; see `nesting.place.offcut`. Columns that no board uses are left out.
    """
    rows = [_cells(board, units) for board in boards]
    used = [
        c
        for c in COLUMNS
        if c in (*NEEDED, "measured thickness", "mass", "cut", "bow", "notes") or any(r[c] for r in rows)
    ]
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([_heading(column, units) for column in used])
    writer.writerows([row[column] for column in used] for row in rows)
    return out.getvalue()


def _heading(column: str, units: str) -> str:
    return f"{column} ({_unit(column, units)})" if column in KINDS else column


def _unit(column: str, units: str) -> str:
    kind = KINDS[column]
    return unit_of(kind.name, units) if kind.name in QUANTITIES else kind.inside


def _cells(board: Board, units: str) -> dict[str, str]:
    left, right = board.end_readings_g or (None, None)
    bend = board.bend_test
    numbers: dict[str, float | None] = {
        "thickness": board.thickness_mm, "measured thickness": board.measured_thickness_mm,
        "length": board.length_mm, "width": board.width_mm, "mass": board.mass_g,
        "scale step": board.mass_resolution_g if board.known_mass_g is not None else None,
        "bow": board.bow_mm or None, "grain": board.grain_deg or None, "left end": left, "right end": right,
        "tone": board.tone_hz, "bend span": bend.span_mm if bend else None, "bend load": bend.load_g if bend else None,
        "bend sag": bend.sag_mm if bend and not bend.is_from_straight else None,
        "total sag": bend.sag_mm if bend and bend.is_from_straight else None,
    }  # fmt: skip
    words = {"name": board.name, "material": board.material, "notes": board.notes}
    cut = "" if board.cut == "unknown" else board.cut
    price = "" if board.price is None else f"{board.price:.2f}"
    return {
        **words,
        "cut": cut,
        "price": price,
        **{c: "" if v is None else _number(c, v, units) for c, v in numbers.items()},
    }


def _number(column: str, value: float, units: str) -> str:
    """Return the number in the unit of its column, without exponent and without trailing zeros."""
    size = float(KINDS[column].factors[_unit(column, units)])
    return f"{value / size:.{6 if size == 1 else 8}f}".rstrip("0").rstrip(".")
