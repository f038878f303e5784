"""Long work that a builder asks for: looking for layouts, drawing patterns."""

from __future__ import annotations

from nesting.desk import fitting, layouts
from nesting.desk import requests as ask
from nesting.desk.history import Step, encoded, read_texts
from nesting.desk.layouts import LAYOUT_NAME
from nesting.desk.standing import need_standing
from nesting.desk.tasks import Say, Task
from nesting.desk.workshop import Workshop
from nesting.job.journal import replace_files
from nesting.job.laid import Laid, held_copies, laid_text, read_laid
from nesting.job.laying import inputs_hash
from nesting.place.layout import Layout
from vectorize.basics.errors import CallError


def start_search(workshop: Workshop, hold: ask.PlaceCopy | None = None) -> Task | None:
    """Begin to look for better and better layouts; None if that is going on already.

    With `hold` that copy is pinned where the builder wants it, and the rest is fitted around it.
    """

    def work(say: Say) -> None:
        _search(workshop, hold, say)

    return workshop.tasks.start("nest", "fitting parts on boards", work, stop=workshop.searcher.stop)


def _search(workshop: Workshop, hold: ask.PlaceCopy | None, say: Say) -> None:
    job, standing = workshop.job(), need_standing(workshop.standing)
    before = read_texts(job.folder, (LAYOUT_NAME,))
    laid = read_laid(before[LAYOUT_NAME])
    made_from = inputs_hash(job, standing.parts, standing.boards)
    if hold is not None:
        laid = layouts.with_copy_at(laid, hold, standing.parts, standing.boards, made_from=made_from)
    # What lay where the held copy now lies must find a new place, so the old layout is no start.
    start = laid.layout if laid and hold is None and laid.made_from == made_from else None
    held = held_copies(job, laid, standing.parts, standing.boards)
    latest = before

    def keep(found: object) -> None:
        nonlocal latest
        assert isinstance(found, Layout)
        text: dict[str, str | None] = {LAYOUT_NAME: laid_text(Laid(found, made_from, held.copies))}
        if read_texts(job.folder, (LAYOUT_NAME,)) != latest:
            raise CallError("the layout was changed meanwhile, so the search has ended; start it again from there.")
        if latest is before:
            # Kept at once: a search that is ended from outside can be taken back like any other.
            workshop.make(Step("fit the parts on the boards", before, text))
        else:
            replace_files(job.folder, encoded(latest), encoded(text))
            workshop.notify_changed()
        latest = text

    workshop.searcher.run(
        fitting.search, job.folder, standing.parts, standing.boards, start, held, on_say=say, on_give=keep
    )


def start_patterns(workshop: Workshop) -> Task | None:
    """Begin to draw the patterns of the kept layout; None if that is going on already."""

    def work(say: Say) -> None:
        _draw(workshop, say)

    return workshop.tasks.start("patterns", "drawing patterns", work, stop=workshop.region_worker.stop)


def _draw(workshop: Workshop, say: Say) -> None:
    job, _ = workshop.job(), need_standing(workshop.standing)
    laid, is_current = workshop.laid(job)
    if laid is None or not is_current:
        raise CallError("fit the parts on the boards first: patterns are drawn of a layout.")
    layouts.refuse_faults(laid)
    _, notes = workshop.region_worker.run(fitting.draw_patterns, job.folder, on_say=say)
    workshop.notify_changed()
    if kept := [note.text for note in notes if note.code == "kept-edited-file"]:
        raise CallError(" ".join(kept))
