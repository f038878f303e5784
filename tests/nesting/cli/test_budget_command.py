"""`balance` says what the budget has left, in words, as JSON and on the bench card."""

import pypdfium2
import pytest

from .test_wood_commands import MODEL


@pytest.fixture
def budgeted(small_job):
    small_job.edit("[nest]\n", f'{MODEL}\n[budget]\nlimit = "40 g"\ntarget = "30 g"\nwood = "1 g"\n\n[nest]\n')
    return small_job


def test_the_budget_is_what_the_ledger_and_the_ballast_weigh(sheetwood, budgeted):
    done = sheetwood("balance", budgeted.folder, "--json")
    answer = done.json
    budget = answer["budget"]
    ballast = next((one["mass_g"] for one in budget["groups"] if one["group"] == "ballast"), 0.0)
    entries = sum(entry["mass_g"] for entry in answer["entries"])
    assert budget["flying_g"] == pytest.approx(entries + ballast)
    if budget["with_ballast"]:
        assert budget["flying_g"] == pytest.approx(answer["flying_mass_g"])
    assert budget["free_to_limit_g"] == pytest.approx(40.0 - budget["flying_g"])
    groups = {one["group"]: one["mass_g"] for one in budget["groups"]}
    assert groups["equipment"] == pytest.approx(10.0)
    assert groups["fuel"] == pytest.approx(4.0)
    assert done.code == 4  # the wood takes more than a gram
    assert "over-budget" in {note["code"] for note in answer["notes"]}


def test_a_part_without_a_place_counts_too(sheetwood, budgeted):
    whole = sheetwood("balance", budgeted.folder, "--json").json["budget"]
    budgeted.edit('[[balance.seat]]\npart = "fin"\nstation = "90 mm"\n', "")
    without = sheetwood("balance", budgeted.folder, "--json").json["budget"]
    wood = [next(one for one in b["groups"] if one["group"] == "wood")["mass_g"] for b in (whole, without)]
    assert wood[0] == pytest.approx(wood[1])


def test_what_is_weighed_is_told(sheetwood, budgeted):
    budgeted.edit("[nest]\n", '[[weighed]]\nparts = ["fin"]\nmass = "1.1 g"\nstage = "painted"\n\n[nest]\n')
    budget = sheetwood("balance", budgeted.folder, "--json").json["budget"]
    assert budget["weighed_g"] == pytest.approx(1.1)
    assert "built and weighed" in {one["group"] for one in budget["groups"]}


def test_words_and_card_say_what_is_free(sheetwood, budgeted):
    done = sheetwood("balance", budgeted.folder)
    assert "all, to the limit" in " ".join(done.out.split())
    card = pypdfium2.PdfDocument(budgeted.folder / "out" / "bench-card.pdf")
    text = " ".join(card[0].get_textpage().get_text_range().split())
    assert "Budget:" in text
    assert "to the limit of 40.0 g" in text


def test_without_a_budget_nothing_is_said(sheetwood, small_job):
    small_job.edit("[nest]\n", f"{MODEL}\n[nest]\n")
    done = sheetwood("balance", small_job.folder, "--json")
    assert done.json["budget"] is None
