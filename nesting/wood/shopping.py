"""The shopping card: which boards are missing, and what each should weigh in the shop."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from nesting.wood.beam import ply_share
from nesting.wood.board import MARGIN_AT_EDGES_MM, MARGIN_AT_ENDS_MM
from nesting.wood.material import MATERIALS, Material, material_key, need_material
from nesting.wood.needs import ANY, Need
from nesting.wood.part import Part
from vectorize.basics.units import KG_M3_PER_LB_FT3, format_length, format_mass
from vectorize.shapes.outline import Pose

FILL = 0.65
"""Share of a board that parts fill in practice (common practice, no source)."""
_METRIC_SIZES_MM = ((1000.0, 100.0), (1000.0, 150.0), (1250.0, 200.0))
_INCH_SIZES_MM = ((914.4, 76.2), (914.4, 101.6), (1219.2, 152.4))
"""Sizes that sheets are sold in, smallest first (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Boards to buy: how many of which size, for which parts, and the window of mass to look for, for one board.

    `density_kg_m3` is the window that the parts ask for, or the usual one of the material where they ask
    for nothing (`is_asked_for` says which). The window is empty, and `problem` says so, where two parts
    ask for different things: then they need boards of their own.
    """

    material: str
    thickness_mm: float
    length_mm: float
    width_mm: float
    boards: int
    parts: tuple[str, ...]
    density_kg_m3: tuple[float, float]
    is_asked_for: bool
    problem: str = ""

    @property
    def mass_window_g(self) -> tuple[float, float]:
        """Return the least and greatest mass of one board to look for."""
        volume = self.length_mm * self.width_mm * self.thickness_mm * 1e-6
        return self.density_kg_m3[0] * volume, self.density_kg_m3[1] * volume

    @property
    def purpose(self) -> str:
        """Return which parts the boards are for, and what stands against it."""
        return ", ".join(self.parts) + (f" ({self.problem})" if self.problem else "")

    def as_json(self) -> dict[str, Any]:
        """Return the line of the documented `rack want` output."""
        low, high = self.mass_window_g
        return {
            "material": self.material,
            "thickness_mm": self.thickness_mm,
            "length_mm": self.length_mm,
            "width_mm": self.width_mm,
            "boards": self.boards,
            "parts": list(self.parts),
            "density_kg_m3": list(self.density_kg_m3),
            "asked_for": self.is_asked_for,
            "mass_g": [low, high],
            "problem": self.problem,
        }


def wanted_boards(
    missing: Sequence[tuple[Part, int]],
    *,
    needs: Mapping[str, Need] | None = None,
    in_inches: bool = False,
    materials: Mapping[str, Material] = MATERIALS,
) -> tuple[Wanted, ...]:
    """Return what to buy for parts that have no board, each with the number of pieces still to be cut.

    Parts of one material and thickness share a line as long as what they ask for can be met together.

    Raises:
        JobError: A material without defaults.
    """
    groups: dict[tuple[str, float], list[tuple[Part, int]]] = {}
    for part, pieces in missing:
        groups.setdefault((material_key(part.material), part.thickness_mm), []).append((part, pieces))
    sizes = _INCH_SIZES_MM if in_inches else _METRIC_SIZES_MM
    return tuple(line for _, group in sorted(groups.items()) for line in _lines(group, needs or {}, sizes, materials))


def _lines(
    group: Sequence[tuple[Part, int]],
    needs: Mapping[str, Need],
    sizes: Sequence[tuple[float, float]],
    materials: Mapping[str, Material],
) -> Iterable[Wanted]:
    material = need_material(group[0][0].material, materials)
    shared: list[tuple[tuple[float, float] | None, list[tuple[Part, int]]]] = []
    for part, pieces in group:
        window = density_window(part, needs.get(part.name, ANY), material)
        for number, (common, members) in enumerate(shared):
            joined = _joined(common, window)
            if joined != _APART:
                shared[number] = (joined, [*members, (part, pieces)])
                break
        else:
            shared.append((window, [(part, pieces)]))
    for window, members in shared:
        yield _wanted(members, window, material, sizes)


_APART = (math.inf, -math.inf)


def _joined(one: tuple[float, float] | None, other: tuple[float, float] | None) -> tuple[float, float] | None:
    if one is None or other is None:
        return one or other
    low, high = max(one[0], other[0]), min(one[1], other[1])
    return (low, high) if low <= high else _APART


def density_window(part: Part, need: Need, material: Material) -> tuple[float, float] | None:
    """Return the densities that meet a part's need on a board of its own thickness; None where it asks for none.

    Least stiffness asks for a least density by the material's trend.
    """
    low, high = need.density_kg_m3 or (0.0, math.inf)
    if need.least_modulus_mpa is not None:
        share = ply_share(material.plies, material.across_ratio)
        low = max(low, need.least_modulus_mpa / (material.modulus_per_density * share))
    if (low, high) == (0.0, math.inf):
        return None
    return low, min(high, max(low * 1.25, low + 20.0)) if math.isinf(high) else high


def _wanted(
    members: Sequence[tuple[Part, int]],
    window: tuple[float, float] | None,
    material: Material,
    sizes: Sequence[tuple[float, float]],
) -> Wanted:
    length, width = (max(sides) for sides in zip(*(along_and_across(part) for part, _ in members), strict=True))
    needed = length + 2 * MARGIN_AT_ENDS_MM, width + 2 * MARGIN_AT_EDGES_MM
    size = next((s for s in sizes if s[0] >= needed[0] and s[1] >= needed[1]), None)
    area = sum(part.outline.area_mm2 * pieces for part, pieces in members)
    usual = material.density_kg_m3 * (1 - material.density_spread), material.density_kg_m3
    problem = "" if size else f"a part of {length:.0f} x {width:.0f} mm is larger than sheets are sold"
    chosen = size or sizes[-1]
    first = members[0][0]
    return Wanted(
        material=material.name,
        thickness_mm=first.thickness_mm,
        length_mm=chosen[0],
        width_mm=chosen[1],
        boards=max(1, math.ceil(area / (chosen[0] * chosen[1] * FILL))),
        parts=tuple(part.name for part, _ in members),
        density_kg_m3=window or usual,
        is_asked_for=window is not None,
        problem=problem,
    )


def along_and_across(part: Part) -> tuple[float, float]:
    """Return the size of a part along and across its grain, in mm."""
    return part.outline.placed(Pose(angle_deg=-part.grain_deg)).size_mm


def wanted_heads(units: str) -> tuple[str, ...]:
    """Return the heads of the columns of `wanted_row`."""
    return ("boards", "material", "thickness", "size", "lb/ft³" if units == "in" else "kg/m³", "one weighs", "window")


def wanted_row(line: Wanted, *, units: str = "mm") -> tuple[str, ...]:
    """Return the cells of a line under `wanted_heads`."""
    low, high = (
        f"{density / KG_M3_PER_LB_FT3:.1f}" if units == "in" else f"{density:.0f}" for density in line.density_kg_m3
    )
    length, width = (
        format_length(side, units=units, decimals=0).split(" (")[0] for side in (line.length_mm, line.width_mm)
    )
    return (
        str(line.boards),
        line.material,
        format_length(line.thickness_mm, units=units),
        f"{length.rsplit(' ', 1)[0]} × {width}",
        f"{low} to {high}",
        " to ".join(format_mass(grams, units=units, decimals=0).split(" (")[0] for grams in line.mass_window_g),
        "asked for" if line.is_asked_for else "usual",
    )
