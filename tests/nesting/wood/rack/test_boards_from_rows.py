import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.wood.board import BendTest, Board
from nesting.wood.rack import format_rack, parse_rack
from vectorize.basics.errors import RackError
from vectorize.basics.units import G_PER_OUNCE

HEAD = "name,material,thickness (mm),length (mm),width (mm),mass (g)\n"


def one(row: str, head: str = HEAD) -> Board:
    (board,) = parse_rack(head + row)
    return board


def refusal(text: str) -> str:
    with pytest.raises(RackError) as caught:
        parse_rack(text)
    assert caught.value.exit_code == 3
    return str(caught.value)


def test_a_plain_row_becomes_a_board():
    board = one("B1,balsa,3,1000,100,36.0")
    assert (board.name, board.material, board.thickness_mm, board.length_mm) == ("B1", "balsa", 3.0, 1000.0)
    assert (board.width_mm, board.mass_g, board.measured_thickness_mm) == (100.0, 36.0, None)


def test_a_spreadsheet_of_a_comma_country_reads_right():
    text = (
        "\ufeffName;Material;Thickness [mm];Measured thicknes;Length (mm);Width mm;Mass (g);;\r\n"
        "\r\n"
        "B1;balsa;3;3,175 mm;914,4;76,2;35,4;;\r\n"
        ";;;;;;;;\r\n"
        "B2;Birch-Ply;0,8;;600;100;;;\r\n"
    )
    first, second = parse_rack(text)
    assert (first.measured_thickness_mm, first.length_mm, first.mass_g) == (3.175, 914.4, 35.4)
    assert (second.thickness_mm, second.mass_g) == (0.8, None)


def test_tabs_and_units_in_cells_read_alike():
    board = one("B1\tbalsa\t1/8 in\t36 in\t3 in\t1 1/4 oz", "name\tmaterial\tthickness\tlength\twidth\tmass\n")
    assert board.thickness_mm == pytest.approx(3.175)
    assert board.mass_g == pytest.approx(1.25 * G_PER_OUNCE)


def test_the_unit_of_a_cell_beats_that_of_its_heading():
    assert one("B1,balsa,1/8 in,1 m,100,36 g").thickness_mm == pytest.approx(3.175)


def test_quoted_decimal_commas_read_right():
    assert one('B1,balsa,"2,5",1000,100,"36,5"').mass_g == 36.5


@pytest.mark.parametrize(
    ("heading", "expected"),
    [("Weight (g)", 36.0), ("MASS_G", 36.0), ("mass, g", 36.0), ("mas (g)", 36.0), ("  Mass  [ g ] ", 36.0)],
)
def test_headings_near_enough_are_understood(heading, expected):
    head = f'name,material,thickness (mm),length (mm),width (mm),"{heading}"\n'
    assert one("B1,balsa,3,1000,100,36", head).mass_g == expected


def test_columns_of_no_use_here_end_in_the_notes():
    head = HEAD.strip() + ",shop,notes,\n"
    assert one("B1,balsa,3,1000,100,36,Reed,from the shelf,", head).notes == "from the shelf; shop: Reed"


def test_the_step_of_the_scale_is_the_finest_last_digit_of_its_unit():
    coarse, fine, ounces = parse_rack(
        HEAD + "B1,balsa,3,1000,100,36\nB2,balsa,3,1000,100,36.5\nB3,balsa,3,1000,100,1.25 oz"
    )
    assert coarse.mass_resolution_g == fine.mass_resolution_g == pytest.approx(0.1)
    assert ounces.mass_resolution_g == pytest.approx(0.01 * G_PER_OUNCE)


def test_a_stated_step_is_taken():
    assert one("B1,balsa,3,1000,100,36,0.5", HEAD.strip() + ",scale step (g)\n").mass_resolution_g == 0.5


