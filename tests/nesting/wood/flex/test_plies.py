"""E and G of sheet at an angle, against the law by which compliances turn."""

import math
from dataclasses import replace

import pytest

from nesting.wood.beam import hankinson, ply_share, ply_stretch_share
from nesting.wood.flex.plies import sheared_share, stretched_share
from nesting.wood.material import MATERIALS

PLY = MATERIALS["birch ply"]
BENT = ply_share(PLY.plies, PLY.across_ratio)


def test_solid_wood_is_turned_by_hankinson():
    balsa = MATERIALS["balsa"]
    assert stretched_share(balsa, 10.0) == pytest.approx(hankinson(1.0, balsa.across_ratio, 10.0))
    assert sheared_share(balsa, 30.0) == balsa.shear_ratio


@pytest.mark.parametrize("plies", [3, 5, 7])
def test_plywood_along_its_face_grain_is_the_mean_of_its_plies(plies):
    """The mean leaves out what crossed plies hinder each other by (Poisson), well below a per cent."""
    ply = replace(PLY, plies=plies)
    bent = ply_share(plies, ply.across_ratio)
    assert stretched_share(ply, 0.0) * bent == pytest.approx(ply_stretch_share(plies, ply.across_ratio), rel=0.005)
    assert sheared_share(ply, 0.0) * bent == pytest.approx(ply.shear_ratio)


@pytest.mark.parametrize("angle", [10.0, 30.0, 45.0, 80.0])
def test_plywood_turns_as_compliances_do(angle):
    """Jones, Mechanics of Composite Materials, 2.97 (from memory), for the whole sheet as one orthotropic plate."""
    e1, e2, g = (BENT * share for share in (stretched_share(PLY, 0), stretched_share(PLY, 90), sheared_share(PLY, 0)))
    q12 = 0.3 * PLY.across_ratio / (1 - 0.09 * PLY.across_ratio)  # the same in every ply
    q22 = (1 / 3 + 2 / 3 * PLY.across_ratio) / (1 - 0.09 * PLY.across_ratio)
    poisson = q12 / q22
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    along = 1 / (c**4 / e1 + (1 / g - 2 * poisson / e1) * s * s * c * c + s**4 / e2)
    shear = 1 / (2 * (2 / e1 + 2 / e2 + 4 * poisson / e1 - 1 / g) * s * s * c * c + (s**4 + c**4) / g)
    assert BENT * stretched_share(PLY, angle) == pytest.approx(along, rel=1e-9)
    assert BENT * sheared_share(PLY, angle) == pytest.approx(shear, rel=1e-9)


def test_a_skin_on_the_bias_is_stiff_in_twist_and_soft_in_bending():
    assert sheared_share(PLY, 45.0) > 3 * sheared_share(PLY, 0.0)
    assert stretched_share(PLY, 45.0) < 0.5 * stretched_share(PLY, 0.0)
