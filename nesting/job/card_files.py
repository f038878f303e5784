"""Pictures and the bench card of a job, written to `out/`."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from nesting.balance.balance_report import BalancePlan
from nesting.charts.balance_chart import draw_balance
from nesting.charts.bench_card import bench_card_pdf
from nesting.charts.built_chart import SideView, draw_built
from nesting.charts.comparison_chart import draw_comparison
from nesting.charts.flex_chart import draw_flex
from nesting.charts.shopping_card import shopping_card_pdf
from nesting.choice.compare import Comparison
from nesting.job.balancing import Balanced
from nesting.job.files import write_results
from nesting.job.folder import Job, file_name_for
from nesting.job.kept_results import Made, write_made
from nesting.job.model_values import Model
from nesting.job.speech import speech_of
from nesting.patterns.drawing import Drawing, Recorder
from nesting.patterns.papers import Paper, find_paper
from nesting.patterns.write_pdf import Page, Sheet, pdf_bytes
from nesting.patterns.write_png import png_bytes
from nesting.patterns.write_svg import svg_bytes
from nesting.wood.board import Board
from nesting.wood.density import Wood
from nesting.wood.flex.panel_flex import FlexReport
from nesting.wood.part import Part
from nesting.wood.shopping import Wanted
from nesting.wood.stock import StockList
from vectorize.basics.notes import Note
from vectorize.shapes.affine import Affine

_EDGE_MM = 6.0
"""Room round a chart that is saved as a picture; it needs less than a drawing that is cut out."""


def picture_files(stem: str, title: str, draw: Callable[[Drawing], None]) -> dict[str, bytes]:
    """Return a picture as SVG and PNG files."""
    recorder = Recorder()
    draw(recorder)
    x0, y0, x1, y1 = recorder.bounds()
    box = (x0 - _EDGE_MM, y0 - _EDGE_MM, x1 + _EDGE_MM, y1 + _EDGE_MM)
    paper = Paper(title, box[2] - box[0], box[3] - box[1])
    page = Page(paper, (Sheet(tuple(recorder.elements), Affine.shift(-box[0], -box[1])),))
    return {
        f"{stem}.svg": svg_bytes(recorder.elements, box=box, title=title),
        f"{stem}.png": png_bytes(pdf_bytes((page,), title=title)),
    }


def write_comparison(
    job: Job, comparison: Comparison, plan: BalancePlan, *, side_view: SideView | None = None, is_forced: bool = False
) -> tuple[Note, ...]:
    """Write `out/compare-PART.svg` and `.png`, and with a `side_view` `out/stiffness-PART` too.

    Returns:
        A note for each file that was kept.

    Raises:
        WriteError: `out/` cannot be written.
    """
    stem, title = f"compare-{file_name_for(comparison.part)}", f"{job.spec.job.name}: boards for {comparison.part}"
    files = picture_files(stem, title, lambda d: draw_comparison(d, comparison, plan.limits, speech=speech_of(job)))
    if side_view is not None:
        stem, title = f"stiffness-{file_name_for(comparison.part)}", f"{job.spec.job.name}: {comparison.part} as built"
        units = job.spec.job.units
        files |= picture_files(stem, title, lambda d: draw_built(d, comparison, side_view, units=units))
    return write_results(job.out, files, is_forced=is_forced).notes


def write_flex(job: Job, report: FlexReport, *, is_forced: bool = False) -> tuple[Note, ...]:
    """Write `out/flex-PART.svg` and `.png`; return a note for each file that was kept.

    Raises:
        WriteError: `out/` cannot be written.
    """
    stem, title = f"flex-{file_name_for(report.part)}", f"{job.spec.job.name}: ways to build {report.part}"
    files = picture_files(stem, title, lambda d: draw_flex(d, report, units=job.spec.job.units))
    return write_results(job.out, files, is_forced=is_forced).notes


def write_balance(job: Job, model: Model, balanced: Balanced, *, is_forced: bool = False) -> tuple[Note, ...]:
    """Write `out/balance` as SVG and PNG, `out/bench-card` as PDF and PNG; return a note for each file that was kept.

    Raises:
        WriteError: `out/` cannot be written.
    """
    return write_made(
        job.out,
        _balance_files,
        is_forced=is_forced,
        name=job.spec.job.name,
        units=job.spec.job.units,
        paper=job.spec.pattern.paper,
        parts=model.parts,
        woods=model.woods,
        wood=model.wood,
        balanced=balanced,
    ).notes


def _balance_files(
    name: str,
    units: str,
    paper: str,
    parts: Sequence[Part],
    woods: Sequence[Board],
    wood: Wood,
    balanced: Balanced,
) -> Made:
    report = balanced.report
    files = picture_files("balance", f"{name}: balance", lambda d: draw_balance(d, report, units=units))
    card = files["bench-card.pdf"] = bench_card_pdf(
        name,
        parts,
        woods,
        balanced.table,
        report,
        budget=balanced.budget,
        stations=balanced.stations,
        wires=balanced.wires,
        paper=find_paper(paper),
        units=units,
        wood=wood,
    )
    files["bench-card.png"] = png_bytes(card)
    return files, ()


def shopping_card_of(job: Job, wanted: Sequence[Wanted], stock: StockList | None = None) -> bytes:
    """Return the card of what is to be bought for a job as a PDF, with a page for all that it takes if that is given.

    Raises:
        InputError: The job's paper is too small for a card.
    """
    paper = find_paper(job.spec.pattern.paper)
    return shopping_card_pdf(job.spec.job.name, wanted, stock=stock, paper=paper, units=job.spec.job.units)


def write_shopping_card(
    job: Job, wanted: Sequence[Wanted], stock: StockList | None = None, *, is_forced: bool = False
) -> tuple[Note, ...]:
    """Write `out/shopping-card.pdf`; return a note if an edited one was kept.

    Raises:
        InputError: The job's paper is too small for a card.
        WriteError: `out/` cannot be written.
    """
    return write_results(
        job.out, {"shopping-card.pdf": shopping_card_of(job, wanted, stock)}, is_forced=is_forced
    ).notes
