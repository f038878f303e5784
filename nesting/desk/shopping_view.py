"""What wood is still to be bought, as the page shows it and as a card to take along."""

from __future__ import annotations

from typing import Any

from nesting.desk.standing import Standing, need_standing
from nesting.job.card_files import shopping_card_of
from nesting.job.folder import Job
from nesting.job.laid import Laid
from nesting.job.racking import shopping_list
from nesting.wood.shopping import Wanted, wanted_row
from vectorize.basics.errors import SheetwoodError


def shopping_view(job: Job, standing: Standing | None, laid: Laid | None, *, is_current: bool) -> dict[str, Any] | None:
    """Return the boards to buy, each with its `texts` in the job's units, or None while there are no parts."""
    if standing is None or not standing.parts or standing.faults.rack:
        return None
    try:
        wanted = _wanted(job, standing, laid if is_current else None)
    except SheetwoodError as error:
        return {"wanted": [], "fault": str(error)}
    units = job.spec.job.units
    lines = [line.as_json() | {"texts": list(wanted_row(line, units=units)), "for": line.purpose} for line in wanted]
    return {"wanted": lines, "fault": None}


def shopping_card(job: Job, standing: Standing | None, laid: Laid | None, *, is_current: bool) -> bytes:
    """Return the card as a PDF, made of the job as it is now.

    Raises:
        SheetwoodError: The job was not read yet, or its paper is too small.
    """
    wanted = _wanted(job, need_standing(standing), laid if is_current else None)
    return shopping_card_of(job, wanted)


def _wanted(job: Job, standing: Standing, laid: Laid | None) -> tuple[Wanted, ...]:
    return shopping_list(job, standing.parts, standing.boards, laid.layout if laid else None)
