"""What a board weighs per area and per volume, and how that changes along it, each with its uncertainty."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from nesting.wood.board import Board
from nesting.wood.estimate import UNIFORM_SIGMA, Estimate
from nesting.wood.material import (
    GREATEST_DENSITY_KG_M3,
    LEAST_DENSITY_KG_M3,
    MATERIALS,
    Material,
    find_material,
    need_material,
)
from vectorize.basics.errors import RackError, ToleranceError
from vectorize.basics.notes import Note
from vectorize.basics.units import G_PER_OUNCE, MM_PER_INCH

RESOLVED_AT_SIGMAS = 3.0
"""A gradient is believed when it exceeds its own uncertainty this many times: one step's difference is not enough."""

_UNKNOWN_KIND = Material("other wood", 400.0, 0.5)
"""Spreads for a weighed board of a material without defaults; its default density is never used."""


@dataclass(frozen=True, slots=True)
class Accuracy:
    """How well a builder measures (standard deviations); editable defaults, common practice, no source.

    `nominal_thickness_sigma_mm` stands for a board whose thickness nobody measured, `support_sigma_mm`
    for where a board's end really touches its support in two-end weighing, `carved_sigma_mm` for the thickness of a
    carved panel all over, templates held against it.
    """

    length_sigma_mm: float = 0.5
    width_sigma_mm: float = 0.2
    thickness_sigma_mm: float = 0.03
    nominal_thickness_sigma_mm: float = 0.10
    support_sigma_mm: float = 1.0
    carved_sigma_mm: float = 0.1

    def __post_init__(self) -> None:
        for name in self.__dataclass_fields__:
            if not 0 <= (sigma := getattr(self, name)) < float("inf"):
                raise ToleranceError(f"{name} is {sigma}; it must be zero or more.")


ACCURACY = Accuracy()


@dataclass(frozen=True, slots=True)
class Wood:
    """What every figure of wood rests on: the kinds that are known, by name, and how well boards are measured."""

    materials: Mapping[str, Material] = field(default_factory=lambda: MATERIALS)
    accuracy: Accuracy = ACCURACY


USUAL = Wood()
"""The kinds and the accuracy of a job that says nothing of them."""


@dataclass(frozen=True, slots=True)
class Gradient:
    """How density changes along a board: relative change from the left end to the right end.

    `change` is what is used: zero, with a wide sigma, where nobody weighed both ends or the scale
    cannot resolve it. `measured` is what the readings alone say, None without readings.
    """

    change: Estimate
    measured: Estimate | None
    is_resolved: bool


def material_of(board: Board, materials: Mapping[str, Material] = MATERIALS) -> Material:
    """Return the defaults for a board; a weighed board of an unknown material gets wide ones.

    Raises:
        JobError: The material is unknown and nobody weighed the board.
    """
    if board.known_mass_g is None:
        return need_material(board.material, materials)
    return find_material(board.material, materials) or _UNKNOWN_KIND


def board_area(board: Board, *, accuracy: Accuracy = ACCURACY) -> Estimate:
    """Return the board's face area in mm2; rule errors in length and width act in proportion."""
    area = board.shape.area_mm2
    return Estimate(
        area,
        (
            (f"length of {board.name}", area * accuracy.length_sigma_mm / board.length_mm),
            (f"width of {board.name}", area * accuracy.width_sigma_mm / board.width_mm),
        ),
    )


def board_thickness(board: Board, *, accuracy: Accuracy = ACCURACY) -> Estimate:
    """Return the board's thickness in mm, measured where somebody measured."""
    is_measured = board.measured_thickness_mm is not None
    sigma = accuracy.thickness_sigma_mm if is_measured else accuracy.nominal_thickness_sigma_mm
    return Estimate.measured(board.true_thickness_mm, sigma, f"thickness of {board.name}")


def board_mass(board: Board) -> Estimate | None:
    """Return the board's mass in g from the scale, its rounding as a uniform error; None without a reading."""
    if board.mass_g is not None:
        return Estimate.reading(board.mass_g, board.mass_resolution_g, f"scale reading of {board.name}")
    if board.end_readings_g is not None:
        return _end_reading(board, 0) + _end_reading(board, 1)
    return None


