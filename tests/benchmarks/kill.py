"""Every command and every kind of edit, killed at each of its file operations; afterwards all is old or new.

python -m tests.benchmarks.kill
python -m tests.benchmarks.kill --only "rack cut" --at 7
python -m tests.benchmarks.kill --truly 40

A write that dies leaves half of what it had to say. After each death every file of the builder must be whole, the
next command must work and find either the old job or the new one, the same act must then succeed, and the last step
at the desk can be undone. `--truly` kills so many processes of their own with SIGKILL instead.
"""

from __future__ import annotations

import argparse
import json
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any

from nesting.desk import requests as ask
from nesting.desk.history import read_history
from nesting.desk.work import start_patterns
from nesting.job.files import digest, read_manifest
from nesting.job.journal import settle
from nesting.job.new_job import copy_demo
from tests.benchmarks.commands import (
    COMMANDS,
    EDITED_RESULT,
    RESULTS,
    Templates,
    builders_files,
    run_command,
    workshop_on,
)
from tests.benchmarks.dying import Death, Life, kill_for_good, living
from tests.benchmarks.outcome import ROOT, scratch_folder
from tests.nesting.desk.seeing import as_seen, called
from tests.nesting.desk.test_workshop import EDITS, ON_WHAT_IS_THERE
from vectorize.basics.errors import CallError, SheetwoodError

Files = dict[str, bytes | str]
ONCE = ("add a known", "rack cut", "rack photo", "new")
"""Commands that are not given again once they were done."""
WRITES_NOTHING = ("read", "trace", "scale", "rack", "weigh", "nest", "nest on", "pattern of a part", "tap")
"""Commands that find everything worked out in the job that they are given, or only show."""
BASE = {"add a known": "png", "read": "png", "assign and keep": "plain"}
"""Most commands are killed on the job that is traced soonest; these need a scan, or parts that are not cut yet."""
_INSIDE = {"new": "new"}
NEEDS_STANDING = ("place", "pin", "tie-parts")
AT_THE_DESK: list[dict[str, Any]] = [
    {"kind": "place", "part": "plate", "copy_number": 1, "board": "B2", "x_mm": 10, "y_mm": 5, "angle_deg": 0,
     "flipped": False},
    {"kind": "pin", "part": "plate", "copy_number": 1, "is_pinned": True},
    {"kind": "tie-parts", "ties": {"plate": "B1"}},
    {"kind": "leave-out", "key": "sheet", "items": ["scale", "1"], "called": "the rest"},
    {"kind": "set", "at": ["part", "fin", "name"], "value": "rudder"},
    {"kind": "set", "at": ["part", "fin"], "value": None},
    {"kind": "set-board", "board": "B1", "field": "name", "value": "B9"},
    {"kind": "drop-board", "board": "B1"},
]  # fmt: skip
"""Edits of things that a job of the desk's tests has not: a layout, a correction, a board with an outline."""


STEPS = tuple(
    {
        "kind": "set",
        "at": ["part", "plate", "step", None],
        "value": {"make": "hole", "at": [[80, x]], "diameter": "2 mm"},
    }
    for x in (60, 80)
)
AFTER_OTHERS: list[tuple[tuple[dict[str, Any], ...], dict[str, Any]]] = [
    *(((first,), edit) for first, edit in ON_WHAT_IS_THERE),
    (STEPS, {"kind": "set", "at": ["part", "plate", "step", 1], "value": None}),
    (STEPS, {"kind": "move", "at": ["part", "plate", "step", 1], "to": 0}),
]
"""Edits of what other edits have put there."""


@dataclass(frozen=True)
class Act:
    """Something that is done to a job: what comes before it, the act itself, and whether it may be done twice.

    `inside` is the folder within the job that the act makes a job of its own in.
    """

    name: str
    do: Callable[[Path], None]
    prepare: Callable[[Path], None] = lambda folder: None
    is_edit: bool = False
    can_repeat: bool = False
    base: str = "svg"
    inside: str = ""


def acts() -> Iterator[Act]:
    """Yield every command, every kind of edit, and what else the desk writes."""
    for name in COMMANDS:
        yield Act(
            name,
            _commanded(name),
            can_repeat=name not in ONCE,
            base=BASE.get(name, "svg"),
            inside=_INSIDE.get(name, ""),
        )
    yield Act("demo", lambda folder: copy_demo(folder / "demo"), can_repeat=True, inside="demo")
    for number, edit in enumerate((*EDITS, *AT_THE_DESK)):
        yield Act(f"edit {number} {called(edit)}", _edited(edit), is_edit=True, base="plain")
    for number, (first, edit) in enumerate(AFTER_OTHERS):
        yield Act(f"then {number} {called(edit)}", _edited(edit), prepare=_edited(*first), is_edit=True, base="plain")
    yield Act("undo", lambda folder: _stepped(folder, "undo"), prepare=_edited(EDITS[0]), base="plain")
    yield Act("redo", lambda folder: _stepped(folder, "redo"), prepare=_undone, base="plain")
    yield Act("patterns at the desk", _drawn, can_repeat=True)


