"""What is put on the wood after cutting, and taken off it: covering, dope, paint, filler, glue, sanding.

All defaults are common practice or one builder's measurement, and are there to be edited.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from types import MappingProxyType
from typing import Any, Literal, TypeVar

from nesting.wood.estimate import Estimate, total
from nesting.wood.part import Part
from vectorize.basics.errors import JobError
from vectorize.basics.wording import listed

Stage = Literal["sawn", "cut", "joined", "glued", "covered", "painted", "fitted"]
STAGES: tuple[Stage, ...] = ("sawn", "cut", "joined", "glued", "covered", "painted", "fitted")
"""The order in which a model is built; a scale reading holds everything up to its stage.

`sawn` is the blank before it is carved or trued; `cut` the bare wood as it flies; `joined` the glue between pieces
that make one part (planks, strips, layers), which a reading of that part holds.
"""

SANDING_SPREAD = 0.5
"""How sure a builder is of the depth sanded off (relative, common practice)."""


@dataclass(frozen=True, slots=True)
class Coat:
    """One layer on a face: dry mass per area with its relative spread, when it goes on, and how stiff it is.

    `modulus_per_density` is E in its plane over its density, MPa per kg/m3; 0 where nobody knows.
    """

    name: str
    g_per_m2: float
    spread: float = 0.3
    stage: Stage = "covered"
    modulus_per_density: float = 0.0

    def __post_init__(self) -> None:
        _check(self.name, self.g_per_m2, self.spread)
        if not 0 <= self.modulus_per_density < float("inf"):
            raise JobError(
                f"coat {self.name}: a stiffness of {self.modulus_per_density:g} MPa per kg/m3 was given; "
                "it must be zero or more."
            )


@dataclass(frozen=True, slots=True)
class Glue:
    """A glue: dry mass per joint area with its relative spread."""

    name: str
    g_per_m2: float
    spread: float = 0.4

    def __post_init__(self) -> None:
        _check(self.name, self.g_per_m2, self.spread)


def _check(name: str, g_per_m2: float, spread: float) -> None:
    if not 0 < g_per_m2 < float("inf"):
        raise JobError(f"{name}: {g_per_m2:g} g/m2 was given; it must be above zero.")
    if not 0 <= spread <= 1:
        raise JobError(f"{name}: a spread of {spread:g} was given; it is a share between 0 and 1.")


COAT_STIFFNESS_SPREAD = 0.4
"""How sure E per density of a coat is (relative). All are from memory: paper 3 GPa at 750 kg/m3, silk fibre 8 GPa at
1300 with half its threads each way, polyester film 4 GPa at 1390, glass fibre 72 GPa at 2560 with half its threads each
way, epoxy 3 GPa at 1150, dried dope and paint 1.2 to 1.7 GPa at 1350."""
COAT_SHEAR_RATIO = 0.3
"""G over E of a coat: 0.38 for what is the same in all directions, less for cloth (from memory)."""

COATS: Mapping[str, Coat] = MappingProxyType(
    {
        coat.name: coat
        for coat in (
            Coat("tissue", 13.3, 0.15, modulus_per_density=4.0),  # one builder's measurement of Japanese tissue
            Coat("kite paper", 25.6, 0.15, modulus_per_density=4.0),  # the same builder
            # Weights are common practice from here on, unless said otherwise.
            Coat("light silkspan", 11.5, 0.2, modulus_per_density=4.0),
            Coat("silkspan", 19.0, 0.2, modulus_per_density=4.0),
            Coat("silk", 20.0, 0.25, modulus_per_density=3.0),
            Coat("thin film", 13.0, 0.3, modulus_per_density=3.0),  # 6.8 to 20 in a model magazine
            Coat("light film", 36.0, 0.15, modulus_per_density=2.0),  # the same magazine
            Coat("film", 61.0, 0.15, modulus_per_density=2.0),  # 0.20 oz/ft2 in a comparison table
            Coat("iron-on fabric", 103.8, 0.15, modulus_per_density=2.0),  # 0.34 oz/ft2 in the same table
            Coat("glass cloth", 19.0, 0.1, modulus_per_density=14.0),  # 0.56 oz/yd2 cloth in an article
            Coat("resin", 19.0, 0.5, modulus_per_density=2.6),  # as much as thin cloth; 1 to 2 times the cloth is usual
            Coat("filler", 20.0, 0.5, modulus_per_density=1.0),  # 0.05 mm of light filler at 400 kg/m3
            Coat("dope", 5.0, 0.4, "painted", modulus_per_density=1.2),
            Coat("sanding sealer", 8.0, 0.4, "painted", modulus_per_density=1.0),
            Coat("paint", 25.0, 0.4, "painted", modulus_per_density=1.0),
        )
    }
)

DEFAULT_GLUE = "white glue"
"""What planks, strips, scarfs, layers and doublers are glued with unless their step says otherwise."""

GLUES: Mapping[str, Glue] = MappingProxyType(
    {
        glue.name: glue
        for glue in (
            Glue(DEFAULT_GLUE, 72.0),  # 150 g/m2 wet at 48 % solids, both common practice, no source
            Glue("epoxy", 170.0),  # 0.15 mm at 1150 kg/m3, which loses nothing on curing
            Glue("thin superglue", 50.0),  # 0.05 mm at 1050 kg/m3
            Glue("contact glue", 60.0),
        )
    }
)


@dataclass(frozen=True, slots=True)
class Finish:
    """What happens to the faces of a part: coats on each, in order, and the depth sanded off each face."""

    top: tuple[str, ...] = ()
    bottom: tuple[str, ...] = ()
    edges: tuple[str, ...] = ()
    sanding_mm: float = 0.0

    def __post_init__(self) -> None:
        if not 0 <= self.sanding_mm < float("inf"):
            raise JobError(f"sanding takes off {self.sanding_mm:g} mm; it must be zero or more.")


@dataclass(frozen=True, slots=True)
class Joint:
    """A glued joint between parts: its area, or length times width."""

    name: str
    parts: tuple[str, ...]
    glue: str
    area_mm2: float

    def __post_init__(self) -> None:
        if not 0 < self.area_mm2 < float("inf"):
            raise JobError(f"joint {self.name}: an area of {self.area_mm2:g} mm2 was given; it must be above zero.")


@dataclass(frozen=True, slots=True)
class Layer:
    """One thing put on or taken off: in words, at which stage, with what mass."""

    what: str
    stage: Stage
    mass: Estimate


def finish_layers(
    part: Part, finish: Finish, *, areal: Estimate, thickness_mm: float, coats: Mapping[str, Coat] = COATS
) -> tuple[Layer, ...]:
    """Return what finishing adds to one copy of a part, sanding as a loss.

    Args:
        part: The part; what is flat has faces of its net area, and edges of its perimeter times the thickness.
        finish: What is done to it.
        areal: What its board weighs, g/mm2 over the full thickness.
        thickness_mm: The thickness of its board.
        coats: Known coats.

    Raises:
        JobError: A coat that is not in the table, or more sanded off than there is.
    """
    layers = [
        Layer(f"{coat.name} on {where}", coat.stage, _coat_mass(coat, area_mm2))
        for names, area_mm2, where in coated(part, finish, thickness_mm=thickness_mm)
        for coat in (known_stuff(name, coats, f"part {part.name}: coat") for name in names)
    ]
    if finish.sanding_mm:
        layers.insert(0, _sanding(part, finish, areal, thickness_mm))
    return tuple(layers)


def coated(part: Part, finish: Finish, *, thickness_mm: float) -> tuple[tuple[tuple[str, ...], float, str], ...]:
    """Return (names of the coats, area in mm², where) for the upper face, the lower one and the edges of a part."""
    on = part.surfaces(thickness_mm)
    return (
        (finish.top, on.top_mm2, "top"),
        (finish.bottom, on.bottom_mm2, "bottom"),
        (finish.edges, on.edges_mm2, "edges"),
    )


def _coat_mass(coat: Coat, area_mm2: float) -> Estimate:
    mass = coat.g_per_m2 * area_mm2 * 1e-6
    return Estimate.measured(mass, mass * coat.spread, f"coat {coat.name}")


def _sanding(part: Part, finish: Finish, areal: Estimate, thickness_mm: float) -> Layer:
    share = 2 * finish.sanding_mm / thickness_mm
    if share >= 1:
        raise JobError(
            f"part {part.name}: sanding {finish.sanding_mm:g} mm off both faces leaves nothing of {thickness_mm:g} mm."
        )
    depth = Estimate.measured(-share, share * SANDING_SPREAD, f"sanding of {part.name}")
    return Layer("sanded off", "glued", areal * _sanded_area_mm2(part) * depth)


def _sanded_area_mm2(part: Part) -> float:
    """Return what is sanded on one face: the mean of both of a carved part, which is no thicker for a thicker blank."""
    if part.carved_surfaces is None:
        return part.outline.area_mm2 * part.finished_share
    return (part.carved_surfaces.top_mm2 + part.carved_surfaces.bottom_mm2) / 2


def joint_mass(joint: Joint, *, glues: Mapping[str, Glue] = GLUES) -> Estimate:
    """Return the dry mass of glue in a joint, in g.

    Raises:
        JobError: A glue that is not in the table.
    """
    glue = known_stuff(joint.glue, glues, f"joint {joint.name}: glue")
    mass = glue.g_per_m2 * joint.area_mm2 * 1e-6
    return Estimate.measured(mass, mass * glue.spread, f"glue in {joint.name}")


def finish_mass(layers: Iterable[Layer]) -> Estimate:
    """Return the sum of layers, in g."""
    return total(layer.mass for layer in layers)


_Named = TypeVar("_Named", Coat, Glue)


def known_stuff(name: str, table: Mapping[str, _Named], what: str) -> _Named:
    """Return the coat or glue of that name.

    Raises:
        JobError: It is not in the table; the nearest name is suggested.
    """
    found = table.get(name)
    if found is None:
        near = get_close_matches(name, list(table), n=1)
        hint = f"did you mean {near[0]!r}?" if near else f"known are {listed(table)}."
        raise JobError(f"{what} {name!r} is not in the table; {hint}")
    return found


def edited(
    table: Mapping[str, _Named], changes: Iterable[Mapping[str, Any]], kind: type[_Named]
) -> Mapping[str, _Named]:
    """Return the table with each change (a `name` and the fields to replace or give) applied."""
    result = dict(table)
    for change in changes:
        name = str(change["name"])
        result[name] = replace(result[name], **change) if name in result else kind(**change)
    return MappingProxyType(result)
