"""How stiff a part is with what is glued onto it: bent across its thickness, in its plane, and twisted.

Stations run along the part. Each section is that of `slabs`; values are for comparing, never an approval to fly.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from nesting.wood.beam import torsion_constant_mm4
from nesting.wood.estimate import Estimate, as_estimate, total
from nesting.wood.flex.slabs import Floats, SectionShares, Slabs, Stuff, shares_of

Way = Literal["flatwise", "edgewise", "twist"]
WAYS: tuple[Way, ...] = ("flatwise", "edgewise", "twist")
_SHARES: Mapping[Way, str] = {"flatwise": "flat_mm4", "edgewise": "edge_mm4", "twist": "twist_mm4"}


@dataclass(frozen=True, slots=True)
class Cell:
    """A stretch of height at a station with one stack of layers: (number of the stuff, from z, to z), in mm."""

    low_mm: float
    high_mm: float
    layers: tuple[tuple[int, float, float], ...]

    @property
    def thickness_mm(self) -> float:
        """Return how thick its wood is."""
        return sum(top - bottom for _, bottom, top in self.layers)


def slabs_of(cells: Sequence[Cell]) -> Slabs:
    """Return the section that cells make up, a column each."""
    rows = [(cell, number, layer) for number, cell in enumerate(cells) for layer in cell.layers]
    return Slabs(
        x=np.array([(cell.low_mm + cell.high_mm) / 2 for cell, _, _ in rows]),
        width=np.array([cell.high_mm - cell.low_mm for cell, _, _ in rows]),
        low=np.array([low for _, _, (_, low, _) in rows]),
        high=np.array([high for _, _, (_, _, high) in rows]),
        kind=np.array([kind for _, _, (kind, _, _) in rows], dtype=np.intp),
        column=np.array([number for _, number, _ in rows], dtype=np.intp),
        factor=np.ones(len(rows)),
    )


def end_share(cells: Sequence[Cell]) -> float:
    """Return GJ of the rectangles that touching cells make up over what endless strips would give.

    Parts above and below an opening twist as bars of their own, which is less than they do while both ends hold them.
    """
    strip = bar = 0.0
    for run in _runs(cells):
        height = run[-1].high_mm - run[0].low_mm
        thick = sum(cell.thickness_mm * (cell.high_mm - cell.low_mm) for cell in run) / height
        strip += height * thick**3 / 3
        bar += torsion_constant_mm4(height, thick)
    return bar / strip


def _runs(cells: Sequence[Cell]) -> list[list[Cell]]:
    runs: list[list[Cell]] = []
    for cell in cells:
        if runs and cell.low_mm - runs[-1][-1].high_mm < 1e-6:
            runs[-1].append(cell)
        else:
            runs.append([cell])
    return runs


@dataclass(frozen=True, slots=True)
class Variation:
    """A doubt that is no stuff's own: what the shares become with a thickness one standard deviation greater."""

    source: str
    shares: Mapping[Way, SectionShares]


@dataclass(frozen=True, slots=True)
class Stray:
    """How far E and G of one stuff may lie off their mean at each station, as a share for one standard deviation."""

    kind: int
    source: str
    shares: Floats


