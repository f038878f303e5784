"""Changing several files of a job so that all of them change or none does, also if the program dies meanwhile.

What is to be written is first laid beside the files under temporary names, then a journal says what becomes
of which, then the files are switched, then the journal goes. Whoever opens the job next and finds a journal
finishes the change. It is taken back instead where finishing would overwrite what somebody saved meanwhile.
"""

from __future__ import annotations

import contextlib
import json
import os
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from nesting.job.files import TEMPORARY, abandoned, cannot_write, clear_abandoned, digest, stage, write_whole
from vectorize.basics.errors import JobError, WriteError
from vectorize.basics.plain_file import read_plain

JOURNAL = ".change.json"
LOCK = ".lock"
LOCK_WAIT_S = 10.0
_FORMAT = 1
_FOLDERS = ("", "outlines", "outlines/plans", "corrected", "rack", "out", ".desk")
"""Where Sheetwood writes within a job."""

Contents = Mapping[str, bytes | None]
"""Name within the job folder → content; None where there is no such file."""


@dataclass(frozen=True, slots=True)
class _Switch:
    """What becomes of a file: its hashes before and after, None for no file, and the temporary files that hold both."""

    path: Path
    before: str | None
    after: str | None
    old: Path | None
    new: Path | None

    @property
    def stand(self) -> Literal["old", "new", "edited"]:
        """Return which content the file has; 'edited' where somebody saved another one over the old."""
        found = _hash(self.path)
        if found in (self.after, self.before):
            return "new" if found == self.after else "old"
        return "new" if self.new is not None and not self.new.exists() else "edited"

    @property
    def can_go_on(self) -> bool:
        """Return whether the file has its new content, or may be given it."""
        stand = self.stand
        return stand == "new" or (stand == "old" and (self.new is None or self.new.exists()))

    def go_on(self) -> None:
        """Give the file its new content."""
        _move(self.new, self.path)

    def go_back(self) -> None:
        """Give the file its old content again, unless somebody saved another one over the new."""
        if _hash(self.path) == self.after:
            _move(self.old, self.path)


def read_files(folder: Path, names: Iterable[str]) -> dict[str, bytes | None]:
    """Return the content of files of a job, None for those that are not there.

    Raises:
        WriteError: One cannot be read, or lies outside the job.
    """
    return {name: _read(_within(folder, name)) for name in names}


def replace_files(folder: Path, before: Contents, after: Contents) -> None:
    """Bring files of a job to `after`, all or none, where every one of them still is as `before`.

    Raises:
        WriteError: A file is no longer as it was, another program is saving, or the disk refuses; nothing changed.
    """
    with locked(folder):
        found = read_files(folder, after)
        for name, data in found.items():
            if data != before.get(name):
                raise WriteError(
                    f"{name} was changed by someone else since; nothing was overwritten. "
                    "Look at what it holds now and make the change again."
                )
        wanted = {name: data for name, data in after.items() if data != found[name]}
        wanted = {name: data for name, data in wanted.items() if data is not None or not _stays(folder, name, after)}
        if len(wanted) == 1:
            ((name, data),) = wanted.items()
            _put(folder / name, data)
        elif wanted:
            _switch_all(folder, found, wanted)


