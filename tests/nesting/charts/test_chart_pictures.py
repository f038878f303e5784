import re

import pypdfium2
import pytest

from nesting.balance.balance_report import BalancePlan, balance_report
from nesting.balance.ballast import BallastPlace, Range
from nesting.balance.ledger import Ledger, entry
from nesting.balance.weights import weigh_parts
from nesting.charts.balance_chart import draw_balance
from nesting.charts.bars import PICTURE_WIDTH_MM, Axis, axis_for, draw_bar, shortened
from nesting.charts.bench_card import bench_card_pdf
from nesting.charts.comparison_chart import draw_comparison
from nesting.choice.compare import compare_boards
from nesting.patterns.drawing import Layer, Recorder, Stroke, Text, text_corners
from nesting.patterns.papers import find_paper
from nesting.patterns.typeface import text_width_mm
from nesting.wood.board import Board
from nesting.wood.estimate import Estimate
from nesting.wood.part import Part
from vectorize.basics.errors import InputError
from vectorize.shapes.outline import Outline

BOARDS = (
    Board("light", "balsa", 3.0, 1000, 100, mass_g=30.0),
    Board("a board with a rather long name", "balsa", 3.0, 1000, 100, mass_g=60.0),
)
PART = Part("tailplane", Outline.rectangle(0, 0, 250, 80), "balsa", 3.0)
PLAN = BalancePlan(limits=Range(80, 90), places=(BallastPlace("nose", -30, depth_mm=10),))


def ledger(tail_g: float = 6.0) -> Ledger:
    return Ledger((entry("rest", Estimate.measured(500, 5, "rest"), 92), entry("tailplane", tail_g, 550)))


def comparison():
    return compare_boards(PART, BOARDS, ledgers={BOARDS[0].name: ledger(), BOARDS[1].name: ledger(12.0)}, plan=PLAN)


def test_ticks_are_round_and_inside():
    ticks = Axis(0.0, 87.0, 0.0, 100.0).ticks()
    assert ticks == [0, 20, 40, 60, 80]
    assert all(3 <= len(axis_for(0, high, 0, 1).ticks()) <= 9 for high in (0.01, 1, 7, 333, 9e5))


def test_a_bar_ends_at_its_value_and_its_error_bar_one_sigma_either_way():
    recorder = Recorder()
    draw_bar(recorder, Axis(0, 100, 0, 100), Estimate.measured(60, 5, "x"), 0, words="60")
    box, line, *_ = [e for e in recorder.elements if isinstance(e, Stroke)]
    assert max(s.end[0] for s in box.segments) == pytest.approx(60)
    assert [line.segments[0].start[0], line.segments[0].end[0]] == pytest.approx([55, 65])


def test_the_comparison_shows_every_board_the_advice_and_the_caution_within_its_width():
    recorder = Recorder()
    draw_comparison(recorder, comparison(), PLAN.limits)
    words = " ".join(recorder.texts)
    for said in (
        "light",
        "a board w",
        "mass, g",
        "flying weight",
        "balance point",
        "Take light",
        "never an approval",
    ):
        assert said in words
    x0, _, x1, _ = recorder.bounds()
    assert x1 - x0 <= PICTURE_WIDTH_MM + 12


def test_without_a_model_the_picture_leaves_balance_out():
    recorder = Recorder()
    draw_comparison(recorder, compare_boards(PART, BOARDS))
    assert "balance point" not in " ".join(recorder.texts)


def test_no_name_of_a_mass_covers_another_or_a_line_and_all_ballast_is_told():
    """Twenty masses, most of them close together at the wing, and ballast at the nose and at a tip."""
    masses = [entry(f"part number {n}", 3.0 + n, 100.0 + 7 * (n % 5) ** 2, lateral=-20.0) for n in range(18)]
    crowded = Ledger((*masses, entry("engine", 90.0, -20.0), entry("rudder", 2.0, 560.0)))
    tip = BallastPlace("outboard tip", 185.0, lateral_mm=330.0)
    plan = BalancePlan(limits=Range(60, 70), lateral=Range(0, 5), places=(*PLAN.places, tip))
    recorder = Recorder()
    draw_balance(recorder, report := balance_report(crowded, plan))

    names = [text_corners(e) for e in recorder.elements if isinstance(e, Text) and " g" in e.text[-6:]]
    boxes = [(corners[0][0], corners[0][1], corners[2][0], corners[2][1]) for corners in names]
    assert len(boxes) == 22
    assert max(box[2] for box in boxes) <= PICTURE_WIDTH_MM
    lines = [s for e in recorder.on(Layer.JOIN) if isinstance(e, Stroke) for s in e.segments]
    for number, (x0, y0, x1, y1) in enumerate(boxes):
        for a0, b0, a1, b1 in boxes[number + 1 :]:
            assert x1 <= a0 or a1 <= x0 or y1 <= b0 or b1 <= y0
        for line in lines:
            assert not (x0 < line.start[0] < x1 and line.end[1] > y0 and line.start[1] < y1)

    pdf = bench_card_pdf("Model", [PART], BOARDS, weigh_parts([PART], BOARDS), report, paper=find_paper("A4"))
    document = pypdfium2.PdfDocument(pdf)
    said = document[0].get_textpage().get_text_bounded()
    document.close()
    assert re.search(r"Ballast: .* at nose .*and .* at outboard tip", " ".join(said.split()))


@pytest.mark.parametrize("entries", [(entry("rest", 500, 92),), ledger().entries, ledger().entries * 3])
def test_the_balance_picture_stays_on_its_page_whatever_it_holds(entries):
    recorder = Recorder()
    draw_balance(recorder, balance_report(Ledger(entries), BalancePlan()))
    x0, y0, x1, y1 = recorder.bounds()
    assert x1 - x0 < 230
    assert y1 - y0 < 150


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("count", [1, 80])
def test_the_bench_card_keeps_its_margins_and_leaves_no_part_out(paper, count):
    import numpy as np

    parts = [Part(f"rib {n}", Outline.rectangle(0, 0, 60, 20), "balsa", 3.0) for n in range(count)]
    table = weigh_parts(parts, BOARDS)
    pdf = bench_card_pdf("Model", parts, BOARDS, table, balance_report(ledger(), PLAN), paper=find_paper(paper))
    document = pypdfium2.PdfDocument(pdf)
    texts = [page.get_textpage().get_text_bounded() for page in document]
    inks = [np.asarray(page.render(scale=1).to_pil().convert("L")) < 200 for page in document]
    document.close()
    assert ("overleaf" in texts[0]) == (len(texts) > 1) == (count == 80)
    assert "never an approval to fly" in texts[0]
    lines = [line.strip() for text in texts for line in text.splitlines()]
    for part in parts:
        assert sum(line.startswith(f"{part.name} ") or line == part.name for line in lines) == 1
    edge = 10 / 25.4 * 72  # points: within what printers reach
    for ink in inks:
        rows, columns = np.nonzero(ink)
        assert rows.min() > edge
        assert rows.max() < ink.shape[0] - edge
        assert columns.min() > edge
        assert columns.max() < ink.shape[1] - edge


def test_a_card_needs_a_page_of_some_size():
    from nesting.patterns.papers import Paper

    with pytest.raises(InputError, match="at least"):
        bench_card_pdf("Model", [], [], weigh_parts([], []), None, paper=Paper("A6", 105, 148))


def test_words_too_long_for_their_column_are_cut():
    cut = shortened("a very long name of a part indeed", 20, 2.1)
    assert cut.endswith("…")
    assert text_width_mm(cut, 2.1) <= 20
    assert shortened("fin", 20, 2.1) == "fin"
