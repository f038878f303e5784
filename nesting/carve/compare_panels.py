"""Two carved panels against each other: which is heavier, where, and what to take off for the lateral target."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nesting.carve.panel import CarvedPanel
from vectorize.basics.errors import PartError
from vectorize.shapes.outline import Outline

MOST_SANDED_MM = 0.5
"""More than this over a panel is no longer sanding: the section would be lost (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class PanelWeight:
    """A carved panel in one kind of wood: mass, and moment about the model's middle (arm along the span)."""

    name: str
    mass_g: float
    arm_mm: float
    zones_g: tuple[float, ...]

    @property
    def moment_g_mm(self) -> float:
        """Return mass times arm."""
        return self.mass_g * self.arm_mm


@dataclass(frozen=True, slots=True)
class PanelComparison:
    """What two panels differ in, and the cure.

    `zones_g` is the first panel's mass less the second's, for each third of the span from root to tip.
    `take_off_g` is to come off the panel named `heavy`, evenly (`sanded_mm` deep over its upper side), so that the
    first's moment less the second's becomes `target_g_mm`; both are 0 where nothing need come off.
    """

    first: PanelWeight
    second: PanelWeight
    target_g_mm: float
    zones_g: tuple[float, ...]
    heavy: str | None
    take_off_g: float
    sanded_mm: float

    @property
    def difference_g(self) -> float:
        """Return the first panel's mass less the second's."""
        return self.first.mass_g - self.second.mass_g


def weigh_panel(
    panel: CarvedPanel, density_kg_m3: float, *, name: str, root_arm_mm: float | None = None
) -> PanelWeight:
    """Return a panel's mass and arm; `root_arm_mm` is the arm of its innermost point, by default its own station."""
    mass = panel.solid().volume_mm3 * density_kg_m3 * 1e-6
    return weigh_pieces(panel, [(panel.planform.outline, mass)], name=name, root_arm_mm=root_arm_mm)


def weigh_pieces(
    panel: CarvedPanel,
    pieces: Sequence[tuple[Outline, float]],
    *,
    name: str,
    root_arm_mm: float | None = None,
) -> PanelWeight:
    """Return mass and arm of a panel made of pieces (planks, edge strip), each with its own finished mass in g.

    Raises:
        PartError: A piece lies outside the panel.
    """
    low, high = panel.planform.span
    shift = 0.0 if root_arm_mm is None else root_arm_mm - low
    edges = np.linspace(low, high, 4)
    mass = moment = 0.0
    zones = np.zeros(3)
    for outline, mass_g in pieces:
        solid = panel.solid(outline)
        mass, moment = mass + mass_g, moment + mass_g * (solid.centroid[1] + shift)
        thirds = [_volume_mm3(panel, outline, float(a), float(b)) for a, b in itertools.pairwise(edges)]
        zones += mass_g * np.array(thirds) / sum(thirds)
    return PanelWeight(name, mass, moment / mass, tuple(zones.tolist()))


def _volume_mm3(panel: CarvedPanel, outline: Outline, begin: float, end: float) -> float:
    stations, weights = panel.planform.quadrature(begin, end, outline=outline)
    return float(weights @ np.array([panel.slice_area_mm2(float(s), outline) for s in stations]))


def compare_panels(
    first: PanelWeight, second: PanelWeight, *, surface_mm2: float, density_kg_m3: float, target_g_mm: float = 0.0
) -> PanelComparison:
    """Return which panel is heavier, where, and what to take off.

    Args:
        first: Whose moment counts positive; of a control-line model the outboard panel.
        second: The other one.
        surface_mm2: Area of the upper side of the panel that is sanded.
        density_kg_m3: Of its wood, for the depth.
        target_g_mm: Wanted moment of the first panel over the second, such as for tip weight on the outboard side.

    Raises:
        PartError: The target asks for more than sanding can take off.
    """
    excess = first.moment_g_mm - second.moment_g_mm - target_g_mm
    heavy = first if excess > 0 else second
    take_off = abs(excess) / heavy.arm_mm
    depth = take_off / (density_kg_m3 * 1e-6) / surface_mm2
    if depth > MOST_SANDED_MM:
        raise PartError(
            f"panel {heavy.name} would have to lose {take_off:.2f} g, {depth:.2f} mm all over its upper side; "
            f"more than {MOST_SANDED_MM:g} mm spoils the section. Cut it from a lighter board or weight the other tip."
        )
    zones = tuple(a - b for a, b in zip(first.zones_g, second.zones_g, strict=True))
    is_even = take_off < 1e-9
    if is_even:
        return PanelComparison(first, second, target_g_mm, zones, None, 0.0, 0.0)
    return PanelComparison(first, second, target_g_mm, zones, heavy.name, take_off, depth)
