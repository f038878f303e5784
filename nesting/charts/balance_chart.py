"""The picture of a balance: every mass at its station, the balance point of each loading against the range."""

from __future__ import annotations

from collections.abc import Sequence

from nesting.balance.balance_report import BalanceReport
from nesting.charts.bars import PICTURE_WIDTH_MM, SMALL_MM, Axis, axis_for, draw_axis, draw_error, draw_range, write
from nesting.patterns.drawing import Drawing, Layer, draw_line, draw_lozenge
from nesting.patterns.typeface import text_width_mm
from nesting.wood.estimate import total
from vectorize.basics.spoken import in_units
from vectorize.basics.units import measure

_STEM_MM = 16.0
_LEADER_MM = 2.0
_ROW_MM = 3.7
_BESIDE_MM = 0.8
"""A name stands so far beside its line."""

Mass = tuple[str, float, float]
"""Name, mass in g and station in mm."""


def draw_balance(drawing: Drawing, report: BalanceReport, *, units: str = "mm") -> None:
    """Draw the picture in the preferred units, its upper left corner at the origin and everything below it."""
    masses = _masses(report)
    limits = report.plan.limits
    stations = [station for _, _, station in masses] + ([] if limits is None else [limits.low_mm, limits.high_mm])
    for loading in report.loadings:
        stations += [loading.balance.value + sign * loading.balance.sigma for sign in (-1, 1)]
    axis = axis_for(min(stations), max(stations), 8.0, PICTURE_WIDTH_MM - 8.0)
    ends = [axis.x(station) + text_width_mm(_label(name, mass, units), SMALL_MM) for name, mass, station in masses]
    past = max(0.0, max(ends) + _BESIDE_MM - PICTURE_WIDTH_MM)
    axis = axis_for(min(stations), max(stations), 8.0, PICTURE_WIDTH_MM - 8.0 - past)
    write(drawing, "What sits where (lozenge: balance without ballast)", 0, -5, height_mm=3.5, is_bold=True)
    base = -12.0 - _STEM_MM - _LEADER_MM - _ROW_MM * (max(_rows(axis, masses, units)) + 1)
    _stems(drawing, axis, masses, base, units)
    y = base - 8.0
    top = y + 3.0
    for loading in report.loadings:
        draw_error(drawing, axis, loading.balance, y)
        draw_lozenge(drawing, axis.x(loading.balance.value), y)
        name = ("tank full" if loading.fuel_share else "tank empty") if report.ledger.has_fuel else "balance"
        words = f"{name}: {measure(loading.balance.value, 'length', units=units, sigma=loading.balance.sigma)}"
        reach = axis.x(loading.balance.value + loading.balance.sigma) + 3.0
        is_crowded = reach > PICTURE_WIDTH_MM - 60.0
        x = axis.x(loading.balance.value - loading.balance.sigma) - 3.0 if is_crowded else reach
        write(drawing, words, x, y - SMALL_MM / 2, height_mm=SMALL_MM, align="end" if is_crowded else "start")
        y -= 5.5
    if limits is not None:
        draw_range(drawing, axis, limits.low_mm, limits.high_mm, y + 2.5, top)
        words = in_units(f"range {limits.low_mm:.1f} to {limits.high_mm:.1f} mm (box)", units=units)
        write(drawing, words, 0, y, height_mm=SMALL_MM)
    draw_axis(drawing, axis, y - 3.0, quantity="length", units=units, words="aft of the datum")


def _masses(report: BalanceReport) -> list[Mass]:
    """Return name, mass and station of every part and item, all its entries together, and of the least ballast."""
    rows = []
    entries = report.ledger.entries
    for heading in dict.fromkeys(entry.heading for entry in entries):
        mine = [entry for entry in entries if entry.heading == heading]
        mass = total(entry.mass for entry in mine).value
        if mass > 0:
            rows.append((heading, mass, sum(e.mass.value * e.station.value for e in mine) / mass))
    ballast = (found.entry() for found in (report.best_tip, report.best) if found is not None)
    rows += [(f"ballast, {one.what}", one.mass.value, one.station.value) for one in ballast if one is not None]
    return sorted(rows, key=lambda row: -row[1])


def _label(name: str, mass: float, units: str) -> str:
    return f"{name} {measure(mass, 'mass', units=units)}"


def _stems(drawing: Drawing, axis: Axis, masses: Sequence[Mass], base: float, units: str) -> None:
    """Draw a stem for each mass, its height in proportion, and its name beside a plumb line above it."""
    draw_line(drawing, (axis.x0_mm, base), (axis.x1_mm, base), layer=Layer.PAGE)
    heaviest = max(mass for _, mass, _ in masses)
    for (name, mass, station), row in zip(masses, _rows(axis, masses, units), strict=True):
        x, top, foot = axis.x(station), base + _STEM_MM * mass / heaviest, base + _STEM_MM + _LEADER_MM + row * _ROW_MM
        draw_line(drawing, (x, base), (x, top), layer=Layer.OUTLINE)
        draw_line(drawing, (x, top), (x, foot + SMALL_MM), layer=Layer.JOIN)
        write(drawing, _label(name, mass, units), x + _BESIDE_MM, foot, height_mm=SMALL_MM)


def _rows(axis: Axis, masses: Sequence[Mass], units: str) -> list[int]:
    """Return in which row each name stands, counted up from the stems, so that no name covers another or its line.

    A name reaches to the right, over lines of masses farther aft: it stands above the names that those lead to.
    """
    rows: dict[int, int] = {}
    for number in sorted(range(len(masses)), key=lambda one: masses[one][2], reverse=True):
        name, mass, station = masses[number]
        end = axis.x(station) + _BESIDE_MM + text_width_mm(_label(name, mass, units), SMALL_MM)
        under = [row for other, row in rows.items() if axis.x(masses[other][2]) <= end + _BESIDE_MM]
        rows[number] = max(under, default=-1) + 1
    return [rows[number] for number in range(len(masses))]
