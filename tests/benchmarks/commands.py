"""Every command and the desk, run in this process on a job, and what a builder would miss of its folder."""

from __future__ import annotations

import io
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from filelock import FileLock
from starlette.testclient import TestClient
from typer.main import get_command

from nesting.cli.app import app
from nesting.desk.guard import Keys
from nesting.desk.routes import application
from nesting.desk.tasks import Say, Tasks
from nesting.desk.workshop import Workshop
from tests.benchmarks.tiny_jobs import FORMATS, make_tiny_job, write_text
from vectorize.basics.errors import SheetwoodError

LEFTOVER = ("--board", "L1", "--material", "balsa", "--thickness", "3 mm", "--sheet", "100 x 70 mm")
QUICK = ("--time", "0.1s")
COMMANDS: dict[str, tuple[str, ...]] = {
    "read": ("read", "{plan}", "--json"),
    "trace": ("trace", "{job}", "--json"),
    "trace afresh": ("trace", "{job}", "--fresh"),
    "trace a plan": ("trace", "{plan}", "--as-drawn", "--json"),
    "scale": ("scale", "{job}", "--json"),
    "add a known": ("scale", "{job}", "--add", "10,10,110,10,25 mm"),
    "rack": ("rack", "{job}", "--json"),
    "rack want": ("rack", "want", "{job}"),
    "rack cut": ("rack", "cut", "{job}"),
    "rack photo": ("rack", "photo", "{job}", "{job}/leftover.png", *LEFTOVER, "--json"),
    "weigh": ("weigh", "{job}", "--json"),
    "compare": ("compare", "{job}", "plate", "--json"),
    "flex": ("flex", "{job}", "fin", "--json"),
    "check": ("check", "{job}", "plate", "{job}/cut.png", "--json"),
    "balance": ("balance", "{job}", "--json"),
    "model": ("model", "{job}", "--json"),
    "assign": ("assign", "{job}", "--time", "30s"),
    "assign and keep": ("assign", "{job}", "--time", "30s", "--keep"),
    "nest": ("nest", "{job}", "--sweeps", "1", "--json"),
    "nest anew": ("nest", "{job}", "--sweeps", "1", "--seed", "5"),
    "nest on": ("nest", "{job}", "--sweeps", "1", "--on", "B1"),
    "pattern": ("pattern", "{job}", *QUICK),
    "pattern of a part": ("pattern", "{job}", "--part", "plate", "--as", "svg", *QUICK, "--json"),
    "bring in SVG": ("pattern", "{job}", "--part", "plate", "--as", "svg", "--bring-in", "{job}/edited.svg", *QUICK),
    "bring in DXF": ("pattern", "{job}", "--part", "plate", "--as", "dxf", "--bring-in", "{job}/edited.dxf", *QUICK),
    "tap": ("tap", "{job}/taps.wav", "--length", "1 m", "--density", "150 kg/m3", "--json"),
    "run": ("run", "{job}", *QUICK),
    "batch": ("batch", "{job}", "--until", "weigh", "--workers", "0", "--json"),
    "new": ("new", "{job}/new", "--plan", "{plan}"),
}
"""What a builder may type, with `{job}` and `{plan}` for the folder and the scan in it."""

BASES = (*FORMATS, "plain")
"""A worked-on job for each format of plan, with everything that a job may hold, and one that holds little."""

OWN = (".desk", ".lock", ".change.json", "outlines")
"""What Sheetwood keeps for itself: made anew when it is missing or damaged."""
EDITED_RESULT = "out/part-plate.svg"
RESULTS = ("out", "plan-out")
"""Where results of a job go, and those of a plan alone: one by one, the manifest first."""


def make_template(folder: Path, ending: str, *, is_rich: bool = True) -> Path:
    """Make a tiny job that has been worked on: traced, nested, drawn, a result edited, steps at the desk."""
    make_tiny_job(folder, ending, is_rich=is_rich)
    for name in ("trace", "nest", "pattern of a part"):
        done = run_command(name, folder)
        assert done.exit_code in (0, 4), (name, done.stderr)
    with desk_on(folder) as desk:
        desk.post("edit", json={"kind": "set", "at": ["job", "name"], "value": "Midge"})
        desk.post("edit", json={"kind": "set-board", "board": "B2", "field": "notes", "value": "heavy"})
        desk.post("undo")
    result = folder / EDITED_RESULT
    write_text(result, result.read_text(encoding="utf-8").replace("</svg>", "<!-- my own line --></svg>"))
    write_text(folder / "out" / "mine.txt", "Notes among the results.\n")
    return folder


