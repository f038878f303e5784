import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.balance.weights import WeightTable, weigh_parts
from nesting.place.layout import BoardLayout, Layout, Placement, Proof
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.basics.units import G_PER_OUNCE, KG_M3_PER_LB_FT3, MM_PER_INCH
from vectorize.shapes.outline import Outline, Pose

LIGHT = Board("L", "balsa", 3.0, 1000, 100, mass_g=36.0)
HEAVY = Board("H", "balsa", 3.0, 1000, 100, mass_g=60.0)


def strip(name: str = "rib", length: float = 200.0, width: float = 50.0, thickness: float = 3.0, **more) -> Part:
    return Part(name, Outline.rectangle(0, 0, length, width), "balsa", thickness, **more)


def masses(table: WeightTable) -> dict[str, float]:
    return {weight.board: weight.mass_g for weight in table.weights}


def test_a_part_weighs_its_share_of_each_board():
    # A tenth of the board's face: a tenth of its mass.
    assert masses(weigh_parts([strip()], [LIGHT, HEAVY])) == pytest.approx({"L": 3.6, "H": 6.0})


def test_cut_outs_weigh_nothing():
    ring = Outline.from_points([(0, 0), (200, 0), (200, 50), (0, 50)], [[(50, 10), (50, 40), (150, 40), (150, 10)]])
    table = weigh_parts([dataclasses.replace(strip(), outline=ring)], [LIGHT])
    assert masses(table)["L"] == pytest.approx(36.0 * (200 * 50 - 100 * 30) / 1e5)


def test_twenty_four_cubic_inches_of_wood_three_point_six_pounds_heavier_weigh_four_fifths_of_an_ounce_more():
    # Derived: 24 in3 x 3.6 lb/ft3 / 1728 in3/ft3 = 0.05 lb = 0.8 oz, whatever the lighter board weighs.
    inch = MM_PER_INCH
    part = Part("side", Outline.rectangle(0, 0, 24 * inch, 4 * inch), "balsa", inch / 4)

    def board(name: str, pcf: float) -> Board:
        volume_mm3 = 36 * 4 * 0.25 * inch**3
        return Board(name, "balsa", inch / 4, 36 * inch, 4 * inch, mass_g=pcf * KG_M3_PER_LB_FT3 * volume_mm3 * 1e-6)

    found = masses(weigh_parts([part], [board("light", 8.0), board("heavy", 11.6)]))
    assert (found["heavy"] - found["light"]) / G_PER_OUNCE == pytest.approx(0.8, rel=1e-9)


def test_the_lightest_match_is_chosen_and_the_others_say_how_much_heavier():
    table = weigh_parts([strip()], [HEAVY, LIGHT])
    assert [weight.board for weight in table.chosen] == ["L"]
    assert table.of("rib")[0].reason == "+2.40 g against L"


def test_a_tie_and_a_nesting_decide_before_weight_does():
    assert weigh_parts([strip(board="H")], [HEAVY, LIGHT]).chosen[0].reason == "tied by the job"
    assert weigh_parts([strip(boards=("H",))], [HEAVY, LIGHT]).chosen[0].reason == "lightest that will do"
    assert weigh_parts([strip(boards=("H",))], [HEAVY, LIGHT]).chosen[0].board == "H"
    picked = weigh_parts([strip(count=2)], [HEAVY, LIGHT], chosen={("rib", 1): "L", ("rib", 2): "H"}).chosen
    assert [(weight.copy, weight.board, weight.reason) for weight in picked] == [
        (1, "L", "as nested"),
        (2, "H", "as nested"),
    ]


def test_a_board_a_little_off_in_thickness_is_offered_and_not_chosen():
    near = Board("N", "balsa", 3.175, 1000, 100, mass_g=40.0)
    off = Board("O", "balsa", 3.4, 1000, 100, mass_g=40.0)
    table = weigh_parts([strip()], [near, off])
    assert [(w.board, w.is_substitute, w.is_chosen) for w in table.weights] == [("N", True, False)]
    assert "substitute for 3.0 mm" in table.weights[0].reason
    tied = weigh_parts([strip(board="N")], [near])
    assert tied.chosen[0].board == "N"


