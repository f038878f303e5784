"""A pyramid shows the picture and nothing else, appears whole or not at all, and answers without the scan."""

import io

import numpy as np
import pytest
from PIL import Image

from nesting.desk.picture_tiles import (
    META,
    TILE_PX,
    Pyramid,
    cut_tiles,
    forget_old_tiles,
    read_pyramid,
    read_window,
    tile_name,
)
from tests.nesting.desk.jobs import Quiet, noise

HALVING_LEVELS = 1  # a mean of four grey levels is rounded to a whole one


def _tile(folder, level, column, row):
    return np.asarray(Image.open(io.BytesIO((folder / tile_name(level, column, row)).read_bytes())))


@pytest.mark.parametrize(("width", "height", "levels"), [(1, 1, 1), (512, 512, 1), (513, 10, 2), (18_000, 11_000, 7)])
def test_the_last_level_fits_one_tile(width, height, levels):
    pyramid = Pyramid.of(width, height)

    assert pyramid.levels == levels
    assert pyramid.grid(levels - 1) == (1, 1)


def test_full_size_tiles_put_together_are_the_picture(tmp_path):
    picture = noise(1100, 700)
    pyramid = cut_tiles(picture, tmp_path / "tiles", Quiet())
    columns, rows = pyramid.grid(0)

    again = np.vstack([np.hstack([_tile(tmp_path / "tiles", 0, c, r) for c in range(columns)]) for r in range(rows)])

    assert np.array_equal(again, picture)


def test_each_level_is_the_mean_of_the_one_below(tmp_path):
    picture = noise(600, 514)
    cut_tiles(picture, tmp_path / "tiles", Quiet())

    half = _tile(tmp_path / "tiles", 1, 0, 0).astype(int)
    mean = picture.reshape(257, 2, 300, 2).mean(axis=(1, 3))

    assert half.shape == (257, 300)
    assert np.max(np.abs(half - mean)) <= HALVING_LEVELS


def test_there_are_no_tiles_beside_the_picture():
    pyramid = Pyramid.of(1000, 600)

    assert pyramid.holds(0, 1, 1)
    assert not any(pyramid.holds(*tile) for tile in [(0, 2, 0), (0, 0, 2), (-1, 0, 0), (2, 0, 0), (0, -1, 0)])


def test_a_pyramid_without_its_last_file_is_not_there(tmp_path):
    cut_tiles(noise(600, 100), tmp_path / "tiles", Quiet())
    assert read_pyramid(tmp_path / "tiles") == Pyramid(600, 100, 2)

    (tmp_path / "tiles" / META).unlink()

    assert read_pyramid(tmp_path / "tiles") is None


def test_a_cutting_that_fails_leaves_nothing(tmp_path):
    class Failing(Quiet):
        def say(self, text, share=None):
            raise OSError(28, "No space left on device")

    with pytest.raises(Exception, match="No space left"):
        cut_tiles(noise(600, 100), tmp_path / "tiles", Failing())

    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("centre", [(3, 2), (TILE_PX, TILE_PX), (1095, 690), (TILE_PX - 1, 20)])
def test_a_window_shows_the_picture_around_a_place_across_tiles(tmp_path, centre):
    picture = noise(1100, 700)
    pyramid = cut_tiles(picture, tmp_path / "tiles", Quiet())

    window, left, top = read_window(tmp_path / "tiles", pyramid, *centre, 20)

    height, width = window.shape
    assert np.array_equal(window, picture[top : top + height, left : left + width])
    assert left <= centre[0] <= left + width
    assert top <= centre[1] <= top + height


def test_a_window_outside_the_picture_is_none(tmp_path):
    pyramid = cut_tiles(noise(100, 100), tmp_path / "tiles", Quiet())

    assert read_window(tmp_path / "tiles", pyramid, 500, 500, 10) is None


def test_only_the_tiles_of_plans_in_the_job_are_kept(tmp_path):
    for name in ("old", "now", ".cutting-x"):
        (tmp_path / name).mkdir()

    forget_old_tiles(tmp_path, {"now"})

    assert [entry.name for entry in tmp_path.iterdir()] == ["now"]
