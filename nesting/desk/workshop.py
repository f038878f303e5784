"""One job as the desk holds it: how it stands, every change to it, and the work that follows from a change.

The files are the truth. The page is shown what they hold; an edit is made on their texts, under the job's
lock and only where they are still what the desk last read; what the command line or an editor changes is
noticed within a second and shown.
"""

from __future__ import annotations

import json
import threading
from pathlib import Path
from typing import Any

import tomlkit

from nesting.desk import fitting, following, layouts, views
from nesting.desk import requests as ask
from nesting.desk.events import Hub
from nesting.desk.history import Step, read_history, read_texts, replace_texts, save_history
from nesting.desk.job_edits import edit_job
from nesting.desk.layouts import LAYOUT_NAME, Laid, read_laid
from nesting.desk.rack_edits import edit_rack, edit_side_file
from nesting.desk.sources import revision, stamp
from nesting.desk.standing import Standing
from nesting.desk.tasks import Say, Task, Tasks
from nesting.desk.worker import Worker
from nesting.job.files import read_manifest
from nesting.job.folder import JOB_FILE, Job, file_name_for, open_job, read_spec
from nesting.job.making import inputs_hash
from nesting.job.rules import rules_of
from nesting.job.wood import materials_of
from nesting.place.layout import Layout
from nesting.rack import parse_rack
from nesting.weigh import WeightTable, weigh_parts
from vectorize.errors import CallError, JobError, SheetwoodError
from vectorize.outline import Outline, check_outline

WATCH_S = 0.5


