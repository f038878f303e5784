"""What a job is made of on disk, and whether somebody changed it."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from nesting.job.files import digest
from vectorize.basics.plain_file import read_plain

_ASKED_FOLDERS = ("rack", "corrected")
_RESULT_FOLDERS = ("outlines",)
_RESULT_FILES = ("out/manifest.json", ".desk/history.json")
_TEXTS = (".toml", ".csv", ".json")

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


def content_word(folder: Path, named: tuple[str, ...]) -> str:
    """Return a word that is the same again when every file that the job's state follows from holds the same again.

    Texts count by what they hold, scans and traced outlines by their time and size.

    Args:
        folder: The job folder.
        named: The files that `job.toml` names.
    """
    found = [one for one in stamp(folder, named) if one[0] not in _RESULT_FILES]
    return digest(repr([(name, _held(folder, name) or (at, size)) for name, at, size in found]).encode())


def _held(folder: Path, name: str) -> str | None:
    """Return the hash of a text that the builder may change; None for any other file."""
    if not name.endswith(_TEXTS) or name.startswith(tuple(f"{result}/" for result in _RESULT_FOLDERS)):
        return None
    try:
        return digest(read_plain(folder / name))
    except OSError:
        return None


def revision(state: Stamp) -> str:
    """Return a short word that is another one whenever the stamp is."""
    return digest(repr(state).encode())[:16]
