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
    stages,
)


def balance(
    job: JobArgument, as_json: JsonOption = False, force: ForceOption = False, verbose: VerboseOption = False
) -> None:
    """Show mass, balance point, ballast and alternatives.

    Writes a picture and the bench card to out/.
    """
    with reporting(job, is_verbose=verbose):
        from nesting.cli.wood_tables import show_balance, show_budget, show_fixes, show_stations, show_wires
        from nesting.job.card_files import write_balance
        from nesting.job.folder import open_job
        from nesting.job.speech import speech_of
        from nesting.job.stages import Stages

        opened = open_job(job)
        with stages() as progress:
            made = Stages(opened, progress=progress)
            balanced = made.balance
        report = balanced.report
        kept = write_balance(opened, made.model, balanced, is_forced=force)
        speech = speech_of(opened)
        if as_json:
            give_json(balanced.as_json())
        else:
            show_balance(report, speech=speech)
            show_stations(balanced.stations, units=speech.units)
            show_wires(balanced.wires, units=speech.units)
            show_budget(balanced.budget, units=speech.units)
            show_fixes(balanced.fixes, speech=speech)
        finish((*report.notes, *kept), speech)
