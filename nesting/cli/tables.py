"""Results as tables for people."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import groupby

from nesting.balance.weights import WeightTable, board_density
from nesting.cli.console import say, show_table
from nesting.job.tracing import JobTrace
from nesting.place.layout import Layout
from nesting.wood.board import Board
from nesting.wood.density import USUAL, Wood
from nesting.wood.part import Part
from vectorize.basics.spoken import Speech
from vectorize.basics.units import figure, format_density, format_length, format_mass, measure, sides, unit_of


def show_outlines(traced: JobTrace, *, units: str) -> None:
    """Print size, area and certainty of every outline."""
    rows = [
        (
            stored.name,
            sides(stored.outline.size_mm, units=units),
            figure(stored.outline.area_mm2, "area", units=units, decimals=2),
            str(len(stored.outline.cutouts)),
            figure(stored.traced.sigma_edge_mm, "length", units=units, decimals=2),
            figure(stored.pen_width_mm, "length", units=units, decimals=2),
            f"[{', '.join(f'{value:.0f}' for value in stored.inside_px)}]",
        )
        for stored in traced.outlines
    ]
    unit, area = unit_of("length", units), unit_of("area", units)
    heads = ("part", f"size {unit}", f"area {area}", "cut-outs", f"edge ± {unit}", f"pen {unit}", "pick")
    show_table("Outlines", heads, rows, right=(2, 3, 4, 5))


def show_rack(
    boards: Iterable[Board],
    *,
    units: str,
    wood: Wood = USUAL,
) -> None:
    """Print every board with its density."""
    rows = []
    for board in boards:
        density = board_density(board, wood=wood)
        rows.append(
            (
                board.name,
                board.material,
                format_length(board.true_thickness_mm, units=units, decimals=2),
                sides((board.length_mm, board.width_mm), units=units, decimals=0),
                "not weighed" if board.known_mass_g is None else format_mass(board.known_mass_g, units=units),
                format_density(density.value, units=units, sigma=density.sigma),
            )
        )
    heads = ("board", "material", "thickness", f"size {unit_of('length', units)}", "mass", "density")
    show_table("Rack", heads, rows, right=(4, 5))


def show_weights(table: WeightTable, parts: Sequence[Part], boards: Sequence[Board], *, speech: Speech) -> None:
    """Print what every part weighs from every board that suits it, and why one was chosen."""
    lightest, units = _lightest(table), speech.units
    copies: dict[tuple[str, int], list[tuple[str, ...]]] = {}
    for weight in table.weights:
        more = weight.mass_g - lightest[weight.part, weight.copy]
        row = (
            weight.board,
            format_mass(weight.sawn_g, units=units, decimals=2) if weight.is_worked else "",
            format_mass(weight.mass_g, units=units, decimals=2, sigma=weight.sigma_g),
            "" if more == 0 else measure(more, "mass", units=units, decimals=2, is_signed=True),
            speech.said(weight.reason) if weight.is_chosen else "",
        )
        copies.setdefault((weight.part, weight.copy), []).append(row)
    many = {part.name for part in parts if part.copies > 1}
    rows = [(name, *row) for name, own in _alike(copies, many) for row in own]
    heads = ["part", "board", "as sawn", "mass", "more", "chosen, because"]
    if not any(weight.is_worked for weight in table.weights):
        rows, heads = [(*row[:2], *row[3:]) for row in rows], [*heads[:2], *heads[3:]]
    show_table("Weights", heads, rows, right=range(2, len(heads) - 1))
    total = sum(weight.mass_g for weight in table.weights if weight.is_chosen)
    say(f"All parts from the chosen boards: {format_mass(total, units=units, decimals=1)} of wood.")


def _alike(
    copies: Mapping[tuple[str, int], list[tuple[str, ...]]], many: Collection[str]
) -> Iterator[tuple[str, list[tuple[str, ...]]]]:
    """Give what is told of each copy, once for copies that follow each other and weigh the same."""
    for (part, own), same in groupby(copies.items(), key=lambda one: (one[0][0], one[1])):
        numbers = [copy for (_, copy), _ in same]
        told = f"{numbers[0]} to {numbers[-1]}" if len(numbers) > 1 else f"{numbers[0]}"
        yield f"{part} {told}" if part in many else part, own


def _lightest(table: WeightTable) -> dict[tuple[str, int], float]:
    least: dict[tuple[str, int], float] = {}
    for weight in table.weights:
        key = (weight.part, weight.copy)
        least[key] = min(least.get(key, weight.mass_g), weight.mass_g)
    return least


def show_layout(layout: Layout, *, units: str) -> None:
    """Print what lies on which board of a proved layout."""
    rows = [
        (
            board.board,
            ", ".join(_counted(p.part for p in board.placements)),
            figure(board.used_length_mm, "length", units=units, decimals=0),
            f"{100 * board.used_fraction:.0f} %",
        )
        for board in layout.boards
    ]
    show_table("Layout", ("board", "parts", f"length used {unit_of('length', units)}", "area used"), rows, right=(2, 3))
    say("The layout is proved: nothing overlaps, every gap, margin and grain angle is kept.")


def _counted(names: Iterable[str]) -> list[str]:
    counts: dict[str, int] = {}
    for name in names:
        counts[name] = counts.get(name, 0) + 1
    return [name if count == 1 else f"{count} x {name}" for name, count in counts.items()]
