"""How stiff and strong a board is along its grain: by a bend test, by its sound, or by its density and a trend.

These figures compare boards. They are never an approval to fly.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from nesting.wood.beam import (
    STRENGTH_POWER,
    THICKNESS_POWER,
    Loading,
    hankinson,
    own_weight_sag_mm,
    ply_share,
    ply_stretch_share,
    second_moment_mm4,
    shear_factor,
)
from nesting.wood.board import BendTest, Board
from nesting.wood.density import ACCURACY, USUAL, Accuracy, Wood, board_density, board_thickness, material_of
from nesting.wood.estimate import UNIFORM_SIGMA, Estimate
from nesting.wood.material import Material
from vectorize.basics.notes import Note
from vectorize.basics.units import STANDARD_GRAVITY

CAUTION = (
    "Stiffness and strength here compare boards with each other and are never an approval to fly; control "
    "systems, line loads and pull tests follow the rules of the local flying body."
)
LEAST_SPAN_TO_THICKNESS = 20.0
"""Below, shear is more than a correction (7.5 % at G/E = 0.04)."""
GREATEST_SAG_TO_SPAN = 0.1
"""Beyond, the small-deflection formulas are off by some percent."""
GREATEST_WIDTH_TO_SPAN = 0.5
"""Beyond, a board bends as a plate and seems stiffer than it is."""
_SCATTER = 0.12
"""How far boards of one material scatter about their own trend (relative; common practice, no source)."""
_BELIEVABLE_MPA = (300.0, 30_000.0)


SPEED_M_S = (2000.0, 6300.0)
"""How fast sound runs along the grain of sheet woods, slow plywood to the stiffest spruce: the root of E over density
(E per density of 4 to 40 MPa per kg/m3; Wood Handbook, FPL-GTR-190, tables 5-3 and 5-5, widened)."""
STATIC_SHARE = Estimate.measured(1 / 1.12, 0.05, "static over dynamic modulus")
"""A slow bend test gives less than a tone does; shear is taken out of our bend tests, creep is not.

