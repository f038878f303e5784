"""Planing flats: the bevels to plane before sanding round, each a plane that just touches the section."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from nesting.carve.panel import CarvedPanel
from nesting.carve.panel_lines import Side
from nesting.carve.planform import Floats


@dataclass(frozen=True, slots=True)
class Bevel:
    """One flat at one station.

    `begin` and `end` are its edges: distance aft of the leading edge, and height above the bench on which the
    blank lies with this side up, in mm. `width_mm` is measured on the flat.
    """

    begin: tuple[float, float]
    end: tuple[float, float]
    width_mm: float


@dataclass(frozen=True, slots=True)
class StationFlats:
    """The flats of one side at one span station, from leading to trailing edge.

    `leaves_mm` is the greatest thickness of wood outside the section after planing: what sanding takes.
    """

    side: Side
    station_mm: float
    bevels: tuple[Bevel, ...]
    leaves_mm: float


def planing_flats(
    panel: CarvedPanel,
    stations_mm: tuple[float, ...],
    *,
    side: Side = "upper",
    fore: int = 2,
    aft: int = 2,
) -> tuple[StationFlats, ...]:
    """Return the flats at each station: `fore` of them ahead of the high point and `aft` behind it.

    Together with the face of the blank they are tangents of the section, laid so that each leaves about
    as much to sand as the others: touching points at equal steps of the integral of the square root of curvature.
    None cuts into the section. The touching points are the same shares of chord at all stations, so that the
    edges between flats are straight on a straight-tapered panel.

    Raises:
        PartError: A station off the panel.
    """
    checked = [panel.planform.checked_station(station) for station in stations_mm]
    root = panel.planform.root_station
    shares = _touching_shares(_convex_surface(panel, root, side), fore, aft)
    return tuple(_at_station(panel, station, side, shares) for station in checked)


def _convex_surface(panel: CarvedPanel, station: float, side: Side) -> Floats:
    """Return the (x, height) points of a surface in mm, from nose to tail, hollows spanned."""
    b = np.linspace(0.0, np.pi, 601)
    shares = (1 - np.cos(b)) / 2
    upper, lower = panel.heights(station, shares)
    z = upper if side == "upper" else panel.blank_thickness_mm - lower
    chord = float(panel.planform.chord(np.array([station]))[0])
    return _upper_hull(np.column_stack([chord * shares, z]))


def _upper_hull(points: Floats) -> Floats:
    hull: list[Floats] = []
    for point in points:
        while len(hull) > 1 and _cross(hull[-2], hull[-1], point) >= 0:
            hull.pop()
        hull.append(point)
    return np.array(hull)


def _cross(a: Floats, b: Floats, c: Floats) -> float:
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


def _touching_shares(hull: Floats, fore: int, aft: int) -> tuple[Floats, Floats]:
    """Return the shares of chord at which the flats ahead of, and behind, the high point touch."""
    top = int(np.argmax(hull[:, 1]))
    ahead, behind = hull[: top + 1][::-1], hull[top:]
    # Ahead, the last tangent is the upright edge of the blank, so that there is one step more.
    at_fore = _equal_steps(ahead, [i / (fore + 1) for i in range(1, fore + 1)])
    at_aft = _equal_steps(behind, [i / (aft + 0.5) for i in range(1, aft + 1)])
    return np.sort(at_fore / hull[-1, 0]), np.sort(at_aft / hull[-1, 0])


def _equal_steps(path: Floats, shares: list[float]) -> Floats:
    """Return x at the given shares of the integral of the root of curvature along a convex path."""
    if len(path) < 3:
        return np.full(len(shares), path[-1, 0])
    edges = np.diff(path, axis=0)
    length = np.hypot(*edges.T)
    heading = np.unwrap(np.arctan2(edges[:, 1], edges[:, 0]))
    turn = np.abs(np.diff(heading))
    between = (length[:-1] + length[1:]) / 2
    gone = np.concatenate([[0.0], np.cumsum(np.sqrt(turn * between))])
    middles = (path[:-1, 0] + path[1:, 0]) / 2
    return np.asarray(np.interp(np.array(shares) * gone[-1], gone, middles))


def _at_station(panel: CarvedPanel, station: float, side: Side, shares: tuple[Floats, Floats]) -> StationFlats:
    hull = _convex_surface(panel, station, side)
    chord = float(panel.planform.chord(np.array([station]))[0])
    top = float(hull[:, 1].max())
    lines = [_tangent(hull, chord * float(share)) for share in shares[0]]
    lines.append((0.0, top))
    lines += [_tangent(hull, chord * float(share)) for share in shares[1]]
    corners = [(0.0, lines[0][1])]
    for (slope, offset), (slope1, offset1) in itertools.pairwise(lines):
        x = (offset1 - offset) / (slope - slope1) if abs(slope - slope1) > 1e-12 else corners[-1][0]
        corners.append((x, slope * x + offset))
    corners.append((chord, lines[-1][0] * chord + lines[-1][1]))
    flats = [
        Bevel(a, b, float(np.hypot(b[0] - a[0], b[1] - a[1])))
        for i, (a, b) in enumerate(itertools.pairwise(corners))
        if i != len(shares[0])
    ]
    planed = np.interp(hull[:, 0], *np.array(corners).T)
    return StationFlats(side, station, tuple(flats), float((planed - hull[:, 1]).max()))


def _tangent(hull: Floats, x: float) -> tuple[float, float]:
    """Return (slope, offset) of a line that touches the convex surface near `x` and lies nowhere below it."""
    i = int(np.clip(np.searchsorted(hull[:, 0], x), 1, len(hull) - 2))
    before, here, after = hull[i - 1], hull[i], hull[i + 1]
    slope = float(((here - before)[1] / (here - before)[0] + (after - here)[1] / (after - here)[0]) / 2)
    return slope, float(here[1] - slope * here[0])