def test_a_match_ends_at_fifteen_hundredths():
    table = weigh_parts([strip(thickness=3.15)], [LIGHT])
    assert table.chosen[0].board == "L"
    assert not table.weights[0].is_substitute


def test_a_thickness_that_no_board_has_is_an_open_note_naming_what_there_is():
    table = weigh_parts([strip("deck", thickness=5.0), strip()], [LIGHT, HEAVY])
    (note,) = table.notes
    assert (note.state, note.part) == ("open", "deck")
    assert "balsa of 5.0 mm" in note.text
    assert "only in 3.0 mm" in note.text
    assert {weight.part for weight in table.weights} == {"rib"}


def test_a_tie_to_a_board_that_cannot_be_is_told():
    thick = Board("T", "balsa", 10.0, 1000, 100, mass_g=120.0)
    assert "'X', which the rack does not hold; it holds L" in weigh_parts([strip(board="X")], [LIGHT]).notes[0].text
    assert "is balsa of 10.0 mm" in weigh_parts([strip(board="T")], [LIGHT, thick]).notes[0].text


def test_a_board_without_reading_says_so_at_every_weight():
    table = weigh_parts([strip()], [dataclasses.replace(LIGHT, mass_g=None)])
    assert table.weights[0].uses_default_density
    assert "default density" in table.notes[0].text
    assert table.weights[0].sigma_g > 0.3 * table.weights[0].mass_g


def test_a_board_of_impossible_density_spoils_only_itself():
    table = weigh_parts([strip()], [LIGHT, dataclasses.replace(HEAVY, mass_g=6000.0)])
    assert [weight.board for weight in table.weights] == ["L"]
    assert [note.state for note in table.notes] == ["open"]


def test_pieces_of_one_board_share_its_error_so_that_sigmas_add_up():
    coarse = dataclasses.replace(LIGHT, mass_resolution_g=5.0)
    table = weigh_parts([strip(count=5)], [coarse])
    scale_only = 0.5 * 5.0 / 12**0.5  # five tenths of the board
    assert table.total().sigma > scale_only
    assert table.total().value == pytest.approx(18.0)


def test_a_reading_of_the_finished_piece_replaces_the_estimate():
    (weight,) = weigh_parts([strip(weighed_g=3.9)], [LIGHT], weighed_step_g=0.1).weights
    assert weight.difference_g == pytest.approx(0.3)
    assert weight.current.value == 3.9
    assert weight.current.sigma == pytest.approx(0.1 / 12**0.5)


def laid_at(x_mm: float, board: str = "G") -> Layout:
    placed = Placement("rib", 1, Pose(x_mm, 10.0))
    return Layout((BoardLayout(board, (placed,), 0.1, 300.0),), (), Proof((), float("inf")))


@pytest.mark.parametrize("gradient", [-0.25, 0.15, 0.3])
@pytest.mark.parametrize("x_mm", [0.0, 400.0, 800.0])
def test_a_part_weighs_what_its_place_on_the_board_weighs(gradient, x_mm):
    # The truth by integrating the density that the board was made with, midpoint rule over the strip.
    mass, steps = 150.0, 2000
    density = [mass / 1000 * (1 + gradient * ((x_mm + 200 * (i + 0.5) / steps) / 1000 - 0.5)) for i in range(steps)]
    truth = sum(density) * 200 / steps * (50 / 100)
    ends = (mass * (0.5 - gradient / 12), mass * (0.5 + gradient / 12))
    board = Board(
        "G", "balsa", 10.0, 1000, 100, mass_resolution_g=0.01, end_readings_g=tuple(round(r, 2) for r in ends)
    )
    (weight,) = weigh_parts([strip(thickness=10.0)], [board], layout=laid_at(x_mm)).weights
    assert weight.mass_g == pytest.approx(truth, rel=0.005)  # what two-end weighing is asked to reach


