"""The report of a batch as one page that needs nothing else: no script, no network, no file beside it."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Sequence
from html import escape
from pathlib import Path
from urllib.parse import quote

from nesting.job.batch.batch_words import duration, figure
from nesting.job.batch.run_batch import JobDone, JobState, by_need
from nesting.job.batch.silhouettes import silhouettes_svg
from vectorize.basics.notes import Note
from vectorize.basics.wording import clipped, printable

MARK = '<meta name="generator" content="sheetwood batch">'
_SUMS: tuple[tuple[JobState, str], ...] = (
    ("failed", "failed"),
    ("open", "to be looked at"),
    ("done", "done"),
)
_MOST_TOLD = 300
_HEADS = ("Parts", "Open", "Boards", "Weight g", "Waste", "Time")
_STATES = {"failed": "failed", "open": "look at it", "done": "done"}

_STYLE = """
:root{color-scheme:light dark;--ink:#2c2419;--soft:#766850;--line:#e2d9c8;--paper:#fdfbf6;--sheet:#fff;--wood:#c9a566;
--edge:#7a5c28;--failed:#a4262c;--open:#8a5a00;--done:#2f6b3a}
@media(prefers-color-scheme:dark){:root{--ink:#ece4d6;--soft:#a99c86;--line:#3d372d;--paper:#1e1b16;--sheet:#26221c;
--wood:#8a6c3b;--edge:#dcc08c;--failed:#ff8f8a;--open:#f0b95c;--done:#8fd19b}}
*{box-sizing:border-box}
body{margin:0 auto;max-width:1240px;padding:24px;background:var(--paper);color:var(--ink);
font:15px/1.45 system-ui,sans-serif}
h1{font-size:24px;margin:0 0 4px}
h2{font-size:18px;margin:28px 0 8px}
.sheet .board{fill:var(--wood);fill-opacity:.25;stroke:var(--edge);stroke-width:.8}
.sheet path{fill-rule:evenodd;stroke:var(--ink);stroke-width:.4}
.sheet{display:block;max-width:100%}
.kit{display:inline-block;width:12px;height:12px;margin-right:8px;border-radius:2px}
.sum{color:var(--soft);margin:0 0 20px}
.end{margin-top:14px;font-size:13.5px}
.sum b{color:var(--ink)}
table{width:100%;border-collapse:collapse;background:var(--sheet);border:1px solid var(--line)}
th,td{padding:10px 12px;text-align:left;vertical-align:top;border-top:1px solid var(--line)}
th{font-size:13px;font-weight:600;color:var(--soft);border-top:0;white-space:nowrap}
.n{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}
.pic{width:192px;text-align:center;vertical-align:middle}
.pic svg{display:inline-block;max-width:100%}
.parts path{fill:var(--wood);fill-rule:evenodd;stroke:var(--edge);stroke-width:.8}
.none{display:inline-block;text-align:center;width:168px;
padding:18px 0;border:1px dashed var(--line);color:var(--soft);font-size:13px}
.job{min-width:230px;overflow-wrap:anywhere}
.job a{font-weight:600;color:inherit}
.state{display:inline-block;margin-left:8px;font-size:13px;font-weight:600;white-space:nowrap}
.failed{color:var(--failed)}.open{color:var(--open)}.done{color:var(--done)}
.why,details{font-size:13.5px;margin-top:4px}
details ul{margin:6px 0 0;padding-left:18px}
summary{cursor:pointer;color:var(--soft)}
small{color:var(--soft)}
@media(max-width:760px){body{padding:12px}table,tbody,tr,td{display:block}thead{display:none}
td{border:0;padding:4px 12px}tr{border-top:1px solid var(--line);padding:8px 0}.n,.pic{text-align:left;width:auto}
.n{display:inline-block}
.n:empty{display:none}.n[data-h]::before{content:attr(data-h) " ";color:var(--soft)}}
@media print{body{padding:0;max-width:none}tr{break-inside:avoid}}
"""


def report_html(jobs: Sequence[JobDone], *, base: Path, more: str = "") -> str:
    """Return the page: a row a job, those first that need a person.

    Args:
        jobs: What became of each job.
        base: The folder that the page will lie in, from which it links to the jobs.
        more: What stands below the table, as HTML.
    """
    count = f"{len(jobs)} job{'' if len(jobs) == 1 else 's'}"
    head = "<th></th><th>Job</th>" + "".join(f'<th class="n">{text}</th>' for text in _HEADS)
    rows = "\n".join(_row(job, base) for job in by_need(jobs))
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8">{MARK}'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">"
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f"<title>Batch of {count}</title><style>{_STYLE}</style></head>\n<body><h1>Batch of {count}</h1>\n"
        f'<p class="sum">{_sum(jobs)}</p>\n'
        f"<table><thead><tr>{head}</tr></thead>\n<tbody>\n{rows}\n</tbody></table>\n"
        '<p class="sum end">Weight is wood, finish and glue of the parts. Waste is what of the boards, up to the '
        "length that is cut into, becomes no part; the rest of a board is an offcut.</p>\n"
        f"{more}</body></html>\n"
    )


def _sum(jobs: Sequence[JobDone]) -> str:
    states = Counter(job.state for job in jobs)
    said = [f"<b>{states[state]}</b> {text}" for state, text in _SUMS if states[state]]
    boards = sum(job.figures.get("boards", 0) for job in jobs)
    wood = f" · {boards:.0f} boards cut into" if boards else ""
    return f"{', '.join(said)}{wood} · {duration(sum(job.total_seconds for job in jobs))} of work"


def _row(job: JobDone, base: Path) -> str:
    known = job.figures
    decimals = 1 if known.get("mass_g", 0.0) >= 10.0 else 2
    sigma = f" <small>± {known['sigma_g']:.{decimals}f}</small>" if "sigma_g" in known else ""
    picture = silhouettes_svg(job.order.folder) or '<span class="none">no outline yet</span>'
    cells = (
        figure(known, "parts"),
        str(len(job.open_notes) or ""),
        figure(known, "boards"),
        figure(known, "mass_g", decimals=decimals) + sigma,
        figure(known, "waste_share", times=100, unit=" %"),
        duration(job.total_seconds),
    )
    named = zip(_HEADS, cells, strict=True)
    figures = "".join(f'<td class="n" data-h="{head}">{text}</td>' for head, text in named)
    return f'<tr><td class="pic">{picture}</td><td class="job">{_told(job, base)}</td>{figures}</tr>'


def _told(job: JobDone, base: Path) -> str:
    """Return the job's name, its state, and all that a person is to look at."""
    link = quote(Path(os.path.relpath(job.order.folder.resolve(), base.resolve())).as_posix())
    name = f'<a href="./{link}/">{_text(job.order.shown)}</a>'
    state = f'<span class="state {job.state}">{_STATES[job.state]}</span>'
    notes = sorted(job.open_notes, key=lambda note: note.code != "stage-failed")
    if not notes:
        return name + state
    first, *rest = map(_note, notes)
    more = "".join(f"<li>{text}</li>" for text in rest)
    folded = f"<details><summary>and {len(rest)} more</summary><ul>{more}</ul></details>" if rest else ""
    return f'{name}{state}<div class="why">{first}</div>{folded}'


def _note(note: Note) -> str:
    part = "" if note.part is None or note.part in note.text else f"<b>{_text(note.part)}</b>: "
    return part + _text(note.text)


def _text(text: str) -> str:
    """Return a text as it may stand in a page: whatever a file held, it is no markup and turns no line round."""
    return escape(clipped(printable(text), _MOST_TOLD))
