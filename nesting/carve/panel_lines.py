"""Lines on a carved panel: the high point, contours, shares of the chord."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from nesting.carve.panel import CarvedPanel
from nesting.carve.planform import Floats
from vectorize.shapes.segment import Point

Side = Literal["upper", "lower"]


def stations_along(panel: CarvedPanel, count: int) -> Floats:
    """Return `count` span stations from root to tip, the last a hair inside a pointed tip."""
    low, high = panel.planform.root_station, panel.planform.span[1]
    return np.linspace(low, high - 1e-6 * (high - low), count)


def share_line(panel: CarvedPanel, share: float, *, count: int = 61) -> tuple[Point, ...]:
    """Return the line at a share of the chord, on the plan, from root to tip."""
    v = stations_along(panel, count)
    return _on_plan(panel, panel.planform.leading_edge(v) + share * panel.planform.chord(v), v)


def high_point_line(panel: CarvedPanel, *, count: int = 61) -> tuple[Point, ...]:
    """Return where the upper surface is highest, on the plan, from root to tip.

    Straight for a straight-tapered panel with its high point at one share of chord (common practice, no source).
    """
    v = stations_along(panel, count)
    shares = np.array([panel.section_at(float(station)).high_point for station in v])
    return _on_plan(panel, panel.planform.leading_edge(v) + shares * panel.planform.chord(v), v)


@dataclass(frozen=True, slots=True)
class Contour:
    """One contour: all points of a surface that lie `depth_mm` below the blank's face there.

    `lines` are on the plan; a contour ends where the surface does not come that deep.
    """

    side: Side
    depth_mm: float
    lines: tuple[tuple[Point, ...], ...]


def contours(
    panel: CarvedPanel, *, side: Side = "upper", step_mm: float = 1.0, count: int = 121
) -> tuple[Contour, ...]:
    """Return the contours of a surface every `step_mm` below the face of the blank.

    Each runs along the span once ahead of the highest point and once behind it.
    """
    v = stations_along(panel, count)
    profiles = [_Profile(panel, float(station), side) for station in v]
    deepest = max(profile.deepest for profile in profiles)
    found = []
    for depth in np.arange(step_mm, deepest - 0.01 * step_mm, step_mm):
        ahead, behind = (
            _runs(panel, v, [p.crossing(float(depth), is_ahead=is_ahead) for p in profiles])
            for is_ahead in (True, False)
        )
        lines = _closed_at_tops(panel, v, profiles, float(depth), ahead, behind)
        if lines:
            found.append(Contour(side, float(depth), lines))
    return tuple(found)


def _closed_at_tops(
    panel: CarvedPanel,
    v: Floats,
    profiles: list[_Profile],
    depth: float,
    ahead: list[tuple[Point, ...]],
    behind: list[tuple[Point, ...]],
) -> tuple[tuple[Point, ...], ...]:
    """Join the lines ahead of and behind the highest point where the surface as a whole sinks below the contour."""
    tops = np.array([profile.depths[profile.top] for profile in profiles])
    crossed = np.flatnonzero((tops[:-1] <= depth) & (tops[1:] > depth))
    if len(crossed) != 1 or len(ahead) != 1 or len(behind) != 1:
        return (*ahead, *behind)
    i = int(crossed[0])
    share = (depth - tops[i]) / (tops[i + 1] - tops[i])
    station = v[i] + share * (v[i + 1] - v[i])
    at = profiles[i].shares[profiles[i].top]
    edge, chord = (of(np.array([station]))[0] for of in (panel.planform.leading_edge, panel.planform.chord))
    top = _on_plan(panel, np.array([edge + at * chord]), np.array([station]))
    return ((*ahead[0], *top, *reversed(behind[0])),)


class _Profile:
    """Depth below the blank's face over the chord at one station."""

    def __init__(self, panel: CarvedPanel, station: float, side: Side) -> None:
        b = np.linspace(0.0, np.pi, 801)
        self.shares = (1 - np.cos(b)) / 2
        upper, lower = panel.heights(station, self.shares)
        self.depths = panel.blank_thickness_mm - upper if side == "upper" else lower
        self.top = int(np.argmin(self.depths))

    @property
    def deepest(self) -> float:
        return float(max(self.depths[0], self.depths[-1]))

    def crossing(self, depth: float, *, is_ahead: bool) -> float:
        """Return the share of chord at which the surface is `depth` deep; nan where it is not."""
        side = slice(self.top, None, -1) if is_ahead else slice(self.top, None)
        depths, shares = self.depths[side], self.shares[side]
        if not depths[0] <= depth <= depths[-1]:
            return float("nan")
        return float(np.interp(depth, np.maximum.accumulate(depths), shares))


def _runs(panel: CarvedPanel, v: Floats, shares: list[float]) -> list[tuple[Point, ...]]:
    """Return the stretches of stations where there is a crossing, as lines on the plan."""
    at = np.array(shares)
    is_there = np.isfinite(at)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], is_there, [False]]).astype(int)))
    lines = []
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        if end - begin > 1:
            part = slice(begin, end)
            u = panel.planform.leading_edge(v[part]) + at[part] * panel.planform.chord(v[part])
            lines.append(_on_plan(panel, u, v[part]))
    return lines


def _on_plan(panel: CarvedPanel, u: Floats, v: Floats) -> tuple[Point, ...]:
    return tuple((float(x), float(y)) for x, y in panel.planform.to_plan(np.column_stack([u, v])))
