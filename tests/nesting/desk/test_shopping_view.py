"""What is still to be bought is told in words and as a card, and follows the rack."""

import json

import pypdfium2
from typer.testing import CliRunner

from nesting.charts.shopping_card import NOTHING
from nesting.cli.app import app
from nesting.job.rack_files import read_rack
from tests.nesting.desk.conftest import finished, open_desk
from tests.nesting.desk.jobs import JOB, RACK, make_job


def _words(answer):
    assert answer.headers["content-type"] == "application/pdf"
    return pypdfium2.PdfDocument(answer.content)[0].get_textpage().get_text_bounded()


def test_a_rack_that_has_it_all_leaves_nothing_to_buy(followed):
    shopping = followed.state()["shopping"]
    assert (shopping["wanted"], shopping["fault"]) == ([], None)
    assert NOTHING in _words(followed.get("shopping-card.pdf"))


def test_a_part_that_no_board_can_make_is_on_the_card_with_the_weight_to_look_for(tmp_path):
    desk = open_desk(make_job(tmp_path / "job", rack=RACK.replace("3 mm", "5 mm").replace("3.0 mm", "5.0 mm")))
    try:
        desk.workshop.follow()
        assert finished(desk.workshop, "follow")["state"] == "done"
        assert {board.thickness_mm for board in read_rack(desk.workshop.job())} == {5.0}
        (line,) = desk.state()["shopping"]["wanted"]
        assert (line["material"], line["thickness_mm"], line["boards"], line["for"]) == ("balsa", 3.0, 1, "plate")
        # 1000 x 100 x 3 mm are 300 cm3, so that a gram is 1/0.3 kg/m3.
        assert line["mass_g"] == [0.3 * density for density in line["density_kg_m3"]]
        words = _words(desk.get("shopping-card.pdf"))
        assert "plate" in words
        assert line["texts"][4] in words
    finally:
        desk.workshop.close()


STOCK = (
    JOB
    + """
[[finish]]
parts = ["plate"]
both = ["tissue", "dope"]

[[strip]]
name = "spruce 6 x 3"
material = "spruce"
thickness = "3 mm"
width = "6 mm"
length = "1000 mm"
price = 1.5

[[strip.piece]]
name = "spar"
length = "280 mm"
count = 4

[[wire]]
name = "leg"
diameter = "2 mm"
radius = "5 mm"
points = [["0 mm", "0 mm", "0 mm"], ["0 mm", "60 mm", "0 mm"], ["0 mm", "60 mm", "-80 mm"]]

[[pack]]
of = "tissue"
length = "500 mm"
width = "400 mm"
price = 2.0

[stock]
currency = "EUR"
"""
)


def test_the_stock_list_has_the_figures_of_the_command_and_the_card_has_it_too(tmp_path):
    desk = open_desk(make_job(tmp_path / "job", job=STOCK))
    try:
        desk.workshop.follow()
        assert finished(desk.workshop, "follow")["state"] == "done"
        shown = desk.state()["shopping"]["stock"]
        told = CliRunner().invoke(app, ["rack", "want", str(desk.folder), "--json"])
        by_command = json.loads(told.stdout)["stock"]
        assert [{k: v for k, v in line.items() if k != "texts"} for line in shown["lines"]] == by_command["lines"]
        assert {key: shown[key] for key in by_command if key != "lines"} == {
            key: value for key, value in by_command.items() if key != "lines"
        }
        # 60 x 30 mm, both faces; four spars of 280 mm take two lengths of 1000 mm.
        lines = {line["what"]: line for line in shown["lines"]}
        assert abs(lines["tissue"]["needed"] - 3600) < 40
        assert (lines["spruce 6 x 3"]["packs"], shown["cost"]) == (2, 5.0)
        assert lines["tissue"]["texts"][0] == "tissue"
        assert shown["total"].startswith("Together 5.00 EUR; without a price: ")
        assert len(shown["cuts"]) == 2
        words = pypdfium2.PdfDocument(desk.get("shopping-card.pdf").content)[1].get_textpage().get_text_bounded()
        assert "Stock list" in words
        assert "spruce 6 x 3" in words
    finally:
        desk.workshop.close()


def test_nothing_is_said_of_shopping_before_the_parts_are_known(desk):
    assert desk.state()["shopping"] is None
    assert desk.get("shopping-card.pdf").status_code == 400
