"""What the plans of a job say: read in the background in a process of its own, and kept in the job folder."""

from __future__ import annotations

import base64
import json
import threading
from pathlib import Path
from typing import Any

from nesting.desk.history import DESK_FOLDER
from nesting.desk.left_out import left_out_of
from nesting.desk.scan_work import file_key
from nesting.desk.tasks import Say, Task
from nesting.desk.worker import StoppedError
from nesting.desk.workshop import Workshop
from nesting.job.files import write_whole
from nesting.job.schema import PlanTable
from vectorize.basics.errors import JobError, SheetwoodError
from vectorize.basics.plain_file import read_plain
from vectorize.basics.wording import told


class Readings:
    """What each plan of one workshop says, from when it was first asked for."""

    def __init__(self, workshop: Workshop) -> None:
        self._workshop = workshop
        self._kept: dict[str, dict[str, Any]] = {}
        self._ended: dict[str, tuple[str, str]] = {}
        self._waiting: list[int] = []
        self._lock = threading.Lock()

    def view(self, number: int) -> dict[str, Any]:
        """Return what plan `number` says, or how far reading it has come.

        `state` is `none`, `running`, `done`, `failed` or `stopped`; `says` is there when it is done.

        Raises:
            JobError: There is no such plan, or its file is not there.
        """
        table = self._table(number)
        key = file_key(self._workshop.job(), table)
        found = self._read(key)
        state, text = self._ended.get(key, ("none", ""))
        if found is not None:
            state, text = "done", ""
        if number in self._waiting:
            state, text = "running", ""
        says = None if found is None else found["says"]
        left_out = left_out_of(self._workshop.folder, key)
        return {"key": key, "state": state, "text": text, "says": says, "left_out": left_out}

    def crop(self, number: int, text: int) -> bytes | None:
        """Return a line of lettering that plan `number` was read from, as PNG; None where there is none."""
        found = self._read(file_key(self._workshop.job(), self._table(number)))
        crop = None if found is None else found["crops"].get(str(text))
        return None if crop is None else base64.b64decode(crop)

    def start(self, number: int) -> Task | None:
        """Begin to read plan `number`, after those that are being read; None if it is among them.

        Raises:
            JobError: There is no such plan.
        """
        self._table(number)
        with self._lock:
            if number in self._waiting:
                return None
            self._waiting.append(number)
        tasks = self._workshop.tasks
        begun = tasks.start("read", "reading the plan", self._work, stop=self._workshop.reader.stop)
        return begun or tasks.newest("read")

    def _work(self, say: Say) -> None:
        try:
            while self._waiting:
                self._read_one(self._waiting[0], say)
                with self._lock:
                    self._waiting.pop(0)
        finally:
            with self._lock:
                self._waiting.clear()
            # A plan is read once; its memory comes back.
            self._workshop.reader.stop()
            self._workshop.hub.tell("reading", {})

    def _read_one(self, number: int, say: Say) -> None:
        from nesting.desk import plan_says  # what reads lettering is slow to load

        key = file_key(self._workshop.job(), self._table(number))
        try:
            found = self._workshop.reader.run(plan_says.read_sheet, self._workshop.folder, number, on_say=say)
        except StoppedError:
            self._ended[key] = ("stopped", "")
            raise
        except SheetwoodError as error:
            self._ended[key] = ("failed", told(self._workshop.speech().said(str(error))))
            raise
        except Exception:
            self._ended[key] = ("failed", "This is a fault in Sheetwood; its details are in the terminal.")
            raise
        write_whole(self._file(key), json.dumps(found).encode())
        self._kept[key] = found
        self._workshop.hub.tell("reading", {})

    def _read(self, key: str) -> dict[str, Any] | None:
        if key not in self._kept:
            found = _kept_in(self._file(key))
            if found is None:
                return None
            self._kept[key] = found
        return self._kept[key]

    def _file(self, key: str) -> Path:
        return self._workshop.folder / DESK_FOLDER / f"reading-{key}.json"

    def _table(self, number: int) -> PlanTable:
        plans = self._workshop.job().spec.plan
        if not 0 <= number < len(plans):
            raise JobError(f"there is no plan number {number + 1}; the job has {len(plans)}.")
        return plans[number]


def _kept_in(path: Path) -> dict[str, Any] | None:
    try:
        found = json.loads(read_plain(path))
    except (OSError, ValueError, RecursionError):
        return None
    return found if isinstance(found, dict) and {"says", "crops"} <= set(found) else None
