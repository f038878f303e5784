"""The bench card for the shop wall: parts, boards, weights, balance and cautions, on one page where they fit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TypeVar

from nesting.balance.balance_report import BalanceReport
from nesting.balance.ballast import Ballast
from nesting.balance.budget import Budget
from nesting.balance.named_stations import StationResult
from nesting.balance.weights import Weight, WeightTable
from nesting.charts.balance_chart import draw_balance
from nesting.charts.bars import PAGE_MARGIN_MM, SMALL_MM, draw_table, write, write_lines
from nesting.patterns.cautions import CAUTIONS
from nesting.patterns.drawing import Recorder, Scaled
from nesting.patterns.papers import Paper
from nesting.patterns.write_pdf import CARD, Page, Sheet, pdf_bytes
from nesting.wood.bent_wire import BentWire, wire_words
from nesting.wood.board import Board
from nesting.wood.density import USUAL, Wood, board_density
from nesting.wood.estimate import Estimate
from nesting.wood.part import Part
from nesting.wood.stiffness import CAUTION
from vectorize.basics.errors import InputError
from vectorize.basics.spoken import in_units
from vectorize.basics.units import figure, format_length, format_mass, measure, sides, unit_of

_Row = TypeVar("_Row")

_MOST_ROWS = 46
_MOST_BOARDS = 12


def bench_card_pdf(
    title: str,
    parts: Sequence[Part],
    boards: Sequence[Board],
    table: WeightTable,
    report: BalanceReport | None,
    *,
    budget: Budget | None = None,
    stations: Sequence[StationResult] = (),
    wires: Sequence[BentWire] = (),
    paper: Paper,
    units: str = "mm",
    wood: Wood = USUAL,
) -> bytes:
    """Return the card as a PDF: one page, and further ones for parts and boards that it has no room for.

    The card is for reading: nothing on it is at true size. Densities are reckoned from the kinds of wood in `materials`
    and from how well boards are measured.

    Raises:
        InputError: A paper too small for a card.
    """
    if paper.width_mm < 190 or paper.height_mm < 250:
        raise InputError(f"a bench card needs A4 or Letter at least; {paper.name} is smaller.")
    width = paper.width_mm - 2 * PAGE_MARGIN_MM
    recorder, x, y = _begun(f"Bench card: {title}", paper)
    has_balance = report is not None and bool(report.ledger.entries)
    below = (
        (145.0 if has_balance else 72.0)
        + (10.0 if budget is not None else 0.0)
        + 3.0 * len(stations)
        + 10.0 * len(wires)
    )
    room = int((y - PAGE_MARGIN_MM - below) / 4.6) - min(len(_used(table, boards)), _MOST_BOARDS) - 5
    most = max(4, min(room, _MOST_ROWS))
    y = _parts(recorder, parts, table, x, y - 11.0, width, units, most)
    densities = [(board, board_density(board, wood=wood)) for board in _used(table, boards)]
    y = _boards(recorder, densities[:_MOST_BOARDS], table, x, y - 5.0, width, units)
    if report is not None and has_balance:
        y = _balance(recorder, report, x, y - 4.0, width, units)
    if stations:
        y = write_lines(recorder, station_words(stations, units), x, y, width) - 1.0
    for wire in wires:
        y = write_lines(recorder, wire_words(wire, units=units), x, y, width) - 1.0
    if budget is not None:
        y = write_lines(recorder, budget_words(budget, units), x, y, width) - 1.0
    for caution in (*CAUTIONS, CAUTION):
        y = write_lines(recorder, caution, x, y - 1.0, width, height_mm=SMALL_MM)
    further = []
    for some in _batched([_part_row(part, _chosen(table, part), units) for part in parts[most:]], _MOST_ROWS):
        on, x, y = _begun(f"Bench card: {title}, continued", paper)
        _part_table(on, some, x, y - 11.0, width)
        further.append(on)
    for more in _batched(densities[_MOST_BOARDS:], _MOST_ROWS):
        on, x, y = _begun(f"Bench card: {title}, continued", paper)
        _boards(on, more, table, x, y - 11.0, width, units)
        further.append(on)
    pages = [Page(paper, (Sheet(tuple(each.elements)),)) for each in (recorder, *further)]
    return pdf_bytes(pages, title=f"Bench card: {title}", subject=CARD)


def _begun(heading: str, paper: Paper) -> tuple[Recorder, float, float]:
    """Return a page with its heading, and where the text below begins."""
    recorder = Recorder()
    x, y = PAGE_MARGIN_MM, paper.height_mm - PAGE_MARGIN_MM - 6.0
    write(recorder, heading, x, y, height_mm=5.0, is_bold=True)
    return recorder, x, y


def _batched(rows: Sequence[_Row], most: int) -> Iterator[Sequence[_Row]]:
    """Return the rows in groups of at most `most`."""
    return (rows[k : k + most] for k in range(0, len(rows), most))


def _chosen(table: WeightTable, part: Part) -> list[Weight]:
    return [weight for weight in table.chosen if weight.part == part.name]


def _parts(
    recorder: Recorder,
    parts: Sequence[Part],
    table: WeightTable,
    x: float,
    y: float,
    width: float,
    units: str,
    most: int,
) -> float:
    rows = [_part_row(part, _chosen(table, part), units) for part in parts[:most]]
    if len(parts) > most:
        rows.append((f"… {len(parts) - most} more overleaf", *[""] * 6))
    rows.append(("together", "", "", "", "", _mass(table.total(), units), ""))
    return _part_table(recorder, rows, x, y, width)


def _part_table(recorder: Recorder, rows: Sequence[tuple[str, ...]], x: float, y: float, width: float) -> float:
    shares = (0.18, 0.08, 0.19, 0.10, 0.11, 0.19, 0.15)
    widths = [width * share for share in shares]
    heads = ("part", "pieces", "stock", "board", "as sawn", "one weighs", "scale")
    return draw_table(recorder, heads, rows, x, y, widths, right=(1, 4, 5))


def _part_row(part: Part, weights: Sequence[Weight], units: str) -> tuple[str, ...]:
    boards = " + ".join(dict.fromkeys(w.board for w in weights)) or "none"
    mass = _mass(weights[0].estimate, units) if weights else "open"
    stock = f"{format_length(part.thickness_mm, units=units)} {part.material}"
    sawn = measure(weights[0].sawn_g, "mass", units=units) if weights and weights[0].is_worked else ""
    return part.name, str(part.copies), stock, boards, sawn, mass, _reading(part, weights, units)


def _reading(part: Part, weights: Sequence[Weight], units: str) -> str:
    """Return what the scale said, of a sawn piece with what will be left of it; a line for the pencil before."""
    if part.weighed_g is None:
        return "______"
    if weights and weights[0].reading_stage == "sawn":
        left = measure(weights[0].current.value, "mass", units=units)
        return f"{figure(part.weighed_g, 'mass', units=units)} sawn, {left}"
    return measure(part.weighed_g, "mass", units=units)


def _mass(estimate: Estimate, units: str) -> str:
    return format_mass(estimate.value, units=units, sigma=estimate.sigma)


def _used(table: WeightTable, boards: Sequence[Board]) -> list[Board]:
    names = {weight.board for weight in table.chosen}
    return [board for board in boards if board.name in names]


def _boards(
    recorder: Recorder,
    boards: Sequence[tuple[Board, Estimate]],
    table: WeightTable,
    x: float,
    y: float,
    width: float,
    units: str,
) -> float:
    rows = []
    for board, density in boards:
        known = "" if board.known_mass_g is not None else " (default)"
        rows.append(
            (
                board.name,
                f"{board.material}, {format_length(board.true_thickness_mm, units=units)}",
                sides((board.length_mm, board.width_mm), units=units, decimals=0),
                figure(density.value, "density", units=units, decimals=0, sigma=density.sigma) + known,
                _mass(table.total(board.name), units),
            )
        )
    widths = [width * share for share in (0.18, 0.28, 0.16, 0.18, 0.20)]
    heads = ("board", "wood", f"size {unit_of('length', units)}", unit_of("density", units), "parts from it")
    return draw_table(recorder, heads, rows, x, y, widths, right=(4,))


def _balance(recorder: Recorder, report: BalanceReport, x: float, y: float, width: float, units: str) -> float:
    picture = Recorder()
    draw_balance(picture, report, units=units)
    x0, y0, x1, y1 = picture.bounds()
    scale = min(width / (x1 - x0), 70.0 / (y1 - y0), 1.0)
    picture.replay(Scaled(recorder, scale, x, y), None)
    y -= scale * (0.0 - y0) + 5.0
    ballast = [_ballast_words(one, units) for one in (report.best, report.best_tip) if one is not None and one.entry()]
    if ballast:
        y = write_lines(recorder, f"Ballast: {' and '.join(ballast)}.", x, y, width, is_bold=True)
    if report.flying_mass is not None:
        y = write_lines(
            recorder, f"Flying weight with ballast: {_mass(report.flying_mass, units)}.", x, y, width, is_bold=True
        )
    return y - 1.0


def _ballast_words(ballast: Ballast, units: str) -> str:
    """Return how much ballast goes where, and as what plug of lead."""
    plug, depth = ballast.plug_diameter_mm, ballast.place.depth_mm
    plugged = "" if plug is None else in_units(f" (lead plug {plug:.1f} mm across, {depth:g} mm deep)", units=units)
    mass = "none" if ballast.least is None else _mass(ballast.least, units)
    return f"{mass} at {ballast.place.name}{plugged}"


def station_words(stations: Sequence[StationResult], units: str) -> str:
    """Return the named places with how far aft of the balance point they lie, tank empty first."""

    def one(found: StationResult) -> str:
        words = " and ".join(figure(at.from_balance_mm.value, "length", units=units, is_signed=True) for at in found.at)
        angle = " and ".join(f"{at.ahead_deg:.0f}°" for at in found.at if at.ahead_deg is not None)
        line = "" if found.named.line_deg is None else f", {found.named.line_deg:+.1f}° to the datum line"
        return f"{found.named.name} {words}{f' ({angle} ahead)' if angle else ''}{line}"

    return f"Aft of the balance point ({unit_of('length', units)}): {'; '.join(map(one, stations))}."


def budget_words(budget: Budget, units: str) -> str:
    """Return the budget in a line or two: what is spent on what, and what is left."""

    def mass(grams: float) -> str:
        return measure(grams, "mass", units=units)

    spent = ", ".join(f"{one.group} {mass(one.mass.value)}" for one in budget.groups)
    left = [
        f"{mass(abs(free.value))} {'free' if free.value >= 0 else 'over'} to the {what} of {mass(most)}"
        for what, most in (("target", budget.plan.target_g), ("limit", budget.plan.limit_g))
        if most is not None and (free := budget.free_to(most)) is not None
    ]
    weighed = f", {mass(budget.weighed.value)} of it weighed" if budget.weighed.value else ""
    return f"Budget: {'; '.join(left) or 'no limit given'}. Spent {_mass(budget.flying, units)}{weighed}: {spent}."
