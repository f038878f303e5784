"""What a batch did to a job: `out/batch.json`, so that the next one does only what changed or failed."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from nesting.job.batch.stage_task import Figures, Outcome, as_record
from nesting.job.batch.wish import STAGES, Stage
from nesting.job.files import digest
from nesting.job.folder import JOB_FILE
from nesting.job.journal import read_files
from vectorize.basics.notes import Note

RECORD = "out/batch.json"
_FORMAT = 1


@dataclass(frozen=True, slots=True)
class Done:
    """A stage that was done: the hash of what it was made from, the files it made, how long it took, what it told."""

    key: str
    files: tuple[str, ...]
    seconds: float
    notes: tuple[Note, ...]
    figures: Figures

    @classmethod
    def from_outcome(cls, key: str, outcome: Outcome, notes: Iterable[Note] = ()) -> Done:
        """Return what is kept of an outcome, with what was said when its files were written."""
        told = (*outcome.notes, *notes)
        return cls(key, tuple(sorted(outcome.files)), outcome.seconds, told, dict(outcome.figures))

    def holds(self, key: str, folder: Path) -> bool:
        """Return whether nothing that it was made from changed, and all that it made is there."""
        return self.key == key and all((folder / name).exists() for name in self.files)


@dataclass(frozen=True, slots=True)
class Record:
    """What was done to a job, by stage, and the bytes that it was read from."""

    stages: Mapping[str, Done]
    read: bytes | None = None

    def with_stage(self, stage: Stage, done: Done) -> Record:
        """Return the record with a stage done; what came after it stays, as its own hash tells whether it holds."""
        return Record({**self.stages, stage: done}, self.read)

    @property
    def data(self) -> bytes:
        """Return the text of the file."""
        stages = {name: _as_json(self.stages[name]) for name in STAGES if name in self.stages}
        return json.dumps({"format": _FORMAT, "stages": stages}, indent=1, ensure_ascii=False).encode()


def read_record(folder: Path) -> Record:
    """Return the record of a job; an empty one where there is none, or one that cannot be read: all is done again.

    Raises:
        WriteError: It lies outside the job, or may not be read.
    """
    data = read_files(folder, (RECORD,))[RECORD]
    try:
        table = json.loads(data or b"{}")
        if table and table["format"] == _FORMAT:
            return Record({stage: _from_json(table["stages"][stage]) for stage in table["stages"]}, data)
    except (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError):
        pass
    return Record({}, data)


def draft_key(folder: Path) -> str:
    """Return the hash under which a draft still stands: nobody has changed the `job.toml` that it made."""
    data = read_files(folder, (JOB_FILE,))[JOB_FILE]
    return "" if data is None else digest(data)


def _as_json(done: Done) -> dict[str, Any]:
    told = as_record(Outcome({}, done.notes, done.figures, done.seconds))
    return {"key": done.key, "files": list(done.files)} | told


def _from_json(data: Mapping[str, Any]) -> Done:
    return Done(
        str(data["key"]),
        tuple(map(str, data["files"])),
        float(data["seconds"]),
        tuple(map(Note.from_json, data["notes"])),
        {str(name): float(value) for name, value in data["figures"].items()},
    )
