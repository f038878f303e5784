import pytest

from nesting.wood.board import Board
from nesting.wood.density import Accuracy, areal_density, board_density, board_gradient
from vectorize.basics.errors import JobError, RackError, ToleranceError
from vectorize.basics.units import G_PER_OUNCE, KG_M3_PER_LB_FT3, MM_PER_INCH

INCH = MM_PER_INCH
EXACT_REL = 1e-9  # tables derived from exact unit factors

SHEET_OZ = {  # ounces of a 3 x 36 in sheet at 4, 6, 8, 10, 12, 16 lb/ft3; derived: N = rho L w t / 108
    "1/32": (0.125, 0.1875, 0.25, 0.3125, 0.375, 0.5),
    "1/16": (0.25, 0.375, 0.5, 0.625, 0.75, 1.0),
    "3/32": (0.375, 0.5625, 0.75, 0.9375, 1.125, 1.5),
    "1/8": (0.5, 0.75, 1.0, 1.25, 1.5, 2.0),
    "3/16": (0.75, 1.125, 1.5, 1.875, 2.25, 3.0),
    "1/4": (1.0, 1.5, 2.0, 2.5, 3.0, 4.0),
    "3/8": (1.5, 2.25, 3.0, 3.75, 4.5, 6.0),
    "1/2": (2.0, 3.0, 4.0, 5.0, 6.0, 8.0),
}  # 1/32 x 3 x 36 at 6 lb/ft3 = 0.1875 oz is also given by a model magazine's questions and answers (no. 93)
SHEET_CASES = [
    (thickness, density, ounces)
    for thickness, row in SHEET_OZ.items()
    for density, ounces in zip((4, 6, 8, 10, 12, 16), row, strict=True)
]


def inches(fraction: str) -> float:
    above, _, below = fraction.partition("/")
    return int(above) / int(below or 1) * INCH


def sheet(thickness: str, ounces: float, *, length_in: float = 36.0, width_in: float = 3.0) -> Board:
    return Board("B1", "balsa", inches(thickness), length_in * INCH, width_in * INCH, mass_g=ounces * G_PER_OUNCE)


def test_an_eighth_by_three_by_thirty_six_inch_sheet_of_one_and_a_quarter_ounces_is_ten_pounds_a_cubic_foot():
    # Worked by hand: 1/8 x 3 x 36 in = 13.5 in3 = 13.5/1728 ft3 = 1/128 ft3.
    # 1.25 oz = 1.25/16 lb = 5/64 lb. 5/64 lb x 128 /ft3 = 10 lb/ft3, exact.
    density = board_density(sheet("1/8", 1.25))
    assert density.value / KG_M3_PER_LB_FT3 == pytest.approx(10.0, rel=1e-12)
    assert density.value == pytest.approx(160.18463373960138, rel=1e-12)  # 10 x 0.45359237/0.3048**3 kg/m3


@pytest.mark.parametrize(("thickness", "pcf", "ounces"), SHEET_CASES)
def test_the_sheet_weight_table_is_met(thickness, pcf, ounces):
    assert board_density(sheet(thickness, ounces)).value / KG_M3_PER_LB_FT3 == pytest.approx(pcf, rel=EXACT_REL)


@pytest.mark.parametrize(
    ("thickness", "three_wide", "four_wide"),
    [
        ("1/32", 32, 24),
        ("1/20", 20, 15),
        ("1/16", 16, 12),
        ("3/32", 32 / 3, 8),
        ("1/8", 8, 6),
        ("1/4", 4, 3),
        ("1/2", 2, 1.5),
    ],
)
def test_pounds_per_cubic_foot_per_ounce_of_a_sheet(thickness, three_wide, four_wide):
    # Derived: 108 / (L w t) with inches and ounces. Two ounces, so that the lightest sheet is still wood.
    for width, pcf_per_oz in ((3, three_wide), (4, four_wide)):
        found = board_density(sheet(thickness, 2.0, width_in=width)).value / KG_M3_PER_LB_FT3
        assert found == pytest.approx(2 * pcf_per_oz, rel=1e-6)


