import numpy as np
import pytest

from nesting.section import naca4, section_from_coordinates
from vectorize.errors import PartError


def _file(digits: str, *, once_round: bool, count: int = 41) -> str:
    section = naca4(digits)
    x = (1 - np.cos(np.linspace(0, np.pi, count))) / 2
    upper, lower = section.heights(x)
    if once_round:
        rows = [*zip(x[::-1], upper[::-1], strict=True), *list(zip(x, lower, strict=True))[1:]]
        head = "AS DRAWN\n"
    else:
        rows = [*zip(x, upper, strict=True), *zip(x, lower, strict=True)]
        head = f"AS DRAWN\n {count}. {count}.\n\n"
    return head + "\n".join(f"{a:.6f} {b:.6f}" for a, b in rows)


@pytest.mark.parametrize("once_round", [True, False])
def test_both_orders_of_a_coordinate_file_give_the_section_back(once_round: bool) -> None:
    section = section_from_coordinates(_file("0012", once_round=once_round))
    x = np.linspace(0.001, 1, 333)
    assert section.name == "AS DRAWN"
    assert section.heights(x)[0] == pytest.approx(naca4("0012").heights(x)[0], abs=5e-5)
    assert section.area == pytest.approx(naca4("0012").area, rel=1e-3)


def test_chord_is_scaled_to_one_and_the_nose_moved_home() -> None:
    text = "wide\n" + "\n".join(
        f"{10 + 150 * float(a)} {5 + 150 * float(b)}"
        for a, b in (line.split() for line in _file("0012", once_round=True).splitlines()[1:])
    )
    x = np.linspace(0.01, 1, 50)
    assert section_from_coordinates(text).heights(x)[0] == pytest.approx(naca4("0012").heights(x)[0], abs=5e-5)


def test_nose_radius_is_near_the_true_one() -> None:
    section = section_from_coordinates(_file("0012", once_round=True, count=81))
    assert section.nose_radius == pytest.approx(naca4("0012").nose_radius, rel=0.1)  # by three points, so a tenth


def test_thickness_and_trailing_edge_can_be_set() -> None:
    section = section_from_coordinates(_file("2412", once_round=True)).resized(thickness=0.10, trailing=0.01)
    assert section.trailing_thickness == pytest.approx(0.01)
    assert section.resized(trailing=None).name == "AS DRAWN"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("name\n0 0\n0.5 0.05\n1 0", "3 points found"),
        ("name\n1 0\n0.5 zero\n0 0", "line 3 is '0.5 zero'"),
        ("name\n1 0\n0.5 nan\n0 0", "must be finite"),
        ("name\n" + "\n".join(f"{i / 20} {0.05}" for i in range(21)), "only one surface"),
        ("name\n1e308 0\n" + "3 1\n" * 4 + "-1e308 0\n" + "3 -1\n" * 4 + "1e308 0", "do not run from a nose"),
        (_file("0012", once_round=True).rsplit("\n", 2)[0] + "\n0.999 -1e308\n1 0", "as thick as"),
    ],
)
def test_a_file_that_is_no_section_is_refused(text: str, words: str) -> None:
    with pytest.raises(PartError, match=words):
        section_from_coordinates(text)


def test_a_surface_that_turns_back_is_refused_with_its_place() -> None:
    lines = _file("0012", once_round=True).splitlines()
    lines[10], lines[12] = lines[12], lines[10]
    with pytest.raises(PartError, match="turns back at x"):
        section_from_coordinates("\n".join(lines))