Sources: Hassan, Horáček & Tippner 2013, BioResources 8(2):1634-1645: longitudinal vibration 22 % above static bending
in pine, shear not taken out; Haines, Leban & Herbé 1996, Wood Science and Technology 30:253-263: longitudinal resonance
above static flexure in clear spruce and fir. The value between nothing and 22 % is chosen; two sigma reach to both.
"""
TONE_SIGMA_SHARE = 0.003
"""How well a tone of several taps is known: what a room shifts it by (one standard deviation)."""
_STRAIGHT_GRAIN_DEG = 3.0


@dataclass(frozen=True, slots=True)
class Modulus:
    """E along the grain in MPa, where it comes from, and what limits it.

    `readings` holds what each test of the board says by itself, in words; `value` weighs them together.
    """

    value: Estimate
    is_measured: bool
    notes: tuple[Note, ...] = ()
    readings: tuple[tuple[str, Estimate], ...] = ()


def board_modulus(board: Board, *, wood: Wood = USUAL) -> Modulus:
    """Return the board's E along its own (face) grain: by bend test and tone, or by the trend of its material.

    Tests are weighed by their certainty. The farther end of the trend's band is taken as two standard deviations away.
    A test that cannot be true is not used; an open note says so.
    """
    readings: list[tuple[str, Estimate]] = []
    notes: list[Note] = []
    if board.bend_test is not None:
        bent = _measured(board, board.bend_test, wood)
        untrue = _why_untrue(board, board.bend_test, bent.value.value)
        if untrue is None:
            readings.append(("bend test", bent.value))
        notes += bent.notes if untrue is None else [_not_used("bend-test-not-used", board, untrue)]
    if board.tone_hz is not None:
        untrue = _why_no_tone(board, board.tone_hz)
        if untrue is None:
            readings.append(("tone", _by_tone(board, board.tone_hz, wood)))
        else:
            notes.append(_not_used("tone-not-used", board, untrue))
    if not readings:
        return replace(_by_trend(board, wood), notes=tuple(notes))
    notes += _difference(board, readings)
    return Modulus(_weighed([value for _, value in readings]), True, tuple(notes), tuple(readings))


def _not_used(code: str, board: Board, why: str) -> Note:
    text = f"board {board.name}: {why}; its stiffness is told without it until that is put right."
    return Note(code, text, "open")


def _weighed(values: list[Estimate]) -> Estimate:
    """Return the mean of one or two readings that is least in doubt, what they share (the thickness) counted.

    Source: best linear unbiased estimate of two correlated readings (Lyons, Gibaut & Clifford 1988,
    doi:10.1016/0168-9002(88)90018-6); a share outside 0 to 1 would be an extrapolation and is not taken.
    """
    first, *rest = values
    for second in rest:
        variance = (first - second).sigma ** 2
        common = (first.sigma**2 + second.sigma**2 - variance) / 2
        share = min(1.0, max(0.0, (second.sigma**2 - common) / variance)) if variance else 0.5
        first = first * share + second * (1 - share)
    return first


def _difference(board: Board, readings: list[tuple[str, Estimate]]) -> tuple[Note, ...]:
    """Return a note where two tests of a board differ by more than three standard deviations of their difference."""
    if len(readings) < 2:
        return ()
    (one, first), (other, second) = readings
    apart = first - second
    if abs(apart.value) <= 3 * apart.sigma:
        return ()
    text = (
        f"board {board.name}: its {one} says E = {first.value / 1000:.2f} GPa, its {other} "
        f"{second.value / 1000:.2f} GPa, which is more than their doubt allows; measure again, the thickness first."
    )
    return (Note("stiffness-readings-differ", text, "open"),)


def modulus_from_tone_mpa(frequency_hz: Estimate, length_mm: Estimate, density_kg_m3: Estimate) -> Estimate:
    """Return the dynamic E along the grain: 4 density L^2 f^2, for a slender bar with free ends in its first mode.

    Source: Fletcher & Rossing 1998, The Physics of Musical Instruments, 2.15 (longitudinal vibration of bars, from
    memory): f = c / 2L with c the root of E over density.
    """
    # Lengths in mm make 1e-6 of metres squared, MPa another 1e-6.
    return density_kg_m3 * length_mm**2 * frequency_hz**2 * 4e-12


def _by_tone(board: Board, tone_hz: float, wood: Wood) -> Estimate:
    """Return E in bending, as a bend test would give it, from the tone along the grain.

    A sheet of plies is stretched by all of them alike and bent by the outer ones most, so the two differ.
    """
    material = material_of(board, wood.materials)
    tone = Estimate.measured(tone_hz, TONE_SIGMA_SHARE * tone_hz, f"tone of {board.name}")
    length = Estimate.measured(board.length_mm, wood.accuracy.length_sigma_mm, f"length of {board.name}")
    dynamic = modulus_from_tone_mpa(tone, length, board_density(board, wood=wood))
    bent_over_stretched = ply_share(material.plies, material.across_ratio) / ply_stretch_share(
        material.plies, material.across_ratio
    )
    return dynamic * STATIC_SHARE * bent_over_stretched


def _why_no_tone(board: Board, tone_hz: float) -> str | None:
    """Return in words why a tone cannot be the board's along its grain, with what to look at; None where it can."""
    speed = 2 * board.length_mm / 1000 * tone_hz
    if not SPEED_M_S[0] <= speed <= SPEED_M_S[1]:
        low, high = (round(limit * 1000 / (2 * board.length_mm), -1) for limit in SPEED_M_S)
        return (
            f"a tone of {tone_hz:g} Hz is not that of a board of its length, which sounds at {low:.0f} to {high:.0f} Hz"
        )
    if abs(board.grain_deg) > _STRAIGHT_GRAIN_DEG:
        return "its grain does not run along its length, so its tone does not tell the stiffness along the grain"
    return None


def untrue_tests(boards: Iterable[Board], *, wood: Wood = USUAL) -> tuple[Note, ...]:
    """Return a note for each test of a board that cannot be true and is not used."""
    found = (board_modulus(board, wood=wood) for board in boards if board.bend_test or board.tone_hz)
    return tuple(note for modulus in found for note in modulus.notes if note.code.endswith("-not-used"))


def _why_untrue(board: Board, test: BendTest, modulus_mpa: float) -> str | None:
    """Return in words why a bend test cannot be what was measured, with what to look at; None where it can."""
    if test.span_mm > board.length_mm:
        return f"a bend test over {test.span_mm:g} mm needs a board at least as long, and it has {board.length_mm:g} mm"
    if not _BELIEVABLE_MPA[0] <= modulus_mpa <= _BELIEVABLE_MPA[1]:
        return (
            f"its bend test gives E = {modulus_mpa / 1000:,.2f} GPa, which no sheet wood has: check its span, load and "
            "sag, and their units"
        )
    return None


def _by_trend(board: Board, wood: Wood) -> Modulus:
    material = material_of(board, wood.materials)
    density = board_density(board, wood=wood)
    trend = _trend(board, material, material.modulus_per_density, material.modulus_band, "stiffness")
    return Modulus(density * trend * ply_share(material.plies, material.across_ratio), is_measured=False)


def board_strength(board: Board, *, wood: Wood = USUAL) -> Estimate:
    """Return the board's bending strength along the grain in MPa by the trend of its material."""
    material = material_of(board, wood.materials)
    density = board_density(board, wood=wood)
    trend = _trend(board, material, material.strength_per_density, material.strength_band, "strength")
    return density * trend * ply_share(material.plies, material.across_ratio)


