from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from nesting.carve.section import Tabulated, naca4, section_from_coordinates
from vectorize.basics.errors import PartError


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


# What published coordinate files hold besides two numbers a line, on a section of which all is known.

X = (1 - np.cos(np.linspace(0, np.pi, 41))) / 2
UPPER, LOWER = naca4("2412").heights(X)
UPPER[0] = LOWER[0] = 0.0  # the nose; the upper surface of a cambered section bulges before it by a hair


def rows(x, y) -> list[str]:
    return [f"{a:.6f} {b:.6f}" for a, b in zip(x, y, strict=True)]


ONCE_ROUND = [*rows(X[::-1], UPPER[::-1]), *rows(X, LOWER)[1:]]


def check_is_2412(section: Tabulated, *, within: float = 6e-5) -> None:
    x = np.linspace(0.01, 1, 333)  # between the points of the nose an interpolation is off by a little more
    for side, true in zip(section.heights(x), naca4("2412").heights(x), strict=True):
        assert side == pytest.approx(true, abs=within)


def texts(section: Tabulated) -> str:
    return " ".join(note.text for note in section.notes)


@pytest.mark.parametrize(
    "lines",
    [
        ONCE_ROUND,
        [*rows(X[::-1], LOWER[::-1]), *rows(X, UPPER)[1:]],  # over the lower surface first
        [*rows(X, UPPER), *rows(X, LOWER)],  # one after the other, each from the nose
        [*rows(X, LOWER), "", *rows(X, UPPER)],
        [*rows(X[::-1], UPPER[::-1]), *rows(X[::-1], LOWER[::-1])],  # each from the trailing edge
        [*rows(X, UPPER), *rows(X[::-1], LOWER[::-1])[:-1]],  # once round from the nose
        [row.replace(" ", "\t\t") for row in ONCE_ROUND],
        [row.replace(".", ",") for row in ONCE_ROUND],
        [row.replace(" ", ", ") for row in ONCE_ROUND],
        [f"  {float(row.split()[0]):.7E} {float(row.split()[1]):.7E}".replace("E", "D") for row in ONCE_ROUND],
    ],
)
def test_points_are_read_in_every_order_and_hand(lines: list[str]) -> None:
    section = section_from_coordinates("\n".join(["CAMBERED", *lines]))
    assert section.name == "CAMBERED"
    assert not section.notes
    check_is_2412(section)


def test_text_around_the_points_is_left_out_and_told() -> None:
    lines = [
        "CAMBERED", "as measured, to one thousandth", "  -2.0  3.0  -2.5  3.5", *ONCE_ROUND, "",
        "thickness (d): 12,0 %", "p= 12 alfa0= -2.1",
    ]  # fmt: skip
    section = section_from_coordinates("\n".join(lines))
    check_is_2412(section)
    assert "lines 2 to 3, 'as measured, to one thousandth' and so on" in texts(section)
    assert f"lines {len(lines) - 1} to {len(lines)}, 'thickness (d): 12,0 %' and so on" in texts(section)


def test_two_points_at_the_nose_have_it_between_them() -> None:
    # 30 points a side: the first two are mirror images about the chord, at one x, as on a file that leaves out the nose
    x, (upper, lower) = X[1:], naca4("0012").heights(X[1:])
    section = section_from_coordinates("\n".join(["BLUNT", *rows(x[::-1], upper[::-1]), *rows(x, lower)]))
    assert "2 points at x = 0.001541 make the nose" in texts(section)
    far = np.linspace(0.01, 1, 100)
    assert section.heights(far)[0] == pytest.approx(naca4("0012").heights(far)[0], abs=2e-4)
    assert section.nose_radius == pytest.approx(naca4("0012").nose_radius, rel=0.1)


def test_a_surface_that_ends_early_is_carried_on_and_left_open() -> None:
    section = section_from_coordinates("\n".join(["SHORT", *ONCE_ROUND[:-6]]))
    (note,) = section.notes
    assert note.state == "open"
    assert note.text.startswith("the lower surface ends at 94.5503 % of chord")
    x = np.linspace(0.01, 0.94, 99)
    assert section.heights(x)[1] == pytest.approx(naca4("2412").heights(x)[1], abs=6e-5)
    assert section.heights(np.array([1.0]))[1] == pytest.approx(UPPER[-1], abs=1e-6)
    with pytest.raises(PartError, match=r"the lower surface ends at 65\.5 % of chord; give all"):
        section_from_coordinates("\n".join(["SHORT", *ONCE_ROUND[:-16]]))


def test_a_table_from_a_report_has_dots_brackets_and_a_closed_edge() -> None:
    upper, lower = rows(X, UPPER)[::-1], rows(X, LOWER)
    upper[0], lower[-1] = f"1.0000 ({UPPER[-1]:.6f})", f"1.0000 ({LOWER[-1]:.6f})"
    lines = ["CAMBERED", "1.0000 ......", *upper[:-1], "0.0000 ......", *lower, "1.0000 0.0000"]
    section = section_from_coordinates("\n".join(lines))
    check_is_2412(section)
    assert section.trailing_thickness == pytest.approx(naca4("2412").trailing_thickness, abs=1e-5)
    assert texts(section).count("has no ordinate") == 2
    assert "the point (1, 0) only closes the blunt trailing edge" in texts(section)


def test_a_line_among_the_points_that_is_none_is_refused_with_its_number() -> None:
    spoilt = [*ONCE_ROUND[:9], "0.5 zero", *ONCE_ROUND[9:]]
    with pytest.raises(PartError, match=r"line 11 is '0\.5 zero'; it must be two numbers"):
        section_from_coordinates("\n".join(["CAMBERED", *spoilt]))


def test_two_points_at_one_place_of_a_surface_are_not_said_to_turn_back() -> None:
    twice = [*ONCE_ROUND[:9], ONCE_ROUND[8].split()[0] + " 0.01", *ONCE_ROUND[9:]]
    with pytest.raises(PartError, match="the upper surface has two points at x"):
        section_from_coordinates("\n".join(["CAMBERED", *twice]))


FOLDER = os.environ.get("SHEETWOOD_AEROFOILS", "")
"""A folder of published coordinate files (`*.dat`), where there is one."""


@pytest.mark.skipif(not FOLDER, reason="set SHEETWOOD_AEROFOILS to a folder of published coordinate files")
def test_published_files_give_their_own_points_back() -> None:
    for file in sorted(Path(FOLDER).glob("*.dat")):
        section = section_from_coordinates(file.read_text(encoding="latin-1"))
        points = [pair for line in file.read_text(encoding="latin-1").splitlines() if (pair := plain_pair(line))]
        closing = [float(n.text.split("(")[1].split(",")[0]) for n in section.notes if "only closes" in n.text]
        assert len(points) > 30, file.name
        for x, y in points[: -len(closing) or None]:
            nearest = min(abs(side[0] - y) for side in section.heights(np.array([np.clip(x, 0.0, 1.0)])))
            # the tip itself moves by less than this where it lies between points
            assert nearest < (2e-3 if x < 2e-3 else 2e-4), (file.name, x, y)


def plain_pair(line: str) -> tuple[float, float] | None:
    words = line.split()
    try:
        x, y = (float(word) for word in words)
    except ValueError:
        return None
    return x, y
