"""`sheetwood rack`: the boards at hand and their densities."""

from __future__ import annotations

from nesting.cli.console import JobArgument, JsonOption, VerboseOption, finish, give_json, reporting


def rack(job: JobArgument, as_json: JsonOption = False, verbose: VerboseOption = False) -> None:
    """Show the boards of the job's rack with the density that each scale reading gives."""
    with reporting(is_verbose=verbose):
        from nesting.cli.tables import show_rack
        from nesting.job.folder import open_job
        from nesting.job.rack import read_rack
        from nesting.job.results import rack_result

        opened = open_job(job)
        boards = read_rack(opened)
        if as_json:
            give_json(rack_result(boards))
        else:
            show_rack(boards, units=opened.spec.job.units)
        finish(())
