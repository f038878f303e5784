"""Pictures of a job's plans: tiles to look at, the grey around a click, the closed shapes under the pointer."""

from __future__ import annotations

import contextlib
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from nesting.desk import scan_work
from nesting.desk.history import DESK_FOLDER
from nesting.desk.picture_tiles import Pyramid, forget_old_tiles, read_pyramid, read_window, tile_name
from nesting.desk.scan_work import file_key, regions_key, tiles_folder
from nesting.desk.snap import snap_point
from nesting.desk.stroke_view import DrawnSheet, kept_drawing
from nesting.desk.tasks import Say
from nesting.desk.workshop import Workshop
from nesting.job.files import write_whole
from nesting.job.folder import Job
from nesting.job.schema import PlanTable
from vectorize.basics.errors import JobError
from vectorize.basics.plain_file import read_plain

SNAP_RADIUS_PX = 14.0


@dataclass(frozen=True, slots=True)
class Picture:
    """A plan's tiles: where they are kept, and the pyramid if it is there, or the strokes of a drawing."""

    key: str
    folder: Path
    pyramid: Pyramid | None
    drawing: DrawnSheet | None = None


class Pictures:
    """The tiles and regions of one job's plans, made when first asked for and kept in the job folder."""

    def __init__(self, workshop: Workshop) -> None:
        self._workshop = workshop
        self._pyramids: dict[str, Pyramid] = {}
        self._drawings: dict[str, DrawnSheet] = {}
        self._regions: dict[str, list[dict[str, Any]]] = {}
        self._searched: str | None = None

    def picture(self, number: int) -> Picture:
        """Return the picture of plan `number`.

        Raises:
            JobError: There is no such plan, or its file is not there.
        """
        job = self._workshop.job()
        key = file_key(job, _table(job, number))
        folder = tiles_folder(self._workshop.folder) / key
        if key not in self._pyramids and (found := read_pyramid(folder)) is not None:
            self._pyramids[key] = found
            forget_old_tiles(folder.parent, self._keys(job))
        if key not in self._pyramids and key not in self._drawings and (drawn := kept_drawing(folder)) is not None:
            self._drawings = {key: drawn}
        return Picture(key, folder, self._pyramids.get(key), self._drawings.get(key))

    def view(self, number: int) -> dict[str, Any]:
        """Return the picture's size and levels; tiles are cut as the job is followed."""
        picture = self.picture(number)
        if picture.drawing is not None:
            return {"key": picture.key, "picture": picture.drawing.picture()}
        if picture.pyramid is None:
            self._workshop.follow()
            return {"key": picture.key, "picture": None}
        width, height = picture.pyramid.width, picture.pyramid.height
        frame = {"kind": "picture", "box": [-0.5, -0.5, width - 0.5, height - 0.5], "is_y_up": False}
        return {"key": picture.key, "picture": picture.pyramid.as_json() | frame}

    def strokes(self, number: int) -> dict[str, Any]:
        """Return the strokes of a plan that is a drawing.

        Raises:
            JobError: It is a picture, or was not read yet.
        """
        drawing = self.picture(number).drawing
        if drawing is None:
            raise JobError(f"plan number {number + 1} has no strokes to show; ask for its picture first.")
        return {"strokes": list(drawing.strokes)}

    def _keys(self, job: Job) -> set[str]:
        keys = set()
        for table in job.spec.plan:
            with contextlib.suppress(JobError):
                keys.add(file_key(job, table))
        return keys

    def tile(self, number: int, key: str, level: int, column: int, row: int) -> bytes | None:
        """Return a tile as PNG, or None if there is none (any more)."""
        # A key that was shown before is enough: asking the job again for every tile would slow panning.
        pyramid = self._pyramids[key] if key in self._pyramids else self.picture(number).pyramid
        if key not in self._pyramids or pyramid is None or not pyramid.holds(level, column, row):
            return None
        try:
            return read_plain(tiles_folder(self._workshop.folder) / key / tile_name(level, column, row))
        except OSError:
            return None

    def snapped(
        self, number: int, x: float, y: float, reach: float | None = None, *, is_edge_meant: bool = False
    ) -> tuple[float, float] | None:
        """Return the line centre or meeting point nearest to a click, or None where nothing is drawn near it.

        `reach` is how near, in a drawing's own units; a picture has its own measure. The corner of a photographed
        sheet is a meeting of edges (`is_edge_meant`), not of lines.
        """
        picture = self.picture(number)
        if picture.drawing is not None:
            return picture.drawing.snapped((x, y), SNAP_RADIUS_PX if reach is None else reach)
        if picture.pyramid is None:
            return None
        found = read_window(picture.folder, picture.pyramid, x, y, round(2.5 * SNAP_RADIUS_PX))
        if found is None:
            return None
        grey, left, top = found
        point = snap_point(grey, (x - left, y - top), radius=SNAP_RADIUS_PX, is_edge_meant=is_edge_meant)
        return None if point is None else (point[0] + left, point[1] + top)

    def regions(self, number: int) -> dict[str, Any]:
        """Return the closed shapes of a plan (`regions`), or none while they are being looked for.

        Shapes are looked for on one plan at a time: `is_searched` tells whether that is this plan as it stands.
        """
        job = self._workshop.job()
        key = regions_key(job, _table(job, number))
        if key not in self._regions:
            kept = _read_regions(self._regions_file(key))
            if kept is None:
                self._start_looking(number, key)
                return {"regions": None, "is_searched": self._searched == key}
            self._regions = {key: kept}
        return {"regions": self._regions[key], "is_searched": False}

    def _regions_file(self, key: str) -> Path:
        return self._workshop.folder / DESK_FOLDER / f"regions-{key}.json"

    def _start_looking(self, number: int, key: str) -> None:
        worker = self._workshop.region_worker

        def work(say: Say) -> None:
            # The job may have changed since: what was found belongs to the plan as it was read.
            found_key, found = worker.run(scan_work.find_regions, self._workshop.folder, number, on_say=say)
            self._regions = {found_key: found}
            write_whole(self._regions_file(found_key), json.dumps(found).encode())
            self._workshop.hub.tell("regions", {"number": number})

        if self._workshop.tasks.start("regions", "looking for closed shapes", work, stop=worker.stop):
            self._searched = key


def _table(job: Job, number: int) -> PlanTable:
    if not 0 <= number < len(job.spec.plan):
        raise JobError(f"there is no plan number {number + 1}; the job has {len(job.spec.plan)}.")
    return job.spec.plan[number]


def _read_regions(path: Path) -> list[dict[str, Any]] | None:
    try:
        found = json.loads(read_plain(path))
    except (OSError, ValueError, RecursionError):
        return None
    return found if isinstance(found, list) else None
