"""The report of a batch as a file: a page for people, a table for a spreadsheet, or JSON, by the ending of its name."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from nesting.job.batch.batch_words import why
from nesting.job.batch.pool_report import pool_html, pool_json
from nesting.job.batch.pooled import Pooled
from nesting.job.batch.report_html import MARK, report_html
from nesting.job.batch.run_batch import JobDone, batch_notes, by_need
from nesting.job.files import write_whole
from vectorize.basics.errors import CallError
from vectorize.basics.plain_file import read_plain
from vectorize.basics.wording import printable

_COLUMNS = ("job", "folder", "state", "stage", "parts", "open", "boards", "mass_g", "sigma_g", "unplaced",
            "waste_share", "seconds", "what to look at")  # fmt: skip
_BEGINS = "=+-@\t\r"
"""What a spreadsheet takes for the beginning of a formula."""


def batch_json(jobs: Sequence[JobDone], pooled: Pooled | None = None) -> dict[str, Any]:
    """Return a batch as the JSON contract has it."""
    pool = {} if pooled is None else {"pool": pool_json(pooled)}
    notes = [*batch_notes(jobs), *(() if pooled is None else pooled.notes)]
    return {"jobs": [job.as_json() for job in jobs], **pool, "notes": [note.as_json() for note in notes]}


def check_reports(files: Iterable[Path], *, is_forced: bool = False) -> None:
    """Raise unless each of the reports may be written: before the batch, not after a night's work.

    Raises:
        CallError: An ending of another kind, a folder that is not there, or a file that is no report of ours.
    """
    for file in files:
        if file.suffix.lower() not in _KINDS:
            raise CallError(f"--report {file.name}: end its name with {', '.join(_KINDS)}.")
        if not file.parent.is_dir():
            raise CallError(f"--report {file}: there is no folder {file.parent}; make it, or choose another.")
        if not is_forced and file.exists() and not _is_ours(file):
            raise CallError(f"{file} is there and no report of a batch; choose another name, or --force to replace it.")


def _is_ours(file: Path) -> bool:
    try:
        start = read_plain(file)[:2000].decode("utf-8-sig", errors="replace")
    except OSError:
        return False
    marks = {".html": MARK, ".csv": ",".join(_COLUMNS), ".json": '{\n "jobs": ['}
    return marks[file.suffix.lower()] in start


def write_report(file: Path, jobs: Sequence[JobDone], pooled: Pooled | None = None) -> None:
    """Write a report of what became of the jobs, and of the pool that they were cut from.

    Raises:
        WriteError: The folder cannot be written.
    """
    write_whole(file, _KINDS[file.suffix.lower()](jobs, file.parent, pooled))


def _html(jobs: Sequence[JobDone], base: Path, pooled: Pooled | None) -> bytes:
    return report_html(jobs, base=base, more="" if pooled is None else pool_html(pooled)).encode()


def _csv(jobs: Sequence[JobDone], base: Path, pooled: Pooled | None) -> bytes:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(_COLUMNS)
    writer.writerows(map(_row, by_need(jobs)))
    # With a mark of UTF-8, without which spreadsheets take letters beyond ASCII for others.
    return out.getvalue().encode("utf-8-sig")


def _json(jobs: Sequence[JobDone], base: Path, pooled: Pooled | None) -> bytes:
    return json.dumps(batch_json(jobs, pooled), indent=1).encode()


_KINDS: Mapping[str, Callable[[Sequence[JobDone], Path, Pooled | None], bytes]] = {
    ".html": _html,
    ".csv": _csv,
    ".json": _json,
}


def _row(job: JobDone) -> list[object]:
    known = job.figures
    figures = [known.get(name, "") for name in ("boards", "mass_g", "sigma_g", "unplaced", "waste_share")]
    texts = [_cell(text) for text in (job.order.shown, str(job.order.folder))]
    head = [*texts, job.state, next(reversed(job.stages), ""), known.get("parts", ""), len(job.open_notes)]
    rounded = [round(one, 4) if isinstance(one, float) else one for one in (*figures, job.total_seconds)]
    return [*head, *rounded, _cell(why(job))]


def _cell(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula."""
    text = printable(text)
    return f"'{text}" if text[:1] in _BEGINS and text else text