def test_a_gradient_that_the_scale_cannot_resolve_is_told_and_not_used():
    board = Board("G", "balsa", 3.0, 1000, 100, mass_resolution_g=1.0, end_readings_g=(10.0, 11.0))
    table = weigh_parts([strip()], [board], layout=laid_at(0.0))
    assert "does not resolve" in table.notes[0].text
    assert table.weights[0].mass_g == pytest.approx(2.1)


def test_a_carved_part_weighs_the_share_that_is_left_of_its_blank():
    assert masses(weigh_parts([strip(finished_share=0.6)], [LIGHT]))["L"] == pytest.approx(0.6 * 3.6)


@given(st.floats(0.1, 3.0), st.floats(-500, 500), st.floats(-500, 500))
def test_weight_goes_with_area_and_not_with_where_the_part_lies_on_the_plan(scale, dx, dy):
    whole = masses(weigh_parts([strip()], [LIGHT]))["L"]
    moved = Part("rib", Outline.rectangle(dx, dy, dx + 200 * scale, dy + 50), "balsa", 3.0)
    assert masses(weigh_parts([moved], [LIGHT]))["L"] == pytest.approx(whole * scale, rel=1e-9)


def test_the_json_is_as_documented():
    data = weigh_parts([strip()], [LIGHT]).as_json()
    assert set(data) >= {"weights", "notes"}
    assert set(data["weights"][0]) >= {"part", "copy", "board", "mass_g", "sigma_g", "chosen"}


@given(
    st.permutations([LIGHT, HEAVY, dataclasses.replace(LIGHT, name="M", mass_g=45.0)]), st.permutations(["a", "b", "c"])
)
def test_the_order_of_boards_and_parts_changes_no_mass_and_no_choice(boards, names):
    lengths = {"a": 120.0, "b": 200.0, "c": 90.0}
    table = weigh_parts([strip(name, lengths[name]) for name in names], boards)
    found = {(w.part, w.board): w.mass_g for w in table.weights}
    assert found["b", "M"] == pytest.approx(45.0 * 200 * 50 / 1e5)
    assert {w.part: w.board for w in table.chosen} == {"a": "L", "b": "L", "c": "L"}
    assert table.total().value == pytest.approx(36.0 * 410 * 50 / 1e5)


def test_a_carved_solid_weighs_its_volume_from_a_board_of_any_thickness():
    """Volume times density, by hand: 100 x 50 mm, 0.6 of an 8 mm blank, from boards of 8.0 and of 8.4 mm."""
    panel = Part("wing", Outline.rectangle(0, 0, 100, 50), "balsa", 8.0, finished_share=0.6, carved_blank_mm=8.0)
    boards = [
        Board(name, "balsa", 8.0, 1000, 100, measured_thickness_mm=thick, mass_g=thick * 1e5 * 140e-6)
        for name, thick in (("true", 8.0), ("thick", 8.4))
    ]
    volume_mm3 = 100 * 50 * 8.0 * 0.6
    rows = {row.board: row for row in weigh_parts([panel], boards).weights}
    for row in rows.values():
        assert row.mass_g == pytest.approx(volume_mm3 * 140e-6)
    # As sawn each weighs what its board does; the measured thickness is now among the doubts.
    assert rows["thick"].sawn_g == pytest.approx(100 * 50 * 8.4 * 140e-6)
    assert dict(rows["thick"].estimate.doubts)["thickness of thick"] == pytest.approx(
        -rows["thick"].mass_g * 0.03 / 8.4
    )
    bevelled = dataclasses.replace(panel, carved_blank_mm=None)
    assert weigh_parts([bevelled], boards).of("wing")[1].mass_g == pytest.approx(100 * 50 * 8.4 * 0.6 * 140e-6)


def test_areas_are_reckoned_once_however_many_copies_there_are(monkeypatch):
    reckoned = []
    real = Outline.area_mm2
    monkeypatch.setattr(Outline, "area_mm2", property(lambda outline: reckoned.append(1) or real.fget(outline)))

    def reckonings(count):
        reckoned.clear()
        table = weigh_parts([strip(length=10.0, width=10.0, count=count)], [LIGHT, HEAVY])
        assert len(table.weights) == 2 * count
        return len(reckoned)

    assert 0 < reckonings(1) == reckonings(40)