def kinds_of_edits() -> set[str]:
    """Return the kinds of edits that are among the acts."""
    return {edit["kind"] for edit in (*EDITS, *AT_THE_DESK, *(edit for _, edit in AFTER_OTHERS))}


def _commanded(name: str) -> Callable[[Path], None]:
    def do(folder: Path) -> None:
        done = run_command(name, folder)
        if done.exit_code not in (0, 4):
            raise done.exception or CallError(done.stderr)

    return do


def _edited(*edits: dict[str, Any]) -> Callable[[Path], None]:
    def do(folder: Path) -> None:
        with workshop_on(folder, is_followed=edits[0]["kind"] in NEEDS_STANDING) as workshop:
            plan = workshop.job().spec.plan[0].name
            for edit in edits:
                workshop.edit(ask.read_edit(as_seen(workshop.state(), on_plan(edit, plan), folder)))

    return do


def on_plan(edit: dict[str, Any], plan: str) -> dict[str, Any]:
    """Return an edit that speaks of the only plan of a job, by its name there."""
    given = json.dumps(edit).replace('"sheet 1"', json.dumps(plan))
    return dict(json.loads(given))


def _undone(folder: Path) -> None:
    _edited(EDITS[0])(folder)
    _stepped(folder, "undo")


def _stepped(folder: Path, way: str) -> None:
    with workshop_on(folder, is_followed=False) as workshop:
        getattr(workshop, way)()


def _drawn(folder: Path) -> None:
    with workshop_on(folder) as workshop:
        start_patterns(workshop)


# ---- one death --------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Course:
    """An act that ran to its end: the files before and after it, and its file operations."""

    before: Files
    after: Files
    operations: tuple[str, ...]


def whole_course(act: Act, template: Path, scratch: Path) -> Course:
    """Do an act without dying."""
    folder = _prepared(act, template, scratch)
    before = watched(folder)
    with living(folder) as life:
        act.do(folder)
    return Course(before, watched(folder), tuple(life.operations))


def faults_of_death(act: Act, course: Course, at: int, template: Path, scratch: Path) -> list[str]:
    """Die after `at` operations of an act and return what is wrong with the job that is left."""
    folder = _prepared(act, template, scratch)
    history = read_history(folder)
    with living(folder, dies_at=at) as life:
        _until_death(act, folder, life)
    return [
        f"{act.name} at {at} ({life.operations[-1]}): {fault}" for fault in _faults(act, course, folder, history.done)
    ]


def _until_death(act: Act, folder: Path, life: Life) -> None:
    try:
        act.do(folder)
    except Death:
        return
    except Exception:
        if not life.is_dead:
            raise


def _prepared(act: Act, template: Path, scratch: Path) -> Path:
    folder = scratch / "job"
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(template, folder, symlinks=True)
    act.prepare(folder)
    return folder


def watched(folder: Path) -> Files:
    """Return the builder's files, and the layout, which edits change too."""
    layout = folder / "out" / "layout.json"
    return builders_files(folder) | ({"out/layout.json": layout.read_bytes()} if layout.exists() else {})


def _faults(act: Act, course: Course, folder: Path, steps_before: int) -> Iterator[str]:
    whole = _visible(watched(folder))
    for name in sorted({*course.before, *course.after, *whole}):
        is_result = name == "out/layout.json" and not act.is_edit
        if not is_result and whole.get(name) not in (course.before.get(name), course.after.get(name)):
            yield f"{name} is neither old nor new"
    if act.inside:
        settle(folder / act.inside)  # as whatever opens that job does first
    next_command = run_command("rack", folder)
    if next_command.exit_code not in (0, 4):
        yield f"the next command ends with {next_command.exit_code}: {next_command.stderr or next_command.exception!r}"
        return
    found = _of_the_act(act, watched(folder))
    old, new = _of_the_act(act, course.before), _of_the_act(act, course.after)
    if found not in (old, new):
        mixed = [name for name in {*found, *old, *new} if found.get(name) != old.get(name)]
        yield f"the job is neither old nor new: {sorted(mixed)} differ from the old one"
        return
    yield from _desk_faults(act, course, folder, is_new=found == new != old, steps_before=steps_before)
    if found == old or act.can_repeat:
        yield from _faults_of_repeating(act, course, folder)


