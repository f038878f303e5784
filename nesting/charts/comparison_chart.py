"""The picture of a comparison: mass, stiffness and flying weight as bars, balance points against the range."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from nesting.balance.ballast import Range
from nesting.charts.bars import (
    PICTURE_WIDTH_MM,
    SMALL_MM,
    WORDS_MM,
    axis_for,
    draw_axis,
    draw_bars,
    draw_error,
    draw_range,
    shortened,
    write,
    write_lines,
)
from nesting.choice.compare import Candidate, Comparison
from nesting.patterns.drawing import Drawing, draw_lozenge
from nesting.wood.estimate import Estimate
from vectorize.basics.spoken import METRIC, Speech
from vectorize.basics.units import measure, unit_of

_NAMES_MM = 30.0
_ROW_MM = 7.0


def draw_comparison(
    drawing: Drawing, comparison: Comparison, limits: Range | None = None, *, speech: Speech = METRIC
) -> None:
    """Draw the picture as the job speaks, its upper left corner at the origin and everything below it."""
    first, units = comparison.candidates[0].board.name, speech.units
    unit = unit_of("mass", units)
    write(
        drawing, f"{comparison.part}: boards compared, loaded {comparison.loading}", 0, -5, height_mm=3.5, is_bold=True
    )
    y = -14.0
    y = _bars(
        drawing,
        comparison.candidates,
        f"mass, {unit}",
        lambda c: c.mass,
        lambda v: measure(v.value, "mass", units=units, decimals=2, sigma=v.sigma),
        y,
    )
    words = f"stiffness against {first}, with its band"
    y = _bars(
        drawing,
        comparison.candidates,
        words,
        lambda c: c.stiffness_ratio,
        lambda v: f"x {v.value:.2f} ± {v.sigma:.2f}",
        y,
    )
    flying = [c for c in comparison.candidates if c.balanced is not None and c.balanced.flying_mass is not None]
    if flying:
        title = f"flying weight with ballast, {unit} (the scale does not begin at zero)"
        y = _bars(
            drawing,
            flying,
            title,
            _flying,
            lambda v: measure(v.value, "mass", units=units, sigma=v.sigma),
            y,
            from_zero=False,
        )
    if any(c.balanced is not None for c in comparison.candidates):
        y = _balance(drawing, comparison.candidates, limits, y, units)
    y = write_lines(drawing, speech.said(comparison.advice), 0, y - 1, PICTURE_WIDTH_MM, is_bold=True)
    write_lines(drawing, comparison.caution, 0, y - 1, PICTURE_WIDTH_MM, height_mm=SMALL_MM)


def _flying(candidate: Candidate) -> Estimate:
    assert candidate.balanced is not None
    assert candidate.balanced.flying_mass is not None
    return candidate.balanced.flying_mass


def _bars(
    drawing: Drawing,
    candidates: Sequence[Candidate],
    title: str,
    value_of: Callable[[Candidate], Estimate],
    words: Callable[[Estimate], str],
    y: float,
    *,
    from_zero: bool = True,
) -> float:
    """Draw one block of bars, a row per board; return where the next block begins."""
    rows = [(candidate.board.name, value_of(candidate)) for candidate in candidates]
    return draw_bars(drawing, rows, title, words, y, names_mm=_NAMES_MM, row_mm=_ROW_MM, from_zero=from_zero)


def _name(drawing: Drawing, board: str, y: float) -> None:
    words = shortened(board, _NAMES_MM - 3, WORDS_MM)
    write(drawing, words, _NAMES_MM - 2, y + 2 - WORDS_MM / 2, align="end")


def _balance(drawing: Drawing, candidates: Sequence[Candidate], limits: Range | None, y: float, units: str) -> float:
    """Draw the balance point of the model with each board against the range; return where the next block begins."""
    points = [(c.board.name, c.balanced.balance) for c in candidates if c.balanced is not None]
    title = f"balance point without ballast, {unit_of('length', units)} aft of the datum"
    write(drawing, title + (", against its range (box)" if limits else ""), 0, y, is_bold=True)
    ends = [e for _, point in points for e in (point.value - point.sigma, point.value + point.sigma)]
    if limits is not None:
        ends += [limits.low_mm, limits.high_mm]
    axis = axis_for(min(ends), max(ends), _NAMES_MM, 150.0)
    top = y - 3.0
    y -= _ROW_MM
    for name, point in points:
        _name(drawing, name, y)
        draw_error(drawing, axis, point, y + 2)
        draw_lozenge(drawing, axis.x(point.value), y + 2)
        words = measure(point.value, "length", units=units, sigma=point.sigma)
        write(drawing, words, 152, y + 2 - SMALL_MM / 2, height_mm=SMALL_MM)
        y -= _ROW_MM
    if limits is not None:
        draw_range(drawing, axis, limits.low_mm, limits.high_mm, y + _ROW_MM - 2.0, top)
    draw_axis(drawing, axis, y + 4.0, quantity="length", units=units)
    return y - 7.0
