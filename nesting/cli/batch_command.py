"""`sheetwood batch`: many jobs in one go."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from nesting.cli.console import ForceOption, JsonOption, VerboseOption, WordsOption, finish, give_json, reporting, say
from nesting.cli.run_command import SecondsOption, SeedOption, SweepsOption

if TYPE_CHECKING:
    from nesting.job.batch.wish import Wish

ShelfArgument = Annotated[
    Path,
    typer.Argument(
        metavar="FOLDER_OR_LIST",
        help="A folder with job folders and plans in it, or a text that names one in each line.",
    ),
]
UntilOption = Annotated[str, typer.Option("--until", metavar="STAGE", help="draft, trace, weigh, nest or pattern.")]
ClusterOption = Annotated[
    str,
    typer.Option(
        "--cluster", metavar="ADDRESS", help="'local': the cores of this machine; or a dask cluster's address."
    ),
]
WorkersOption = Annotated[
    int | None,
    typer.Option(min=0, help="Local workers, one core each; as many as cores unless given, 0: in this process."),
]
MemoryOption = Annotated[
    str | None, typer.Option("--memory", help="What a local worker may take, such as '2 GB', before it is ended.")
]
RetriesOption = Annotated[int, typer.Option(min=0, help="How often a stage whose worker died is tried again.")]
LimitOption = Annotated[str, typer.Option("--limit", help="The longest that a stage of a job may take.")]
ReportOption = Annotated[
    list[Path] | None,
    typer.Option("--report", metavar="FILE", help="Write a report: .html, .csv or .json; may be repeated."),
]
PoolOption = Annotated[
    Path | None,
    typer.Option("--pool", metavar="RACK", help="Cut all jobs from the boards of this table, nested together."),
]
BookOption = Annotated[
    bool, typer.Option("--book", help="With --pool, once its sheets are cut: boards go, their offcuts come back.")
]
RackOption = Annotated[Path | None, typer.Option("--rack", help="The rack table that is copied into drafted jobs.")]


def batch(
    shelf: ShelfArgument,
    until: UntilOption = "pattern",
    cluster: ClusterOption = "local",
    workers: WorkersOption = None,
    memory: MemoryOption = None,
    retries: RetriesOption = 2,
    limit: LimitOption = "30min",
    time: SecondsOption = "10s",
    seed: SeedOption = None,
    sweeps: SweepsOption = None,
    rack: RackOption = None,
    words: WordsOption = None,
    report: ReportOption = None,
    pool: PoolOption = None,
    book: BookOption = False,
    as_json: JsonOption = False,
    force: ForceOption = False,
    verbose: VerboseOption = False,
) -> None:
    """Run many jobs, on all cores or a cluster, and draft those of plans.

    A plan that has no job yet gets one beside it. What is done already and has not changed is kept, so the same call
    goes on where it was stopped. Exits with 4 if a job failed, or a part finds no place on the pool.
    """
    with reporting(is_verbose=verbose):
        from nesting.cli.batch_shown import batch_progress
        from nesting.cli.console import show_table
        from nesting.cli.pool_shown import book_sheets, nest_shown, show_pool
        from nesting.job.batch.batch_words import batch_table
        from nesting.job.batch.courses import Patience
        from nesting.job.batch.job_list import list_orders
        from nesting.job.batch.report_files import batch_json, check_reports, write_report
        from nesting.job.batch.run_batch import batch_notes, run_batch
        from vectorize.basics.units import DURATION, parse

        wish = _wish(until, time, seed, sweeps, rack, words or [], is_forced=force)
        patience = Patience(retries, parse(limit, DURATION, what="--limit"))
        check_reports(report or [], is_forced=force)
        orders = list_orders(shelf)
        _check_pool(until, pool, is_booked=book)
        own = wish if pool is None else replace(wish, until="trace")  # their boards are the pool's
        with _open_while_needed(_hands(cluster, workers, memory)) as hands:
            with batch_progress(own, len(orders)) as watch:
                try:
                    jobs = run_batch(orders, own, cluster=hands, patience=patience, report=watch)
                except KeyboardInterrupt:
                    say("What is done is kept: the same command goes on from here.")
                    raise
            if pool is not None and book:
                book_sheets(pool, jobs)
                finish(batch_notes(jobs))
                return
            pooled, kept = (None, ()) if pool is None else nest_shown(pool, jobs, wish, hands)
        for file in report or []:
            write_report(file, jobs, pooled)
        if as_json:
            give_json(batch_json(jobs, pooled))
        else:
            heads, rows, right = batch_table(jobs)
            show_table("Jobs, those first that need you", heads, rows, right=right)
            if pooled is not None:
                show_pool(pooled)
        finish((*batch_notes(jobs), *(() if pooled is None else pooled.notes), *kept))


def _wish(
    until: str,
    time: str,
    seed: int | None,
    sweeps: int | None,
    rack: Path | None,
    words: list[Path],
    *,
    is_forced: bool,
) -> Wish:
    from nesting.job.batch.wish import STAGES, Wish, given_file
    from vectorize.basics.errors import CallError
    from vectorize.basics.units import DURATION, parse
    from vectorize.basics.wording import shown

    stage = next((stage for stage in STAGES if stage == until), None)
    if stage is None:
        raise CallError(f"--until {shown(until)}: there is no such stage; choose from {', '.join(STAGES)}.")
    return Wish(
        until=stage,
        time_s=None if sweeps is not None else parse(time, DURATION, what="--time"),
        sweeps=sweeps,
        seed=seed,
        rack=None if rack is None else given_file(rack),
        words=tuple(map(given_file, words)),
        is_forced=is_forced,
    )


def _check_pool(until: str, pool: Path | None, *, is_booked: bool) -> None:
    from vectorize.basics.errors import CallError

    if pool is None and is_booked:
        raise CallError("--book takes the boards of a pool off its table; say which, with --pool.")
    if pool is not None and until not in ("nest", "pattern"):
        raise CallError(f"--pool nests jobs together; with it --until is nest or pattern, not {until}.")


@contextmanager
def _open_while_needed(
    hands: AbstractContextManager[Any] | None,
) -> Iterator[AbstractContextManager[Any] | None]:
    """Give workers that are started once, when they are first needed, for all that asks for them meanwhile."""
    from nesting.place.cluster import KeptOpen

    if hands is None:
        yield None
        return
    kept = KeptOpen(hands)
    try:
        yield kept
    finally:
        kept.close()


def _hands(cluster: str, workers: int | None, memory: str | None) -> AbstractContextManager[Any] | None:
    """Return what gives the client of the cluster asked for, None where all is to be done in this process.

    Raises:
        CallError: Options of local workers beside the address of a cluster.
    """
    from nesting.place.cluster import LOCAL
    from vectorize.basics.errors import CallError
    from vectorize.basics.units import MEMORY, parse

    if cluster != LOCAL and (workers is not None or memory is not None):
        raise CallError("--workers and --memory are of workers that are started here; leave them out with an address.")
    memory_bytes = None if memory is None else round(1e6 * parse(memory, MEMORY, what="--memory"))
    return None if workers == 0 else _started(cluster, workers, memory_bytes)


@contextmanager
def _started(cluster: str, workers: int | None, memory_bytes: int | None) -> Iterator[Any]:
    from nesting.place.cluster import LOCAL, open_cluster

    say("starting the workers" if cluster == LOCAL else f"asking the cluster at {cluster}")
    with open_cluster(cluster, workers=workers, memory_bytes=memory_bytes) as client:
        yield client
