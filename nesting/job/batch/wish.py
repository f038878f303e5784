"""What is asked of a batch."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal, TypeAlias, get_args

from nesting.job.folder import Job
from nesting.job.laying import Effort
from vectorize.basics.errors import InputError
from vectorize.basics.plain_file import read_plain

Stage: TypeAlias = Literal["draft", "trace", "weigh", "nest", "pattern"]
STAGES: tuple[Stage, ...] = get_args(Stage)
"""The stages of a job in their order. Only a plan that has no job yet is drafted."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What is asked of every job: the last stage, the effort of the search, and what is given to drafts.

    Args:
        until: The last stage to be done.
        time_s: How long each search may take, None with a limit of sweeps.
        sweeps: How many sweeps it may take.
        seed: Seed of the searches; the job's own unless given.
        rack: Name and content of the rack table that is copied into every job that is drafted.
        words: Names and contents of tables of more words, for drafts.
        is_forced: Replace results even if somebody edited them.
        threads: How many threads a stage may use for pictures; 0 leaves that to the machine.
    """

    until: Stage = "pattern"
    time_s: float | None = 10.0
    sweeps: int | None = None
    seed: int | None = None
    rack: tuple[str, bytes] | None = None
    words: tuple[tuple[str, bytes], ...] = field(default=())
    is_forced: bool = False
    threads: int = 1

    @property
    def stages(self) -> tuple[Stage, ...]:
        """Return the stages of a job that is there, in their order."""
        return STAGES[1 : STAGES.index(self.until) + 1]

    def options(self, stage: Stage) -> tuple[object, ...]:
        """Return what of the wish a stage's result depends on."""
        return (self.time_s, self.sweeps, self.seed) if stage == "nest" else ()

    def effort(self, job: Job) -> Effort:
        """Return the effort of a job's search."""
        return Effort(self.time_s, self.sweeps, job.spec.nest.seed if self.seed is None else self.seed)


def given_file(path: Path) -> tuple[str, bytes]:
    """Return the name and content of a table that is given for drafts.

    Raises:
        InputError: It cannot be read.
    """
    try:
        return path.name, read_plain(path)
    except OSError as error:
        raise InputError(f"{path} cannot be read: {error.strerror or error}.") from error
