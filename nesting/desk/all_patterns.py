"""All patterns at once: one PDF to print, one archive for laser, router and cutter."""

from __future__ import annotations

from nesting.desk.workshop import Workshop
from nesting.job.bundle import archive, joined_pdf
from vectorize.basics.errors import CallError

_PRINTED = ("board-", "carving-", "drill-", "wire-", "bench-card")
"""What is printed for the bench, in this order; the same parts one by one, and pictures of choices, are not."""
_FOR_MACHINES = (".svg", ".dxf")


def printed(workshop: Workshop) -> bytes:
    """Return one PDF of the boards, the carvings, the templates for drills and bent wire, and the bench card.

    Raises:
        CallError: No patterns were drawn yet.
    """
    names = [name for name in _names(workshop) if name.endswith(".pdf") and name.startswith(_PRINTED)]
    job = workshop.job()
    ordered = [name for kind in _PRINTED for name in sorted(names) if name.startswith(kind)]
    if not ordered:
        raise CallError("there is nothing to print yet; draw the patterns first.")
    return joined_pdf([(job.out / name).read_bytes() for name in ordered], title=f"{job.spec.job.name}: all patterns")


def for_machines(workshop: Workshop) -> bytes:
    """Return one archive of every drawing of a board or a part that a machine reads.

    Raises:
        CallError: No patterns were drawn yet.
    """
    kinds = ("board-", "part-", "carving-")
    names = [name for name in _names(workshop) if name.endswith(_FOR_MACHINES) and name.startswith(kinds)]
    if not names:
        raise CallError("there are no files for machines yet; draw the patterns first.")
    out = workshop.job().out
    return archive({name: (out / name).read_bytes() for name in names})


def _names(workshop: Workshop) -> list[str]:
    return [entry["name"] for entry in workshop.result_files(workshop.job())]