class Workshop:
    """The job in one folder, its workers and its news."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder.resolve()
        self.hub = Hub()
        self.tasks = Tasks(self.hub)
        self.bench = Worker()
        self.scout = Worker()
        self.searcher = Worker()
        self._standing: Standing | None = None
        self._proved: tuple[tuple[object, ...], Laid, bool] | None = None
        self._stood_at = self._followed_at = ""
        self._edit_lock = threading.RLock()
        self._is_closed = threading.Event()

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
        return open_job(self.folder)

    @property
    def standing(self) -> Standing | None:
        """Return how the job stood when it was last followed, or None before that."""
        return self._standing

    def revision(self) -> str:
        """Return a word that changes whenever a file of the job changes, results included."""
        return revision(stamp(self.folder, self._named_files()))

    def asked(self) -> str:
        """Return a word that changes whenever a file that results are made from changes."""
        return revision(stamp(self.folder, self._named_files(), has_results=False))

    def _named_files(self) -> tuple[str, ...]:
        """Return the files that `job.toml` names."""
        try:
            spec = self.job().spec
        except SheetwoodError:
            return ("rack.csv",)
        plans = [table.file for table in spec.plan]
        return (spec.rack.file, *plans)

    def _rack_name(self) -> str:
        job = self.job()
        return job.path(job.spec.rack.file).relative_to(self.folder).as_posix()

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
            return common | {"is_empty": False, "is_followed": False, "fault": str(error)}
        return common | {"is_empty": False, "fault": None} | self._job_state(job)

    def _job_state(self, job: Job) -> dict[str, Any]:
        standing = self._standing
        boards = standing.boards if standing else ()
        laid, is_current = self.laid(job)
        placed = frozenset(p.part for b in laid.layout.boards for p in b.placements) if laid else frozenset()
        return {
            "job": {"name": job.spec.job.name, "units": job.spec.job.units},
            "is_followed": standing is not None and self._followed_at == self.asked(),
            "plans": views.plans_view(job.spec, standing),
            "parts": views.parts_view(job.spec, standing, cut=placed),
            "boards": views.boards_view(boards, units=job.spec.job.units),
            "rack_fault": standing.faults.rack if standing else None,
            "weights": views.weights_view(self.weights(job, laid, is_current=is_current), boards),
            "balance": views.balance_view(job.spec, standing),
            "layout": layouts.layout_view(laid, is_current=is_current),
            "nest": job.spec.nest.model_dump(),
            "gap_mm": rules_of(job).gap_mm,
            "pattern": job.spec.pattern.model_dump(),
            "files": self.result_files(job),
            "notes": views.notes_view(standing.notes) if standing else [],
        }

    def laid(self, job: Job) -> tuple[Laid | None, bool]:
        """Return the kept layout, proved anew, and whether it was made from the job as it is now."""
        text = read_texts(self.folder, (LAYOUT_NAME,))[LAYOUT_NAME]
        standing = self._standing
        if text is None or standing is None or not standing.parts or not standing.boards:
            return None, False
        key = (text, standing.read_hash, id(standing), job.read_hash)
        if self._proved is None or self._proved[0] != key:
            laid = read_laid(text)
            if laid is None:
                return None, False
            made_from = inputs_hash(job, standing.parts, standing.boards)
            laid = layouts.proved(laid, standing.parts, standing.boards, rules_of(job))
            self._proved = (key, laid, laid.made_from == made_from)
        return self._proved[1], self._proved[2]

    def weights(self, job: Job, laid: Laid | None, *, is_current: bool) -> WeightTable | None:
        """Return what every copy weighs: from where it lies if it lies somewhere, else from the lightest match."""
        standing = self._standing
        if standing is None or not standing.parts or not standing.boards:
            return None
        layout = laid.layout if laid and is_current else None
        return weigh_parts(standing.parts, standing.boards, layout=layout, materials=materials_of(job))

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
            self.tasks.start("follow", "keeping up with the job", self._follow, stop=self.bench.stop)

    def _follow(self, say: Say) -> None:
        while True:
            stood_at = self._stood_at = self.asked()
            self._standing = self.bench.run(following.follow, self.folder, on_say=say, on_give=self._tell_picture)
            self._followed_at = stood_at
            self.hub.tell("changed", {"revision": self.revision()})
            if self.asked() == self._stood_at:
                return

    def _tell_picture(self, plan: object) -> None:
        self.hub.tell("picture", {"plan": plan})

    def watch(self) -> None:
        """Look at the files until closed: what anybody changed is followed and told."""
        told = ""
        while not self._is_closed.wait(WATCH_S):
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
        self.tasks.stop_all()
        for worker in (self.bench, self.scout, self.searcher):
            worker.stop()
        self.hub.close()

    # ---- changes ------------------------------------------------------------------------------------

    def edit(self, edit: ask.AnyEdit) -> None:
        """Make a change that can be undone.

        Raises:
            SheetwoodError: It cannot be made, or a file was changed by somebody else meanwhile.
        """
        with self._edit_lock:
            before, after, title = self._made(edit)
            if after == before:
                return
            replace_texts(self.folder, before, after)
            save_history(self.folder, read_history(self.folder).with_step(Step(title, before, after)))
        self.stir()

    def stir(self) -> None:
        """Tell pages that something changed."""
        self.hub.tell("changed", {"revision": self.revision()})

    def _made(self, edit: ask.AnyEdit) -> tuple[dict[str, str | None], dict[str, str | None], str]:
        match edit:
            case ask.SetBoard() | ask.AddBoards() | ask.DropBoard():
                return self._rack_change(edit)
            case ask.AddBlemish() | ask.DropBlemish():
                self._need_board(edit.board)
                name = f"rack/{file_name_for(edit.board)}.json"
                before = read_texts(self.folder, (name,))
                text, title = edit_side_file(before[name], edit)
                return before, {name: text}, title
            case ask.SetOutline():
                return self._outline_change(edit)
            case ask.PlaceCopy() | ask.PinCopy():
                return self._layout_change(edit)
            case _:
                return self._job_change(edit)

    def _job_change(self, edit: Any) -> tuple[dict[str, str | None], dict[str, str | None], str]:  # noqa: ANN401
        before = read_texts(self.folder, (JOB_FILE,))
        document = tomlkit.parse((before[JOB_FILE] or "").lstrip("\ufeff"))
        title = edit_job(document, edit)
        text = tomlkit.dumps(document)
        read_spec(text)
        after: dict[str, str | None] = {JOB_FILE: text}
        if isinstance(edit, ask.SetPart) and edit.field == "name":
            before, after = self._moved(f"corrected/{file_name_for(edit.part)}.json", str(edit.value), before, after)
        return before, after, title

    def _moved(
        self, name: str, part: str, before: dict[str, str | None], after: dict[str, str | None]
    ) -> tuple[dict[str, str | None], dict[str, str | None]]:
        """Add to a change that a renamed part's correction goes with it."""
        new_name = f"corrected/{file_name_for(part)}.json"
        texts = read_texts(self.folder, (name, new_name))
        if texts[name] is None or new_name == name:
            return before, after
        return before | texts, after | {name: None, new_name: texts[name]}

    def _rack_change(
        self, edit: ask.SetBoard | ask.AddBoards | ask.DropBoard
    ) -> tuple[dict[str, str | None], dict[str, str | None], str]:
        name = self._rack_name()
        before = read_texts(self.folder, (name,))
        text, title = edit_rack(before[name], edit, name=name)
        return before, {name: text}, title

    def _need_board(self, name: str) -> None:
        rack = self._rack_name()
        text = read_texts(self.folder, (rack,))[rack] or ""
        if name not in {board.name for board in parse_rack(text)}:
            raise JobError(f"there is no board {name!r} in the rack; reload the page.")

    def _outline_change(self, edit: ask.SetOutline) -> tuple[dict[str, str | None], dict[str, str | None], str]:
        if edit.part not in {part.name for part in self.job().spec.part}:
            raise JobError(f"there is no part {edit.part!r}; reload the page.")
        name = f"corrected/{file_name_for(edit.part)}.json"
        before = read_texts(self.folder, (name,))
        if edit.outline is None:
            return before, {name: None}, f"take back the correction of {edit.part}"
        outline = Outline.from_json(edit.outline)
        check_outline(outline, what=f"the corrected outline of {edit.part}")
        text = json.dumps({"name": edit.part, "outline": outline.as_json()}, ensure_ascii=False)
        return before, {name: text}, f"correct the outline of {edit.part}"

    def _layout_change(
        self, edit: ask.PlaceCopy | ask.PinCopy
    ) -> tuple[dict[str, str | None], dict[str, str | None], str]:
        job, standing = self.job(), self._need_standing()
        before = read_texts(self.folder, (LAYOUT_NAME,))
        laid = read_laid(before[LAYOUT_NAME])
        if isinstance(edit, ask.PinCopy):
            changed = layouts.with_pin(laid, edit)
            return (
                before,
                {LAYOUT_NAME: layouts.laid_text(changed)},
                f"{'pin' if edit.is_pinned else 'unpin'} {edit.part}",
            )
        made_from = inputs_hash(job, standing.parts, standing.boards)
        changed = layouts.with_copy_at(laid, edit, standing.parts, standing.boards, made_from=made_from)
        changed = layouts.refuse_faults(layouts.proved(changed, standing.parts, standing.boards, rules_of(job)))
        return before, {LAYOUT_NAME: layouts.laid_text(changed)}, f"move {edit.part} on {edit.board}"

    def _need_standing(self) -> Standing:
        if self._standing is None:
            raise CallError("the desk is still reading the job; wait a moment and repeat.")
        return self._standing

    def undo(self) -> str:
        """Take the last step back and return its title.

        Raises:
            CallError: There is nothing to undo.
            WriteError: A file of the step was changed by somebody else since.
        """
        return self._step(by=-1)

    def redo(self) -> str:
        """Make the last undone step again and return its title; raises as `undo`."""
        return self._step(by=1)

    def _step(self, *, by: int) -> str:
        with self._edit_lock:
            history = read_history(self.folder)
            step = history.undoable if by < 0 else history.redoable
            if step is None:
                raise CallError(f"there is nothing to {'undo' if by < 0 else 'redo'}.")
            expected, wanted = (step.after, step.before) if by < 0 else (step.before, step.after)
            replace_texts(self.folder, expected, wanted)
            save_history(self.folder, history.moved(by))
        self.stir()
        return step.title

    # ---- work on request ----------------------------------------------------------------------------

    def start_search(self, hold: ask.PlaceCopy | None = None) -> Task | None:
        """Begin to look for better and better layouts; None if that is going on already.

        With `hold` that copy is pinned where the builder wants it, and the rest is fitted around it.
        """
        return self.tasks.start(
            "nest", "fitting parts on boards", lambda say: self._search(say, hold), stop=self.searcher.stop
        )

    def _search(self, say: Say, hold: ask.PlaceCopy | None) -> None:
        job, standing = self.job(), self._need_standing()
        before = read_texts(self.folder, (LAYOUT_NAME,))
        laid = read_laid(before[LAYOUT_NAME])
        made_from = inputs_hash(job, standing.parts, standing.boards)
        if hold is not None:
            laid = layouts.with_copy_at(laid, hold, standing.parts, standing.boards, made_from=made_from)
        # What lay where the held copy now lies must find a new place, so the old layout is no start.
        start = laid.layout if laid and hold is None and laid.made_from == made_from else None
        pins, pinned = (laid.pins, laid.pinned) if laid else ((), frozenset())
        latest: dict[str, str | None] = dict(before)

        def keep(found: object) -> None:
            assert isinstance(found, Layout)
            text = layouts.laid_text(Laid(found, made_from, pinned))
            replace_texts(self.folder, latest, {LAYOUT_NAME: text})
            latest[LAYOUT_NAME] = text
            self.stir()

        try:
            self.searcher.run(
                fitting.search, self.folder, standing.parts, standing.boards, start, pins, on_say=say, on_give=keep
            )
        finally:
            if latest != before:
                with self._edit_lock:
                    step = Step("fit the parts on the boards", before, latest)
                    save_history(self.folder, read_history(self.folder).with_step(step))
                self.stir()

    def start_patterns(self) -> Task | None:
        """Begin to draw the patterns of the kept layout; None if that is going on already."""
        return self.tasks.start("patterns", "drawing patterns", self._patterns, stop=self.scout.stop)

    def _patterns(self, say: Say) -> None:
        job, standing = self.job(), self._need_standing()
        laid, is_current = self.laid(job)
        if laid is None or not is_current:
            raise CallError("fit the parts on the boards first: patterns are drawn of a layout.")
        layouts.refuse_faults(laid)
        _, notes = self.scout.run(
            fitting.draw_patterns, self.folder, standing.parts, standing.boards, laid.layout, on_say=say
        )
        self.stir()
        if kept := [note.text for note in notes if note.code == "kept-edited-file"]:
            raise CallError(" ".join(kept))
