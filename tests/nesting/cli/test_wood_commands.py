import json

import pypdfium2
import pytest

from nesting.choice.assign import Assignment
from nesting.choice.assign.assignment import Given
from nesting.job.assigning import ties_of
from nesting.job.folder import open_job

# The job of conftest: a plate of 100 x 40 mm with a 10 mm hole and a pair of fins of 40 x 30 mm, in 3 mm balsa;
# boards light (8.6 g) and heavy (13.0 g) of 300 x 80 mm. Pixels are 4 to the millimetre, y down.
MODEL = """
[balance]
datum = [40, 200]
aft = "right"
in_place = ["plate"]
range = ["40 mm", "45 mm"]
lateral = ["-1 mm", "1 mm"]

[[balance.seat]]
part = "fin"
station = "90 mm"

[[balance.item]]
name = "engine"
mass = "10 g"
station = "-5 mm"

[[balance.item]]
name = "tank"
mass = "4 g"
station = "20 mm"
fuel = true

[[balance.ballast]]
name = "tail"
station = "95 mm"
depth = "3 mm"

[[balance.alternative]]
name = "engine back"
item = "engine"
station = "0 mm"

[[finish]]
parts = ["fin"]
both = ["tissue", "dope"]

[[joint]]
name = "fin root"
parts = ["plate", "fin"]
glue = "white glue"
length = "30 mm"
width = "3 mm"
"""


@pytest.fixture
def square(small_job):
    return small_job.folder


@pytest.fixture
def model(square):
    job = square / "job.toml"
    job.write_text(job.read_text(encoding="utf-8") + MODEL, encoding="utf-8")
    return square


def data(answer):
    assert answer.code in (0, 4), answer.err
    return json.loads(answer.out)


def test_weigh_adds_finish_and_glue(model, sheetwood):
    built = data(sheetwood("weigh", model, "--json"))["built"]
    stages = {entry["stage"] for entry in built["entries"]}
    assert stages == {"cut", "covered", "painted", "glued"}
    assert built["total_g"] == pytest.approx(sum(entry["mass_g"] for entry in built["entries"]))
    assert "As it will be built" in sheetwood("weigh", model).out


def test_copies_that_weigh_the_same_are_shown_in_one_line_and_listed_one_by_one(square, sheetwood):
    (shown,) = [line for line in sheetwood("weigh", square).out.splitlines() if "fin" in line and "light" in line]
    assert "fin 1 to 2" in shown
    rows = [row for row in data(sheetwood("weigh", square, "--json"))["weights"] if row["part"] == "fin"]
    assert [(row["copy"], row["board"]) for row in rows] == [(n, b) for n in (1, 2) for b in ("light", "heavy")]


def test_balance_gives_the_point_for_each_loading_and_the_ballast(model, sheetwood):
    result = data(sheetwood("balance", model, "--json"))
    assert [loading["fuel_share"] for loading in result["loadings"]] == [0.0, 1.0]
    for loading in result["loadings"]:
        share = loading["fuel_share"]
        masses = [(e["mass_g"] * (share if e["fuel"] else 1.0), e["station_mm"]) for e in result["entries"]]
        assert loading["balance_mm"] == pytest.approx(sum(m * x for m, x in masses) / sum(m for m, _ in masses))
    assert result["ballast"][0]["least_g"] > 0
    assert result["flying_mass_g"] == pytest.approx(result["loadings"][1]["mass_g"] + result["ballast"][0]["least_g"])


def test_balance_writes_a_picture_and_a_card_of_one_page(model, sheetwood):
    assert sheetwood("balance", model).code == 0
    written = {path.name for path in (model / "out").iterdir()}
    assert {"balance.svg", "balance.png", "bench-card.pdf", "bench-card.png"} <= written
    card = pypdfium2.PdfDocument(model / "out" / "bench-card.pdf")
    words = card[0].get_textpage().get_text_bounded()
    assert len(card) == 1
    card.close()
    for word in ("Bench card: Square", "plate", "light", "Ballast", "never an approval to fly"):
        assert word in words


def test_an_edited_picture_is_kept_unless_forced(model, sheetwood):
    sheetwood("balance", model)
    (model / "out" / "balance.svg").write_text("mine", encoding="utf-8")
    assert sheetwood("balance", model).code == 4
    assert (model / "out" / "balance.svg").read_text(encoding="utf-8") == "mine"
    assert sheetwood("balance", model, "--force").code == 0


