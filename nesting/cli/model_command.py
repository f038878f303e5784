"""`sheetwood model`: all parts as solid bodies, at their places, for any viewer of solid models."""

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


def model(
    job: JobArgument, as_json: JsonOption = False, force: ForceOption = False, verbose: VerboseOption = False
) -> None:
    """Put all parts together in three dimensions.

    Writes out/model.glb (glTF): each part a closed solid in the tone of its board, with its mass. A part whose place
    the job does not tell lies beside the model.
    """
    with reporting(job, is_verbose=verbose):
        from nesting.cli.wood_tables import show_bodies
        from nesting.job.folder import open_job
        from nesting.job.solid_model import put_together, write_model
        from nesting.job.speech import speech_of
        from nesting.job.stages import Stages

        opened = open_job(job)
        with stages() as progress:
            whole = Stages(opened, progress=progress).model
        found = put_together(opened.spec, whole)
        kept = write_model(opened, found, is_forced=force)
        speech, notes = speech_of(opened), (*whole.notes, *found.notes, *kept)
        if as_json:
            give_json(found.as_json() | {"notes": [note.as_json() for note in notes]})
        else:
            show_bodies(found.bodies, units=speech.units)
        finish(notes, speech)
