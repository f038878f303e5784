"""`assign` reads `[[pair]]` and tells how well the two match."""

import pytest

PAIRED = '[[pair]]\nparts = ["plate", "fin"]\nwithin = "5 %"\n\n[nest]\n'


@pytest.fixture
def paired(small_job):
    small_job.edit("[nest]\n", PAIRED)
    return small_job


def test_the_two_come_from_boards_that_match(sheetwood, paired):
    done = sheetwood("assign", paired.folder, "--time", "20s", "--json")
    assert done.code in (0, 4), done.err
    for best in done.json["best"]:
        (pair,) = best["pairs"]
        assert pair["pair"] == "plate and fin"
        assert pair["weight_apart"] <= 0.05
        assert len({given["board"] for given in best["parts"]}) == 1
    assert "Pairs of the best" in sheetwood("assign", paired.folder, "--time", "20s").out


def test_the_half_of_one_that_is_cut_comes_from_its_like(sheetwood, paired):
    paired.edit('name = "plate"\n', 'name = "plate"\nboard = "heavy"\ncut = true\n')
    done = sheetwood("assign", paired.folder, "--time", "20s", "--json")
    assert {given["board"] for given in done.json["best"][0]["parts"]} == {"heavy"}


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('["plate", "fin"]', '["plate", "plate"]', "is named twice"),
        ('["plate", "fin"]', '["plate", "rudder"]', "[[pair]] names part 'rudder', which is not there"),
        ('within = "5 %"', 'within = "-5 %"', "from 0 % up"),
        ("within", "whithin", "within"),
    ],
)
def test_pairs_that_cannot_be_are_refused(sheetwood, paired, old, new, said):
    paired.edit(old, new)
    done = sheetwood("assign", paired.folder, "--time", "5s")
    assert done.code == 3
    assert said in " ".join(done.err.split())
