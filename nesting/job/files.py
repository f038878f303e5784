"""Writing so that nothing is lost: whole files or none, and never over somebody's edit."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from vectorize.errors import WriteError
from vectorize.notes import Note

MANIFEST = "manifest.json"


def digest(data: bytes) -> str:
    """Return the SHA-256 of `data` in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def write_whole(path: Path, data: bytes) -> None:
    """Write `data` to `path` through a synced temporary file beside it, then rename.

    Raises:
        WriteError: Names the folder and the reason; a previous file at `path` is unchanged.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(prefix=".writing-", dir=path.parent)
    except OSError as error:
        raise _cannot_write(path, error) from error
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(temporary).chmod(_mode_for(path))
        Path(temporary).replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            Path(temporary).unlink()
        raise _cannot_write(path, error) from error


def _mode_for(path: Path) -> int:
    """Return the mode of the file to be replaced, or what a plain new file would get (mkstemp makes it private)."""
    if path.exists():
        return path.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _cannot_write(path: Path, error: OSError) -> WriteError:
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
    manifest = read_manifest(folder)
    paths: list[Path] = []
    notes: list[Note] = []
    try:
        for name, data in files.items():
            path = folder / name
            if not is_forced and _was_edited(path, manifest.get(name)):
                notes.append(_kept(path))
                continue
            write_whole(path, data)
            manifest[name] = digest(data)
            paths.append(path)
    finally:
        if paths:
            text = json.dumps(dict(sorted(manifest.items())), indent=1, ensure_ascii=False)
            write_whole(folder / MANIFEST, text.encode())
    return Written(tuple(paths), tuple(notes))


def read_manifest(folder: Path) -> dict[str, str]:
    """Return file name → hash as last written into `folder`; empty when there is none or it is damaged."""
    try:
        data = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return {str(name): str(value) for name, value in data.items()} if isinstance(data, dict) else {}


def _was_edited(path: Path, known_hash: str | None) -> bool:
    return path.exists() and digest(path.read_bytes()) != known_hash


def _kept(path: Path) -> Note:
    return Note(
        code="kept-edited-file",
        text=f"{path.name} was changed since Sheetwood wrote it, and is kept as it is; "
        "rename it, or use --force to replace it.",
        state="open",
    )