@dataclass(frozen=True, slots=True)
class BuiltStiffness:
    """EI flatwise and edgewise and GJ along a part as it is built (N mm2), with their doubts.

    `stuffs` differ by way of loading, as plywood is stiffer or less stiff stretched than bent.
    """

    stations_mm: Floats
    shares: Mapping[Way, SectionShares]
    stuffs: Mapping[Way, tuple[Stuff, ...]]
    variations: tuple[Variation, ...] = ()
    strays: tuple[Stray, ...] = ()

    def values(self, way: Way) -> Floats:
        """Return the stiffness at every station."""
        return self._of(self.shares[way], way)

    def _of(self, shares: SectionShares, way: Way) -> Floats:
        what = "shear_mpa" if way == "twist" else "modulus_mpa"
        return np.asarray(getattr(shares, _SHARES[way]) @ [getattr(s, what).value for s in self.stuffs[way]])

    def at(self, way: Way, number: int) -> Estimate:
        """Return the stiffness at a station, by its number."""
        worth = np.zeros(len(self.stations_mm))
        worth[number] = 1.0
        return self._weighed(way, worth)

    def whole(self, way: Way) -> Estimate:
        """Return the stiffness of an even bar that gives as much as the part does, under the same moment all along."""
        values, share = self.values(way), 1 / len(self.stations_mm)
        even = 1 / float((share / values).sum())
        # 1/even is the mean of 1/value, so a change of a value counts by (even / value) squared.
        changes = self._weighed(way, share * (even / values) ** 2)
        return changes - as_estimate(changes.value) + even

    def _weighed(self, way: Way, worth: Floats) -> Estimate:
        what = "shear_mpa" if way == "twist" else "modulus_mpa"
        each = worth @ getattr(self.shares[way], _SHARES[way])
        terms = [getattr(stuff, what) * float(share) for stuff, share in zip(self.stuffs[way], each, strict=True)]
        value = float(worth @ self.values(way))
        terms += [
            Estimate(0.0, ((one.source, float(worth @ self._of(one.shares[way], way)) - value),))
            for one in self.variations
        ]
        terms += [self._strayed(way, worth, stray) for stray in self.strays]
        return total(terms)

    def _strayed(self, way: Way, worth: Floats, stray: Stray) -> Estimate:
        what = "shear_mpa" if way == "twist" else "modulus_mpa"
        modulus = getattr(self.stuffs[way][stray.kind], what).value
        # The neutral axis moves too, but there EI is least, so its move does not count in the first order.
        each = getattr(self.shares[way], _SHARES[way])[:, stray.kind] * stray.shares
        return Estimate(0.0, ((stray.source, float(worth @ each) * modulus),))


def built_stiffness(
    stations_mm: Sequence[float],
    sections: Sequence[Sequence[Cell]],
    stuffs: Mapping[Way, tuple[Stuff, ...]],
    *,
    thicker: Mapping[str, Sequence[Sequence[Cell]]],
    strays: Sequence[Stray] = (),
) -> BuiltStiffness:
    """Return the stiffness of a part from its sections.

    Args:
        stations_mm: Evenly along the part.
        sections: The cells at each station, upwards.
        stuffs: What they are of, by way of loading.
        thicker: The sections with one board's thickness a standard deviation greater, by the name of that doubt.
        strays: How E and G may change along the part.
    """
    varied = tuple(Variation(source, _all_shares(cells, stuffs)) for source, cells in thicker.items())
    return BuiltStiffness(np.array(stations_mm), _all_shares(sections, stuffs), stuffs, varied, tuple(strays))


def _all_shares(
    sections: Sequence[Sequence[Cell]], stuffs: Mapping[Way, tuple[Stuff, ...]]
) -> dict[Way, SectionShares]:
    slabs, ends = [slabs_of(cells) for cells in sections], np.array([end_share(cells) for cells in sections])
    return {way: shares_of(slabs, stuffs=stuffs[way], end_shares=ends) for way in WAYS}


@dataclass(frozen=True, slots=True)
class BuiltRatio:
    """Stiffness of a part as built over that with another board: as a whole, and where it differs least and most."""

    whole: Estimate
    least: Estimate
    least_at_mm: float
    greatest: Estimate
    greatest_at_mm: float


def built_ratio(one: BuiltStiffness, other: BuiltStiffness, way: Way) -> BuiltRatio:
    """Return how much stiffer a part is in one wood than in another."""
    ratios = one.values(way) / other.values(way)
    low, high = int(np.argmin(ratios)), int(np.argmax(ratios))
    return BuiltRatio(
        one.whole(way) / other.whole(way),
        one.at(way, low) / other.at(way, low),
        float(one.stations_mm[low]),
        one.at(way, high) / other.at(way, high),
        float(one.stations_mm[high]),
    )


def weakest_station_mm(built: BuiltStiffness, way: Way) -> float:
    """Return where a part is least stiff, its last twentieths at both ends left out, where it only runs out."""
    count = len(built.stations_mm)
    edge = count // 20
    return float(built.stations_mm[edge + int(np.argmin(built.values(way)[edge : count - edge]))])