@pytest.mark.parametrize(
    ("word", "cut"),
    [("A", "tangential"), ("b", "mixed"), ("C grain", "quarter"), ("Quarter-sawn", "quarter"), ("", "unknown")],
)
def test_trade_words_for_the_grain_cut_are_known(word, cut):
    assert one(f"B1,balsa,3,1000,100,36,{word}", HEAD.strip() + ",cut\n").cut == cut


@pytest.mark.parametrize(("head", "cell"), [("tone", "2187.5 Hz"), ("tone (Hz)", "2187.5"), ("tone kHz", "2.1875")])
def test_the_tone_of_a_tapped_board_is_read(head, cell):
    (board,) = parse_rack(f"{HEAD.strip()},{head}\nB3,balsa,3,1000,100,36,{cell}")
    assert board.tone_hz == pytest.approx(2187.5)


@pytest.mark.parametrize(
    ("head", "cell", "price"),
    [("price", "3.20", 3.2), ("price (EUR)", "3", 3.0), ("cost", "£4.5", 4.5), ("price", '"3,20 €"', 3.2)],
)
def test_what_a_board_cost_is_read_with_or_without_the_sign_of_a_currency(head, cell, price):
    assert one(f"B1,balsa,3,1000,100,36,{cell}", HEAD.strip() + f",{head}\n").price == price


@pytest.mark.parametrize("cell", ["-3", "cheap", "3.204", "3 each now", "4 %"])
def test_a_price_that_is_no_number_is_refused_with_its_place(cell):
    with pytest.raises(RackError, match=r"row 2, column 'price'.*such as 3\.20"):
        one(f"B1,balsa,3,1000,100,36,{cell}", HEAD.strip() + ",price\n")


def test_two_end_readings_and_a_bend_test_are_read():
    head = HEAD.replace("mass (g)", "left end (g),right end (g),bend span (mm),bend load (g),total sag (mm)")
    board = one("B1,balsa,3,1000,100,17.1,18.9,800,100,21", head)
    assert board.end_readings_g == (17.1, 18.9)
    assert board.known_mass_g == pytest.approx(36.0)
    assert board.bend_test == BendTest(800.0, 100.0, 21.0, is_from_straight=True)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", ["is empty", "name"]),
        ("\ufeff\n \n", ["is empty"]),
        ("name,material\n", ["no column 'thickness'"]),
        (HEAD + "B3,balsa,3,1000,100,693", ["row 2", "board B3 would be 2,310 kg/m³: is the mass in grams?"]),
        (HEAD + "B3,balsa,3,1000,100,1.25", ["B3 would be 4 kg/m³", "ounces?"]),
        (HEAD + "B3,balsa,0.125,36,3,35.4", ["inches?"]),
        (HEAD + "B3,balsa,3,1000,100,0", ["row 2", "column 'mass (g)'", "above zero"]),
        (HEAD + "B3,balsa,3,1000,100,-36", ["row 2", "column 'mass (g)'", "'-36'"]),
        (HEAD + "B3,balsa,0,1000,100,36", ["row 2", "column 'thickness (mm)'"]),
        (HEAD + "B3,balsa,3,-1000,100,36", ["row 2", "column 'length (mm)'"]),
        (HEAD + "B3,balsa,3,1000,,36", ["row 2", "column 'width (mm)'", "is empty"]),
        (HEAD + "\nB3,balsa,3,1000,wide,36", ["row 3", "column 'width (mm)'", "'wide'"]),
        (HEAD + "B3,balsa,3,1000,100,36 stone", ["row 2", "'stone'", "unit of mass"]),
        (HEAD.replace(" (g)", "") + "B3,balsa,3,1000,100,36", ["column 'mass'", "without a unit"]),
        (HEAD.replace("(g)", "(st)") + "B3,balsa,3,1000,100,36", ["'st' is not a unit"]),
        (HEAD + "B3,balsa,3,1000,100,35,4", ["row 2", "column 7", "decimal comma"]),
        (HEAD + "B3,balsa,3,1000,100,36\nb3,balsa,3,1000,100,37", ["row 3", "named in row 2"]),
        (HEAD.strip() + ",weight\n", ["two columns for mass"]),
        (HEAD.strip() + ",cut\nB3,balsa,3,1000,100,36,wavy", ["column 'cut'", "'wavy'"]),
        (HEAD.strip() + ",left end (g)\nB3,balsa,3,1000,100,36,17", ["one end reading is missing"]),
        (HEAD.strip() + ",bend span (mm)\nB3,balsa,3,1000,100,36,800", ["bend test needs"]),
        (HEAD + 'B3,balsa,3,"1.234,5",100,36', ["row 2", "column 'length (mm)'", "two ways"]),
    ],
)
def test_a_bad_file_gets_one_clear_sentence(text, words):
    message = refusal(text)
    for word in words:
        assert word in message
    assert "\n" not in message


