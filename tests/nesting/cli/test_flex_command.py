"""`flex` sets ways to build a carved panel side by side, in words, as JSON and as a picture."""

import pytest

CARVED = """
[part.carve]
section = { high_point = "30 %", nose = "0.5 mm", trailing = "0.6 mm" }
span = [[40, 120], [440, 120]]
leading = [200, 40]
"""
FLEX = """
[flex]
load = "20 g"

[[flex.option]]
name = "heavy wood"
part = "plate"
boards = ["heavy"]

[[flex.option]]
name = "lime edge"
part = "plate"
leading_edge = { width = "4 mm", material = "basswood" }

[[flex.option]]
name = "skinned"
part = "plate"
skin = { material = "birch ply", thickness = "0.4 mm", grain = "45 deg" }
covering = []
"""


@pytest.fixture
def carved(small_job):
    small_job.edit('grain = "0 deg"\n\n[[part]]\nname = "fin"', f'grain = "0 deg"\n{CARVED}\n[[part]]\nname = "fin"')
    return small_job


@pytest.fixture
def with_options(carved):
    carved.edit('[nest]\ntool = "knife"', f'{FLEX}\n[nest]\ntool = "knife"')
    return carved


def test_the_json_is_as_agreed_and_the_first_option_is_one(sheetwood, with_options):
    done = sheetwood("flex", with_options.folder, "plate", "--json")
    assert done.code == 0, done.err
    names = [option["name"] for option in done.json["options"]]
    assert names == ["as it stands", "heavy wood", "lime edge", "skinned"]
    for option in done.json["options"]:
        assert set(option) >= {"name", "mass_g", "first_bending", "first_twist", "sigma_share"}
    first, heavy, lime, skinned = done.json["options"]
    assert (first["first_bending"], first["first_twist"], first["sigma_share"]) == (1.0, 1.0, 0.0)
    # Both boards' E rises with their density, so their bending frequency is about the same.
    assert heavy["first_bending"] == pytest.approx(1.0, abs=1e-3)
    assert heavy["stiffness"] == pytest.approx(13.0 / 8.6, rel=0.01)
    assert lime["elastic_axis_share"] < first["elastic_axis_share"]
    assert skinned["first_twist"] > first["first_twist"]
    assert 0 < skinned["sigma_share"] < 0.5
    assert (with_options.folder / "out" / "flex-plate.svg").exists()
    assert (with_options.folder / "out" / "flex-plate.png").exists()


def test_no_frequency_and_no_speed_is_told(sheetwood, with_options):
    done = sheetwood("flex", with_options.folder, "plate")
    assert done.code == 0
    assert "never an approval to fly" in done.out + done.err
    assert not {"Hz", "m/s", "km/h"} & set((done.out + done.err).split())


def test_boards_are_options_and_one_alone_is_set_against_the_panel_as_it_stands(sheetwood, carved):
    two = sheetwood("flex", carved.folder, "plate", "heavy", "light", "--json")
    assert [option["name"] for option in two.json["options"]] == ["heavy", "light"]
    one = sheetwood("flex", carved.folder, "plate", "heavy", "--json")
    assert [option["name"] for option in one.json["options"]] == ["as it stands", "heavy"]


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("fin",), 3, "part 'fin' is no panel that this job carves; carved are: plate"),
        (("plate", "gold"), 2, "plate has no option 'gold'; its options: none; boards: light, heavy"),
        (("plate",), 2, "there is nothing to compare plate with: add [[flex.option]]"),
    ],
)
def test_what_cannot_be_compared_is_told(sheetwood, carved, words, code, said):
    done = sheetwood("flex", carved.folder, *words)
    assert done.code == code
    assert said in " ".join(done.err.split())


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("leading_edge = {", "leading_egde = {", "leading_edge"),
        ('material = "basswood"', 'board = "heavy", material = "basswood"', "either a 'board' of the rack"),
        ('thickness = "0.4 mm", ', "", "needs its 'thickness'"),
        ('name = "lime edge"', 'name = "as it stands"', "rename it"),
        ('name = "lime edge"', 'name = "skinned"', "keep one"),
        ('load = "20 g"', 'load = "0 g"', "it must be more than 0"),
    ],
)
def test_options_that_cannot_be_are_refused(sheetwood, with_options, old, new, said):
    with_options.edit(old, new)
    done = sheetwood("flex", with_options.folder, "plate")
    assert done.code == 3
    assert said in " ".join(done.err.split())
