"""The picture of a balance: every mass at its station, the balance point of each loading against the range."""

from __future__ import annotations

import math

from nesting.balance.balance_report import BalanceReport
from nesting.charts.bars import PICTURE_WIDTH_MM, SMALL_MM, Axis, axis_for, draw_axis, draw_error, draw_range, write
from nesting.patterns.drawing import Drawing, Layer, draw_line, draw_lozenge
from nesting.patterns.typeface import text_width_mm
from nesting.wood.estimate import total
from vectorize.basics.spoken import in_units
from vectorize.basics.units import measure

_STEM_MM = 26.0
_LEADER_MM = 4.0
_SLANT_DEG = 50.0
_APART_MM = 4.5
"""Least distance between the names of two stems."""


def draw_balance(drawing: Drawing, report: BalanceReport, *, units: str = "mm") -> None:
    """Draw the picture in the preferred units, its upper left corner at the origin and everything below it."""
    masses = _masses(report)
    limits = report.plan.limits
    stations = [station for _, _, station in masses] + ([] if limits is None else [limits.low_mm, limits.high_mm])
    for loading in report.loadings:
        stations += [loading.balance.value + sign * loading.balance.sigma for sign in (-1, 1)]
    axis = axis_for(min(stations), max(stations), 8.0, PICTURE_WIDTH_MM - 8.0)
    write(drawing, "What sits where (lozenge: balance without ballast)", 0, -5, height_mm=3.5, is_bold=True)
    longest = max(text_width_mm(_label(name, mass, units), SMALL_MM) for name, mass, _ in masses)
    base = -12.0 - _STEM_MM - _LEADER_MM - longest * math.sin(math.radians(_SLANT_DEG))
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


def _masses(report: BalanceReport) -> list[tuple[str, float, float]]:
    """Return name, mass and station of every part and item, all its entries together, and of the least ballast."""
    ballast = (found.entry() for found in (report.best_tip, report.best) if found is not None)
    entries = [*report.ledger.entries, *(added for added in ballast if added is not None)]
    rows = []
    for heading in dict.fromkeys(entry.heading for entry in entries):
        mine = [entry for entry in entries if entry.heading == heading]
        mass = total(entry.mass for entry in mine).value
        if mass > 0:
            rows.append((heading, mass, sum(e.mass.value * e.station.value for e in mine) / mass))
    return sorted(rows, key=lambda row: -row[1])


def _label(name: str, mass: float, units: str) -> str:
    return f"{name} {measure(mass, 'mass', units=units)}"


def _stems(drawing: Drawing, axis: Axis, masses: list[tuple[str, float, float]], base: float, units: str) -> None:
    """Draw a stem for each mass, its height in proportion, its name slanting above; close neighbours stand apart."""
    draw_line(drawing, (axis.x0_mm, base), (axis.x1_mm, base), layer=Layer.PAGE)
    heaviest = masses[0][1]
    label_y, free_x = base + _STEM_MM + _LEADER_MM, -math.inf
    for name, mass, station in sorted(masses, key=lambda row: row[2]):
        x, top = axis.x(station), base + _STEM_MM * mass / heaviest
        draw_line(drawing, (x, base), (x, top), layer=Layer.OUTLINE)
        label_x = max(x, free_x)
        draw_line(drawing, (x, top), (label_x, label_y - 0.8), layer=Layer.JOIN)
        write(drawing, _label(name, mass, units), label_x + 0.8, label_y, height_mm=SMALL_MM, angle_deg=_SLANT_DEG)
        free_x = label_x + _APART_MM