def test_compare_weighs_the_whole_model(model, sheetwood):
    result = data(sheetwood("compare", model, "plate", "--json"))
    light, heavy = result["boards"]
    assert (light["board"], heavy["board"]) == ("light", "heavy")
    assert heavy["stiffness_ratio"]["value"] == pytest.approx(13.0 / 8.6)
    assert heavy["flying_mass_g"]["value"] != light["flying_mass_g"]["value"]
    assert light["fits"] is heavy["fits"] is True
    assert (model / "out" / "compare-plate.png").exists()
    assert "never an approval to fly" in sheetwood("compare", model, "plate", "light", "heavy").err


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["plate", "light", "nowhere"], 2, "no board 'nowhere'; boards: light, heavy"),
        (["plate", "light"], 2, "needs two boards"),
        (["wing"], 3, "no part 'wing'; parts: plate, fin"),
    ],
)
def test_compare_refuses_what_is_not_there(model, sheetwood, words, code, said):
    answer = sheetwood("compare", model, *words)
    assert (answer.code, answer.out) == (code, "")
    assert said in answer.err


def test_assign_writes_only_to_out_unless_told_to_keep(model, sheetwood):
    with (model / "job.toml").open("a", encoding="utf-8") as job:
        job.write("\n# mine: keep this remark\n")
    before = (model / "job.toml").read_bytes()
    result = data(sheetwood("assign", model, "--best", "1", "--json"))
    assert (model / "job.toml").read_bytes() == before
    assert json.loads((model / "out" / "assign.json").read_text(encoding="utf-8")) == result
    assert {part["part"] for part in result["best"][0]["parts"]} == {"plate", "fin"}
    kept = sheetwood("assign", model, "--best", "1", "--keep")
    assert kept.code == 0
    after = (model / "job.toml").read_text(encoding="utf-8")
    assert after.count("\nboard = ") == 2
    assert "# mine: keep this remark" in after


def test_assign_with_an_impossible_limit_says_what_to_relax(model, sheetwood):
    answer = sheetwood("assign", model, "--objective", "stiff", "--limit", "15 g")
    assert (answer.code, answer.out) == (5, "")
    assert "raise the weight limit by" in answer.err


def test_readings_replace_estimates_and_the_difference_is_shown(model, sheetwood):
    job = model / "job.toml"
    text = job.read_text(encoding="utf-8") + '\n[[weighed]]\nparts = ["plate"]\nmass = "1.9 g"\nstep = "0.1 g"\n'
    job.write_text(text, encoding="utf-8")
    result = data(sheetwood("balance", model, "--json"))
    (difference,) = result["as_built"]
    assert difference["difference_g"] == pytest.approx(1.9 - difference["estimated_g"])
    assert "On the scale" in sheetwood("balance", model).out
    assert "1.9 g" in sheetwood("weigh", model).out


def test_offcuts_come_back_with_outline_and_mass(square, sheetwood):
    assert sheetwood("rack", "cut", square).code == 3  # nothing is nested yet
    assert sheetwood("nest", square, "--sweeps", "10").code == 0
    boards = {row["name"]: row for row in data(sheetwood("rack", square, "--json"))["boards"]}
    result = data(sheetwood("rack", "cut", square, "--json"))
    (cut,) = [name for name in boards if name in result["offcuts"]]
    for name in result["offcuts"][cut]:
        assert (square / "rack" / f"{name}.json").exists()
    after = {row["name"]: row for row in data(sheetwood("rack", square, "--json"))["boards"]}
    assert cut not in after
    assert set(result["offcuts"][cut]) <= set(after)
    assert all(row["mass_g"] < boards[cut]["mass_g"] for row in after.values() if row["name"].startswith(f"{cut}-"))
    assert (square / "rack.csv.bak").exists()
    again = sheetwood("rack", "cut", square)
    assert again.code == 3
    assert "run `sheetwood nest` first" in again.err


