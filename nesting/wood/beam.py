"""Bending of boards and strips: small deflections, even rectangular section, N, mm and MPa throughout.

Sources: centre load, E and bending stress as in Record, The Mechanical Properties of Wood, 'Stiffness of
beams'; cantilever and own weight from standard beam tables; the shear terms by the energy method for a
rectangle (1.2 is its shear coefficient); Hankinson's equation; plies by the sum of their own stiffness
(Wood Handbook; US Forest Service Note FPL-059).
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Literal

from vectorize.basics.errors import CallError

Loading = Literal["flatwise", "edgewise"]
"""`flatwise`: bent across its thickness, as wing or tail sheet; `edgewise`: in its plane, as a profile fuselage."""

THICKNESS_POWER = {"flatwise": 3, "edgewise": 1}
"""Stiffness of a part of given outline goes as E t^3 flatwise and as E t edgewise."""
STRENGTH_POWER = {"flatwise": 2, "edgewise": 1}
"""Bending moment at a given stress goes as t^2 flatwise and as t edgewise."""


def second_moment_mm4(width_mm: float, height_mm: float) -> float:
    """Return the second moment of area of a rectangle bent across its height."""
    return width_mm * height_mm**3 / 12


def centre_load_sag_mm(load_n: float, span_mm: float, modulus_mpa: float, moment_mm4: float) -> float:
    """Return the sag at mid-span of a beam on two supports under a load at mid-span, shear left out."""
    return load_n * span_mm**3 / (48 * modulus_mpa * moment_mm4)


def centre_load_stress_mpa(load_n: float, span_mm: float, width_mm: float, height_mm: float) -> float:
    """Return the greatest bending stress under a load at mid-span."""
    return 3 * load_n * span_mm / (2 * width_mm * height_mm**2)


def cantilever_sag_mm(load_n: float, length_mm: float, modulus_mpa: float, moment_mm4: float) -> float:
    """Return the sag at the free end under a load there, shear left out."""
    return load_n * length_mm**3 / (3 * modulus_mpa * moment_mm4)


def cantilever_stress_mpa(load_n: float, length_mm: float, width_mm: float, height_mm: float) -> float:
    """Return the greatest bending stress, at the clamp, under a load at the free end."""
    return 6 * load_n * length_mm / (width_mm * height_mm**2)


def own_weight_sag_mm(
    weight_n_per_mm: float, span_mm: float, modulus_mpa: float, moment_mm4: float, *, overhang_mm: float = 0.0
) -> float:
    """Return the sag at mid-span under the beam's own weight; equal overhangs beyond both supports lift it."""
    hanging = 5 * weight_n_per_mm * span_mm**4 / 384
    lifting = weight_n_per_mm * overhang_mm**2 * span_mm**2 / 16
    return (hanging - lifting) / (modulus_mpa * moment_mm4)


def shear_factor(height_mm: float, span_mm: float, shear_ratio: float, *, is_own_weight: bool = False) -> float:
    """Return how many times more a beam sags than bending alone says; `shear_ratio` is G over E.

    1 + 1.2 (E/G) (h/L)^2 under a centre load, 1 + 0.96 (E/G) (h/L)^2 under its own weight.
    """
    coefficient = 0.96 if is_own_weight else 1.2
    return 1 + coefficient / shear_ratio * (height_mm / span_mm) ** 2


def modulus_from_sag_mpa(load_n: float, span_mm: float, width_mm: float, height_mm: float, sag_mm: float) -> float:
    """Return E from the sag under a load at mid-span, shear left out: P L^3 / (4 b h^3 D)."""
    return load_n * span_mm**3 / (4 * width_mm * height_mm**3 * sag_mm)


def torsion_constant_mm4(side_mm: float, other_side_mm: float) -> float:
    """Return J of a rectangle: a b^3 (1/3 - 0.21 b/a (1 - b^4 / 12 a^4)), a being the longer side.

    Source: Roark's formulas for stress and strain (form from memory), within 0.5 % of the series.
    """
    b, a = sorted((side_mm, other_side_mm))
    return float(a * b**3 * (1 / 3 - 0.21 * b / a * (1 - b**4 / (12 * a**4))))


def hankinson(along: float, across: float, angle_deg: float, *, power: float = 2.0) -> float:
    """Return strength or stiffness at an angle to the grain from its values along and across.

    The power is 2 for compression and stiffness, 1.5 to 2 for tension.

    Raises:
        CallError: A value that is not above zero.
    """
    if not (along > 0 and across > 0):
        raise CallError(f"Hankinson's equation needs values above zero; {along:g} and {across:g} were given.")
    angle = math.radians(angle_deg)
    sin, cos = abs(math.sin(angle)) ** power, abs(math.cos(angle)) ** power
    return float(along * across / (along * sin + across * cos))


def ply_share(plies: int, across_ratio: float, *, is_along_face: bool = True) -> float:
    """Return the panel's E in bending over the E of its veneer along the grain.

    Plies are equally thick, the grain of each crosses its neighbours', face plies run alike.

    Raises:
        CallError: An even number of plies.
    """
    if plies < 1 or plies % 2 == 0:
        raise CallError(f"a panel of {plies} plies is not balanced; the number must be odd.")
    # Distances of ply boundaries from the middle, over half the panel: the middle ply is half above it.
    boundaries = [0.0, *((2 * i + 1) / plies for i in range(plies // 2 + 1))]
    share = 0.0
    for number, (low, high) in enumerate(pairwise(boundaries)):
        is_face_direction = (plies // 2 - number) % 2 == 0
        modulus = 1.0 if is_face_direction == is_along_face else across_ratio
        share += modulus * (high**3 - low**3)
    return share


def ply_stretch_share(plies: int, across_ratio: float) -> float:
    """Return the panel's E along its face grain when it is stretched over the E of its veneer along the grain.

    Plies are equally thick, the grain of each crosses its neighbours', face plies run alike.
    """
    along = (plies + 1) // 2
    return (along + (plies - along) * across_ratio) / plies


def equal_stiffness_thickness(
    thickness_mm: float, modulus_mpa: float, other_modulus_mpa: float, loading: Loading
) -> float:
    """Return how thick a board of the other E must be to be as stiff: flatwise t (E1/E2)^(1/3), edgewise t E1/E2."""
    return float(thickness_mm * (modulus_mpa / other_modulus_mpa) ** (1 / THICKNESS_POWER[loading]))


def equal_stiffness_weight_ratio(density_ratio: float, modulus_ratio: float, loading: Loading) -> float:
    """Return weight over weight at equal stiffness, for density and E of the second over the first."""
    return float(density_ratio * (1 / modulus_ratio) ** (1 / THICKNESS_POWER[loading]))


def equal_weight_stiffness_ratio(density_ratio: float, modulus_ratio: float, loading: Loading) -> float:
    """Return stiffness over stiffness at equal weight, for density and E of the second over the first."""
    return float(modulus_ratio * (1 / density_ratio) ** THICKNESS_POWER[loading])


def equal_weight_strength_ratio(density_ratio: float, strength_ratio: float, loading: Loading) -> float:
    """Return bending moment over bending moment at equal weight, ratios being second over first."""
    return float(strength_ratio * (1 / density_ratio) ** STRENGTH_POWER[loading])