@pytest.mark.parametrize(
    ("thickness", "ounces", "pcf", "size_in"),
    [  # one builder's weighings of real sheets (read on a model building page); densities derived from nominal sizes
        ("1/8", 15.6, 23.4, (48, 12)),
        ("1/32", 7.9, 47.4, (48, 12)),
        ("1/64", 5.0, 60.0, (48, 12)),
        ("1/16", 1.6, 6.4, (36, 12)),
    ],
)
def test_weighed_sheets_of_a_builder(thickness, ounces, pcf, size_in):
    board = sheet(thickness, ounces, length_in=size_in[0], width_in=size_in[1])
    assert board_density(board).value / KG_M3_PER_LB_FT3 == pytest.approx(pcf, rel=EXACT_REL)


@pytest.mark.parametrize(
    ("thickness", "mass", "density"), [(1.5, 24.0, 160.0), (3.0, 36.0, 120.0), (5.0, 100.0, 200.0)]
)
def test_metric_sheets(thickness, mass, density):
    # Derived: mass [g] = rho [kg/m3] x L x w x t [mm] x 1e-6, for 1000 x 100 mm.
    assert board_density(Board("B1", "balsa", thickness, 1000, 100, mass_g=mass)).value == pytest.approx(density)


def test_the_measured_thickness_counts_and_not_the_nominal_one():
    board = Board("B1", "balsa", 3.0, 1000, 100, measured_thickness_mm=3.2, mass_g=36.0)
    assert board_density(board).value == pytest.approx(36.0 / (1000 * 100 * 3.2) * 1e6)


def test_thickness_cancels_in_the_weight_per_area():
    thin = Board("B1", "balsa", 3.0, 1000, 100, measured_thickness_mm=2.8, mass_g=36.0)
    thick = Board("B1", "balsa", 3.0, 1000, 100, measured_thickness_mm=3.2, mass_g=36.0)
    assert areal_density(thin) == areal_density(thick)
    assert not any("thickness" in source for source, _ in areal_density(thin).doubts)
    assert any("thickness" in source for source, _ in board_density(thin).doubts)


def test_a_board_that_nobody_weighed_has_the_default_density_with_its_spread():
    density = board_density(Board("B1", "balsa", 3.0, 1000, 100))
    assert density.relative_sigma == pytest.approx(0.30)  # the spread that was asked for, not a fact of nature
    assert areal_density(Board("B1", "balsa", 3.0, 1000, 100)).relative_sigma > 0.30


def test_an_unknown_material_needs_a_reading():
    with pytest.raises(JobError, match=r"'oak' has no defaults.*weigh its boards"):
        board_density(Board("B1", "oak", 3.0, 1000, 100))
    assert board_density(Board("B1", "oak", 3.0, 1000, 100, mass_g=210.0)).value == pytest.approx(700.0)


@pytest.mark.parametrize("mass", [11.9, 421.0])
def test_a_density_that_no_wood_has_is_refused(mass):
    with pytest.raises(RackError, match="board B1 would be"):
        board_density(Board("B1", "balsa", 3.0, 1000, 100, mass_g=mass))


def test_a_negative_accuracy_is_refused():
    with pytest.raises(ToleranceError):
        Accuracy(length_sigma_mm=-1.0)


def ends_of(relative_gradient: float, mass_g: float, step_g: float) -> tuple[float, float]:
    """Readings of a board whose density runs linearly; supports carry rho0 L (1/2 -+ g/12)."""
    left, right = mass_g * (0.5 - relative_gradient / 12), mass_g * (0.5 + relative_gradient / 12)
    return round(left / step_g) * step_g, round(right / step_g) * step_g


@pytest.mark.parametrize("truth", [-0.3, 0.12, 0.3])
def test_two_end_weighing_finds_the_gradient_that_the_board_was_made_with(truth):
    board = Board("B1", "balsa", 10.0, 1000, 100, mass_resolution_g=0.01, end_readings_g=ends_of(truth, 150.0, 0.01))
    gradient = board_gradient(board)
    assert gradient.is_resolved
    assert abs(gradient.change.value - truth) < 3 * gradient.change.sigma


def test_a_light_board_on_a_coarse_scale_is_not_resolved():
    board = Board("B1", "balsa", 3.0, 1000, 100, mass_resolution_g=1.0, end_readings_g=ends_of(0.2, 20.0, 1.0))
    gradient = board_gradient(board)
    assert not gradient.is_resolved
    assert gradient.change.value == 0.0
    assert gradient.measured is not None


def test_without_end_readings_the_gradient_is_unknown_and_not_zero():
    gradient = board_gradient(Board("B1", "balsa", 3.0, 1000, 100, mass_g=36.0))
    assert gradient.change.value == 0.0
    assert gradient.change.sigma > 0.0
