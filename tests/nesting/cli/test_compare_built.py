"""`compare` answers for the part as it is built: with its doublers, in every way it is bent."""

import pytest

from nesting.job.built_parts import built_part
from nesting.job.folder import open_job
from nesting.job.stages import Stages

DOUBLED = """
[[part]]
name = "side"
from = "plate"
material = "birch ply"
thickness = "0.8 mm"

[[part.step]]
make = "doubler"
stations = ["0 mm", "50 mm"]
stagger = "0 mm"
"""


@pytest.fixture
def doubled(small_job):
    small_job.edit('[nest]\ntool = "knife"', f'{DOUBLED}\n[nest]\ntool = "knife"')
    small_job.edit('file = "plan.png"\n', 'file = "plan.png"\ndatum = [40, 120]\n')
    small_job.edit("heavy,", "P1,birch ply,0.8 mm,0.8 mm,200 mm,100 mm,10.9 g,,,\nheavy,", file="rack.csv")
    return small_job


def test_the_fuselage_is_compared_with_its_doublers(sheetwood, doubled):
    done = sheetwood("compare", doubled.folder, "plate", "light", "heavy", "--json")
    assert done.code == 0, done.err
    light, heavy = done.json["boards"]
    assert light["built"]["flatwise"]["ratio"] == {"value": 1.0, "sigma": pytest.approx(0.0, abs=1e-9)}
    bare = heavy["stiffness_ratio"]["value"]
    flat, edge, twist = (heavy["built"][way] for way in ("flatwise", "edgewise", "twist"))
    # Where there is ply the better board counts for less; behind it, it counts in full.
    for way in (flat, edge):
        assert 1.0 < way["least"]["value"] < way["ratio"]["value"] < way["greatest"]["value"]
        assert way["greatest"]["value"] == pytest.approx(bare, rel=1e-6)
        assert way["least"]["station_mm"] < 60 < way["greatest"]["station_mm"]
    # 3 mm of balsa between two plies of 0.8 mm, E by trend: E b h^3 / 12 of each, by hand.
    e_light, e_heavy, ply = (board["modulus_mpa"]["value"] for board in (light, heavy, _ply(doubled)))
    share = _stretched_over_bent()
    outer = share * ply * (4.6**3 - 3**3)
    assert flat["least"]["value"] == pytest.approx((e_heavy * 27 + outer) / (e_light * 27 + outer), rel=0.01)
    assert twist["ratio"]["sigma"] > flat["ratio"]["sigma"] * 0.5
    # The 10 mm hole with its middle 25 mm behind the datum weakens it edgewise; ends are left out.
    assert 5 < flat["weakest_mm"] < 95
    assert (doubled.folder / "out" / "stiffness-plate.svg").exists()


def _ply(job):
    from nesting.wood.stiffness import board_modulus

    board = next(b for b in Stages(open_job(job.folder)).boards if b.name == "P1")
    return {"modulus_mpa": {"value": board_modulus(board).value.value}}


def _stretched_over_bent():
    """Wood Handbook: three plies are stretched by two of three and bent by 26/27 of the veneer's E (c.ply.3)."""
    return (2 / 3 + 0.05 / 3) / (26 / 27 + 0.05 / 27)


def test_a_part_alone_is_compared_as_ever(sheetwood, small_job):
    done = sheetwood("compare", small_job.folder, "plate", "light", "heavy", "--json")
    assert [board["built"] for board in done.json["boards"]] == [None, None]
    assert not (small_job.folder / "out" / "stiffness-plate.svg").exists()


def test_words_name_the_weakest_station(sheetwood, doubled):
    done = sheetwood("compare", doubled.folder, "plate", "light", "heavy")
    said = " ".join((done.out + done.err).split())
    assert "plate with all that is glued on, against the lightest" in said
    assert "Weakest from light: flatwise at" in said
    assert "never an approval to fly" in said


def test_doublers_lie_on_their_faces_and_belong_to_the_part_they_are_made_from(doubled):
    stages = Stages(open_job(doubled.folder))
    body, side = (built_part(stages.job.spec, stages.model, name) for name in ("plate", "side"))
    assert body is not None
    assert side is not None
    assert body.name == side.name == "plate"
    assert sorted(layer.face for layer in body.layers) == [-1, 0, 1]
    assert built_part(stages.job.spec, stages.model, "fin") is None
