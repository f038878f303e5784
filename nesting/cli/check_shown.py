"""What is said of a part as cut, for people."""

from __future__ import annotations

from nesting.cli.console import say, show_table
from nesting.job.checking import Checked
from nesting.wood.ascut.as_cut import place_words
from nesting.wood.ascut.deviations import overall
from vectorize.basics.spoken import Speech
from vectorize.basics.units import figure, format_mass, measure, unit_of


def show_check(checked: Checked, *, speech: Speech) -> None:
    """Print how the part lies, its deviations, area and weight, and where to sand."""
    found, units = checked.found, speech.units
    mean, rms, most, least = (
        measure(value, "length", units=units, decimals=2, is_signed=True) for value in overall(found.edges)
    )
    over = "turned over, " if found.laid.pose.is_flipped else ""
    say(f"{found.part} lies {over}turned by {found.laid.pose.angle_deg:.1f} degrees against its outline.")
    rows = [
        ("edge, on average", mean),
        ("most wood left", most),
        ("most cut away", least),
        ("root mean square", rms.lstrip("+")),
        ("area drawn", measure(found.outline.area_mm2, "area", units=units, decimals=0)),
        ("area as cut", _area(checked, units)),
        *_weights(checked, units),
    ]
    show_table(f"{found.part}: as cut", ("", "+ wood left, − cut away"), rows, right=(1,))
    if found.places:
        heads = ("", f"off {unit_of('length', units)}", "what to do")
        places = [
            (
                str(number),
                figure(place.off_mm, "length", units=units, decimals=2, sigma=place.sigma_mm, is_signed=True),
                speech.said(place_words(place, found.lower_left)),
            )
            for number, place in enumerate(found.places, start=1)
        ]
        show_table("Where to sand", heads, places, right=(1,))


def _area(checked: Checked, units: str) -> str:
    found = checked.found
    told = measure(found.area_mm2, "area", units=units, decimals=0, sigma=found.sigma_area_mm2)
    return f"{told} ({100 * (found.area_share - 1):+.1f} %)"


def _weights(checked: Checked, units: str) -> list[tuple[str, str]]:
    weight = checked.weight
    if weight is None:
        return []

    def mass(value: float, sigma: float | None = None) -> str:
        return format_mass(value, units=units, decimals=2, sigma=sigma)

    rows = [
        (f"weight as drawn, from {weight.board}", mass(weight.drawn.value, weight.drawn.sigma)),
        ("weight as cut", mass(weight.as_cut.value, weight.as_cut.sigma)),
    ]
    if weight.weighed_g is not None and weight.difference_g is not None:
        rows.append(("weighed", mass(weight.weighed_g)))
        rows.append(
            ("weighed less as cut", measure(weight.difference_g, "mass", units=units, decimals=2, is_signed=True))
        )
    return rows
