"""Jobs on one pool of boards, as people see it: how the search goes on, and what lies where."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from nesting.cli.console import say, show_table, stages

if TYPE_CHECKING:
    from nesting.job.batch.pooled import Pooled
    from nesting.job.batch.run_batch import JobDone
    from nesting.job.batch.wish import Wish
    from vectorize.basics.notes import Note


def nest_shown(
    rack: Path, jobs: Sequence[JobDone], wish: Wish, hands: AbstractContextManager[Any] | None
) -> tuple[Pooled | None, tuple[Note, ...]]:
    """Return jobs laid out together on a pool, with their sheets written, and notes on files that were kept.

    None where no job has anything to be cut.

    Each job gives the search as much time as it would get alone.

    Raises:
        SheetwoodError: As `nest_pool` and `write_pool`.
    """
    from nesting.job.batch.pooled import add_to_jobs, kits_of, nest_pool, write_pool
    from nesting.job.laying import Effort

    kits = kits_of(jobs)
    if not kits:
        return None, ()
    effort = Effort(
        None if wish.time_s is None else wish.time_s * len(kits),
        None if wish.sweeps is None else wish.sweeps * len(kits),
        wish.seed or 0,
    )
    with stages() as progress:
        progress(f"nesting {len(kits)} kits together")
        pooled = nest_pool(rack, kits, effort=effort, hands=hands, progress=progress)
        add_to_jobs(pooled, jobs)
        if wish.until != "pattern":
            return pooled, ()
        progress("writing patterns")
        kept = write_pool(pooled, is_forced=wish.is_forced)
    say(f"Sheets and cutting list are in {pooled.pool.job.out}; each job has its own in out/. Print patterns at 100 %.")
    return pooled, kept


def show_pool(pooled: Pooled) -> None:
    """Print the sheets in the order to cut them, the kits, what finds no place and why, and what to buy."""
    from nesting.cli.wood_tables import show_wanted
    from nesting.job.batch.pool_report import KIT_HEADS, SHEET_HEADS, kit_rows, sheet_rows
    from vectorize.basics.spoken import METRIC

    show_table("Sheets, in the order to cut them", SHEET_HEADS, sheet_rows(pooled), right=(0, 3, 4, 5, 6))
    show_table("Kits", KIT_HEADS, kit_rows(pooled), right=(2, 3, 4))
    for kit in pooled.pool.kits:
        for reason in dict.fromkeys(one.reason for one in pooled.left_of(kit)):
            say(f"{kit.name}: {reason}")
    if pooled.wanted:
        show_wanted(pooled.wanted, speech=METRIC)
    say("The layout is proved: nothing overlaps, every gap, margin and grain angle is kept.")


def book_sheets(rack: Path, jobs: Sequence[JobDone]) -> None:
    """Take the boards of the pool's layout off its table, put their offcuts back, and say so; raises as `book_pool`."""
    from nesting.job.batch.pooled import book_pool, kits_of

    cut = book_pool(rack, kits_of(jobs))
    for board, pieces in cut.offcuts.items():
        left = ", ".join(f"{one.name} ({one.length_mm:.0f} × {one.width_mm:.0f} mm)" for one in pieces)
        say(f"{board}: {left or 'nothing of use is left'}")
    say("Say in each job what is cut (cut = true), or the next pool takes it in again.")
