"""Writing so that nothing is lost: whole files or none, and never over somebody's edit."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sys
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import IO, TypeAlias

from vectorize.basics.errors import WriteError
from vectorize.basics.notes import Note
from vectorize.basics.plain_file import read_plain

if sys.platform != "win32":
    import fcntl

MANIFEST = "manifest.json"
TEMPORARY = ".writing-"
"""Begins the name of every file that is still being written."""

Hashes: TypeAlias = tuple[str, ...]
"""The hashes that a file of ours may have: one, or several while it is being replaced."""


def digest(data: bytes) -> str:
    """Return the SHA-256 of `data` in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def write_whole(path: Path, data: bytes) -> None:
    """Write `data` to `path` through a synced temporary file beside it, then rename.

    Raises:
        WriteError: Names the folder and the reason; a previous file at `path` is unchanged.
    """
    with _temporary(path) as (file, temporary):
        _fill(file, data)
        temporary.chmod(_mode_for(path))
        if sys.platform == "win32":
            file.close()  # an open file cannot be renamed there
        # Elsewhere it is renamed while it is held, so that nobody takes it for what a dead writer left.
        temporary.replace(path)


def stage(path: Path, data: bytes) -> Path:
    """Return a synced temporary file beside `path` that holds `data`, to be renamed to it.

    Raises:
        WriteError: Names the folder and the reason; nothing is left behind.
    """
    with _temporary(path) as (file, temporary):
        _fill(file, data)
        temporary.chmod(_mode_for(path))
    return temporary


@contextlib.contextmanager
def _temporary(path: Path) -> Iterator[tuple[IO[bytes], Path]]:
    """Give a new file beside `path`, held by its writer until it is closed; if the disk refuses, it is removed."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = _held_file(path.parent)
    except OSError as error:
        raise cannot_write(path, error) from error
    try:
        with os.fdopen(handle, "wb") as file:
            yield file, temporary
    except OSError as error:
        with contextlib.suppress(OSError):
            temporary.unlink()
        raise cannot_write(path, error) from error


def _held_file(folder: Path) -> tuple[int, Path]:
    """Return a new temporary file that is held; another one where somebody cleared it away before it was."""
    while True:
        handle, name = tempfile.mkstemp(prefix=TEMPORARY, dir=folder)
        # Who looks for what dead writers left takes the file for such until it is held, and holds it until it is gone.
        if _hold(handle) and Path(name).exists():
            return handle, Path(name)
        os.close(handle)


def _fill(file: IO[bytes], data: bytes) -> None:
    file.write(data)
    file.flush()
    os.fsync(file.fileno())


def _hold(handle: int) -> bool:
    """Mark an open file as being written, until it is closed; return False if somebody else marked it."""
    if sys.platform == "win32":
        return True  # an open file cannot be removed there, which says the same
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError:
        return True  # a disk without locks
    return True


def abandoned(folder: Path) -> Iterator[Path]:
    """Give the temporary files that writers which died left in a folder; not those that are being written.

    Each is held while it is given, so that nobody begins to write it. None in a folder that may not be looked into:
    whoever needs what lies there tells it.
    """
    try:
        found = [*folder.glob(f"{TEMPORARY}*")]
    except OSError:
        return
    for path in found:
        if path.is_symlink() or not path.is_file():
            continue
        try:
            file = path.open("rb")
        except OSError:
            continue  # its writer has just renamed or removed it
        with file:
            if _hold(file.fileno()):
                yield path


def clear_abandoned(folder: Path) -> None:
    """Remove the temporary files that dead writers left in a folder; what cannot be removed is in nobody's way."""
    for path in abandoned(folder):
        with contextlib.suppress(OSError):
            path.unlink()


def _mode_for(path: Path) -> int:
    """Return the mode of the file to be replaced, or what a plain new file would get (mkstemp makes it private)."""
    if path.exists():
        return path.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def cannot_write(path: Path, error: OSError) -> WriteError:
    """Return the error that says that a file cannot be written, and why."""
    """Return the sentence for a file that the disk refuses."""
    reason = error.strerror or str(error)
    return WriteError(
        f"cannot write {path.name} in {path.parent}: {reason}. Free some space or choose a folder that you may "
        "write to; the earlier file, if there was one, is unchanged."
    )


@dataclass(frozen=True, slots=True)
class Written:
    """What became of a set of result files."""

    paths: tuple[Path, ...]
    notes: tuple[Note, ...]


def write_results(folder: Path, files: Mapping[str, bytes], *, is_forced: bool = False) -> Written:
    """Write result files into `folder`, keeping those that somebody edited since we wrote them.

    The folder's manifest holds the hash of every file as we wrote it. A file that is there but not as the
    manifest says was edited (or put there) by somebody: it is kept and reported, unless `is_forced`.

    Raises:
        WriteError: The folder cannot be written; files written before the fault are in the manifest.
    """
    clear_abandoned(folder)
    known = _hashes(folder)
    kept = () if is_forced else tuple(name for name in files if _was_edited(folder / name, known.get(name, ())))
    wanted = {name: (data, digest(data)) for name, data in files.items() if name not in kept}
    written: dict[str, Hashes] = {}
    if wanted:
        # Before the files, so that those of a run that is killed on the way are known as ours by the next one.
        _record(folder, {name: (*known.get(name, ()), new) for name, (_, new) in wanted.items()})
    try:
        for name, (data, new) in wanted.items():
            write_whole(folder / name, data)
            written[name] = (new,)
    finally:
        if wanted:
            _record(folder, {name: written.get(name, known.get(name, ())) for name in wanted})
    return Written(tuple(folder / name for name in written), tuple(_kept(folder / name) for name in kept))


def read_manifest(folder: Path) -> dict[str, str]:
    """Return file name → hash as last written into `folder`; empty when there is none or it is damaged."""
    return {name: hashes[-1] for name, hashes in _hashes(folder).items()}


def _hashes(folder: Path) -> dict[str, Hashes]:
    """Return the manifest: of each file the hash that it has, or while it is being replaced those that it may have."""
    try:
        data = json.loads(read_plain(folder / MANIFEST))
        entries = {name: (found,) if isinstance(found, str) else tuple(found) for name, found in data.items()}
    except (OSError, ValueError, TypeError, AttributeError, RecursionError):
        return {}
    return {name: tuple(map(str, found)) for name, found in entries.items() if found}


def _record(folder: Path, changes: Mapping[str, Hashes]) -> None:
    """Write `changes` into the manifest as it is now; a file without a hash leaves it."""
    entries = {name: found for name, found in (_hashes(folder) | dict(changes)).items() if found}
    plain = {name: found[0] if len(found) == 1 else list(found) for name, found in sorted(entries.items())}
    write_whole(folder / MANIFEST, json.dumps(plain, indent=1, ensure_ascii=False).encode(errors="replace"))


def _was_edited(path: Path, known: Hashes) -> bool:
    if not os.path.lexists(path):
        return False
    # A folder, a pipe or a dead link in its place is nothing that we wrote.
    return not path.is_file() or digest(path.read_bytes()) not in known


def _kept(path: Path) -> Note:
    return Note(
        code="kept-edited-file",
        text=f"{path.name} was changed since Sheetwood wrote it, and is kept as it is; "
        "rename it, or use --force to replace it.",
        state="open",
    )
