"""One spoilt job: a worked-on tiny job, one to three mutations, one command or the desk, and what went wrong.

A case fails by an exception that is no error of ours, an exit code that is not documented, a message that is no
sentence for a builder, a file that the builder had and has no more, or a file that is half written.
"""

from __future__ import annotations

import contextlib
import json
import re
import resource
import shutil
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from random import Random

from tests.benchmarks.commands import (
    BASES,
    COMMANDS,
    Templates,
    builders_files,
    desk_on,
    run_command,
)
from tests.benchmarks.mutations import mutated, other_file
from tests.benchmarks.outcome import Failure, Outcome, crash
from tests.nesting.desk.test_workshop import EDITS

OUTSIDE = b"not of this job\n"
EXITS = (0, 2, 3, 4, 5, 6)
LONGEST_MESSAGE = 299
"""Characters of an error, with the path of a scratch folder in it."""
COMMAND_SHARE = {"pattern": 1, "run": 1, "assign": 2, "assign and keep": 2, "bring in SVG": 4, "bring in DXF": 4}
USUAL_SHARE = 5
INSIDES = re.compile(
    r"Traceback|NoneType|<class|object at 0x|function-|validator|\bself\b|errno|\[type=|site-packages|Error\(|"
    r"[\x00-\x08\x0b-\x1f\x7f]|not subscriptable|unpack|takes \d+ positional|has no attribute|unhashable|list indices"
)
FILES = {
    "job.toml": 12, "plan": 10, "rack.csv": 6, "rack/B1.json": 4, "corrected/fin.json": 3, "outlines": 3,
    "out/layout.json": 3, "out/manifest.json": 2, ".desk/history.json": 2, "section.dat": 1, "edited": 3,
    "leftover.png": 1, "cut.png": 1,
}  # fmt: skip
"""What is spoilt, and how often beside the others."""
ABOUT = {
    "leftover.png": ("rack photo",), "cut.png": ("check",),
    "edited": ("bring in SVG", "bring in DXF"), ".desk/history.json": ("desk",),
    "section.dat": ("weigh", "pattern", "desk"), "corrected/fin.json": ("trace", "weigh", "nest", "desk"),
    "rack/B1.json": ("rack", "rack cut", "nest", "weigh", "desk"),
}  # fmt: skip
"""Commands that read such a file: half of its cases go to them."""
MAY_CHANGE = {
    "add a known": r"job\.toml", "assign and keep": r"job\.toml", "bring in SVG": r"corrected/plate\.json",
    "bring in DXF": r"corrected/plate\.json", "rack cut": r"rack\.csv(\.bak)?", "rack photo": r"rack\.csv(\.bak)?",
}  # fmt: skip
"""The files that a command is asked to change."""


@dataclass
class Prepared:
    """A case that is ready to run: its folder is spoilt, its command is chosen."""

    folder: Path
    outcome: Outcome
    chance: Random


def prepare_case(templates: Mapping[str, Path], scratch: Path, seed: int, number: int) -> Prepared:
    """Copy a template into `scratch` and spoil it by the rules of chance."""
    chance = Random(f"{seed}:{number}")
    folder = scratch / "job"
    shutil.rmtree(scratch, ignore_errors=True)
    outcome = Outcome(number, chance.choice(BASES))
    shutil.copytree(templates[outcome.base], folder, symlinks=True)
    outside = scratch / "outside.txt"
    outside.write_bytes(OUTSIDE)
    spoilt = _spoil(chance, folder, outside, outcome)
    outcome.command = _chosen_command(chance, spoilt)
    return Prepared(folder, outcome, chance)


class Cases:
    """What a worker runs: the jobs that are spoilt, made at its start, and the folder that it spoils them in."""

    def __init__(self, scratch: Path) -> None:
        self._scratch = scratch
        self._templates = Templates(scratch.parent / "templates").all()

    def __call__(self, seed: int, number: int) -> Outcome:
        """Run one case."""
        return run_case(self._templates, self._scratch, seed, number)

    def keep(self, out: Path, seed: int, number: int) -> None:
        """Lay the job of a case as the command found it into `out`."""
        prepare_case(self._templates, out, seed, number)


def run_case(templates: Mapping[str, Path], scratch: Path, seed: int, number: int) -> Outcome:
    """Run one case in this process and return what came of it; `scratch` holds the job afterwards."""
    case = prepare_case(templates, scratch, seed, number)
    folder, outcome = case.folder, case.outcome
    before = builders_files(folder)
    began = time.process_time()
    with _limited_disk(case.chance, outcome):
        if outcome.command == "desk":
            _at_the_desk(case.chance, folder, outcome)
        else:
            _by_command(folder, outcome)
    outcome.seconds = time.process_time() - began
    outcome.peak_bytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    outcome.failures += _lost(before, builders_files(folder), outcome)
    outcome.failures += _half_written(folder)
    if (scratch / "outside.txt").read_bytes() != OUTSIDE:
        outcome.failures.append(Failure("lost", "outside", "a file outside the job was changed"))
    return outcome


def _spoil(chance: Random, folder: Path, outside: Path, outcome: Outcome) -> list[str]:
    kinds = chance.choices(list(FILES), list(FILES.values()), k=chance.choice((1, 1, 1, 1, 2, 3)))
    for kind in kinds:
        path = _file_of(chance, folder, kind)
        if path is None or not path.is_file() or path.is_symlink():
            continue
        name = path.relative_to(folder).as_posix()
        if chance.random() < 0.04:
            rule = other_file(chance, path, outside)
        else:
            rule, data = mutated(chance, path.read_bytes(), path.suffix[1:])
            path.write_bytes(data)
        outcome.done_to.append(f"{name}: {rule}")
    return kinds


