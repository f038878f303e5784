"""One thing is spelled in one way, whoever is told of it."""

from nesting.desk.rack_view import boards_view
from nesting.job.results import rack_result
from nesting.wood.board import Board
from nesting.wood.density import USUAL

BOARD = Board("B1", "balsa", 3.0, 900.0, 100.0, measured_thickness_mm=3.1, mass_g=41.0, cut="quarter", bow_mm=2.0)


def test_a_board_is_the_same_in_the_results_and_at_the_desk():
    (told,) = rack_result([BOARD])["boards"]
    (shown,) = boards_view([BOARD], units="mm", wood=USUAL)
    shared = told.keys() & shown.keys()
    assert BOARD.as_json().keys() | {"density_kg_m3", "sigma_kg_m3"} == shared
    assert {key: told[key] for key in shared} == {key: shown[key] for key in shared}