def board_density(board: Board, *, wood: Wood = USUAL) -> Estimate:
    """Return the board's density in kg/m3: mass over length, width and measured thickness.

    Without a reading it is the material's default with its spread.

    Raises:
        RackError: A density that no sheet wood has.
        JobError: No reading, and a material without defaults.
    """
    mass = board_mass(board)
    if mass is None:
        material = material_of(board, wood.materials)
        spread = material.density_kg_m3 * material.density_spread
        return Estimate.measured(material.density_kg_m3, spread, f"default density of {board.name}")
    check_density(board)
    volume = board_area(board, accuracy=wood.accuracy) * board_thickness(board, accuracy=wood.accuracy)
    return mass / volume * 1e6


def areal_density(board: Board, *, wood: Wood = USUAL) -> Estimate:
    """Return g/mm2 of the board's full thickness.

    For a weighed board that is mass over area: thickness cancels, and its error is not in the result.
    """
    mass = board_mass(board)
    if mass is not None:
        check_density(board)
        return mass / board_area(board, accuracy=wood.accuracy)
    density = board_density(board, wood=wood)
    return density * board_thickness(board, accuracy=wood.accuracy) * 1e-6


def board_gradient(board: Board, *, wood: Wood = USUAL) -> Gradient:
    """Return the density gradient from two-end weighing: 6 (R2 - R1) / (R1 + R2).

    With density rho0 (1 + g (x/L - 1/2)) the support at the right end carries rho0 L (1/2 + g/12), the
    left one rho0 L (1/2 - g/12); their difference over their sum is g/6. The board is taken to be
    of even width and bridged from end to end.
    """
    spread = material_of(board, wood.materials).gradient_spread
    source = f"gradient of {board.name}"
    if board.end_readings_g is None:
        return Gradient(Estimate.measured(0.0, spread, source), None, is_resolved=False)
    left, right = _end_reading(board, 0), _end_reading(board, 1)
    # A support that touches d inside the end shifts the share of the load it carries by about d/L.
    supports = Estimate.measured(0.0, 6 * wood.accuracy.support_sigma_mm / board.length_mm, f"supports of {board.name}")
    measured = (right - left) / (left + right) * 6 + supports
    if abs(measured.value) > RESOLVED_AT_SIGMAS * measured.sigma:
        return Gradient(measured, measured, is_resolved=True)
    # Not resolved: use none. The true gradient is then no further off than reading and its sigma allow.
    left_over = min(spread, (measured.value**2 + measured.sigma**2) ** 0.5)
    return Gradient(Estimate.measured(0.0, left_over, source), measured, is_resolved=False)


def _end_reading(board: Board, end: int) -> Estimate:
    assert board.end_readings_g is not None
    side = ("left", "right")[end]
    return Estimate.measured(
        board.end_readings_g[end],
        board.mass_resolution_g * UNIFORM_SIGMA,
        f"{side} end reading of {board.name}",
    )


def nominal_density_kg_m3(board: Board) -> float | None:
    """Return mass over volume with measured thickness, or None where nobody weighed."""
    if board.known_mass_g is None:
        return None
    return board.known_mass_g / (board.shape.area_mm2 * board.true_thickness_mm) * 1e6


def check_density(board: Board, *, where: str = "") -> None:
    """Do nothing when the board's density is one that sheet wood can have.

    Raises:
        RackError: It is not; the likeliest slip is asked about.
    """
    density = nominal_density_kg_m3(board)
    if density is None or LEAST_DENSITY_KG_M3 <= density <= GREATEST_DENSITY_KG_M3:
        return
    raise RackError(
        f"{where}board {board.name} would be {density:,.0f} kg/m³: {_likely_slip(density)} "
        f"Sheet wood lies between {LEAST_DENSITY_KG_M3:g} and {GREATEST_DENSITY_KG_M3:,.0f} kg/m³."
    )


def _likely_slip(density: float) -> str:
    if density > GREATEST_DENSITY_KG_M3:
        is_inches = 60 <= density / MM_PER_INCH**3 <= 900
        return "are the sizes in inches?" if is_inches else "is the mass in grams?"
    return "is the mass in ounces?" if 60 <= density * G_PER_OUNCE <= 900 else "are mass and sizes right?"


def unresolved_note(board: str, gradient: Gradient) -> Note:
    """Return the note that a gradient was measured and is not used."""
    assert gradient.measured is not None
    text = (
        f"board {board}: the two end readings differ by {gradient.measured.value:+.1%} ± {gradient.measured.sigma:.1%} "
        "in density from end to end; the scale does not resolve that, so none is used."
    )
    return Note("gradient-not-resolved", text)
