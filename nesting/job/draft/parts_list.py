"""Parts lists: ruled or not, a row of heads and under it a row for each part.

A row belongs to the part with its name, or to the one that its mark points at: a balloon with the number and a leader,
or the mark itself lettered in the part.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from nesting.job.draft.drafted import Said, Value
from nesting.job.draft.vocabulary import Vocabulary, plain_phrase
from vectorize.marks.lettering import Text
from vectorize.shapes.segment import Points

SAME_ROW = 0.7
"""Texts of a row differ by less than this many heights."""

NEXT_ROW = 2.6
"""Rows follow each other within this many times the usual distance."""

FEWEST_HEADS, FEWEST_ROWS = 2, 2

WIDER = 1.6
"""What stands farther beside the heads than this share of the distance between them is not in the list."""


@dataclass(frozen=True, slots=True)
class Row:
    """What a row of a list says; `mark` and `name` are compared, `values` go to the part."""

    mark: str
    name: Value[str] | None
    values: Mapping[str, Value[Any]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, eq=False)
class PartsList:
    """The rows of a list, and the numbers of all texts in it."""

    rows: tuple[Row, ...]
    texts: frozenset[int]


@dataclass(frozen=True, slots=True, eq=False)
class _Cell:
    index: int
    x: float
    y: float
    height: float


def find_list(texts: Sequence[Text], said: Mapping[int, Said], words: Vocabulary) -> PartsList | None:
    """Return the parts list of a sheet, None where there is none.

    Args:
        texts: The lettering.
        said: What each text says by itself, by its number.
        words: The words of plans; `heads` are those of the columns.
    """
    heads = {i: words.heads[p] for i, text in enumerate(texts) if (p := plain_phrase(text.text)) in words.heads}
    for first in heads:
        cells = _turned(texts, texts[first])
        row = [i for i in heads if abs(cells[i].y - cells[first].y) < SAME_ROW * cells[first].height]
        kinds = {heads[i] for i in row}
        if len(kinds) >= FEWEST_HEADS and kinds & {"wood", "thickness", "count"}:
            found = _below(cells, {heads[i]: cells[i] for i in row}, texts, said)
            if found is not None:
                return replace(found, texts=found.texts | frozenset(row))
    return None


def _turned(texts: Sequence[Text], upright: Text) -> list[_Cell]:
    """Return the middles of all texts where `upright` is level, y down."""
    box = np.array(upright.box_px)
    along = (box[1] - box[0]) / max(math.dist(box[0], box[1]), 1e-9)
    axes = np.array([along, (-along[1], along[0])])
    cells = []
    for index, text in enumerate(texts):
        corners: Points = np.array(text.box_px)
        x, y = (axes @ corners.mean(axis=0)).tolist()
        cells.append(_Cell(index, x, y, max(1.0, math.dist(corners[1], corners[2]))))
    return cells


def _below(
    cells: Sequence[_Cell], heads: Mapping[str, _Cell], texts: Sequence[Text], said: Mapping[int, Said]
) -> PartsList | None:
    columns = sorted(heads.items(), key=lambda item: item[1].x)
    top = max(cell.y for _, cell in columns)
    apart = max(b[1].x - a[1].x for a, b in itertools.pairwise(columns)) if len(columns) > 1 else 0.0
    left, right = columns[0][1].x - WIDER * apart, columns[-1][1].x + WIDER * apart
    under = sorted(
        (c for c in cells if c.y > top + SAME_ROW * c.height and left < c.x < right), key=lambda c: (c.y, c.x)
    )
    rows: list[list[_Cell]] = []
    pitch = 0.0
    for cell in under:
        if rows and cell.y - rows[-1][0].y < SAME_ROW * cell.height:
            rows[-1].append(cell)
            continue
        gap = cell.y - (rows[-1][0].y if rows else top)
        if gap > NEXT_ROW * (pitch or 1.6 * cell.height):
            break
        pitch = pitch or gap
        rows.append([cell])
    made = [_row(row, columns, texts, said, number) for number, row in enumerate(rows, start=1)]
    told = [row for row in made if row is not None]
    if len(told) < FEWEST_ROWS:
        return None
    return PartsList(tuple(told), frozenset(cell.index for row in rows for cell in row))


def _row(
    row: Sequence[_Cell],
    columns: Sequence[tuple[str, _Cell]],
    texts: Sequence[Text],
    said: Mapping[int, Said],
    number: int,
) -> Row | None:
    """Return what the cells of a row say; a mark that was not read is the row's number."""
    mark, name = str(number), None
    values: dict[str, Value[Any]] = {}
    for cell in row:
        kind = min(columns, key=lambda column: abs(column[1].x - cell.x))[0]
        one = said.get(cell.index, Said(cell.index))
        if kind == "mark":
            mark = one.number.value if one.number is not None else texts[cell.index].text.strip()
        elif kind == "name":
            name = one.name or Value(texts[cell.index].text, 0.6 * texts[cell.index].sure, cell.index, "")
        elif kind == "count":
            if (count := _count(one)) is not None:
                values["count"] = count
        else:
            values |= {k: v for k in ("material", "thickness_mm") if (v := getattr(one, k)) is not None}
            if kind == "thickness" and one.length_mm is not None:
                values.setdefault("thickness_mm", one.length_mm)
    return Row(mark, name, values) if values else None


def _count(one: Said) -> Value[int] | None:
    if one.count is not None:
        return one.count
    if one.number is None:
        return None
    return Value(int(one.number.value), one.number.sure, one.text, one.number.written)


def same_name(first: str, second: str) -> bool:
    """Return whether two names are one, however they are spaced."""
    return "".join(plain_phrase(first)) == "".join(plain_phrase(second))
