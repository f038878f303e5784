"""`rack want` lists all that a job takes, with waste and cost."""

import pypdfium2
import pytest

from .test_wood_commands import MODEL

STOCK = """
[[wire]]
name = "leg"
diameter = "2 mm"
radius = "5 mm"
points = [["0 mm", "0 mm", "0 mm"], ["0 mm", "60 mm", "0 mm"], ["0 mm", "60 mm", "-80 mm"]]

[[strip]]
name = "spruce 6 x 3"
material = "spruce"
thickness = "3 mm"
width = "6 mm"
length = "1000 mm"
offcuts = ["300 mm"]
price = 1.5

[[strip.piece]]
name = "spar"
length = "280 mm"
count = 4

[[pack]]
of = "tissue"
length = "500 mm"
width = "400 mm"
price = 2.0

[[pack]]
of = "white glue"
mass = "50 g"
solids = "48 %"
price = 3.0

[stock]
currency = "EUR"
"""
TRACED = 0.01  # the fins of the drawn plan come out this true


@pytest.fixture
def stocked(small_job):
    small_job.edit("[nest]\n", f"{MODEL}{STOCK}\n[nest]\n")
    return small_job


def lines_of(sheetwood, job):
    done = sheetwood("rack", "want", job.folder, "--json")
    assert done.code == 0
    return done.json["stock"], {line["what"]: line for line in done.json["stock"]["lines"]}


def test_every_line_is_what_was_worked_out_by_hand(sheetwood, stocked):
    stock, lines = lines_of(sheetwood, stocked)
    # Two fins of 40 x 30 mm, both faces: 4,800 mm²; a fifth of the covering is wasted.
    assert lines["tissue"]["needed"] == pytest.approx(4800, rel=TRACED)
    assert lines["tissue"]["taken"] == pytest.approx(6000, rel=TRACED)
    assert (lines["tissue"]["packs"], lines["tissue"]["cost"]) == (1, 2.0)
    # Dope stays as 5 g/m² on them; 30 % of it is lost, and no pack says how it is sold.
    assert lines["dope"]["needed"] == pytest.approx(5.0 * 4800e-6, rel=TRACED)
    assert lines["dope"]["taken"] == pytest.approx(5.0 * 4800e-6 / 0.7, rel=TRACED)
    assert lines["dope"]["cost"] is None
    # 30 x 3 mm at 72 g/m² dry; half is wasted, and 48 % of what is poured stays.
    assert lines["white glue"]["dry_g"] == pytest.approx(72e-6 * 90)
    assert lines["white glue"]["taken"] == pytest.approx(72e-6 * 90 / 0.5 / 0.48)
    # 54 + 74 + 3 pi of wire, as its own test has it, and a twentieth more.
    assert lines["steel wire 2.0 mm"]["taken"] == pytest.approx((128 + 3 * 3.14159265) / 0.95)
    # Three spars of 280 mm come from a new length, the fourth from the offcut.
    assert (lines["spruce 6 x 3"]["packs"], lines["spruce 6 x 3"]["cost"]) == (1, 1.5)
    assert stock["strips"][0]["lengths"][0]["origin"] == "offcut"
    assert stock["strips"][0]["proved"] is True
    assert stock["cost"] == pytest.approx(2.0 + 3.0 + 1.5)


def test_boards_go_by_area_until_they_are_laid_out_and_cost_what_the_rack_says(sheetwood, stocked):
    rack = stocked.folder / "rack.csv"
    head, *rows = rack.read_text(encoding="utf-8").splitlines()
    rack.write_text("\n".join([f"{head},price", *(f"{row},4.80" for row in rows)]) + "\n", encoding="utf-8")
    _, lines = lines_of(sheetwood, stocked)
    (loose,) = [line for line in lines.values() if line["kind"] == "board"]
    net = 4000 - 78.54 + 2 * 1200
    assert loose["needed"] == pytest.approx(net, rel=TRACED)
    assert loose["cost"] == pytest.approx(4.80 / (300 * 80) * net / 0.65, rel=TRACED)
    assert sheetwood("nest", stocked.folder, "--sweeps", "10").code == 0
    _, lines = lines_of(sheetwood, stocked)
    (laid,) = [line for line in lines.values() if line["kind"] == "board"]
    assert laid["what"] in ("board light", "board heavy")
    assert laid["cost"] == 4.8
    assert laid["needed"] == pytest.approx(net / (300 * 80), rel=TRACED)


