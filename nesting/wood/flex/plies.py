"""E and G of a sheet in its own plane at any angle to its face grain, as shares of what a bend test says of it."""

from __future__ import annotations

import math

from nesting.wood.beam import ply_share
from nesting.wood.material import Material
from nesting.wood.stiffness import run_out_factor

VENEER_POISSON = 0.3
"""Poisson's ratio of veneer, strain across over strain along (from memory: Wood Handbook, FPL-GTR-190, table 5-2,
0.3 to 0.45 for most woods); it moves E at 45 degrees by some per cent."""


def stretched_share(material: Material, angle_deg: float) -> float:
    """Return E in the sheet's plane at an angle to the face grain over its E in bending along the face grain.

    Solid wood by Hankinson's equation; plywood from its plies, each turned (classical laminated plate theory).
    """
    if material.plies == 1:
        return run_out_factor(material, angle_deg)
    return _ply_shares(material, angle_deg)[0] / ply_share(material.plies, material.across_ratio)


def sheared_share(material: Material, angle_deg: float) -> float:
    """Return G in the sheet's plane at an angle to the face grain over its E in bending along the face grain.

    That of solid wood is taken to be the same at every angle; of plywood it is several times greater at 45 degrees.
    """
    if material.plies == 1:
        return material.shear_ratio
    return _ply_shares(material, angle_deg)[1] / ply_share(material.plies, material.across_ratio)


def _ply_shares(material: Material, angle_deg: float) -> tuple[float, float]:
    """Return E and G in the plane over E of the veneer along its grain.

    Source: Jones, Mechanics of Composite Materials, 2.6 and 4.3 (from memory): the stiffness of a symmetric laminate
    is the mean of its plies' own, each turned; plies that cross have no coupling of stretch and bend.
    """
    along = (material.plies + 1) / 2 / material.plies
    plies = ((along, angle_deg), (1 - along, angle_deg + 90.0))
    turned = [(share, _turned(material, angle)) for share, angle in plies]
    q11, q22, q12, q66, q16, q26 = (sum(share * q[i] for share, q in turned) for i in range(6))
    # Compliances of the whole: the inverse of the 3 x 3 stiffness, its first and last entry on the diagonal.
    whole = q11 * (q22 * q66 - q26 * q26) - q12 * (q12 * q66 - q26 * q16) + q16 * (q12 * q26 - q22 * q16)
    return whole / (q22 * q66 - q26 * q26), whole / (q11 * q22 - q12 * q12)


def _turned(material: Material, angle_deg: float) -> tuple[float, float, float, float, float, float]:
    """Return Q11, Q22, Q12, Q66, Q16, Q26 of a veneer of E = 1 along its grain, turned by an angle."""
    across, shear = material.across_ratio, material.shear_ratio
    free = 1 - VENEER_POISSON**2 * across
    q11, q22, q12 = 1 / free, across / free, VENEER_POISSON * across / free
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    mixed = q12 + 2 * shear
    return (
        q11 * c**4 + 2 * mixed * s * s * c * c + q22 * s**4,
        q11 * s**4 + 2 * mixed * s * s * c * c + q22 * c**4,
        (q11 + q22 - 4 * shear) * s * s * c * c + q12 * (s**4 + c**4),
        (q11 + q22 - 2 * q12 - 2 * shear) * s * s * c * c + shear * (s**4 + c**4),
        (q11 - mixed) * c**3 * s - (q22 - mixed) * c * s**3,
        (q11 - mixed) * c * s**3 - (q22 - mixed) * c**3 * s,
    )
