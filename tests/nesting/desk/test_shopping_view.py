"""What is still to be bought is told in words and as a card, and follows the rack."""

import pypdfium2

from nesting.charts.shopping_card import NOTHING
from nesting.job.rack_files import read_rack
from tests.nesting.desk.conftest import finished, open_desk
from tests.nesting.desk.jobs import RACK, make_job


def _words(answer):
    assert answer.headers["content-type"] == "application/pdf"
    return pypdfium2.PdfDocument(answer.content)[0].get_textpage().get_text_bounded()


def test_a_rack_that_has_it_all_leaves_nothing_to_buy(followed):
    assert followed.state()["shopping"] == {"wanted": [], "fault": None}
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


def test_nothing_is_said_of_shopping_before_the_parts_are_known(desk):
    assert desk.state()["shopping"] is None
    assert desk.get("shopping-card.pdf").status_code == 400
