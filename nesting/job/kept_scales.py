"""The scale of a plan on disk, with the hash of what it was made from: a later command need not read the scan again."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

import numpy as np

from nesting.job.files import digest, write_whole
from nesting.job.folder import Job, file_name_for
from nesting.job.schema import PlanTable
from nesting.job.side_files import read_side_file
from vectorize.basics.errors import JobError
from vectorize.basics.notes import Note
from vectorize.scale.plan_scale import PlanScale, PointMisfit, Residual
from vectorize.scale.scale_uncertainty import SizeDoubt

SCALE_FORMAT = 1
"""Part of the hash of a kept scale: raised when fitting changes, so that old ones are made anew."""


def scale_hash(files: Sequence[str], plan: PlanTable) -> str:
    """Return the hash of everything that a plan's scale depends on; `files` are the hashes of its files."""
    table = plan.model_dump(mode="json", exclude={"datum", "aft"})
    return digest(json.dumps([SCALE_FORMAT, list(files), table], sort_keys=True).encode())


def keep_scale(job: Job, plan: PlanTable, scale: PlanScale, made_from: str) -> None:
    """Write `outlines/plans/NAME.json`; the scale of several files joined is not kept, as it is more than a map.

    Raises:
        WriteError: The folder cannot be written.
    """
    if len(plan.sources) > 1:
        return
    notes = [note.as_json() for note in scale.notes]
    text = json.dumps(asdict(scale) | {"matrix": scale.matrix.tolist(), "notes": notes})
    # The hash of the text itself tells a damaged file, whose numbers would pass for others.
    table = {"made_from": made_from, "hash": digest(text.encode()), "scale": text}
    write_whole(job.own(_file_name(plan)), json.dumps(table).encode())


def kept_scale(job: Job, plan: PlanTable, made_from: str) -> PlanScale | None:
    """Return the scale on disk if it was made from the same things, else None; a damaged file is no loss."""
    try:
        data = read_side_file(job, _file_name(plan), refused=JobError)
        if data is None or data["made_from"] != made_from or data["hash"] != digest(data["scale"].encode()):
            return None
        return _from_json(json.loads(data["scale"]))
    except (JobError, ValueError, KeyError, TypeError, AttributeError):
        return None


def _file_name(plan: PlanTable) -> str:
    return f"outlines/plans/{file_name_for(plan.name)}.json"


def _from_json(data: dict[str, Any]) -> PlanScale:
    made = {
        "matrix": np.array(data["matrix"], np.float64),
        "mm_per_px": tuple(data["mm_per_px"]),
        "page_mm": tuple(data["page_mm"]),
        "residuals": tuple(Residual(**residual) for residual in data["residuals"]),
        "doubt": SizeDoubt(**data["doubt"]),
        "notes": tuple(map(Note.from_json, data["notes"])),
        "points": tuple(PointMisfit(**point) for point in data["points"]),
    }
    if data["lens"] is not None:
        from vectorize.scale.lens import Lens

        made["lens"] = Lens(**data["lens"] | {"centre": tuple(data["lens"]["centre"])})
    return PlanScale(**data | made)
