"""`sheetwood nest`: where all parts fit on the boards."""

from __future__ import annotations

from nesting.cli.console import JobArgument, JsonOption, VerboseOption, finish, give_json, reporting, say
from nesting.cli.run import SecondsOption, SeedOption, SweepsOption, effort_of


def nest(
    job: JobArgument,
    time: SecondsOption = "20s",
    seed: SeedOption = None,
    sweeps: SweepsOption = None,
    as_json: JsonOption = False,
    verbose: VerboseOption = False,
) -> None:
    """Nest all parts on the rack's boards, along the grain, and prove the layout."""
    with reporting(is_verbose=verbose):
        from nesting.cli.tables import show_layout
        from nesting.job.folder import open_job
        from nesting.job.making import nest_job, unplaced_notes
        from nesting.job.rack import read_rack
        from nesting.job.results import nest_result
        from nesting.job.tracing import make_parts, trace_job

        opened = open_job(job)
        traced = trace_job(opened, progress=say)
        parts, said = make_parts(opened, traced)
        layout = nest_job(opened, parts, read_rack(opened), effort=effort_of(opened, time, seed, sweeps))
        notes = [*traced.notes, *said, *layout.notes, *unplaced_notes(layout)]
        if as_json:
            give_json(nest_result(layout, notes))
        else:
            show_layout(layout)
        finish(notes)
