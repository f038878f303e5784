"""`sheetwood weigh`: what every part would weigh from every board."""

from __future__ import annotations

from nesting.cli.console import JobArgument, JsonOption, VerboseOption, finish, give_json, reporting, say


def weigh(job: JobArgument, as_json: JsonOption = False, verbose: VerboseOption = False) -> None:
    """Show what each part weighs from each board of its material and thickness, and which board is chosen."""
    with reporting(is_verbose=verbose):
        from nesting.cli.tables import show_weights
        from nesting.job.folder import open_job
        from nesting.job.rack import read_rack
        from nesting.job.results import weigh_result
        from nesting.job.tracing import make_parts, trace_job
        from nesting.weigh import weigh_parts

        opened = open_job(job)
        traced = trace_job(opened, progress=say)
        parts, said = make_parts(opened, traced)
        boards = read_rack(opened)
        table = weigh_parts(parts, boards)
        notes = [*traced.notes, *said, *table.notes]
        if as_json:
            give_json(weigh_result(table, notes))
        else:
            show_weights(table, parts, boards, units=opened.spec.job.units)
        finish(notes)
