"""One job as the desk holds it: how it stands, every change to it, and the work that follows from a change.

The files are the truth. The page is shown what they hold; an edit is made on their texts, under the job's
lock and only where they are still what the desk last read; what the command line or an editor changes is
noticed within a second and shown.
"""

from __future__ import annotations

import threading
import tomllib
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from nesting.balance.weights import WeightTable
from nesting.desk import following, layouts, on_files, scan_work
from nesting.desk import requests as ask
from nesting.desk.balance_view import balance_view
from nesting.desk.changes import step_for
from nesting.desk.earlier import Earlier, Shown
from nesting.desk.events import Hub
from nesting.desk.history import Step, make_step, read_history, read_texts, step_back, step_forward
from nesting.desk.layouts import LAYOUT_NAME
from nesting.desk.notes_view import notes_view, spoken
from nesting.desk.parts_view import carved_view, parts_view
from nesting.desk.plan_view import plans_view
from nesting.desk.rack_view import boards_view
from nesting.desk.seen import seen_view
from nesting.desk.shopping_view import shopping_card, shopping_view
from nesting.desk.shown_units import with_shown_units
from nesting.desk.sources import content_word, revision, stamp
from nesting.desk.standing import Standing
from nesting.desk.tasks import Say, Tasks
from nesting.desk.what_next import Stood, patterns_drawn, what_next
from nesting.desk.worker import Worker
from nesting.job.files import digest, read_manifest
from nesting.job.folder import JOB_FILE, Job, open_job
from nesting.job.journal import settle
from nesting.job.laid import Laid, read_laid
from nesting.job.rules import rules_of
from nesting.job.solid_model import SolidModel, put_together
from nesting.job.speech import speech_in, speech_of
from nesting.job.stages import Memo, Stages, laid_of, weights_of
from nesting.job.wood import wood_of
from vectorize.basics.errors import CallError, JobError, SheetwoodError
from vectorize.basics.plain_file import read_plain
from vectorize.basics.spoken import Speech
from vectorize.basics.wording import told

WATCH_S = 0.5


def _text_hash(path: Path) -> str | None:
    try:
        return digest(read_plain(path))
    except OSError:
        return None


