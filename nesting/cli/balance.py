"""`sheetwood balance`: where the model balances and what brings it into its range."""

from __future__ import annotations

from nesting.cli.console import (
    ForceOption,
    JobArgument,
    JsonOption,
    VerboseOption,
    finish,
    give_json,
    reporting,
    say,
)


def balance(
    job: JobArgument, as_json: JsonOption = False, force: ForceOption = False, verbose: VerboseOption = False
) -> None:
    """Show mass and balance point, ballast at each place, alternatives; write a picture and the bench card."""
    with reporting(is_verbose=verbose):
        from nesting.balance.report import balance_report
        from nesting.cli.wood_tables import show_balance
        from nesting.job.folder import open_job
        from nesting.job.model import read_model
        from nesting.job.pictures import write_balance

        opened = open_job(job)
        model = read_model(opened, progress=say)
        table = model.weigh()
        ledger, unseated = model.ledger(table)
        report = balance_report(
            ledger, model.plan, notes=(*model.notes, *table.notes, *model.need_notes(table), *unseated)
        )
        kept = write_balance(opened, model, table, report, is_forced=force)
        if as_json:
            give_json(report.as_json())
        else:
            show_balance(report, units=opened.spec.job.units)
        finish((*report.notes, *kept))
