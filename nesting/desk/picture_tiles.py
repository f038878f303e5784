"""A scan as a pyramid of square tiles: cut once, kept on disk, so that panning never reads the scan again."""

from __future__ import annotations

import json
import math
import os
import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from nesting.desk.worker import Report
from vectorize.basics.errors import WriteError
from vectorize.basics.plain_file import read_plain

Grey = NDArray[np.uint8]

TILE_PX = 512
META = "tiles.json"
_PAPER = 255


@dataclass(frozen=True, slots=True)
class Pyramid:
    """Size of a picture and how many levels it was cut into; level 0 is full size, each next one half of it."""

    width: int
    height: int
    levels: int

    @staticmethod
    def of(width: int, height: int) -> Pyramid:
        """Return the pyramid whose last level fits one tile."""
        return Pyramid(width, height, 1 + max(0, math.ceil(math.log2(max(width, height, 1) / TILE_PX))))

    def grid(self, level: int) -> tuple[int, int]:
        """Return how many columns and rows of tiles a level has."""
        return tuple(math.ceil(math.ceil(extent / 2**level) / TILE_PX) for extent in (self.width, self.height))

    def holds(self, level: int, column: int, row: int) -> bool:
        """Return whether there is such a tile."""
        if not 0 <= level < self.levels:
            return False
        columns, rows = self.grid(level)
        return 0 <= column < columns and 0 <= row < rows

    def as_json(self) -> dict[str, Any]:
        """Return the numbers that the page needs."""
        return {"width": self.width, "height": self.height, "levels": self.levels, "tile": TILE_PX}


def tile_name(level: int, column: int, row: int) -> str:
    """Return the file name of a tile within its folder."""
    return f"{level}-{column}-{row}.png"


def read_pyramid(folder: Path) -> Pyramid | None:
    """Return the pyramid kept in `folder`, or None if it is not there whole."""
    try:
        data = json.loads(read_plain(folder / META))
        return Pyramid(int(data["width"]), int(data["height"]), int(data["levels"]))
    except (OSError, ValueError, KeyError, TypeError, OverflowError, RecursionError):
        return None


def cut_tiles(grey: Grey, folder: Path, report: Report) -> Pyramid:
    """Cut `grey` into tiles in `folder`, which appears only when all of them are written.

    Raises:
        WriteError: The folder cannot be written.
    """
    height, width = grey.shape
    pyramid = Pyramid.of(width, height)
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        making = Path(tempfile.mkdtemp(prefix=".cutting-", dir=folder.parent))
        try:
            _write_levels(grey, pyramid, making, report)
            (making / META).write_text(json.dumps(pyramid.as_json()), encoding="utf-8")
            shutil.rmtree(folder, ignore_errors=True)
            making.replace(folder)
        finally:
            shutil.rmtree(making, ignore_errors=True)
    except OSError as error:
        reason = error.strerror or str(error)
        raise WriteError(f"cannot keep the tiles of a plan in {folder.parent}: {reason}. Free some space.") from error
    return pyramid


def _write_levels(grey: Grey, pyramid: Pyramid, folder: Path, report: Report) -> None:
    picture = grey
    total = sum(math.prod(pyramid.grid(level)) for level in range(pyramid.levels))
    done = 0
    for level in range(pyramid.levels):
        columns, rows = pyramid.grid(level)
        for row in range(rows):
            for column in range(columns):
                _write_tile(picture, folder / tile_name(level, column, row), column, row)
            done += columns
            report.say("cutting the plan into tiles", done / total)
        picture = _halved(picture)


def _write_tile(picture: Grey, path: Path, column: int, row: int) -> None:
    import cv2

    tile = picture[row * TILE_PX : (row + 1) * TILE_PX, column * TILE_PX : (column + 1) * TILE_PX]
    is_written, data = cv2.imencode(".png", tile, [cv2.IMWRITE_PNG_COMPRESSION, 2])
    if not is_written:
        raise OSError(None, f"{path.name} could not be encoded")
    with path.open("wb") as file:
        file.write(data.tobytes())


def _halved(picture: Grey) -> Grey:
    """Return the picture at half size, averaged, so that thin lines fade but never vanish."""
    import cv2

    height, width = picture.shape
    if height < 2 and width < 2:
        return picture
    padded = picture
    if height % 2 or width % 2:
        padded = cv2.copyMakeBorder(picture, 0, height % 2, 0, width % 2, cv2.BORDER_REPLICATE)  # type: ignore[assignment]
    size = (math.ceil(width / 2), math.ceil(height / 2))
    return np.asarray(cv2.resize(padded, size, interpolation=cv2.INTER_AREA), np.uint8)


def read_window(folder: Path, pyramid: Pyramid, x: float, y: float, radius: int) -> tuple[Grey, int, int] | None:
    """Return (grey, column, row of its first pixel) of the full-size picture around a point, from its tiles.

    None where the point lies outside the picture.
    """
    import cv2

    left, top = max(0, round(x) - radius), max(0, round(y) - radius)
    right, bottom = min(pyramid.width, round(x) + radius + 1), min(pyramid.height, round(y) + radius + 1)
    if right - left < 3 or bottom - top < 3:
        return None
    window = np.full((bottom - top, right - left), _PAPER, np.uint8)
    for row in range(top // TILE_PX, (bottom - 1) // TILE_PX + 1):
        for column in range(left // TILE_PX, (right - 1) // TILE_PX + 1):
            data = np.frombuffer(read_plain(folder / tile_name(0, column, row)), np.uint8)
            tile = cv2.imdecode(data, cv2.IMREAD_GRAYSCALE)
            _paste(window, np.asarray(tile, np.uint8), column * TILE_PX - left, row * TILE_PX - top)
    return window, left, top


def _paste(window: Grey, tile: Grey, x: int, y: int) -> None:
    x0, y0 = max(x, 0), max(y, 0)
    x1, y1 = min(x + tile.shape[1], window.shape[1]), min(y + tile.shape[0], window.shape[0])
    window[y0:y1, x0:x1] = tile[y0 - y : y1 - y, x0 - x : x1 - x]


def forget_old_tiles(parent: Path, keep: set[str]) -> None:
    """Remove tile folders that no plan of the job uses any more, and cuttings that were never finished."""
    if not parent.is_dir():
        return
    for entry in os.scandir(parent):
        if entry.is_dir(follow_symlinks=False) and entry.name not in keep:
            shutil.rmtree(entry.path, ignore_errors=True)
