"""Result files that are made once: again only when something that they are made from has changed, or they have."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, TypeAlias

import nesting
from nesting.job.files import Written, digest, write_results, write_whole
from nesting.job.stages import fingerprint
from vectorize.basics.notes import Note
from vectorize.basics.plain_file import read_plain

MADE = ".made.json"
"""Which results lie in a folder, and what they were made from. Not in the list of results: it is none."""

Made: TypeAlias = tuple[Mapping[str, bytes], tuple[Note, ...]]
"""Files by name, and what is said of them."""


@dataclass(frozen=True, slots=True)
class _Record:
    """What was made: the hash of what it was made from, the hash of each file by name, and what was said."""

    key: str
    files: Mapping[str, str]
    notes: tuple[Note, ...]

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> _Record:
        return cls(str(data["key"]), dict(data["files"]), tuple(map(Note.from_json, data["notes"])))

    def as_json(self) -> dict[str, Any]:
        return {"key": self.key, "files": dict(self.files), "notes": [note.as_json() for note in self.notes]}

    def holds(self, key: str, folder: Path) -> bool:
        return self.key == key and all(_hash_of(folder / name) == made for name, made in self.files.items())


def write_made(folder: Path, make: Callable[..., Made], *, is_forced: bool, **inputs: Any) -> Written:  # noqa: ANN401 - whatever it is made from
    """Write the files that `make` makes of `inputs`, unless they lie there as it made them of the same before.

    `make` reads nothing but its inputs: they are hashed as a whole, with the program itself, so that none can be
    forgotten. What somebody edited is kept as by `write_results`, and `is_forced` has all made anew.

    Raises:
        WriteError: The folder cannot be written.
        TypeError: An input that cannot be hashed as a whole.
    """
    name = make.__qualname__
    key = fingerprint((_program(), name, inputs)).hex()
    records = _read(folder)
    if not is_forced and name in records and records[name].holds(key, folder):
        return Written(tuple(folder / file for file in records[name].files), records[name].notes)
    files, notes = make(**inputs)
    written = write_results(folder, files, is_forced=is_forced)
    record = _Record(key, {file: digest(data) for file, data in files.items()}, notes)
    if written.paths:
        text = json.dumps({one: made.as_json() for one, made in (records | {name: record}).items()}, indent=1)
        write_whole(folder / MADE, text.encode())
    return Written(written.paths, (*notes, *written.notes))


def _read(folder: Path) -> dict[str, _Record]:
    """Return what was made, by what made it; nothing where there is no record, or a damaged one."""
    try:
        data = json.loads(read_plain(folder / MADE))
        return {name: _Record.from_json(made) for name, made in data.items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return {}


def _hash_of(path: Path) -> str | None:
    try:
        return digest(read_plain(path))
    except OSError:
        return None


@cache
def _program() -> tuple[object, ...]:
    """Return what tells one state of the program from another: its files by size and time, libraries by version.

    Size and time are what Python itself tells by whether a module is to be compiled anew.
    """
    root = Path(nesting.__file__).parent
    libraries = (found.name for place in sys.path for found in Path(place).glob("*.dist-info"))
    return (
        *sorted(libraries),
        *sorted(_sources(root)),
        *sorted(_sources(root.with_name("vectorize"))),
    )


def _sources(folder: Path | str) -> Iterator[tuple[str, int, int]]:
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.is_dir():
                yield from _sources(entry.path)
            elif entry.name.endswith(".py"):
                found = entry.stat()
                yield entry.path, found.st_size, found.st_mtime_ns
