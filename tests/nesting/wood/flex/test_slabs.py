"""Built-up sections against closed forms and against Prandtl's stress function."""

import numpy as np
import pytest

from nesting.wood.estimate import Estimate
from nesting.wood.flex.slabs import SectionShares, Slabs, Stuff, shares_of


def stuff(name, e, g=None, rho=150.0, **more):
    return Stuff(name, Estimate(e), Estimate(0.05 * e if g is None else g), Estimate(rho), **more)


def strips(*layers, width=100.0, count=50):
    """Layers (low, high, kind) right across a strip."""
    x = (np.arange(count) + 0.5) * width / count
    return Slabs(
        x=np.tile(x, len(layers)),
        width=np.full(count * len(layers), width / count),
        low=np.repeat([low for low, _, _ in layers], count).astype(float),
        high=np.repeat([high for _, high, _ in layers], count).astype(float),
        kind=np.repeat([kind for _, _, kind in layers], count),
        column=np.tile(np.arange(count), len(layers)),
        factor=np.ones(count * len(layers)),
    )


def of_one(section, **more):
    shares = shares_of([section], **more)
    return SectionShares(**{name: getattr(shares, name)[0] for name in SectionShares.__slots__})


def stiffness(shares, stuffs, name="flat_mm4", of="modulus_mpa"):
    return float(getattr(shares, name) @ [getattr(one, of).value for one in stuffs])


def test_a_strip_bends_both_ways_and_twists_as_a_rectangle():
    balsa = (stuff("balsa", 3000.0),)
    shares = of_one(strips((0, 4, 0)), stuffs=balsa, end_shares=np.ones(1))
    assert shares.flat_mm4[0] == pytest.approx(100 * 4**3 / 12)
    assert shares.edge_mm4[0] == pytest.approx(4 * 100**3 / 12)
    assert shares.twist_mm4[0] == pytest.approx(100 * 4**3 / 3)
    assert shares.roll_mm4[0] == pytest.approx(100 * 4**3 / 12 + 4 * 100**3 / 12, rel=1e-3)
    assert (shares.elastic_x_mm, shares.balance_x_mm, shares.thickness_mm) == pytest.approx((50.0, 50.0, 4.0))


def test_two_woods_glued_flat_bend_about_their_common_neutral_axis():
    """Timoshenko 1925, J. Opt. Soc. Am. 11:233-255, equation of the bimetal strip's rigidity (form from memory):
    EI = b (E1 h1^3 + E2 h2^3) / 12 + b E1 h1 E2 h2 (h1 + h2)^2 / (4 (E1 h1 + E2 h2))."""
    woods = (stuff("balsa", 3000.0), stuff("ply", 9000.0))
    shares = of_one(strips((0, 6, 0), (6, 7.5, 1)), stuffs=woods)
    own = 100 * (3000 * 6**3 + 9000 * 1.5**3) / 12
    apart = 100 * 3000 * 6 * 9000 * 1.5 * 7.5**2 / (4 * (3000 * 6 + 9000 * 1.5))
    assert stiffness(shares, woods) == pytest.approx(own + apart, rel=1e-9)


def test_skins_twist_as_a_thin_closed_tube():
    """Bredt's formula for a thin closed tube, 4 A^2 t / U, round a core that gives no stiffness."""
    woods = (stuff("core", 1e-9), stuff("skin", 9000.0, g=700.0, is_shell=True))
    shares = of_one(strips((0, 8, 0), (-0.1, 0, 1), (8, 8.1, 1), width=200.0), stuffs=woods, end_shares=np.ones(1))
    round_mm, area = 2 * 200.0, 200.0 * 8.1
    assert shares.twist_mm4[1] == pytest.approx(4 * area**2 * 0.1 / round_mm, rel=1e-3)


def test_the_elastic_axis_and_the_balance_line_move_towards_what_is_stiff_and_what_is_heavy():
    woods = (stuff("balsa", 3000.0, rho=150.0), stuff("spruce", 10000.0, rho=450.0))
    strip = strips((0, 4, 0))
    kind = np.where(strip.x < 20, 1, 0)
    shares = of_one(Slabs(strip.x, strip.width, strip.low, strip.high, kind, strip.column, strip.factor), stuffs=woods)
    assert shares.elastic_x_mm == pytest.approx((10 * 20 * 10000 + 60 * 80 * 3000) / (20 * 10000 + 80 * 3000))
    assert shares.balance_x_mm == pytest.approx((10 * 20 * 450 + 60 * 80 * 150) / (20 * 450 + 80 * 150))


def test_a_factor_counts_for_stiffness_and_mass():
    balsa = (stuff("balsa", 3000.0),)
    strip = strips((0, 4, 0))
    denser = Slabs(strip.x, strip.width, strip.low, strip.high, strip.kind, strip.column, 1.1 * strip.factor)
    one, other = (of_one(slabs, stuffs=balsa) for slabs in (strip, denser))
    assert other.flat_mm4[0] / one.flat_mm4[0] == pytest.approx(1.1)
    assert other.area_mm2[0] / one.area_mm2[0] == pytest.approx(1.1)
