"""How springy a carved panel of a job is, as it stands and built in other ways."""

from __future__ import annotations

from collections.abc import Sequence

from nesting.job.deriving import Carving
from nesting.job.flex_panel import PanelBuilder
from nesting.job.flex_tables import AS_IT_STANDS, FlexOptionTable
from nesting.job.folder import Job
from nesting.job.model_values import Model
from nesting.wood.flex.panel_flex import FlexReport, side_by_side, springiness
from vectorize.basics.errors import CallError, JobError
from vectorize.basics.notes import Note
from vectorize.basics.wording import listed, shown


def flex_job(job: Job, model: Model, part_name: str, wanted: Sequence[str] = ()) -> FlexReport:
    """Return ways to build a carved panel side by side, the first being what the others are measured by.

    Args:
        job: The job with its `[flex]`.
        model: What it says of parts and boards.
        part_name: The panel.
        wanted: Names of its options or of boards; one alone is set against the panel as it stands, none means all
            options of the job.

    Raises:
        JobError: The part is not carved, or an option cannot be built.
        CallError: No such option or board, or nothing to compare.
    """
    carving = _carving(model, part_name)
    options = _options(job, model, carving.name, wanted)
    builders = [PanelBuilder(model, carving, option) for option in options]
    found = [(builder.name, springiness(builder.panel()), *builder.leading_edge_and_chord()) for builder in builders]
    notes: dict[Note, None] = dict.fromkeys(note for builder in builders for note in builder.notes())
    return side_by_side(carving.name, found, load_g=job.spec.flex.load, notes=tuple(notes))


def _carving(model: Model, name: str) -> Carving:
    for carving in model.carvings:
        if carving.name == name:
            return carving
    carved = listed(carving.name for carving in model.carvings)
    raise JobError(
        f"part {shown(name)} is no panel that this job carves; carved are: {carved}. "
        "Give it [part.carve], or compare its boards with `sheetwood compare`."
    )


def _options(job: Job, model: Model, part: str, wanted: Sequence[str]) -> list[FlexOptionTable]:
    as_it_stands = FlexOptionTable(name=AS_IT_STANDS, part=part)
    said = {option.name: option for option in job.spec.flex.option if option.part == part}
    boards = {board.name: FlexOptionTable(name=board.name, part=part, boards=(board.name,)) for board in model.boards}
    known = {**boards, **said, AS_IT_STANDS: as_it_stands}
    for name in wanted:
        if name not in known:
            raise CallError(
                f"{part} has no option {shown(name)}; its options: {listed(said)}; boards: {listed(boards)}."
            )
    names = list(dict.fromkeys(wanted or (AS_IT_STANDS, *said)))
    if wanted and len(names) == 1 and names != [AS_IT_STANDS]:
        names.insert(0, AS_IT_STANDS)
    if len(names) < 2:
        raise CallError(
            f"there is nothing to compare {part} with: add [[flex.option]] to job.toml, or name boards, "
            f"such as `sheetwood flex JOB {part!r} BOARD BOARD`."
        )
    return [known[name] for name in names]
