"""A part that is cut is done: once its board is cut up, it is neither laid out nor asked wood for."""

import pytest

CUT_PLATE = ('name = "plate"\n', 'name = "plate"\ncut = true\n')
CUT_FIN = ('name = "fin"\n', 'name = "fin"\ncut = true\n')
OTHER_WOOD = "name,material,thickness,length,width,mass\nthin,balsa,1.5 mm,300 mm,80 mm,4.3 g\n"


@pytest.fixture
def nest(small_job, sheetwood):
    """Return how the job is nested again: exit code, copies that lie, and the texts of the notes by code."""

    def again(*words):
        answer = sheetwood("nest", small_job.folder, "--sweeps", "10", "--json", *words)
        assert answer.json["unplaced"] == []
        lying = sorted((p["part"], p["copy"]) for board in answer.json["boards"] for p in board["placements"])
        return answer.code, lying, {note["code"]: (note["state"], note["text"]) for note in answer.json["notes"]}

    return again


def saw(small_job, sheetwood, nest, *parts):
    """Nest, mark parts as cut, nest once more as a builder does in between, and cut the boards up."""
    assert nest()[0] == 0
    for part in parts:
        small_job.edit(*part)
    code, lying, notes = nest()
    assert (code, lying) == (0, [("fin", 1), ("fin", 2), ("plate", 1)])
    assert "kept-in-place" in notes
    assert "cut-already" not in notes
    assert sheetwood("rack", "cut", small_job.folder).code == 0


def test_what_is_cut_is_not_laid_out_on_the_leftover_and_is_again_when_it_is_not_cut(small_job, sheetwood, nest):
    saw(small_job, sheetwood, nest, CUT_PLATE)

    for words in ((), (), ("--unpin",), ("--seed", "1")):
        code, lying, notes = nest(*words)
        assert (code, lying) == (0, [("fin", 1), ("fin", 2)])
        state, text = notes["cut-already"]
        assert state == "fixed"
        assert text.startswith("cut already: plate 1.")
        assert "pin-lost" not in notes

    small_job.edit("cut = true", "cut = false")
    code, lying, notes = nest()
    assert (code, lying) == (0, [("fin", 1), ("fin", 2), ("plate", 1)])
    assert "cut-already" not in notes


def test_run_leaves_out_what_is_cut_and_its_weight_still_counts(small_job, sheetwood, nest):
    before = sheetwood("weigh", small_job.folder, "--json").json
    saw(small_job, sheetwood, nest, CUT_PLATE)

    done = sheetwood("run", small_job.folder, "--time", "1s", "--json")

    assert done.code == 0, done.err
    assert [note["text"] for note in done.json["notes"] if note["code"] == "cut-already"]
    weights = sheetwood("weigh", small_job.folder, "--json").json["weights"]
    (plate,) = [row for row in weights if row["part"] == "plate" and row["chosen"]]
    (first,) = [row for row in before["weights"] if row["part"] == "plate" and row["chosen"]]
    assert plate["mass_g"] == pytest.approx(first["mass_g"], rel=0.05)  # the leftover is of the same board
    assert "no room" not in plate["reason"]


def test_no_wood_is_asked_for_where_the_board_is_used_up(small_job, sheetwood, nest):
    saw(small_job, sheetwood, nest, CUT_PLATE, CUT_FIN)
    (small_job.folder / "rack.csv").write_text(OTHER_WOOD, encoding="utf-8")

    code, lying, notes = nest()

    assert (code, lying) == (0, [])
    assert notes["cut-already"][1].startswith("cut already: fin 1, fin 2, plate 1.")
    assert sheetwood("rack", "want", small_job.folder, "--json").json["wanted"] == []
    weighed = sheetwood("weigh", small_job.folder, "--json")
    told = [(note["part"], note["state"]) for note in weighed.json["notes"] if note["code"] == "board-used-up"]
    assert (weighed.code, told) == (4, [("plate", "open"), ("fin", "open")])
    assert "weigh it" in weighed.out


def test_a_tie_to_the_board_that_was_cut_up_does_not_stop_the_rest(small_job, sheetwood, nest):
    small_job.edit('grain = "0 deg"\n\n[[part]]', 'grain = "0 deg"\nboard = "light"\n\n[[part]]')
    saw(small_job, sheetwood, nest, CUT_PLATE)

    code, lying, _ = nest()

    assert (code, lying) == (0, [("fin", 1), ("fin", 2)])


def test_patterns_that_had_to_be_nested_first_say_what_was_left_out(small_job, sheetwood, nest):
    saw(small_job, sheetwood, nest, CUT_PLATE)

    done = sheetwood("pattern", small_job.folder, "--time", "1s", "--json")

    assert done.code == 0, done.err
    assert [note["text"] for note in done.json["notes"] if note["code"] == "cut-already"]


def test_boards_are_tried_and_shared_out_without_what_is_cut(small_job, sheetwood, nest):
    saw(small_job, sheetwood, nest, CUT_PLATE)
    left = nest()[1]
    assert left == [("fin", 1), ("fin", 2)]

    tried = sheetwood("nest", small_job.folder, "--on", "heavy", "--sweeps", "10", "--json")
    given = sheetwood("assign", small_job.folder, "--time", "2s", "--json")

    assert (tried.code, [(fit["copies"], fit["placed"]) for fit in tried.json["fits"]]) == (0, [(2, 2)])
    assert {one["part"] for best in given.json["best"] for one in best["parts"]} == {"fin"}
    for answer in (tried, given):
        (text,) = [note["text"] for note in answer.json["notes"] if note["code"] == "cut-already"]
        assert text.startswith("cut already: plate 1.")


def test_nobody_offers_the_wood_from_which_a_part_was_cut_before_the_rack_says_so(small_job, sheetwood, nest):
    """Two fins would lie on `small`, were it whole; the plate that takes up all of it is cut."""
    small_job.edit(
        "light,balsa,3 mm,3.0 mm,300 mm,80 mm,8.6 g", "small,balsa,3 mm,3.0 mm,118 mm,44 mm,1.9 g", file="rack.csv"
    )
    assert nest()[0] == 0
    assert on_board(small_job, sheetwood, "small") == ["plate"]
    small_job.edit(*CUT_PLATE)

    tried = sheetwood("nest", small_job.folder, "--on", "small", "--on", "heavy", "--sweeps", "10", "--json").json
    given = sheetwood("assign", small_job.folder, "--time", "2s", "--json").json
    compared = sheetwood("compare", small_job.folder, "fin", "--json").json

    assert [fit["placed"] for fit in tried["fits"]] == [0, 2]
    assert given["best"][0]["parts"] == [
        {"part": "fin", "board": "heavy", "pieces": 2, "mass_g": pytest.approx(1.3, rel=0.1)}
    ]
    assert {row["board"]: row["fits"] for row in compared["boards"]} == {"small": False, "heavy": True}


def on_board(small_job, sheetwood, name):
    boards = sheetwood("nest", small_job.folder, "--sweeps", "10", "--json").json["boards"]
    return [placed["part"] for board in boards if board["name"] == name for placed in board["placements"]]


def test_where_every_part_is_cut_there_is_nothing_to_assign(small_job, sheetwood):
    for part in (CUT_PLATE, CUT_FIN):
        small_job.edit(*part)

    done = sheetwood("assign", small_job.folder)

    assert (done.code, "cut or weighed already" in done.err) == (3, True)