def _desk_faults(act: Act, course: Course, folder: Path, *, is_new: bool, steps_before: int) -> Iterator[str]:
    """Undo what was done, or what was done before; then make it again."""
    is_job_changed_elsewhere = is_new and not act.is_edit and course.before["job.toml"] != course.after["job.toml"]
    if is_job_changed_elsewhere and act.name not in ("undo", "redo"):
        return  # the step at the desk is not undone over what the command wrote
    done = read_history(folder).done
    try:
        _stepped(folder, "undo")
        if act.is_edit and is_new and _visible(watched(folder)) != _visible(course.before):
            yield "undo does not give the old files"
        _stepped(folder, "redo")
    except SheetwoodError as error:
        yield f"undo refuses ({done} steps, {steps_before} before): {error}"


def _faults_of_repeating(act: Act, course: Course, folder: Path) -> Iterator[str]:
    try:
        act.do(folder)
    except SheetwoodError as error:
        yield f"the same again ends with: {error}"
        return
    left = [path.name for path in folder.rglob(".writing-*")]
    if left and course.operations:
        yield f"{left[0]} is left behind"
    for results in RESULTS:
        for name, known in read_manifest(folder / results).items():
            path = folder / results / name
            if f"{results}/{name}" != EDITED_RESULT and path.is_file() and digest(path.read_bytes()) != known:
                yield f"{results}/{name} is taken for edited by hand"


def _visible(files: Files) -> Files:
    return {name: data for name, data in files.items() if "/.writing-" not in f"/{name}"}


def _of_the_act(act: Act, files: Files) -> Files:
    """Return the files that must be all old or all new: for commands, results are written one by one."""
    kept = _visible(files)
    if not act.is_edit:
        kept.pop("out/layout.json", None)
    return kept


# ---- all of them ------------------------------------------------------------------------------------------------


def victim(name: str, at: int, folder: Path) -> None:
    """Do an act in this process and kill it for good after `at` operations."""
    act = next(act for act in acts() if act.name == name)
    with living(folder, dies_at=at, die=kill_for_good):
        act.do(folder)


def faults_of_true_kill(act: Act, course: Course, at: int, template: Path, scratch: Path) -> list[str]:
    """As `faults_of_death`, by SIGKILL to a process of its own."""
    folder = _prepared(act, template, scratch)
    steps = read_history(folder).done
    words = ["--victim", act.name, "--at", str(at), "--folder", str(folder)]
    done = subprocess.run([sys.executable, "-m", "tests.benchmarks.kill", *words], cwd=ROOT, check=False)
    if done.returncode != -9:
        return [f"{act.name} at {at}: the process was not killed, it ended with {done.returncode}"]
    return [f"{act.name} at {at}, killed: {fault}" for fault in _faults(act, course, folder, steps)]


def run_all(scratch: Path, *, only: str | None, at: int | None, every: int) -> tuple[int, list[str]]:
    """Die at every operation (or each so many) of every act; return how often that was, and the faults."""
    templates, deaths, faults = Templates(scratch / "templates"), 0, []
    for act in acts():
        if only is not None and only not in act.name:
            continue
        course = whole_course(act, templates[act.base], scratch)
        points = range(0, len(course.operations), every) if at is None else [at]
        found = [one for n in points for one in faults_of_death(act, course, n, templates[act.base], scratch)]
        print(f"{act.name}: {len(points)} deaths, {len(found)} faults", flush=True)
        deaths, faults = deaths + len(points), faults + found
    return deaths, faults


def run_truly(scratch: Path, count: int, seed: int) -> tuple[int, list[str]]:
    """Kill `count` processes at operations drawn by chance."""
    templates, chance, faults = Templates(scratch / "templates"), Random(seed), []
    every = list(acts())
    done = 0
    while done < count:
        act = chance.choice(every)
        course = whole_course(act, templates[act.base], scratch)
        if course.operations:
            at = chance.randrange(len(course.operations))
            faults += faults_of_true_kill(act, course, at, templates[act.base], scratch)
            done += 1
    return done, faults


def main() -> None:
    """Kill what was asked for and print the faults; exits with 1 if there are any."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--only", help="acts whose name holds this text")
    parser.add_argument("--at", type=int, help="only after so many operations")
    parser.add_argument("--every", type=int, default=1, help="only at each so many operations")
    parser.add_argument("--truly", type=int, default=0, help="kill so many processes of their own instead")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--victim", help=argparse.SUPPRESS)
    parser.add_argument("--folder", type=Path, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.victim is not None:
        victim(options.victim, options.at, options.folder)
        return
    scratch, began = scratch_folder(), time.monotonic()
    try:
        if options.truly:
            deaths, faults = run_truly(scratch, options.truly, options.seed)
        else:
            deaths, faults = run_all(scratch, only=options.only, at=options.at, every=options.every)
    finally:
        shutil.rmtree(scratch, ignore_errors=True)
    print(*faults, f"{deaths} deaths in {time.monotonic() - began:.0f} s, {len(faults)} faults", sep="\n")
    raise SystemExit(1 if faults else 0)


if __name__ == "__main__":
    main()
