"""What came of a case, and what is wrong with it."""

from __future__ import annotations

import re
import tempfile
import traceback
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Failure:
    """What went wrong, and where: failures of one place are one."""

    kind: str
    where: str
    text: str

    @property
    def name(self) -> str:
        """Return a name for its folder."""
        return re.sub(r"[^\w.-]+", "-", f"{self.kind}-{self.where}")[:100]


@dataclass
class Outcome:
    """A case that was run."""

    number: int
    base: str
    done_to: list[str] = field(default_factory=list)
    command: str = ""
    code: int | None = None
    seconds: float = 0.0
    peak_bytes: int = 0
    failures: list[Failure] = field(default_factory=list)


def crash(error: BaseException) -> Failure:
    """Return the failure that an exception is: its type, and the innermost line of ours that it came through."""
    frames = traceback.extract_tb(error.__traceback__)
    ours = [frame for frame in frames if _is_ours(frame.filename)]
    where = f"{Path(ours[-1].filename).relative_to(ROOT).as_posix()}-{ours[-1].name}" if ours else "outside"
    text = "".join(traceback.format_exception(error))
    return Failure("memory" if isinstance(error, MemoryError) else "crash", f"{type(error).__name__}-{where}", text)


def _is_ours(file: str) -> bool:
    return any(file.startswith(str(ROOT / package)) for package in ("nesting", "vectorize"))


@dataclass
class Tally:
    """What a run of cases gave."""

    cases: int = 0
    codes: Counter[str] = field(default_factory=Counter)
    kinds: dict[str, list[int]] = field(default_factory=dict)
    longest_s: float = 0.0
    most_bytes: int = 0

    def add(self, outcome: Outcome) -> None:
        """Count one more case."""
        self.cases += 1
        self.codes[f"desk {outcome.code}" if outcome.command == "desk" else f"exit {outcome.code}"] += 1
        for name in {failure.name for failure in outcome.failures}:
            self.kinds.setdefault(name, []).append(outcome.number)
        self.longest_s = max(self.longest_s, outcome.seconds)
        self.most_bytes = max(self.most_bytes, outcome.peak_bytes)

    def told(self, seconds: float) -> str:
        """Return the figures for a reader."""
        lines = [
            f"{self.cases} cases in {seconds:.0f} s; the longest took {self.longest_s:.1f} s; "
            f"a worker held at most {self.most_bytes / 1e9:.2f} GB",
            ", ".join(f"{name}: {count}" for name, count in sorted(self.codes.items())),
        ]
        worst_first = sorted(self.kinds.items(), key=lambda kind: -len(kind[1]))
        return "\n".join([*lines, *(f"FAILED {len(at)} times: {name}, cases {at[:8]}" for name, at in worst_first)])


def scratch_folder() -> Path:
    """Return a new folder for jobs, in memory where the machine has such a place, so that syncing costs nothing."""
    shared = Path("/dev/shm")
    return Path(tempfile.mkdtemp(prefix="sheetwood-", dir=shared if shared.is_dir() else None))