def test_the_shopping_card_names_what_is_missing(square, sheetwood):
    assert data(sheetwood("rack", "want", square, "--json"))["wanted"] == []
    rack = square / "rack.csv"
    rack.write_text(rack.read_text(encoding="utf-8").replace("3 mm", "5 mm"), encoding="utf-8")
    (line,) = data(sheetwood("rack", "want", square, "--json"))["wanted"]
    assert (line["material"], line["thickness_mm"], line["boards"]) == ("balsa", 3.0, 1)
    said = sheetwood("rack", "want", square)
    assert "To buy" in said.out
    assert "shopping-card.pdf" in said.err
    words = pypdfium2.PdfDocument(square / "out" / "shopping-card.pdf")[0].get_textpage().get_text_bounded()
    assert all(text in words for text in ("balsa", "3.0 mm", "plate", "fin", "Weigh each board"))
    assert sheetwood("rack", "buy", square).code == 2


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[balance]\nrange = ["45 mm", "40 mm"]\n', "range from 45 to 40 mm is empty"),
        ('[balance]\nrange = ["25 %", "33 %"]\n', "[balance.chord] is missing"),
        ('[balance]\nin_place = ["plate"]\n[[balance.ballast]]\nname = "nose"\nat = [50, 60]\n', "there is no datum"),
        ('[[balance.item]]\nname = "engine"\nmass = "0 g"\nstation = "1 mm"\n', "above zero"),
        ('[[balance.item]]\nname = "engine"\nmass = "10 stone"\nstation = "1 mm"\n', "'stone' is not a unit of mass"),
        ('[[balance.item]]\nname = "engine"\nmass = "10 g"\n', "needs a station"),
        ('[balance]\nin_place = ["wing"]\n', "names part 'wing', which is not there"),
        (
            '[[finish]]\nparts = ["fin"]\nboth = ["tisue"]\n[balance]\nin_place = ["fin"]\ndatum = [0, 0]\n',
            "did you mean 'tissue'",
        ),
        ('[[material]]\nname = "balsa"\ndensity = "2000 kg/m3"\n', "is not sheet wood"),
        ('[[weighed]]\nparts = ["rudder"]\nmass = "5 g"\n', "'rudder' was weighed, but is not in the ledger"),
        ("[balance]\ndatun = [1, 2]\n", "did you mean 'datum'"),
    ],
)
def test_a_model_that_cannot_be_gets_one_sentence(square, sheetwood, text, said):
    job = square / "job.toml"
    job.write_text(job.read_text(encoding="utf-8") + "\n" + text, encoding="utf-8")
    answer = sheetwood("balance", square)
    assert said in answer.err
    assert answer.code in (3, 4)
    assert "Traceback" not in answer.err


def test_names_of_materials_may_be_written_as_the_trade_does(square, sheetwood):
    rack = square / "rack.csv"
    rack.write_text(rack.read_text(encoding="utf-8").replace("balsa", "Balsa-Wood"), encoding="utf-8")
    assert sheetwood("nest", square, "--sweeps", "1").code == 0


def test_the_rack_shows_what_two_end_weighing_and_bending_gave(square, sheetwood):
    (square / "rack.csv").write_text(
        "name,material,thickness (mm),length (mm),width (mm),left end (g),right end (g),"
        "bend span (mm),bend load (g),bend sag (mm)\n"
        "graded,balsa,3,1000,100,17.10,18.90,800,50,14\n"
        "coarse,balsa,3,1000,100,10 g,10 g,,,\n",
        encoding="utf-8",
    )
    result = data(sheetwood("rack", square, "--json"))
    graded, coarse = result["boards"]
    assert graded["gradient"] == pytest.approx(6 * 1.8 / 36.0)  # 6 (R2 - R1) / (R1 + R2)
    assert graded["modulus_measured"] is True
    assert coarse["gradient"] is None
    assert any("does not resolve" in note["text"] for note in result["notes"])
    assert "Tested boards" in sheetwood("rack", square).out


@pytest.mark.parametrize(
    "words", [("rack",), ("compare", "plate"), ("assign", "--time", "1s")], ids=lambda words: words[0]
)
def test_a_bend_test_that_cannot_be_true_is_a_note_of_its_board_and_the_rest_is_shown(square, sheetwood, words):
    rack = (square / "rack.csv").read_text(encoding="utf-8").splitlines()
    rows = [f"{rack[0]},bend span,bend load,bend sag", f"{rack[1]},250 mm,100 g,0.001 mm", f"{rack[2]},,,"]
    (square / "rack.csv").write_text("\n".join(rows), encoding="utf-8")
    command, *others = words

    answer = sheetwood(command, square, *others, "--json")

    assert (answer.code, answer.json["notes"] != []) == (4, True)
    (text,) = [note["text"] for note in answer.json["notes"] if note["code"] == "bend-test-not-used"]
    assert text.startswith("board light: its bend test gives E = ")
    if command != "assign":
        light, heavy = answer.json["boards"]
        trend = 13.0 / 8.6  # by the trend E goes with density, and both boards are of one size
        if command == "rack":
            assert heavy["modulus_mpa"] / light["modulus_mpa"] == pytest.approx(trend)
        else:
            assert heavy["stiffness_ratio"]["value"] == pytest.approx(trend)