@contextlib.contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Hold the lock of a job folder; what a dead program left there is finished or cleared first.

    Raises:
        WriteError: Another program holds it for long, or the folder cannot be written.
        JobError: As `settle`.
    """
    from filelock import FileLock, Timeout

    try:
        folder.mkdir(parents=True, exist_ok=True)
        lock = FileLock(str(folder / LOCK), timeout=LOCK_WAIT_S)
        lock.acquire()
    except Timeout as error:
        raise WriteError(f"another program is saving in {folder}; try again when it has finished.") from error
    except OSError as error:
        raise WriteError(f"cannot lock {folder}: {error.strerror or error}.") from error
    try:
        _finish(folder)
        _clear(folder)
        yield
    finally:
        lock.release()


def settle(folder: Path) -> None:
    """Finish or take back a change that a dead program left half made, and clear its temporary files.

    Raises:
        WriteError: There is one, and the folder cannot be written.
        JobError: The journal of the change is not one that Sheetwood wrote.
    """
    if (folder / JOURNAL).exists():
        with locked(folder):
            return
    if any(True for _ in _left_over(folder)):
        # A job can be read all the same where nothing may be written.
        with contextlib.suppress(WriteError), locked(folder):
            return


def _clear(folder: Path) -> None:
    for name in _FOLDERS:
        clear_abandoned(folder / name)


def _left_over(folder: Path) -> Iterator[Path]:
    for name in _FOLDERS:
        yield from abandoned(folder / name)


def _within(folder: Path, name: str) -> Path:
    """Return where a file of the job lies.

    Raises:
        WriteError: The name, or a link on the way, leads out of the job.
    """
    path = folder / name
    if not path.parent.resolve().is_relative_to(folder.resolve()):
        raise WriteError(
            f"{name} lies outside the job folder {folder}, so it is not changed; put a plain folder there."
        )
    return path


def _stays(folder: Path, name: str, after: Contents) -> bool:
    """Return whether a file that is to go is, on this disk, one that is to be: names that differ only in case."""
    others = [other for other, data in after.items() if data is not None and other.casefold() == name.casefold()]
    return any((folder / other).exists() and (folder / name).samefile(folder / other) for other in others)


def _read(path: Path) -> bytes | None:
    try:
        return read_plain(path)
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as error:
        raise WriteError(f"{path.name} cannot be read, so it cannot be changed: {error.strerror or error}.") from error


def _hash(path: Path) -> str | None:
    data = _read(path)
    return None if data is None else digest(data)


def _put(path: Path, data: bytes | None) -> None:
    if data is not None:
        write_whole(path, data)
        return
    try:
        path.unlink(missing_ok=True)
    except OSError as error:
        raise cannot_write(path, error) from error


def _move(source: Path | None, path: Path) -> None:
    """Put a temporary file in the place of a file, or take the file away where there is none to put."""
    if source is None:
        path.unlink(missing_ok=True)
    elif source.exists():
        source.replace(path)


def _switch_all(folder: Path, found: Contents, wanted: Contents) -> None:
    """Lay the contents ready, write the journal, switch; raises as `replace_files`."""
    try:
        # Files that go come first: on a disk that takes `Rib` and `rib` for one, the new one must not go with them.
        names = sorted(wanted, key=lambda name: wanted[name] is not None)
        switches = [_laid(folder / name, found[name], wanted[name]) for name in names]
        write_whole(folder / JOURNAL, _as_text(folder, switches).encode())
    except WriteError:
        _clear(folder)
        raise
    _sync(folder)
    for switch in switches:
        try:
            switch.go_on()
        except OSError as error:
            _go_back(folder, switches)
            _clear(folder)
            raise cannot_write(switch.path, error) from error
    _end(folder, switches)
    _clear(folder)


def _laid(path: Path, old: bytes | None, new: bytes | None) -> _Switch:
    return _Switch(
        path,
        None if old is None else digest(old),
        None if new is None else digest(new),
        None if old is None else stage(path, old),
        None if new is None else stage(path, new),
    )


def _finish(folder: Path) -> None:
    """Finish the change that the journal of a folder tells of, or take it back; nothing without a journal."""
    try:
        text = read_plain(folder / JOURNAL).decode()
    except FileNotFoundError:
        return
    except (OSError, UnicodeDecodeError) as error:
        raise _no_journal(folder) from error
    switches = _from_text(folder, text)
    if not all(switch.can_go_on for switch in switches):
        _go_back(folder, switches)
        return
    for switch in switches:
        try:
            if switch.stand == "old":
                switch.go_on()
        except OSError as error:
            raise _unfinished(switch, error) from error
    _end(folder, switches)


def _go_back(folder: Path, switches: Sequence[_Switch]) -> None:
    for switch in switches:
        try:
            switch.go_back()
        except OSError as error:
            raise _unfinished(switch, error) from error
    _end(folder, switches)


def _unfinished(switch: _Switch, error: OSError) -> WriteError:
    reason = error.strerror or str(error)
    return WriteError(
        f"a change of {switch.path.name} in {switch.path.parent} was interrupted and cannot be finished: {reason}. "
        "Nothing is lost; make the folder writable and repeat."
    )


def _end(folder: Path, switches: Sequence[_Switch]) -> None:
    """Take the journal away, once what it tells of is on the disk."""
    for parent in sorted({switch.path.parent for switch in switches}):
        _sync(parent)
    try:
        (folder / JOURNAL).unlink(missing_ok=True)
    except OSError as error:
        raise cannot_write(folder / JOURNAL, error) from error


def _sync(folder: Path) -> None:
    """Have the names in a folder written to the disk, where the system can."""
    if sys.platform == "win32":
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _as_text(folder: Path, switches: Sequence[_Switch]) -> str:
    entries = [
        {
            "name": switch.path.relative_to(folder).as_posix(),
            "before": switch.before,
            "after": switch.after,
            "old": switch.old and switch.old.name,
            "new": switch.new and switch.new.name,
        }
        for switch in switches
    ]
    return json.dumps({"format": _FORMAT, "files": entries}, ensure_ascii=False)


def _from_text(folder: Path, text: str) -> list[_Switch]:
    try:
        data = json.loads(text)
        if data["format"] != _FORMAT:
            raise ValueError(data["format"])
        return [_switch(folder, entry) for entry in data["files"]]
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError, WriteError) as error:
        raise _no_journal(folder) from error


def _switch(folder: Path, entry: Mapping[str, str | None]) -> _Switch:
    path = _within(folder, str(entry["name"]))
    held = [name if name is None else path.with_name(name) for name in (entry["old"], entry["new"])]
    # A folder may come from anybody: nothing but what is named as our own is moved.
    if any(one is not None and not one.name.startswith(TEMPORARY) for one in held):
        raise ValueError("not a temporary file")
    return _Switch(path, entry["before"], entry["after"], *held)


def _no_journal(folder: Path) -> JobError:
    return JobError(
        f"{folder / JOURNAL} is not as Sheetwood writes it, so the change that it tells of cannot be finished; "
        "look at the files of the job, then remove it."
    )