sizes = st.floats(1.0, 2000.0).map(lambda x: round(x, 3))


@given(
    thickness=st.floats(0.4, 20.0).map(lambda x: round(x, 3)),
    length=sizes,
    width=sizes,
    density=st.floats(50.0, 1300.0),
    notes=st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Zs", "Zl", "Zp")), max_size=10),
    cut=st.sampled_from(["tangential", "mixed", "quarter", "unknown"]),
)
def test_a_rack_written_is_read_back_alike(thickness, length, width, density, notes, cut):
    mass = round(density * thickness * length * width * 1e-6, 6)
    if not 45 < mass / (thickness * length * width) * 1e6 < 1390:
        return
    board = Board("B 1", "balsa", thickness, length, width, mass_g=mass, cut=cut, bow_mm=2.0, notes=notes)
    assert parse_rack(format_rack([board])) == (board,)


def test_every_column_survives_writing_and_reading():
    boards = (
        Board("B1", "balsa", 3.0, 914.4, 76.2, 3.1, 35.4, 0.1, "quarter", 4.0, 1.5, end_readings_g=(17.0, 18.5)),
        Board("B2", "ply", 0.8, 300.0, 300.0, bend_test=BendTest(250.0, 50.0, 8.0)),
        Board("T4", "balsa", 3.0, 1000.0, 100.0, tone_hz=2187.5, price=3.2),
        Board("B3", "ply", 0.8, 300.0, 300.0, bend_test=BendTest(250.0, 50.0, 8.0, is_from_straight=True)),
    )
    assert parse_rack(format_rack(boards)) == boards


@pytest.mark.parametrize(
    "text",
    [
        HEAD + f"{'B' * 500},balsa,3,1000,100,36",
        HEAD + '"B\x1b[2J1",balsa,3,1000,100,36',
        HEAD + f"B1,balsa,{'9' * 5000},1000,100,36",
        HEAD + f"B1,balsa,{'9' * 50},1000,100,36",
        HEAD + f"B1,balsa,3,{'x' * 5000},100,36",
        HEAD + f"B1,balsa,3,1000,100,36,{'x' * 5000}",
        f"{'x' * 5000},material\nB1,balsa",
        f"{','.join('abcdefghijklmnopqrstuvwxyz')}{',x' * 500}\nB1,balsa",
        HEAD.replace("mass (g)", "cut") + f"B1,balsa,3,1000,100,{'x' * 500}",
    ],
    ids=range(9),
)
def test_whatever_a_cell_holds_is_told_short_and_on_one_line(text):
    said = refusal(text)
    assert len(said) < 300
    assert said.isprintable()


def test_a_heading_without_end_is_told_and_not_pondered():
    said = refusal("name,material,thickness,length," + "(" * 100_000 + "\nB1,balsa,3 mm,1000 mm,100 mm")
    assert "no column 'width'" in said
    assert len(said) < 300


@pytest.mark.parametrize("cell", ["[" * 140_000, '"' + "B2,balsa,3,1000,100,36.0\n" * 6000])
def test_a_cell_without_end_is_told_with_its_row(cell):
    said = refusal(HEAD + "B1,balsa,3,1000,100,36.0\n" + cell)
    assert "rack.csv row 3" in said
    assert "quotation mark" in said
    assert len(said) < 300
