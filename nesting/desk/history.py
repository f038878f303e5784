"""Undo and redo over the whole job, kept in the job folder so that they outlive the page and the server.

A step holds the texts of the files that it changed, before and after. It can be undone only while the
builder's own files are still as it left them: what an editor changed since is never overwritten. The files of
a step and the history itself change together or not at all.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from nesting.desk.layouts import LAYOUT_NAME
from nesting.job.journal import replace_files
from vectorize.basics.errors import WriteError
from vectorize.basics.plain_file import read_plain

DESK_FOLDER = ".desk"
HISTORY_NAME = f"{DESK_FOLDER}/history.json"
RESULTS = frozenset({LAYOUT_NAME})
"""Files of a step that Sheetwood makes by itself: that one was made anew is no reason to refuse the step."""
MOST_STEPS = 200
MOST_BYTES = 8_000_000
_FORMAT = 1

Texts = Mapping[str, str | None]
"""Name within the job folder → content; None where there is no such file."""


@dataclass(frozen=True, slots=True)
class Step:
    """One change: what the builder would call it, the files before and after, and what else is told when it is made."""

    title: str
    before: Texts
    after: Texts
    told: str = ""

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

    def with_last(self, step: Step) -> History:
        """Return the history with another step in place of the last one that stands."""
        return History((*self.steps[: self.done - 1], step, *self.steps[self.done :]), self.done)


def read_history(folder: Path) -> History:
    """Return the history kept in a job folder; empty when there is none or it cannot be read."""
    return _kept(folder)[1]


def _from_bytes(text: bytes) -> History:
    try:
        data = json.loads(text)
        if data["format"] != _FORMAT:
            return History()
        steps = tuple(Step(str(s["title"]), _texts(s["before"]), _texts(s["after"])) for s in data["steps"])
        return History(steps, max(0, min(int(data["done"]), len(steps))))
    except (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError, WriteError):
        # Damaged or from another version: the job itself is whole, only going back is lost.
        return History()


def _texts(data: Any) -> Texts:  # noqa: ANN401 - whatever the file holds
    found = {str(name): text for name, text in data.items()}
    encoded(found)
    return found


def _as_bytes(history: History) -> bytes:
    steps: list[dict[str, Any]] = [
        {"title": s.title, "before": dict(s.before), "after": dict(s.after)} for s in history.steps
    ]
    return json.dumps({"format": _FORMAT, "done": history.done, "steps": steps}, ensure_ascii=False).encode()


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
            texts[name] = read_plain(path).decode("utf-8") if path.exists() else None
        except (OSError, UnicodeDecodeError) as error:
            raise WriteError(f"{name} cannot be read as UTF-8 text, so it cannot be changed from here.") from error
    return texts


def make_step(folder: Path, step: Step) -> None:
    """Make a change and keep it as the newest step of the history: both, or neither.

    Raises:
        WriteError: A file is no longer as the step found it, another program is saving, or the disk refuses.
    """
    kept, history = _kept(folder)
    _change(folder, step.before, step.after, kept, history.with_step(step))


def step_back(folder: Path) -> Step | None:
    """Take the last step back and return it; None where there is none.

    What was made since of a result holds up no step: it is kept in the step, and comes back with it.

    Raises:
        WriteError: Somebody changed a file of the step since, another program is saving, or the disk refuses.
    """
    kept, history = _kept(folder)
    step = history.undoable
    if step is None:
        return None
    now = _as_it_is(folder, step.after)
    renewed = replace(step, after={**step.after, **now})
    _change(folder, now, step.before, kept, history.with_last(renewed).moved(-1))
    return step


def step_forward(folder: Path) -> Step | None:
    """Make the last undone step again and return it; None where there is none. As `step_back`."""
    kept, history = _kept(folder)
    step = history.redoable
    if step is None:
        return None
    now = _as_it_is(folder, step.before)
    renewed = replace(step, before={**step.before, **now})
    _change(folder, now, step.after, kept, history.moved(1).with_last(renewed))
    return step


def _kept(folder: Path) -> tuple[bytes | None, History]:
    """Return the file of the history as it is, and the history in it."""
    try:
        data = read_plain(folder / HISTORY_NAME)
    except OSError:
        return None, History()
    return data, _from_bytes(data)


def _as_it_is(folder: Path, expected: Texts) -> Texts:
    """Return what a step expects, with its results as they are now; those that hold no text are left out."""
    now = dict(expected)
    for name in RESULTS & set(now):
        try:
            now |= read_texts(folder, (name,))
        except WriteError:
            del now[name]
    return now


def _change(folder: Path, before: Texts, after: Texts, kept: bytes | None, history: History) -> None:
    """Bring the files that `before` names, and the history, from one content to the other."""
    wanted = {name: after[name] for name in before}
    replace_files(
        folder,
        {**encoded(before), HISTORY_NAME: kept},
        {**encoded(wanted), HISTORY_NAME: _as_bytes(history)},
    )


def encoded(texts: Texts) -> dict[str, bytes | None]:
    """Return texts as they lie on the disk.

    Raises:
        WriteError: One holds half a character, as damaged files and strange programs have them.
    """
    try:
        return {name: None if text is None else text.encode() for name, text in texts.items()}
    except UnicodeEncodeError as error:
        found = error.object[error.start : error.end].encode("ascii", "backslashreplace").decode()
        raise WriteError(
            f"a text holds {found}, which is no character; take it out and make the change again."
        ) from error
