"""`sheetwood weigh`: what every part would weigh from every board."""

from __future__ import annotations

from nesting.cli.console import JobArgument, JsonOption, VerboseOption, finish, give_json, reporting, stages


def weigh(job: JobArgument, as_json: JsonOption = False, verbose: VerboseOption = False) -> None:
    """Show what each part weighs from each board that suits it.

    With finish and glue, and against the readings of the scale.
    """
    with reporting(job, is_verbose=verbose):
        from nesting.balance.ledger import stage_notes
        from nesting.cli.tables import show_weights
        from nesting.cli.wood_tables import show_board_totals, show_build
        from nesting.job.folder import open_job
        from nesting.job.panels import carved_names, panel_notes
        from nesting.job.results import build_result, weigh_result
        from nesting.job.speech import speech_of
        from nesting.job.stages import Stages

        opened = open_job(job)
        with stages() as progress:
            made = Stages(opened, progress=progress)
            model = made.model
        table = model.weights
        ledger = model.masses(table)
        panels = panel_notes(model.carvings, table, asked=carved_names(opened))
        notes = [*made.notes, *table.notes, *model.need_notes(table), *panels, *stage_notes(ledger.differences)]
        speech = speech_of(opened)
        if as_json:
            give_json(weigh_result(table, notes) | {"built": build_result(ledger)})
        else:
            show_weights(table, model.parts, model.boards, speech=speech)
            show_board_totals(table, units=speech.units)
            show_build(ledger, units=speech.units)
        finish(notes, speech)