def _trend(board: Board, material: Material, per_density: float, band: tuple[float, float], what: str) -> Estimate:
    """Return E or strength over density: part of the band is common to the material, the rest the board's own."""
    half = max(band[1] - per_density, per_density - band[0]) / 2
    own = min(_SCATTER * per_density, half)
    common = math.sqrt(half * half - own * own)
    return Estimate(
        per_density, ((f"{what} trend of {material.name}", common), (f"{what} of {board.name} about its trend", own))
    )


def run_out_factor(material: Material, angle_deg: float) -> float:
    """Return stiffness at an angle to the grain over stiffness along it (Hankinson, power 2)."""
    along = ply_share(material.plies, material.across_ratio)
    across = ply_share(material.plies, material.across_ratio, is_along_face=False) if material.plies > 1 else None
    return hankinson(1.0, material.across_ratio if across is None else across / along, angle_deg)


def part_stiffness(board: Board, modulus: Estimate, loading: Loading, *, accuracy: Accuracy = ACCURACY) -> Estimate:
    """Return E t^3 flatwise or E t edgewise: what a part of given outline gets from this board, to compare."""
    return modulus * board_thickness(board, accuracy=accuracy) ** THICKNESS_POWER[loading]


def part_strength(board: Board, strength: Estimate, loading: Loading, *, accuracy: Accuracy = ACCURACY) -> Estimate:
    """Return strength x t^2 flatwise or strength x t edgewise, to compare."""
    return strength * board_thickness(board, accuracy=accuracy) ** STRENGTH_POWER[loading]


def bend_test_sag_mm(
    board: Board, test: BendTest, modulus_mpa: float, *, shear_ratio: float, density_kg_m3: float
) -> float:
    """Return the sag that a board of this E shows in a bend test: the forward model of `board_modulus`."""
    bending, moment = _sag_times_modulus(board, test, shear_ratio, density_kg_m3), _moment(board)
    return bending / (modulus_mpa * moment)


def _moment(board: Board) -> float:
    return second_moment_mm4(board.width_mm, board.true_thickness_mm)


def _sag_times_modulus(board: Board, test: BendTest, shear_ratio: float, density_kg_m3: float) -> float:
    """Return sag x E x I in N mm3: load, and own weight where the sag was measured from straight."""
    load_n = test.load_g * STANDARD_GRAVITY / 1000
    thickness = board.true_thickness_mm
    loaded = load_n * test.span_mm**3 / 48 * shear_factor(thickness, test.span_mm, shear_ratio)
    if not test.is_from_straight:
        return loaded
    weight_n_per_mm = density_kg_m3 * 1e-9 * board.width_mm * thickness * STANDARD_GRAVITY
    overhang = max(0.0, (board.length_mm - test.span_mm) / 2)
    own = own_weight_sag_mm(weight_n_per_mm, test.span_mm, 1.0, 1.0, overhang_mm=overhang)
    return loaded + own * shear_factor(thickness, test.span_mm, shear_ratio, is_own_weight=True)


def _measured(board: Board, test: BendTest, wood: Wood) -> Modulus:
    density = board_density(board, wood=wood)
    material = material_of(board, wood.materials)
    numerator = _sag_times_modulus(board, test, material.shear_ratio, density.value)
    value = numerator / (_moment(board) * test.sag_mm)
    thickness = board_thickness(board, accuracy=wood.accuracy)
    doubts = (
        (f"sag of {board.name}", -value * test.sag_step_mm * UNIFORM_SIGMA / test.sag_mm),
        (f"span of {board.name}", 3 * value * wood.accuracy.length_sigma_mm / test.span_mm),
        (f"width of {board.name}", -value * wood.accuracy.width_sigma_mm / board.width_mm),
        (f"thickness of {board.name}", -3 * value * thickness.sigma / thickness.value),
    )
    return Modulus(Estimate(value, doubts), is_measured=True, notes=_limits(board, test))


def _limits(board: Board, test: BendTest) -> tuple[Note, ...]:
    """Return a note for each limit of the formulas that the test oversteps."""
    found = []
    slender = test.span_mm / board.true_thickness_mm
    if slender < LEAST_SPAN_TO_THICKNESS:
        found.append(f"the span is only {slender:.0f} thicknesses; use at least {LEAST_SPAN_TO_THICKNESS:.0f}")
    if test.sag_mm > GREATEST_SAG_TO_SPAN * test.span_mm:
        found.append(
            f"the sag is {test.sag_mm / test.span_mm:.0%} of the span; use less load, so that it stays below 10%"
        )
    if board.width_mm > GREATEST_WIDTH_TO_SPAN * test.span_mm:
        found.append("the board is wide for its span and bends as a plate; use a longer span")
    if test.sag_mm < 5 * test.sag_step_mm:
        found.append(f"a sag of {test.sag_mm:g} mm is read only to {test.sag_step_mm:g} mm; use more load")
    if test.is_from_straight and board.bow_mm > 0:
        found.append("the board has a bow, which a sag from a straight edge includes; read what the load alone adds")
    return tuple(Note("bend-test-limit", f"board {board.name}: {text}.", "open") for text in found)
