"""Results as tables for people."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from nesting.board import Board
from nesting.cli.console import say, show_table
from nesting.density import ACCURACY, Accuracy
from nesting.job.tracing import JobTrace
from nesting.material import MATERIALS, Material
from nesting.part import Part
from nesting.place.layout import Layout
from nesting.weigh import WeightTable, board_density
from vectorize.units import format_density, format_length, format_mass


def show_outlines(traced: JobTrace) -> None:
    """Print size, area and certainty of every outline."""
    rows = []
    for stored in traced.outlines:
        width, height = stored.outline.size_mm
        rows.append(
            (
                stored.name,
                f"{width:.1f} x {height:.1f}",
                f"{stored.outline.area_mm2 / 100:.2f}",
                str(len(stored.outline.cutouts)),
                f"{stored.traced.sigma_edge_mm:.2f}",
                f"{stored.pen_width_mm:.2f}",
                f"[{', '.join(f'{value:.0f}' for value in stored.inside_px)}]",
            )
        )
    heads = ("part", "size mm", "area cm²", "cut-outs", "edge ± mm", "pen mm", "pick")
    show_table("Outlines", heads, rows, right=(2, 3, 4, 5))


def show_rack(
    boards: Iterable[Board],
    *,
    units: str,
    materials: Mapping[str, Material] = MATERIALS,
    accuracy: Accuracy = ACCURACY,
) -> None:
    """Print every board with its density."""
    rows = []
    for board in boards:
        density = board_density(board, materials=materials, accuracy=accuracy)
        rows.append(
            (
                board.name,
                board.material,
                format_length(board.true_thickness_mm, units=units, decimals=2),
                f"{board.length_mm:.0f} x {board.width_mm:.0f}",
                "not weighed" if board.known_mass_g is None else format_mass(board.known_mass_g, units=units),
                f"{format_density(density.value, units=units)} ± {density.sigma:.1f}",
            )
        )
    heads = ("board", "material", "thickness", "size mm", "mass", "density")
    show_table("Rack", heads, rows, right=(4, 5))


def show_weights(table: WeightTable, parts: Sequence[Part], boards: Sequence[Board], *, units: str) -> None:
    """Print what every part weighs from every board that suits it, and why one was chosen."""
    lightest = _lightest(table)
    rows: list[tuple[str, ...]] = []
    for weight in table.weights:
        more = weight.mass_g - lightest[weight.part, weight.copy]
        rows.append(
            (
                f"{weight.part} {weight.copy}" if _is_one_of_many(weight.part, parts) else weight.part,
                weight.board,
                format_mass(weight.sawn_g, units=units, decimals=2) if weight.is_worked else "",
                f"{format_mass(weight.mass_g, units=units, decimals=2)}",
                f"{weight.sigma_g:.2f}",
                "" if more == 0 else f"+{more:.2f} g",
                weight.reason if weight.is_chosen else "",
            )
        )
    heads = ["part", "board", "as sawn", "mass", "± g", "more", "chosen, because"]
    if not any(weight.is_worked for weight in table.weights):
        rows, heads = [(*row[:2], *row[3:]) for row in rows], [*heads[:2], *heads[3:]]
    show_table("Weights", heads, rows, right=range(2, len(heads) - 1))
    total = sum(weight.mass_g for weight in table.weights if weight.is_chosen)
    say(f"All parts from the chosen boards: {format_mass(total, units=units, decimals=1)} of wood.")


def _lightest(table: WeightTable) -> dict[tuple[str, int], float]:
    least: dict[tuple[str, int], float] = {}
    for weight in table.weights:
        key = (weight.part, weight.copy)
        least[key] = min(least.get(key, weight.mass_g), weight.mass_g)
    return least


def _is_one_of_many(name: str, parts: Sequence[Part]) -> bool:
    return any(part.name == name and part.copies > 1 for part in parts)


def show_layout(layout: Layout) -> None:
    """Print what lies on which board of a proved layout."""
    rows = [
        (
            board.board,
            ", ".join(_counted(p.part for p in board.placements)),
            f"{board.used_length_mm:.0f}",
            f"{100 * board.used_fraction:.0f} %",
        )
        for board in layout.boards
    ]
    show_table("Layout", ("board", "parts", "length used mm", "area used"), rows, right=(2, 3))
    say("The layout is proved: nothing overlaps, every gap, margin and grain angle is kept.")


def _counted(names: Iterable[str]) -> list[str]:
    counts: dict[str, int] = {}
    for name in names:
        counts[name] = counts.get(name, 0) + 1
    return [name if count == 1 else f"{count} x {name}" for name, count in counts.items()]
