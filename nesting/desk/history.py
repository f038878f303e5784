"""Undo and redo over the whole job, kept in the job folder so that they outlive the page and the server.

A step holds the texts of the files that it changed, before and after. It can be undone only while those
files are still as it left them: what the command line or an editor changed since is never overwritten.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from filelock import FileLock, Timeout

from nesting.job.files import digest, write_whole
from nesting.job.folder import LOCK_WAIT_S
from vectorize.errors import WriteError

DESK_FOLDER = ".desk"
HISTORY_FILE = "history.json"
MOST_STEPS = 200
MOST_BYTES = 8_000_000
_FORMAT = 1

Texts = Mapping[str, str | None]
"""Name within the job folder → content; None where there is no such file."""


@dataclass(frozen=True, slots=True)
class Step:
    """One change: what the builder would call it, and the files before and after."""

    title: str
    before: Texts
    after: Texts

    @property
    def size(self) -> int:
        """Return about how many bytes the step takes on disk."""
        return sum(len(text or "") for texts in (self.before, self.after) for text in texts.values())


@dataclass(frozen=True, slots=True)
class History:
    """Steps in the order in which they were made; `done` of them stand, the rest were undone."""

    steps: tuple[Step, ...] = ()
    done: int = 0

    @property
    def undoable(self) -> Step | None:
        """Return the step that undo would take back."""
        return self.steps[self.done - 1] if self.done else None

    @property
    def redoable(self) -> Step | None:
        """Return the step that redo would make again."""
        return self.steps[self.done] if self.done < len(self.steps) else None

    def with_step(self, step: Step) -> History:
        """Return the history after a new step; undone ones are forgotten, and the oldest when it grows too long."""
        steps = [*self.steps[: self.done], step][-MOST_STEPS:]
        while len(steps) > 1 and sum(one.size for one in steps) > MOST_BYTES:
            steps.pop(0)
        return History(tuple(steps), len(steps))

    def moved(self, by: int) -> History:
        """Return the history with one step more or fewer standing."""
        return History(self.steps, self.done + by)


def read_history(folder: Path) -> History:
    """Return the history kept in a job folder; empty when there is none or it cannot be read."""
    try:
        data = json.loads((folder / DESK_FOLDER / HISTORY_FILE).read_text(encoding="utf-8"))
        if data["format"] != _FORMAT:
            return History()
        steps = tuple(Step(str(s["title"]), dict(s["before"]), dict(s["after"])) for s in data["steps"])
        return History(steps, max(0, min(int(data["done"]), len(steps))))
    except (OSError, ValueError, KeyError, TypeError):
        # Damaged or from another version: the job itself is whole, only going back is lost.
        return History()


def save_history(folder: Path, history: History) -> None:
    """Keep the history in the job folder.

    Raises:
        WriteError: The folder cannot be written.
    """
    steps: list[dict[str, Any]] = [
        {"title": s.title, "before": dict(s.before), "after": dict(s.after)} for s in history.steps
    ]
    text = json.dumps({"format": _FORMAT, "done": history.done, "steps": steps}, ensure_ascii=False)
    write_whole(folder / DESK_FOLDER / HISTORY_FILE, text.encode())


def read_texts(folder: Path, names: Mapping[str, object] | tuple[str, ...]) -> dict[str, str | None]:
    """Return the content of files of the job, None for those that are not there.

    Raises:
        WriteError: A file that cannot be read as text.
    """
    texts: dict[str, str | None] = {}
    for name in names:
        path = folder / name
        try:
            # Bytes as they are: universal newlines would change a file that is only passed through.
            texts[name] = path.read_bytes().decode("utf-8") if path.exists() else None
        except (OSError, UnicodeDecodeError) as error:
            raise WriteError(f"{name} cannot be read as UTF-8 text, so it cannot be changed from here.") from error
    return texts


def replace_texts(folder: Path, expected: Texts, wanted: Texts) -> None:
    """Write `wanted` where every file is still as `expected`; otherwise write nothing.

    Raises:
        WriteError: A file is no longer as expected, another program is saving, or the disk refuses.
    """
    lock = FileLock(str(folder / ".lock"), timeout=LOCK_WAIT_S)
    try:
        with lock:
            found = read_texts(folder, tuple(wanted))
            for name, text in wanted.items():
                if not _is_same(found[name], expected.get(name)):
                    raise WriteError(
                        f"{name} was changed by someone else since; nothing was overwritten. "
                        "Look at what it holds now and make the change again."
                    )
                if _is_same(found[name], text):
                    continue
                _put(folder / name, text)
    except Timeout as error:
        raise WriteError(f"another program is saving in {folder}; try again when it has finished.") from error


def _is_same(found: str | None, expected: str | None) -> bool:
    if found is None or expected is None:
        return found is expected
    return digest(found.encode()) == digest(expected.encode())


def _put(path: Path, text: str | None) -> None:
    if text is not None:
        write_whole(path, text.encode())
        return
    try:
        path.unlink(missing_ok=True)
    except OSError as error:
        raise WriteError(f"cannot remove {path.name}: {error.strerror or error}.") from error
