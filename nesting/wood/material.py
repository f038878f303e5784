"""What is known of a sheet material before a board of it is weighed: an editable table of defaults.

Every default is common practice, without a source, unless a comment says otherwise; the job file may
replace any of them. Stiffness and strength follow the board's own density, because in balsa both rise
in proportion to it (Borrega & Gibson 2015, Mech. Mater. 84:75-90), and are comparisons between
boards, never an approval to fly.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from types import MappingProxyType
from typing import Any

from vectorize.basics.errors import JobError
from vectorize.basics.wording import listed, shown

LEAST_DENSITY_KG_M3 = 40.0
GREATEST_DENSITY_KG_M3 = 1400.0
"""No sheet wood lies outside: the lightest balsa is near 60 kg/m3, the cell wall itself near 1,500 kg/m3."""


@dataclass(frozen=True, slots=True)
class Material:
    """Defaults of one material.

    Attributes:
        density_kg_m3: Assumed for a board that nobody weighed.
        density_spread: Its relative standard deviation between boards.
        gradient_spread: Relative change of density from end to end of a board (standard deviation).
        local_spread: What is left besides that trend, for a part small against its board.
        modulus_per_density: E along the grain over density, MPa per kg/m3, with its band.
        strength_per_density: Bending strength over density, MPa per kg/m3, with its band.
        across_ratio: E across the grain over E along it, of the wood or veneer.
        shear_ratio: Shear modulus in the plane of bending over E.
        plies: Number of crossed plies; 1 for solid wood. The trends above are the veneer's.
    """

    name: str
    density_kg_m3: float
    density_spread: float
    gradient_spread: float = 0.05
    local_spread: float = 0.02
    modulus_per_density: float = 20.0
    modulus_band: tuple[float, float] = (17.0, 28.0)
    strength_per_density: float = 0.12
    strength_band: tuple[float, float] = (0.09, 0.145)
    across_ratio: float = 0.05
    shear_ratio: float = 0.05
    plies: int = 1
    aliases: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for field in ("density_kg_m3", "modulus_per_density", "strength_per_density"):
            if not (math.isfinite(value := getattr(self, field)) and value > 0):
                raise JobError(f"material {self.name}: {field} is {value}; it must be above zero.")
        for field in ("density_spread", "gradient_spread", "local_spread", "across_ratio", "shear_ratio"):
            if not 0 <= (value := getattr(self, field)) <= 1:
                raise JobError(f"material {self.name}: {field} is {value}; it is a share between 0 and 1.")
        for what in ("modulus", "strength"):
            low, high = getattr(self, f"{what}_band")
            default = getattr(self, f"{what}_per_density")
            if not 0 < low <= default <= high:
                raise JobError(
                    f"material {self.name}: the {what} band {low:g} to {high:g} MPa per kg/m3 "
                    f"does not hold its own default, {default:g}."
                )
        if self.plies < 1 or self.plies % 2 == 0:
            raise JobError(f"material {self.name}: {self.plies} plies are not balanced; the number must be odd.")
        if not LEAST_DENSITY_KG_M3 <= self.density_kg_m3 <= GREATEST_DENSITY_KG_M3:
            raise JobError(
                f"material {self.name}: a default density of {self.density_kg_m3:,.0f} kg/m3 is not sheet wood; "
                f"expected {LEAST_DENSITY_KG_M3:g} to {GREATEST_DENSITY_KG_M3:,.0f} kg/m3."
            )


_DEFAULTS = (
    # Bands of balsa: through the Wood Handbook value, three later data sets and a plantation series.
    Material(
        "balsa", 130.0, 0.30, gradient_spread=0.10, local_spread=0.02, across_ratio=0.015, shear_ratio=0.045,
        aliases=("balsa wood", "balsawood"),
    ),
    Material(
        "birch ply", 680.0, 0.06, gradient_spread=0.02, local_spread=0.01, modulus_band=(16.0, 23.0),
        strength_per_density=0.16, strength_band=(0.13, 0.19), plies=3, aliases=("birch plywood", "ply"),
    ),
    Material(
        "light ply", 400.0, 0.12, gradient_spread=0.03, local_spread=0.015, modulus_per_density=22.0,
        modulus_band=(16.0, 26.0), strength_per_density=0.14, strength_band=(0.10, 0.17), plies=3,
        aliases=("lite ply", "poplar ply"),
    ),
    # Wood Handbook (FPL-GTR-190) table 5-3: G = 0.37, E = 10.07 GPa, bending strength 60 MPa at 12 %.
    Material(
        "basswood", 414.0, 0.08, gradient_spread=0.03, local_spread=0.01, modulus_per_density=24.3,
        strength_per_density=0.145, strength_band=(0.12, 0.17), across_ratio=0.03, aliases=("lime", "linden"),
    ),
    # Sitka spruce: G = 0.40 as credited to the Forest Products Laboratory; E and strength from memory.
    Material(
        "spruce", 448.0, 0.10, gradient_spread=0.03, local_spread=0.01, modulus_per_density=24.0,
        strength_per_density=0.155, strength_band=(0.13, 0.18), across_ratio=0.045, aliases=("sitka", "sitka spruce"),
    ),
)  # fmt: skip

MATERIALS: Mapping[str, Material] = MappingProxyType({material.name: material for material in _DEFAULTS})
"""The built-in table, by name."""


def material_key(name: str) -> str:
    """Return a material's name as it is compared: lower case, single spaces, hyphens as spaces."""
    return " ".join(name.replace("-", " ").replace("_", " ").casefold().split())


def find_material(name: str, materials: Mapping[str, Material] = MATERIALS) -> Material | None:
    """Return the material called `name` (or one of its aliases), or None."""
    key = material_key(name)
    for material in materials.values():
        if key in map(material_key, (material.name, *material.aliases)):
            return material
    return None


def canonical_name(name: str, materials: Mapping[str, Material] = MATERIALS) -> str:
    """Return the name that the table gives a material; one that is not there keeps its own, in plain letters."""
    found = find_material(name, materials)
    return found.name if found is not None else material_key(name)


def is_same_material(first: str, second: str, materials: Mapping[str, Material] = MATERIALS) -> bool:
    """Return whether two names mean one material, aliases included."""
    if material_key(first) == material_key(second):
        return True
    found = find_material(first, materials)
    return found is not None and found is find_material(second, materials)


def need_material(name: str, materials: Mapping[str, Material] = MATERIALS) -> Material:
    """Return the material called `name`.

    Raises:
        JobError: It is not in the table; the nearest name is suggested.
    """
    found = find_material(name, materials)
    if found is None:
        near = get_close_matches(material_key(name), list(materials), n=1)
        hint = f"did you mean {near[0]!r}?" if near else f"known are {listed(materials)}."
        raise JobError(f"material {shown(name)} has no defaults; {hint} Add it under [material] or weigh its boards.")
    return found


def with_overrides(
    overrides: Iterable[Mapping[str, Any]], materials: Mapping[str, Material] = MATERIALS
) -> Mapping[str, Material]:
    """Return the table with each override (a `name` and the fields to replace or give) applied.

    Raises:
        JobError: A value that cannot be, or a new material without density and spread.
    """
    table = dict(materials)
    for override in overrides:
        known = find_material(str(override["name"]), table)
        try:
            made = replace(known, **{**override, "name": known.name}) if known else Material(**override)
        except TypeError as error:
            raise JobError(f"material {override['name']!r}: {error}; give density_kg_m3 and density_spread.") from error
        table[made.name] = made
    return MappingProxyType(table)