def test_a_kept_substitute_brings_its_material_and_thickness(small_job, sheetwood):
    small_job.edit(
        'name = "plate"\n', 'name = "plate"\nsubstitutes = [{ material = "birch ply", thickness = "0.8 mm" }]\n'
    )
    with (small_job.folder / "rack.csv").open("a", encoding="utf-8") as rack:
        rack.write("ply,birch ply,0.8 mm,,300 mm,80 mm,7.0 g,,,\n")
    assert sheetwood("assign", small_job.folder, "--best", "1", "--keep").code == 0
    text = (small_job.folder / "job.toml").read_text(encoding="utf-8")
    assert 'material = "birch ply"' in text
    assert 'thickness = "0.8 mm"' in text
    chosen = [w for w in data(sheetwood("weigh", small_job.folder, "--json"))["weights"] if w["chosen"]]
    assert {w["part"]: w["board"] for w in chosen}["plate"] == "ply"


def test_a_kept_assignment_ties_a_part_by_the_pieces_that_steps_made_of_it(small_job, sheetwood):
    small_job.edit(
        'grain = "0 deg"\n\n[[part]]', 'grain = "0 deg"\n[[part.step]]\nmake = "planks"\nwidth = "25 mm"\n\n[[part]]'
    )
    before = {w["part"] for w in data(sheetwood("weigh", small_job.folder, "--json"))["weights"]}
    assert {"plate plank 1", "plate plank 2"} <= before

    kept = sheetwood("assign", small_job.folder, "--objective", "stiff", "--best", "1", "--keep")

    # Both boards are large enough for everything, so the stiffest is all of the heavy one.
    assert kept.code == 0, kept.err
    assert small_job.folder.joinpath("job.toml").read_text(encoding="utf-8").count('board = "heavy"') == 2
    chosen = [w for w in data(sheetwood("weigh", small_job.folder, "--json"))["weights"] if w["chosen"]]
    assert {w["part"] for w in chosen} == before
    assert {w["board"] for w in chosen} == {"heavy"}


def test_a_part_whose_pieces_come_from_several_boards_is_left_free_and_told(small_job):
    small_job.edit('grain = "0 deg"\n\n[[part]]', 'grain = "0 deg"\n[[part.step]]\nmake = "planks"\n\n[[part]]')
    job = open_job(small_job.folder)
    given = tuple(Given(part, board, 1, 1.0) for part, board in
                  [("plate plank 1", "light"), ("plate plank 2", "heavy"), ("fin", "light")])  # fmt: skip
    ties, shared = ties_of(job, Assignment(given, (), 4.0, (), 1.0, ()))
    assert (ties, shared) == ({"fin": "light"}, ("plate",))


@pytest.mark.parametrize("reading", ['weighed = "1.8 g"', '[[weighed]]\nparts = ["fin"]\nmass = "3.6 g"\n'])
def test_a_part_that_was_weighed_counts_by_its_reading_when_its_board_is_used_up(model, sheetwood, reading):
    job = model / "job.toml"
    text = job.read_text(encoding="utf-8").replace(
        'thickness = "3 mm"\ngrain = "0 deg"\nhand', 'thickness = "4 mm"\nhand'
    )
    before = data(sheetwood("balance", model, "--json"))
    if reading.startswith("["):
        text += reading
    else:
        text = text.replace('hand = "pair"', f'hand = "pair"\n{reading}')
    job.write_text(text, encoding="utf-8")

    weighed = sheetwood("weigh", model, "--json")
    balance = sheetwood("balance", model, "--json")

    assert (weighed.code, balance.code) == (0, 0), weighed.err + balance.err
    (note,) = [note for note in weighed.json["notes"] if note["part"] == "fin" and note["code"] == "board-used-up"]
    assert note["state"] == "fixed"
    assert {row["part"] for row in weighed.json["weights"]} == {"plate"}
    assert data(sheetwood("rack", "want", model, "--json"))["wanted"] == []
    # Two fins weigh 3.6 g by the scale; they are at the station where they were before.
    (fins,) = [one for one in balance.json["entries"] if one["what"].startswith("fin, weighed")]
    assert fins["mass_g"] == pytest.approx(3.6)
    assert fins["station_mm"] == pytest.approx(90)
    assert {one["what"] for one in before["entries"]} & {one["what"] for one in balance.json["entries"]}


def test_one_part_without_a_board_and_without_a_reading_stays_open_and_the_rest_is_weighed(model, sheetwood):
    job = model / "job.toml"
    text = job.read_text(encoding="utf-8").replace(
        'thickness = "3 mm"\ngrain = "0 deg"\nhand', 'thickness = "4 mm"\nhand'
    )
    job.write_text(text + '\n[[weighed]]\nparts = ["plate"]\nmass = "1.9 g"\n', encoding="utf-8")
    answer = sheetwood("weigh", model, "--json")
    assert answer.code == 4
    assert [note["code"] for note in answer.json["notes"] if note["state"] == "open"] == ["no-board"]
