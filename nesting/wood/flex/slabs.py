"""A section built of several woods: what each adds to its stiffness in bending and twisting, mass and inertia.

Bending by the transformed section, each part by its modulus about their common neutral axis (standard beam theory);
twisting for a section thin against its width, where a layer adds 4 G times its second moment about the middle of the
column that it lies in: G t^3/3 for solid wood, and for skins what Bredt's formula gives a thin closed tube.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nesting.wood.estimate import Estimate

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Stuff:
    """What a section is made of: a wood, a skin, a coat, glue.

    Attributes:
        name: In words.
        modulus_mpa: E along the beam.
        shear_mpa: G in the plane of the sheet.
        density_kg_m3: Mass per volume.
        is_shell: Whether it lies on the faces: its own thickness is known, its distance from the middle is carved.
    """

    name: str
    modulus_mpa: Estimate
    shear_mpa: Estimate
    density_kg_m3: Estimate
    is_shell: bool = False


@dataclass(frozen=True, slots=True)
class Slabs:
    """A section as slabs of one stuff each, in mm: x across the beam in its plane, z through its thickness.

    `kind` is the number of each slab's stuff, `column` that of the column it lies in; slabs of a column lie on one
    another at one x. `factor` is modulus and density there over the stuff's own.
    """

    x: Floats
    width: Floats
    low: Floats
    high: Floats
    kind: NDArray[np.intp]
    column: NDArray[np.intp]
    factor: Floats

    @staticmethod
    def together(groups: Sequence[Slabs]) -> Slabs:
        """Return the slabs of several groups as one section; their columns stay apart."""
        starts = np.cumsum([0, *(int(group.column.max(initial=-1)) + 1 for group in groups)])
        names = ("x", "width", "low", "high", "kind", "factor")
        arrays = {name: np.concatenate([getattr(group, name) for group in groups]) for name in names}
        column = [group.column + start for group, start in zip(groups, starts, strict=False)]
        return Slabs(column=np.concatenate(column), **arrays)


@dataclass(frozen=True, slots=True)
class SectionShares:
    """What each stuff adds at each of several sections, to be multiplied by its E, G or density.

    The first five are arrays (section, number of the stuff), the last three have a value for each section.

    Attributes:
        area_mm2: For mass per length and stiffness in tension.
        flat_mm4: Second moment about the neutral axis along x: bent across the thickness.
        edge_mm4: About the neutral axis along z: bent in the plane of the sheet.
        twist_mm4: For GJ.
        roll_mm4: Polar second moment about the elastic axis, for the inertia in twisting.
        elastic_x_mm: Where a load bends without twisting, approximately: the balance point of the columns' stiffness.
        balance_x_mm: Where the centre of mass lies.
        thickness_mm: Mean over the section, weighed as bending feels it.
    """

    area_mm2: Floats
    flat_mm4: Floats
    edge_mm4: Floats
    twist_mm4: Floats
    roll_mm4: Floats
    elastic_x_mm: Floats
    balance_x_mm: Floats
    thickness_mm: Floats


def shares_of(sections: Sequence[Slabs], *, stuffs: Sequence[Stuff], end_shares: Floats | None = None) -> SectionShares:
    """Return what each stuff adds to each of several sections.

    Args:
        sections: Of slabs; those without thickness do no harm.
        stuffs: What they are of.
        end_shares: What is left of GJ of each section because its ends are not the endless strip of the formula; None:
            of sections that thin out to their ends, by Roark's F / (3 + 4 F / (A U^2)), from memory.
    """
    slabs, place = Slabs.together(sections), _Places(sections)
    e, g, rho = (
        np.array([getattr(stuff, name).value for stuff in stuffs])[slabs.kind] * slabs.factor
        for name in ("modulus_mpa", "shear_mpa", "density_kg_m3")
    )
    tall = slabs.high - slabs.low
    area, middle = slabs.width * tall, (slabs.high + slabs.low) / 2
    own = slabs.width * tall**3 / 12
    flat = own + area * (middle - place.mean(middle, e * area)[place.at]) ** 2
    edge = area * ((slabs.x - place.mean(slabs.x, e * area)[place.at]) ** 2 + slabs.width**2 / 12)
    twist = 4 * (own + area * (middle - _column_mean(slabs, middle, g * area)) ** 2)
    elastic_x = place.mean(slabs.x, e * flat)
    left = _thin_ends(slabs, place) if end_shares is None else end_shares

    def by_kind(of: Floats) -> Floats:
        cells = np.bincount(
            place.at * len(stuffs) + slabs.kind, of * slabs.factor, minlength=len(stuffs) * len(sections)
        )
        return np.asarray(cells.reshape(len(sections), len(stuffs)), dtype=np.float64)

    return SectionShares(
        area_mm2=by_kind(area),
        flat_mm4=by_kind(flat),
        edge_mm4=by_kind(edge),
        twist_mm4=by_kind(twist * left[place.at]),
        roll_mm4=by_kind(flat + area * (slabs.x - elastic_x[place.at]) ** 2),
        elastic_x_mm=elastic_x,
        balance_x_mm=place.mean(slabs.x, rho * area),
        thickness_mm=place.mean(_column_sum(slabs, tall), e * flat),
    )


class _Places:
    """Which section each slab belongs to, once they are together."""

    def __init__(self, sections: Sequence[Slabs]) -> None:
        self.at = np.repeat(np.arange(len(sections)), [len(section.x) for section in sections])

    def total(self, values: Floats) -> Floats:
        return np.asarray(np.bincount(self.at, values), dtype=np.float64)

    def mean(self, values: Floats, weights: Floats) -> Floats:
        return np.asarray(self.total(values * weights) / self.total(weights))


def _column_sum(slabs: Slabs, values: Floats) -> Floats:
    return np.asarray(np.bincount(slabs.column, values)[slabs.column])


def _column_mean(slabs: Slabs, values: Floats, weights: Floats) -> Floats:
    whole = _column_sum(slabs, weights)
    return np.divide(_column_sum(slabs, values * weights), whole, out=np.zeros_like(whole), where=whole > 0)


def _thin_ends(slabs: Slabs, place: _Places) -> Floats:
    """Return Roark's factor for each section, of its columns' whole thickness."""
    # A column's core is the least wide of its slabs: shells are measured along the slope.
    columns = int(slabs.column.max()) + 1
    width = np.full(columns, np.inf)
    np.minimum.at(width, slabs.column, slabs.width)
    tall, at = np.bincount(slabs.column, slabs.high - slabs.low), np.zeros(columns, dtype=np.intp)
    at[slabs.column] = place.at
    cubes, area, length = (np.bincount(at, of) for of in (width * tall**3, width * tall, width))
    return np.asarray(1 / (1 + 4 / 3 * cubes / (area * length**2)))