def _file_of(chance: Random, folder: Path, kind: str) -> Path | None:
    if kind in ("plan", "edited"):
        found = sorted(folder.glob(f"{kind}.*"))
    elif kind == "outlines":
        found = sorted((folder / kind).rglob("*.json")) if (folder / kind).is_dir() else []
    else:
        found = [folder / kind]
    return chance.choice(found) if found else None


def _chosen_command(chance: Random, spoilt: list[str]) -> str:
    fitting = [name for kind in spoilt for name in ABOUT.get(kind, ())]
    if fitting and chance.random() < 0.5:
        return chance.choice(fitting)
    names = [*COMMANDS, "desk"]
    return chance.choices(names, [COMMAND_SHARE.get(name, USUAL_SHARE) for name in names])[0]


@contextlib.contextmanager
def _limited_disk(chance: Random, outcome: Outcome) -> Iterator[None]:
    """Now and then, let every file end at so many bytes, as on a full disk."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    if chance.random() < 0.05:
        most = chance.choice((0, 100, 1000, 5000))
        outcome.done_to.append(f"the disk takes {most} bytes a file")
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def _by_command(folder: Path, outcome: Outcome) -> None:
    done = run_command(outcome.command, folder)
    outcome.code = done.exit_code
    if done.exception is not None:
        outcome.failures.append(crash(done.exception))
        return
    if done.exit_code not in EXITS:
        outcome.failures.append(Failure("exit", f"{outcome.command}-{done.exit_code}", done.stderr))
    said = done.stderr.strip()
    if done.exit_code in (3, 5, 6):
        outcome.failures += message_faults(said.splitlines()[-1] if said else "", str(folder))
    if "--json" in COMMANDS[outcome.command] and done.exit_code in (0, 4):
        outcome.failures += _json_faults(outcome.command, done.stdout)


def message_faults(said: str, folder: str) -> list[Failure]:
    """Return why an error is not one clear sentence for a builder; nothing where it is."""
    text = said.replace(folder, "JOB")
    plain = re.sub(r"[^a-z]+", "-", text.lower())[:40]
    if not text.startswith("sheetwood: "):
        return [Failure("message", f"none-{plain}", said)]
    if len(text) > LONGEST_MESSAGE:
        return [Failure("message", f"long-{plain}", said)]
    inside = INSIDES.search(text)
    return [Failure("message", f"insides-{plain}", said)] if inside else []


def _json_faults(command: str, text: str) -> list[Failure]:
    try:
        json.loads(text, parse_constant=_refused)
    except ValueError as error:
        return [Failure("json", command, f"{error}\n{text[:2000]}")]
    return []


def _refused(word: str) -> None:
    raise ValueError(f"{word} is not JSON")


def _at_the_desk(chance: Random, folder: Path, outcome: Outcome) -> None:
    """Open the job at the desk, look at it, make an edit, undo it, and make it again."""
    try:
        with desk_on(folder) as desk:
            for place in ("state", "plans/0/picture", "plans/0/regions", "plans/0/strokes", "findings"):
                desk.get(place)
            desk.get("plans/0/snap", params={"x": 100, "y": 60})
            before = builders_files(folder)
            edit = chance.choice(EDITS)
            outcome.done_to.append(f"edit {edit['kind']}")
            outcome.code = desk.post("edit", json=edit).status_code
            if outcome.code == 200:
                # What is so already is no step, and undo would take back the one before it.
                undone = desk.post("undo") if builders_files(folder) != before else None
                if undone is not None and (undone.status_code != 200 or builders_files(folder) != before):
                    outcome.failures.append(Failure("lost", f"undo-{edit['kind']}", undone.text))
            elif builders_files(folder) != before:
                outcome.failures.append(Failure("lost", f"refused-{edit['kind']}", "a refused edit changed a file"))
            desk.get("state")
            if chance.random() < 0.2:
                desk.post("task/patterns")
    except Exception as error:
        outcome.failures.append(crash(error))


def _lost(before: dict[str, bytes | str], after: dict[str, bytes | str], outcome: Outcome) -> list[Failure]:
    """Return the builder's files that are gone, or that are others than the command was asked to change."""
    may = MAY_CHANGE.get(outcome.command)
    failures = []
    for name, content in before.items():
        is_put_aside = outcome.command == "rack cut" and after.get(f"{name}.bak") == content
        if after.get(name) == content or is_put_aside or (may and name in after and re.fullmatch(may, name)):
            continue
        word = "changed" if name in after else "gone"
        failures.append(Failure("lost", f"{outcome.command}-{re.sub('[.].*', '', name)}-{word}", f"{name} is {word}"))
    was_written = outcome.command in ("rack cut", "rack photo") and after.get("rack.csv") != before.get("rack.csv")
    if was_written and after.get("rack.csv.bak") != before.get("rack.csv"):
        failures.append(Failure("lost", f"{outcome.command}-no-bak", "the old rack is not in rack.csv.bak"))
    return failures


def _half_written(folder: Path) -> list[Failure]:
    left = [path for path in folder.rglob("*") if path.name.startswith((".writing-", ".change", "upload-", "tmp"))]
    return [Failure("half", "left-behind", f"{path.relative_to(folder)} was left behind") for path in left[:1]]
