"""The table of ways to build a panel, for people."""

from __future__ import annotations

from nesting.cli.console import say, show_table
from nesting.wood.estimate import Estimate
from nesting.wood.flex.panel_flex import FlexOption, FlexReport
from vectorize.basics.units import figure, format_mass, unit_of


def show_flex(report: FlexReport, *, units: str) -> None:
    """Print ways to build a panel side by side, where its elastic axis lies, and the caution."""
    heads = ("way to build it", "mass", "bending", "twist", "stiffness", "per mass", f"sag {unit_of('length', units)}")
    first = report.options[0]
    rows = [_row(option, report.per_gram(option), units) for option in report.options]
    load = format_mass(report.load_g, units=units)
    title = f"{report.part}: against {first.name}; frequencies and stiffness at the tip as ratios"
    show_table(title, heads, rows, right=range(1, len(heads)))
    say(f"Sag of the tip: under its own weight, and with {load} more hung there, clamped at the root.")
    for option in report.options:
        say(
            f"{option.name}: seven tenths out, the elastic axis lies at about {option.elastic_share:.0%} of the chord, "
            f"the balance line at {option.balance_share:.0%}."
        )
    say(report.advice)
    say(report.caution)


def _row(option: FlexOption, per_gram: Estimate, units: str) -> tuple[str, ...]:
    own, load = (
        figure(sag.value, "length", units=units, decimals=2) for sag in (option.own_sag_mm, option.load_sag_mm)
    )
    return (
        option.name,
        format_mass(option.mass_g.value, units=units, decimals=2, sigma=option.mass_g.sigma),
        _ratio(option.first_bending),
        _ratio(option.first_twist),
        _ratio(option.stiffness),
        _ratio(per_gram),
        f"{own}, {load}",
    )


def _ratio(value: Estimate) -> str:
    return f"x {value.value:.3f} ± {value.sigma:.3f}" if value.sigma else f"x {value.value:.3f}"
