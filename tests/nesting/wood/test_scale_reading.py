"""Readings at their stage: sawn, carved, finished."""

from dataclasses import replace

import pypdfium2
import pytest
from pydantic import ValidationError

from nesting.balance.ledger import Reading, entry, stage_notes, with_readings
from nesting.balance.weights import weigh_parts
from nesting.charts.bench_card import bench_card_pdf
from nesting.job.schema import PartTable
from nesting.patterns.papers import find_paper
from nesting.wood.board import Board
from nesting.wood.estimate import Estimate
from nesting.wood.part import Part
from nesting.wood.scale_reading import likely_stage
from vectorize.shapes.outline import Outline

# 20 cm² of 10 mm balsa at 160 kg/m3 weigh 3.2 g as sawn (rho V); carving leaves 0.565 of it: 1.808 g fly.
BOARD = Board("B", "balsa", 10.0, 1000.0, 100.0, mass_g=160.0)
PANEL = Part("wing", Outline.rectangle(0, 0, 100, 20), "balsa", 10.0, finished_share=0.565)
SAWN_G, CARVED_G = 3.2, 1.808


def row(**said):
    (weight,) = weigh_parts([replace(PANEL, **said)], [BOARD]).chosen
    return weight


def test_both_weights_are_known_of_a_part_that_is_carved():
    assert row().sawn_g == pytest.approx(SAWN_G)
    assert row().mass_g == pytest.approx(CARVED_G)
    assert row().as_json()["sawn_g"] == pytest.approx(SAWN_G)


@pytest.mark.parametrize(
    ("stage", "reading", "flies", "off"),
    [
        ("sawn", 3.4, 3.4 * 0.565, 0.2),
        ("carved", 3.4, 3.4, 3.4 - CARVED_G),
        ("finished", 3.4, 3.4, 3.4 - CARVED_G),
        (None, 3.4, 3.4 * 0.565, 0.2),
        (None, 1.9, 1.9, 1.9 - CARVED_G),
    ],
)
def test_a_reading_is_scaled_by_what_stays_of_it(stage, reading, flies, off):
    weight = row(weighed_g=reading, weighed_as=stage)
    assert weight.current.value == pytest.approx(flies)
    assert weight.difference_g == pytest.approx(off)
    assert weight.as_json()["flies_g"] == pytest.approx(flies, abs=1e-4)


def test_a_part_that_is_not_carved_weighs_what_the_scale_says():
    plain = replace(PANEL, finished_share=1.0)
    for stage in (None, "sawn", "carved", "finished"):
        (weight,) = weigh_parts([replace(plain, weighed_g=5.0, weighed_as=stage)], [BOARD]).chosen
        assert weight.current.value == pytest.approx(5.0)


def ledger_of(stage, grams):
    wood = replace(entry("wing", CARVED_G, 100.0, stage="cut"), sawn_share=0.565)
    paint = entry("wing", 0.4, 100.0, what="paint", stage="painted")
    return with_readings((wood, paint), [Reading(("wing",), Estimate(grams), stage)])


def test_in_the_balance_a_sawn_reading_is_scaled_and_later_coats_are_added():
    ledger = ledger_of("sawn", 3.4)
    assert ledger.mass().value == pytest.approx(3.4 * 0.565 + 0.4)
    (difference,) = ledger.differences
    assert difference.estimated.value == pytest.approx(SAWN_G)
    assert difference.flies.value == pytest.approx(3.4 * 0.565)
    assert ledger_of("cut", 3.4).mass().value == pytest.approx(3.4 + 0.4)
    assert ledger_of("painted", 3.4).mass().value == pytest.approx(3.4)


def test_what_was_not_said_is_taken_as_likelier_and_told():
    (note,) = stage_notes(ledger_of(None, 3.4).differences)
    assert "3.4 g is taken as weighed as sawn, so 1.9 g fly" in note.text
    assert ledger_of(None, 1.7).mass().value == pytest.approx(1.7 + 0.4)
    assert stage_notes(ledger_of("sawn", 3.4).differences) == ()


def test_the_border_lies_at_the_geometric_mean():
    # Between 4 and 1 that is 2: twice as much as one, half as much as the other.
    assert likely_stage(2.01, sawn_g=4.0, carved_g=1.0) == "sawn"
    assert likely_stage(1.99, sawn_g=4.0, carved_g=1.0) == "carved"


def test_the_bench_card_has_both_weights():
    part = replace(PANEL, weighed_g=3.4, weighed_as="sawn")
    table = weigh_parts([part], [BOARD])
    card = bench_card_pdf("Trial", [part], [BOARD], table, None, paper=find_paper("A4"))
    words = pypdfium2.PdfDocument(card)[0].get_textpage().get_text_range()
    for expected in ("pieces", "as sawn", "3.2 g", "1.8 ± 0.1 g", "3.4 sawn, 1.9 g"):
        assert expected in words


def test_a_job_says_when_its_part_was_weighed():
    table = PartTable.model_validate({"name": "wing", "weighed": "50.3 g", "weighed_as": "sawn"})
    assert table.weighed_as == "sawn"
    with pytest.raises(ValidationError):
        PartTable.model_validate({"name": "wing", "weighed_as": "sanded"})
