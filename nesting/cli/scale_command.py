"""`sheetwood scale`: how many millimetres a pixel is, and how well the known dimensions agree."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from nesting.cli.console import JobArgument, JsonOption, VerboseOption, finish, give_json, reporting, show_table

if TYPE_CHECKING:
    from nesting.job.plans import OpenPlan


def scale(
    job: JobArgument,
    add: Annotated[
        list[str] | None,
        typer.Option("--add", metavar="X1,Y1,X2,Y2,LENGTH", help="Write a known dimension into job.toml first."),
    ] = None,
    plan: Annotated[str | None, typer.Option(help="The plan to add it to, where there are several.")] = None,
    as_json: JsonOption = False,
    verbose: VerboseOption = False,
) -> None:
    """Show the plan scale and how well known dimensions agree.

    Factors, the residual of each known dimension, and what the page size would be.
    """
    with reporting(job, is_verbose=verbose):
        from nesting.job.folder import open_job
        from nesting.job.plans import open_plans
        from nesting.job.scales import add_known, scale_result
        from nesting.job.speech import speech_of

        opened = open_job(job)
        if add:
            opened = add_known(opened, add, plan=plan)
        plans = open_plans(opened)
        notes = [note for p in plans.values() for note in (*p.page_notes, *p.scale.notes)]
        if as_json:
            give_json(scale_result(plans.values(), notes))
        else:
            for opened_plan in plans.values():
                _show(opened_plan, opened.spec.job.units)
        finish(notes, speech_of(opened))


def _show(plan: OpenPlan, units: str) -> None:
    from vectorize.basics.units import LENGTH, figure, format_length, sides, unit_of

    scale, unit = plan.scale, unit_of("length", units)
    rows = [
        (
            ", ".join(f"{value:.6g}" for value in known.start),
            ", ".join(f"{value:.6g}" for value in known.end),
            format_length(known.length, units=units),
            figure(residual.error_mm, "length", units=units, decimals=2, is_signed=True),
        )
        for known, residual in zip(plan.table.known, scale.residuals, strict=True)
    ]
    heads: tuple[str, ...] = ("from", "to", "true length", f"residual {unit}")
    show_table(f"Known dimensions of {plan.table.name}", heads, rows, right=(3,))
    if scale.points:
        points = [
            (
                ", ".join(f"{v:.6g}" for v in p.at),
                ", ".join(figure(v, "length", units=units, decimals=2) for v in p.place),
                figure(misfit.error_mm, "length", units=units, decimals=2),
            )
            for p, misfit in zip(plan.table.point, scale.points, strict=True)
        ]
        heads = ("at", f"is, {unit}", f"misses by {unit}")
        show_table(f"Points of known place on {plan.table.name}", heads, points, right=(2,))
    across, down = (float(LENGTH.factors[unit]) / factor for factor in scale.mm_per_px)
    print(
        f"{plan.table.name}: {across:.4f} x {down:.4f} pixels per {unit}; the page would be "
        f"{sides(scale.page_mm, units=units)} {unit}, and lay turned by {scale.skew_deg:+.2f} deg."
    )