def test_the_card_and_the_table_have_the_list_and_the_cuts(sheetwood, stocked):
    said = sheetwood("rack", "want", stocked.folder)
    assert "Stock list" in said.out
    words = pypdfium2.PdfDocument(stocked.folder / "out" / "shopping-card.pdf")[1].get_textpage().get_text_range()
    for text in ("Stock list", "tissue", "spruce 6 x 3", "offcut of 300.0 mm: spar 280.0 mm", "Together 6.50 EUR"):
        assert text in " ".join(words.split())


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('of = "tissue"', 'of = "tisue"', "did you mean 'tissue'"),
        ('width = "6 mm"\n', "", "needs its thickness and width"),
        ('length = "500 mm"\n', "", "length and width of a sheet"),
        ("price = 1.5", "prize = 1.5", "price"),
        ("price = 1.5", "price = -1.5", "price"),
        ("price = 1.5", 'mass = "0 g"', "give what a whole one weighs"),
        ('currency = "EUR"', 'glue = "100 %"', "below 100 %"),
        ('of = "white glue"', 'of = "tissue"', "two entries of [[pack]]"),
    ],
)
def test_what_cannot_be_is_refused(sheetwood, stocked, old, new, said):
    stocked.edit(old, new)
    done = sheetwood("rack", "want", stocked.folder)
    assert done.code == 3
    assert said in " ".join(done.err.split())


def test_a_piece_that_no_length_holds_stays_open(sheetwood, stocked):
    stocked.edit('length = "280 mm"', 'length = "1280 mm"')
    done = sheetwood("rack", "want", stocked.folder)
    assert done.code == 4
    assert "scarf it" in " ".join(done.err.split())


FROM_STRIP = """
[[part.step]]
make = "edge strip"
along = [[240, 40]]
width = "6 mm"
material = "spruce"
"""


@pytest.fixture
def edged(stocked):
    """The plate of 100 x 40 mm with an edge of spruce, and strip of it of which a length weighs 9 g: 500 kg/m3."""
    stocked.edit('grain = "0 deg"\n\n[[part]]', f'grain = "0 deg"\n{FROM_STRIP}\n[[part]]')
    stocked.edit("price = 1.5", 'mass = "9 g"\nprice = 1.5')
    return stocked


def test_a_part_from_strip_is_weighed_by_its_strip_and_laid_on_no_board(sheetwood, edged):
    """100 x 6 x 3 mm of 500 kg/m3 weigh 0.9 g; the rack holds no spruce."""
    nested = sheetwood("nest", edged.folder, "--sweeps", "10", "--json")
    assert nested.code == 0
    assert nested.json["proved"] is True
    assert "plate edge strip" not in {p["part"] for board in nested.json["boards"] for p in board["placements"]}
    assert [note["text"] for note in nested.json["notes"] if note["code"] == "from-strip"] == [
        "plate edge strip: cut from strip spruce 6 x 3, so not laid out; `rack want` tells from which lengths."
    ]
    weighed = sheetwood("weigh", edged.folder, "--json")
    (row,) = [row for row in weighed.json["weights"] if row["part"] == "plate edge strip"]
    assert (row["board"], row["chosen"], row["reason"]) == ("strip spruce 6 x 3", True, "cut from strip")
    assert row["mass_g"] == pytest.approx(0.9, rel=TRACED)
    entries = {entry["what"]: entry["mass_g"] for entry in sheetwood("balance", edged.folder, "--json").json["entries"]}
    assert entries["plate edge strip 1, wood"] == pytest.approx(0.9, rel=TRACED)
    lines = lines_of(sheetwood, edged)[1]
    assert "plate edge strip" in lines["spruce 6 x 3"]["parts"]
    assert sheetwood("compare", edged.folder, "plate", "light", "heavy").code == 0
    assert sheetwood("assign", edged.folder).code == 0