class Workshop:
    """The job in one folder, its workers and its news."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder.resolve()
        settle(self.folder)
        self.hub = Hub()
        self.tasks = Tasks(self.hub, speech=self.speech)
        self.trace_worker = Worker()
        self.region_worker = Worker()
        self.searcher = Worker()
        self.adviser = Worker()
        self.reader = Worker()
        self._job: Job | None = None
        self._followed: tuple[Standing | None, str] = (None, "")
        self._memo = Memo()
        self._standings: Earlier[Standing] = Earlier()
        self._shown: Earlier[Shown] = Earlier()
        self._written: tuple[str, dict[str, Any]] = ("", {})
        self._stood_at = ""
        self._edit_lock = threading.RLock()
        self._standing_lock = threading.Lock()
        self._is_closed = threading.Event()
        self._is_woken = threading.Event()

    # ---- how the job stands -------------------------------------------------------------------------

    @property
    def has_job(self) -> bool:
        """Return whether the folder holds a job."""
        return (self.folder / JOB_FILE).is_file()

    def job(self) -> Job:
        """Return the job as its file is now.

        Raises:
            JobError: There is none, or it cannot be used.
        """
        # Asked for by every request and twice a second by the watch: parsed only when its text is another one.
        kept = self._job
        if kept is None or _text_hash(self.folder / JOB_FILE) != kept.read_hash:
            kept = self._job = open_job(self.folder)
        return kept

    def speech(self) -> Speech:
        """Return how the job speaks as its file is now, also while something in it is wrong."""
        return speech_in(self.folder)

    @property
    def standing(self) -> Standing | None:
        """Return how the job stood when it was last followed, or None before that."""
        return self._followed[0]

    def revision(self) -> str:
        """Return a word that changes whenever a file of the job changes, results included."""
        return revision(stamp(self.folder, self._named_files()))

    def asked(self) -> str:
        """Return a word that changes whenever a file that results are made from changes."""
        return revision(stamp(self.folder, self._named_files(), has_results=False))

    def _content(self) -> str:
        """Return a word that comes back when all files of an earlier state of the job do."""
        return content_word(self.folder, self._named_files())

    def _named_files(self) -> tuple[str, ...]:
        """Return the files that `job.toml` names."""
        try:
            spec = self.job().spec
        except SheetwoodError:
            return ("rack.csv",)
        plans = [file for table in spec.plan for file, _ in table.sources]
        return (spec.rack.file, *plans)

    def state(self) -> dict[str, Any]:
        """Return everything that the page shows of the job."""
        history = read_history(self.folder)
        common: dict[str, Any] = {
            "revision": self.revision(),
            "folder": self.folder.name,
            "tasks": self.tasks.as_json(),
            "undo": history.undoable.title if history.undoable else None,
            "redo": history.redoable.title if history.redoable else None,
        }
        if not self.has_job:
            return common | {"is_empty": True, "is_followed": False, "fault": None}
        try:
            job = self.job()
        except JobError as error:
            fault = told(self.speech().said(str(error)))
            return common | {"is_empty": False, "is_followed": False, "fault": fault}
        return common | {"is_empty": False, "fault": None} | self._job_state(job)

    def _job_state(self, job: Job) -> dict[str, Any]:
        # Taken together, and before the rest: while a state is made the job may be followed, which is the next one's.
        standing, followed_at = self._followed
        content = self._content()
        is_followed = standing is not None and followed_at == self.asked()
        known = self._shown.of(content) if is_followed else None
        shown = known or self._made_shown(job, standing)
        if is_followed and known is None and self._is_still(job, followed_at):
            self._shown.keep(content, shown)
        late = {
            "files": self.result_files(job),
            "next": self._next(job, shown.laid, shown.weights, is_current=shown.is_current),
        }
        return shown.view | {"is_followed": is_followed} | dict(spoken(late, speech_of(job)))

    def _is_still(self, job: Job, followed_at: str) -> bool:
        """Return whether nothing was changed or followed since: what was made meanwhile is of one state."""
        standing, now = self._followed
        return standing is not None and standing.read_hash == job.read_hash and now == followed_at == self.asked()

    def _made_shown(self, job: Job, standing: Standing | None) -> Shown:
        boards = standing.boards if standing else ()
        laid, is_current = self.laid(job)
        written = self._as_written(job)
        tables = {table["name"]: table for table in written.get("part", ())}
        placed = frozenset(p.part for b in laid.layout.boards for p in b.placements) if laid else frozenset()
        weights = self.weights(job, laid, is_current=is_current)
        view = {
            "job": {"name": job.spec.job.name, "units": job.spec.job.units},
            "plans": plans_view(job.spec, standing),
            "parts": parts_view(job.spec, standing, placed=placed, tables=tables),
            "boards": boards_view(boards, units=job.spec.job.units, wood=wood_of(job.spec)),
            "rack_fault": standing.faults.rack if standing else None,
            "weights": None if weights is None else weights.as_json(),
            "balance": balance_view(job.spec, standing),
            "layout": layouts.layout_view(laid, is_current=is_current),
            "nest": job.spec.nest.model_dump(),
            "accuracy": job.spec.accuracy.model_dump(),
            "gap_mm": rules_of(job).gap_mm,
            "pattern": job.spec.pattern.model_dump(),
            "shopping": shopping_view(job, standing, laid, self._memo, is_current=is_current),
            "carved": carved_view(job.spec),
            "notes": notes_view(standing.notes) if standing else [],
            "seen": seen_view(written),
        }
        return Shown(dict(spoken(view, speech_of(job))), laid, is_current, weights)

    def _next(
        self, job: Job, laid: Laid | None, weights: WeightTable | None, *, is_current: bool
    ) -> dict[str, str] | None:
        """Return what the builder does next; None while nobody has looked at the job yet."""
        if self.standing is None:
            return None
        drawn = patterns_drawn(job.out, laid)
        stood = Stood(job.spec, self.standing, laid, is_current=is_current, weights=weights, drawn=drawn)
        return asdict(what_next(stood))

    def _as_written(self, job: Job) -> dict[str, Any]:
        """Return `job.toml` as the builder wrote it; the last good reading of it while it changes."""
        data = (self.folder / JOB_FILE).read_bytes()
        if digest(data) == job.read_hash and self._written[0] != job.read_hash:
            self._written = (job.read_hash, tomllib.loads(data.decode("utf-8-sig")))
        return self._written[1]

    def shopping_card(self) -> bytes:
        """Return the card of what the job takes as a PDF, made of the job as it is now.

        Raises:
            SheetwoodError: The job was not read yet, or its paper is too small.
        """
        job = self.job()
        laid, is_current = self.laid(job)
        return shopping_card(job, self.standing, laid, self._memo, is_current=is_current)

    def solid_model(self, *, is_exact: bool) -> SolidModel:
        """Return the model put together of the job as it is now; without `is_exact` coarser, for looking at it.

        Raises:
            SheetwoodError: The job is still being read, or something keeps its parts from being weighed.
        """
        standing, followed_at = self._followed
        if standing is None or followed_at != self.asked():
            raise CallError("the desk is still reading the job; wait a moment and repeat.")
        job = self.job()
        model = Stages(job, memo=self._memo).model
        return self._memo.of(put_together, spec=job.spec, model=model, is_exact=is_exact)

    def laid(self, job: Job) -> tuple[Laid | None, bool]:
        """Return the kept layout, proved anew, and whether it was made from the job as it is now."""
        text = read_texts(self.folder, (LAYOUT_NAME,))[LAYOUT_NAME]
        standing = self.standing
        if text is None or standing is None or not standing.parts or not standing.boards:
            return None, False
        return laid_of(job, standing.parts, standing.boards, read_laid(text), self._memo)

    def weights(self, job: Job, laid: Laid | None, *, is_current: bool) -> WeightTable | None:
        """Return what every copy weighs: from where it lies if it lies somewhere, else from the lightest match."""
        standing = self.standing
        if standing is None or not standing.parts or not standing.boards:
            return None
        layout = laid.layout if laid and is_current else None
        return weights_of(job, standing.parts, standing.boards, layout, self._memo)

    def result_files(self, job: Job) -> list[dict[str, Any]]:
        """Return the pattern files that were written, and whether somebody edited them since."""
        found = []
        for name in sorted(read_manifest(job.out)):
            path = job.out / name
            if path.is_file() and not path.is_symlink() and Path(name).suffix in (".pdf", ".svg", ".dxf", ".png"):
                found.append({"name": name, "bytes": path.stat().st_size})
        return found

    # ---- following ----------------------------------------------------------------------------------

    def follow(self) -> None:
        """Bring everything up to date with the files, in the background; told to pages when done."""
        if self.has_job:
            self.tasks.start("follow", "keeping up with the job", self._follow, stop=self.trace_worker.stop)

    def _follow(self, say: Say) -> None:
        while True:
            stood_at = self._stood_at = self.asked()
            standing = self.trace_worker.run(following.follow, self.folder, on_say=say, on_give=self._tell_picture)
            with self._standing_lock:
                # Else an earlier state was come back to meanwhile, which stands.
                if self._stood_at == stood_at:
                    self._followed = (standing, stood_at)
            content = self._content()
            if self.asked() == stood_at:
                self._standings.keep(content, standing)
            self.hub.tell("changed", {"revision": self.revision()})
            if self.asked() == self._stood_at:
                return

    def _come_back(self) -> None:
        """Stand at once as the job stood before, where all its files are again as they were then."""
        asked = self.asked()
        known = self._standings.of(self._content())
        if known is None or self.asked() != asked:
            return
        with self._standing_lock:
            self._stood_at, self._followed = asked, (known, asked)

    def _tell_picture(self, plan: object) -> None:
        self.hub.tell("picture", {"plan": plan})

    def watch(self) -> None:
        """Look at the files until closed: what anybody changed is followed and told."""
        told = ""
        while not self._is_closed.is_set():
            self._is_woken.wait(WATCH_S)
            self._is_woken.clear()
            now, asked = self.revision(), self.asked()
            if now != told:
                told = now
                self.hub.tell("changed", {"revision": now})
            if asked != self._stood_at and not self.tasks.is_running("follow"):
                self.follow()

    def open(self) -> None:
        """Start watching, and follow the job for the first time."""
        threading.Thread(target=self.watch, name="desk-watch", daemon=True).start()

    def close(self) -> None:
        """End all work and all streams."""
        self._is_closed.set()
        self._is_woken.set()
        self.tasks.stop_all()
        for worker in (self.trace_worker, self.region_worker, self.searcher, self.adviser, self.reader):
            worker.close()
        self.hub.close()

    # ---- changes ------------------------------------------------------------------------------------

    def edit(self, edit: ask.AnyEdit) -> str:
        """Make a change that can be undone, and return what is to be told of it beyond what was asked for.

        Raises:
            SheetwoodError: It cannot be made, or a file was changed by somebody else meanwhile.
        """
        edit = self._on_files(with_shown_units(edit, self.job().spec.job.units))
        with self._edit_lock:
            step = step_for(edit, self.job(), self.standing)
            if step.after == step.before:
                return ""
            make_step(self.folder, step)
        self.notify_changed()
        return step.told

    def _on_files(self, edit: ask.AnyEdit) -> ask.AnyEdit:
        """Return the edit with its places as pixels of the files, where a plan's scans are joined to one sheet."""
        spec = self.job().spec
        places = {spot: found for spot, found in on_files.places_of(edit, spec).items() if spec.plan[found.plan].files}
        if not places or not isinstance(edit, ask.SetValue):
            return edit
        kept: dict[on_files.Spot, tuple[float, ...]] = {}
        for number in sorted({found.plan for found in places.values()}):
            spots = [spot for spot, found in places.items() if found.plan == number]
            points = tuple(places[spot].place for spot in spots)
            found = self.trace_worker.run(scan_work.in_files, self.folder, number, points)
            kept |= dict(zip(spots, map(tuple, found), strict=True))
        return on_files.with_places(edit, kept)

    def make(self, step: Step) -> None:
        """Make a step that was found elsewhere, so that it can be undone; raises as `make_step`."""
        with self._edit_lock:
            make_step(self.folder, step)
        self.notify_changed()

    def notify_changed(self) -> None:
        """Tell pages that something changed, and have it followed at once where it is not as it was before."""
        self._come_back()
        self.hub.tell("changed", {"revision": self.revision()})
        self._is_woken.set()

    def undo(self) -> str:
        """Take the last step back and return its title.

        Raises:
            CallError: There is nothing to undo.
            WriteError: A file of the builder's was changed by somebody else since.
        """
        return self._turned(step_back, "undo")

    def redo(self) -> str:
        """Make the last undone step again and return its title; raises as `undo`."""
        return self._turned(step_forward, "redo")

    def _turned(self, turn: Callable[[Path], Step | None], word: str) -> str:
        with self._edit_lock:
            step = turn(self.folder)
        if step is None:
            raise CallError(f"there is nothing to {word}.")
        self.notify_changed()
        return step.title
