"""Parts lists: which rows they have, and which part each is for."""

from types import SimpleNamespace

import numpy as np
import pytest

from nesting.job.draft import balloons
from nesting.job.draft.drafted import Said, Value
from nesting.job.draft.grammar import said
from nesting.job.draft.joining import Labelled, take_rows
from nesting.job.draft.parts_list import find_list
from nesting.job.draft.vocabulary import load_vocabulary
from vectorize.marks.lettering import Reading, Text

WORDS = load_vocabulary()
HEADS = ("NO", "PART", "WOOD", "OFF")
ROWS = (("1", "FIN", "1/8 BALSA", "1"), ("2", "RUDDER", "3/32 BALSA", "1"), ("3", "R1", "1/16 PLY", "8"))
KINDS = ("material", "thickness_mm", "count")
COLUMNS = (0.0, 120.0, 300.0, 460.0)


def cell(words, x, y, turn=0.0):
    half = 8.0 * max(len(words), 2)
    box = np.array([(x - half, y - 12), (x + half, y - 12), (x + half, y + 12), (x - half, y + 12)])
    cos, sin = np.cos(turn), np.sin(turn)
    turned = box @ np.array([[cos, sin], [-sin, cos]]) + 500
    return Text(words, tuple(map(tuple, turned.tolist())), 0.0, 0.99, (Reading(words, 0.99),))


def read(rows=ROWS, turn=0.0, more=()):
    table = [HEADS, *rows]
    texts = [cell(w, x, 40.0 * n, turn) for n, row in enumerate(table) for w, x in zip(row, COLUMNS, strict=True) if w]
    texts += [cell(*one) for one in more]
    return texts, find_list(texts, {k: said(k, t, WORDS, is_metric=False) for k, t in enumerate(texts)}, WORDS)


def test_every_row_says_name_wood_and_count():
    _, table = read()
    told = [(row.mark, row.name.value, *(row.values[kind].value for kind in KINDS)) for row in table.rows]
    assert told == [
        ("1", "FIN", "balsa", 3.175, 1),
        ("2", "RUDDER", "balsa", pytest.approx(25.4 * 3 / 32), 1),
        ("3", "R1", "ply", pytest.approx(25.4 / 16), 8),
    ]


def test_a_list_that_lies_crooked_reads_the_same():
    assert [row.mark for row in read(turn=0.03)[1].rows] == ["1", "2", "3"]


def test_a_mark_that_was_not_read_is_the_number_of_its_row():
    rows = (ROWS[0], ("", *ROWS[1][1:]), ROWS[2])
    assert [row.mark for row in read(rows)[1].rows] == ["1", "2", "3"]


def test_lettering_below_the_list_is_not_in_it():
    texts, table = read(more=[("2 OFF", 460.0, 400.0)])
    assert len(table.rows) == 3
    assert len(texts) - 1 not in table.texts


def test_a_single_head_makes_no_list():
    assert find_list([cell("PART", 0, 0), cell("FIN", 0, 40)], {}, WORDS) is None


def test_rows_go_to_the_part_of_their_name_or_to_where_the_balloon_points():
    _, table = read()
    labelled = [Labelled({"name": Value("R 1", 0.97, 0, "R 1")}), Labelled(), Labelled()]
    take_rows(table.rows, labelled, {"2": 1})
    assert labelled[0].values["count"].value == 8
    assert labelled[1].values["name"].value == "RUDDER"
    assert labelled[1].values["thickness_mm"].sure > 0.85
    assert labelled[2].values == {}


def test_a_name_beside_a_hole_that_is_hardly_a_number_is_no_balloon(monkeypatch):
    box = np.array([(0.0, 0.0), (90.0, 0.0), (90.0, 90.0), (0.0, 90.0)])
    monkeypatch.setattr(balloons, "_ring", lambda *_: box)
    monkeypatch.setattr(balloons, "find_leaders", lambda *_, **__: {})
    drawing = SimpleNamespace(regions=SimpleNamespace(work=None), pen_px=3.0)
    texts = [Text(words, tuple(map(tuple, box)), 0.0, 0.9, (Reading(words, 0.9),)) for words in ("r3", "4")]
    lines = [Said(0, number=Value("13", 0.05, 0, "13")), Said(1, number=Value("4", 0.9, 1, "4"))]
    found = balloons.find_balloons(drawing, lines, texts, px_per_mm=8.0)
    assert [balloon.mark for balloon in found] == ["4"]
