"""What a job is made of on disk, and whether somebody changed it."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from nesting.job.files import digest

_ASKED_FOLDERS = ("rack", "corrected")
_RESULT_FOLDERS = ("outlines",)
_RESULT_FILES = ("out/manifest.json", ".desk/history.json")

Stamp = tuple[tuple[str, int, int], ...]


def stamp(folder: Path, named: tuple[str, ...], *, has_results: bool = True) -> Stamp:
    """Return name, time and size of every file that a job's state depends on; cheap enough to ask often.

    Args:
        folder: The job folder.
        named: The files that `job.toml` names.
        has_results: Also the files that the desk itself makes from the others.
    """
    # The layout is a result too, but weight and balance follow from it.
    files = ("job.toml", "out/layout.json", *named, *(_RESULT_FILES if has_results else ()))
    folders = (*_ASKED_FOLDERS, *(_RESULT_FOLDERS if has_results else ()))
    return tuple(sorted({*_file_stamps(folder, files), *_folder_stamps(folder, folders)}))


def _file_stamps(folder: Path, names: tuple[str, ...]) -> Iterator[tuple[str, int, int]]:
    for name in names:
        try:
            found = (folder / name).stat()
        except (OSError, ValueError):
            continue
        yield name, found.st_mtime_ns, found.st_size


def _folder_stamps(folder: Path, names: tuple[str, ...]) -> Iterator[tuple[str, int, int]]:
    for name in names:
        try:
            entries = list(os.scandir(folder / name))
        except OSError:
            continue
        for entry in entries:
            try:
                found = entry.stat()
            except OSError:
                continue
            if entry.name.endswith(".json"):
                yield f"{name}/{entry.name}", found.st_mtime_ns, found.st_size


def revision(state: Stamp) -> str:
    """Return a short word that is another one whenever the stamp is."""
    return digest(repr(state).encode())[:16]