class Templates(dict[str, Path]):
    """Worked-on jobs by name, each made in `folder` when it is first asked for."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def __missing__(self, base: str) -> Path:
        path = self.folder / base
        self.folder.mkdir(parents=True, exist_ok=True)
        with FileLock(self.folder / f"{base}.lock"):
            if not path.exists():
                # Under another name until it is whole: one that died on the way is made anew.
                raw = self.folder / f"raw-{base}"
                shutil.rmtree(raw, ignore_errors=True)
                make_template(raw, "png" if base == "plain" else base, is_rich=base != "plain").rename(path)
        return self.setdefault(base, path)

    def all(self) -> Templates:
        """Return the same with every one made."""
        for base in BASES:
            self[base]
        return self


@dataclass(frozen=True)
class Answer:
    """What a command gave; `exception` is one that is no exit."""

    exit_code: int | None
    stdout: str
    stderr: str
    exception: Exception | None = None


def run_command(name: str, folder: Path) -> Answer:
    """Run a command of the list on the job in `folder`, as the command line does."""
    plan = next(folder.glob("plan.*"), folder / "plan.png")
    words = [word.format(job=folder, plan=plan) for word in COMMANDS[name]]
    out, err = io.StringIO(), io.StringIO()
    code: int | None = 0
    fault: Exception | None = None
    with redirect_stdout(out), redirect_stderr(err):
        try:
            _program().main(words, prog_name="sheetwood")
        except SystemExit as stop:
            code = stop.code if isinstance(stop.code, int) else 0 if stop.code is None else 1
        except Exception as error:
            code, fault = None, error
    return Answer(code, out.getvalue(), err.getvalue(), fault)


@cache
def _program() -> Any:
    # Made once: making the commands takes longer than most of them run.
    return get_command(app)


class InlineWorker:
    """A worker of the desk that does its work at once, here: what goes wrong comes out where it is asked for."""

    def run(
        self,
        labour: Callable[..., Any],
        *values: object,
        on_say: Callable[[str, float | None], None] = lambda text, share: None,
        on_give: Callable[[object], None] = lambda partial: None,
    ) -> Any:
        self.say, self.give = on_say, on_give
        return labour(self, *values)

    def stop(self) -> None:
        """Nothing goes on in the background."""

    def close(self) -> None:
        """Nothing is kept."""


class InlineTasks(Tasks):
    """Tasks that are done when they have been started."""

    def start(self, kind: str, title: str, work: Callable[[Say], None], *, stop: Callable[[], None]) -> None:
        try:
            work(lambda text, share=None: None)
        except SheetwoodError as error:
            self.fault = error


@contextmanager
def workshop_on(folder: Path, *, is_followed: bool = True) -> Iterator[Workshop]:
    """Open the desk on a job without a thread or a process of its own, traced and weighed if that is asked for."""
    workshop = Workshop(folder)
    workshop.trace_worker = workshop.region_worker = workshop.searcher = workshop.adviser = InlineWorker()  # type: ignore[assignment]
    workshop.tasks = InlineTasks(workshop.hub)
    if is_followed:
        workshop.follow()
    try:
        yield workshop
    finally:
        workshop.close()


@contextmanager
def desk_on(folder: Path) -> Iterator[TestClient]:
    """Open the desk on a job as a browser sees it; a fault of ours comes out as the exception that it is."""
    host = "127.0.0.1:4321"
    with workshop_on(folder) as workshop:
        keys = Keys(4321)
        client = TestClient(
            application(workshop, keys), base_url=f"http://{host}/api/1", headers={"origin": f"http://{host}"}
        )
        client.get(f"http://{host}/open?token={keys.token}")
        yield client


def builders_files(folder: Path) -> dict[str, bytes | str]:
    """Return what a builder would miss of a job, by name: all but results, and what Sheetwood keeps for itself."""
    found: dict[str, bytes | str] = {}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        is_result = path.parts[len(folder.parts)] in RESULTS and name not in (EDITED_RESULT, "out/mine.txt")
        if not set(OWN) & set(path.parts[len(folder.parts) :]) and not is_result:
            found |= {} if (content := _content(path)) is None else {name: content}
    return found


def _content(path: Path) -> bytes | str | None:
    if path.is_symlink():
        return f"link to {path.readlink()}"
    if path.is_dir():
        return None
    return path.read_bytes() if path.is_file() else "pipe"
