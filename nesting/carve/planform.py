"""The planform of a panel in its own directions: u aft from a datum, v outward from the root."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from vectorize.basics.errors import PartError
from vectorize.shapes.outline import Outline
from vectorize.shapes.segment import Line, Point

Floats = NDArray[np.float64]

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(8)
_CURVE_PARTS = 6
_LEVEL_MM = 1e-4
_SQUARE_SLOPE = math.tan(math.radians(1.0))
"""An end that leans less than this against square is square: no tip is traced, or drawn, quite at right angles."""
_BACK_MM = 0.1
"""An edge may turn back by this much: a traced one does, and so does a seam between planks."""


@dataclass(frozen=True, slots=True)
class Planform:
    """An outline read as leading and trailing edge over span stations.

    `span_deg` points from root to tip on the plan, `aft_deg` from leading to trailing edge; they are at right
    angles. Span stations are counted from `root` (any point of the root rib, or of the model's middle), by
    default from the leading edge at the innermost station.

    Raises:
        PartError: Directions that are not at right angles, or an edge that turns back, so that a
            station would have two chords.
    """

    outline: Outline
    span_deg: float = 0.0
    aft_deg: float = -90.0
    root: Point | None = None
    _leading: Floats = field(init=False, repr=False, compare=False)
    _trailing: Floats = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        turn = (self.span_deg - self.aft_deg) % 180.0
        if abs(turn - 90.0) > 0.01:
            raise PartError(
                f"the span runs at {self.span_deg:g} deg and aft is at {self.aft_deg:g} deg; "
                "give directions at right angles."
            )
        leading, trailing = self._edges()
        object.__setattr__(self, "_leading", leading)
        object.__setattr__(self, "_trailing", trailing)

    def to_panel(self, points: Floats) -> Floats:
        """Return (N, 2) points of the plan as (u, v) with v from the outline's own origin of stations."""
        offset = np.asarray(points, dtype=np.float64) - self._origin()
        return np.column_stack([offset @ _unit(self.aft_deg), offset @ _unit(self.span_deg)])

    def to_plan(self, points: Floats) -> Floats:
        """Return (N, 2) panel points (u, v) on the plan."""
        u, v = np.asarray(points, dtype=np.float64).reshape(-1, 2).T
        return np.asarray(self._origin() + u[:, None] * _unit(self.aft_deg) + v[:, None] * _unit(self.span_deg))

    def _origin(self) -> Floats:
        if self.root is not None:
            return np.asarray(self.root, dtype=np.float64)
        points = self.outline.exterior.flattened()
        along = points @ _unit(self.span_deg)
        inner = points[along < along.min() + _LEVEL_MM]
        return np.asarray(inner[int(np.argmin(inner @ _unit(self.aft_deg)))])

    def _edges(self) -> tuple[Floats, Floats]:
        """Return the (v, u) chains of the leading and the trailing edge, from root to tip."""
        points = self.outline.exterior.flattened()
        try:
            return _chains(*self.to_panel(points).T)
        except PartError:
            # A trace may leave a spur at a corner; what is wider than a hair still turns back, and is refused.
            return _chains(*self.to_panel(_without_spurs(points)).T)

    @property
    def span(self) -> tuple[float, float]:
        """Return the innermost and the outermost station."""
        return float(self._leading[0, 0]), float(self._leading[-1, 0])

    @property
    def root_station(self) -> float:
        """Return the station that stands for the root: the first with nearly the chord of a hundredth of the span on.

        A traced root rib is never quite at right angles to the span: at its innermost point the chord is zero.
        """
        low, high = self.span
        stations = np.linspace(low, low + 0.01 * (high - low), 201)
        chords = self.chord(stations)
        return float(stations[int(np.argmax(chords > 0.98 * chords[-1]))])

    def leading_edge(self, stations: Floats) -> Floats:
        """Return u of the leading edge at each station."""
        return np.interp(stations, *self._leading.T)

    def trailing_edge(self, stations: Floats) -> Floats:
        """Return u of the trailing edge at each station."""
        return np.interp(stations, *self._trailing.T)

    def chord(self, stations: Floats) -> Floats:
        """Return the chord at each station, in mm."""
        return self.trailing_edge(stations) - self.leading_edge(stations)

    def checked_station(self, station_mm: float) -> float:
        """Return a station, put on the very end where it is within 0.01 mm of it.

        Raises:
            PartError: It lies off the panel.
        """
        low, high = self.span
        if not low - 0.01 <= station_mm <= high + 0.01:
            raise PartError(
                f"span station {station_mm:.1f} mm is off the panel, which runs from {low:.1f} to {high:.1f} mm."
            )
        return min(high, max(low, station_mm))

    def quadrature(
        self, begin_mm: float | None = None, end_mm: float | None = None, *, outline: Outline | None = None
    ) -> tuple[Floats, Floats]:
        """Return span stations and weights for integrals over the span, or over part of it.

        Gauss-Legendre of 8 nodes between the ends of the pieces of `outline` (by default the planform's own),
        curved ones in six parts: exact for straight-tapered panels.
        """
        breaks = set(self._breaks(outline or self.outline))
        low = self.span[0] if begin_mm is None else begin_mm
        high = self.span[1] if end_mm is None else end_mm
        edges = np.array(sorted({low, high, *(b for b in breaks if low < b < high)}))
        edges = edges[np.concatenate([[True], np.diff(edges) > 1e-5])]
        edges[-1] = high
        middle, half = (edges[:-1] + edges[1:]) / 2, np.diff(edges) / 2
        return (middle[:, None] + half[:, None] * _NODES).ravel(), (half[:, None] * _WEIGHTS).ravel()

    def _breaks(self, outline: Outline) -> list[float]:
        """Return the stations at which the outline's form changes."""
        points: list[Point] = []
        for segment in (piece for ring in outline.rings for piece in ring.segments):
            parts = 1 if isinstance(segment, Line) else _CURVE_PARTS
            points += [segment.point_at(i / parts) for i in range(parts + 1)]
        stations: list[float] = self.to_panel(np.array(points))[:, 1].round(6).tolist()
        for ring in outline.rings:
            v = self.to_panel(ring.flattened())[:, 1]
            stations += [float(v.min()), float(v.max())]
        return stations

    def mean_chord(self) -> tuple[float, float, float]:
        """Return (mean aerodynamic chord, its span station, u of its leading edge), in mm.

        Integrals of chord squared, chord times station and chord times leading edge over the area.
        """
        v, weights = self.quadrature()
        chord = self.chord(v)
        area = float(weights @ chord)
        return (
            float(weights @ chord**2) / area,
            float(weights @ (chord * v)) / area,
            float(weights @ (chord * self.leading_edge(v))) / area,
        )

    def rings_of(self, outline: Outline) -> tuple[Floats, ...]:
        """Return the rings of a piece as (N, 2) panel points, for `stretches_at`."""
        return tuple(self.to_panel(ring.flattened()) for ring in outline.rings)


def stretches_at(rings: Sequence[Floats], station_mm: float) -> tuple[tuple[float, float], ...]:
    """Return the (from, to) stretches of u in which a piece, given by its rings in (u, v), has wood at a station."""
    at: list[float] = []
    for ring in rings:
        u, v = ring.T
        u1, v1 = np.roll(u, -1), np.roll(v, -1)
        crosses = (v <= station_mm) != (v1 <= station_mm)
        share = (station_mm - v[crosses]) / (v1[crosses] - v[crosses])
        at += (u[crosses] + share * (u1[crosses] - u[crosses])).tolist()
    at.sort()
    return tuple(zip(at[::2], at[1::2], strict=True))


def _unit(angle_deg: float) -> Floats:
    angle = math.radians(angle_deg)
    return np.array([math.cos(angle), math.sin(angle)])


def _chains(u: Floats, v: Floats) -> tuple[Floats, Floats]:
    """Return the leading and the trailing edge of a closed polygon as (v, u), each from the least v to the greatest."""
    roots, tips = _end_points(u, v, int(np.argmin(v))), _end_points(u, v, int(np.argmax(v)))
    first, last = roots[np.argmin(u[roots])], tips[np.argmin(u[tips])]
    leading = min(_ways(first, last, len(u)), key=lambda path: _mean_u(u[path], v[path]))
    first, last = roots[np.argmax(u[roots])], tips[np.argmax(u[tips])]
    trailing = max(_ways(first, last, len(u)), key=lambda path: _mean_u(u[path], v[path]))
    one, other = (_to_ends(_monotone(np.column_stack([v[path], u[path]])), v) for path in (leading, trailing))
    return one, other


def _end_points(u: Floats, v: Floats, extreme: int) -> NDArray[np.intp]:
    """Return the points of the end edge that the extreme point lies on: level ones, and those of a hardly leaning edge.

    Read to the letter, an edge that leans by a thousandth of a millimetre would let the chord fall to nothing
    within that thousandth, and every line at a share of the chord would bend over to one corner.
    """
    off, along = np.abs(v - v[extreme]), np.abs(u - u[extreme])
    leans = np.abs(np.roll(v, -1) - v) <= _SQUARE_SLOPE * np.abs(np.roll(u, -1) - u)
    is_near_square = (leans | np.roll(leans, 1)) & (off <= _SQUARE_SLOPE * along)
    return np.flatnonzero(is_near_square | (off < _LEVEL_MM))


def _to_ends(chain: Floats, v: Floats) -> Floats:
    """Return an edge led on at its ends to the innermost and the outermost station, where an end leans."""
    (low, at_root), (high, at_tip) = chain[0], chain[-1]
    before = [(v.min(), at_root)] if v.min() < low else []
    behind = [(v.max(), at_tip)] if v.max() > high else []
    return np.array([*before, *chain.tolist(), *behind])


def _ways(first: int, last: int, count: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    return _walk(first, last, count), _walk(last, first, count)[::-1]


def _without_spurs(points: Floats) -> Floats:
    """Return the largest polygon left when everything thinner than 0.1 mm is taken away, corners kept."""
    from shapely.geometry import Polygon

    shrunk = Polygon(points).buffer(-_BACK_MM / 2, join_style="mitre")
    opened = shrunk.buffer(_BACK_MM / 2, join_style="mitre")
    largest = max(getattr(opened, "geoms", [opened]), key=lambda piece: piece.area)
    return np.asarray(largest.exterior.coords)[:-1]


def _walk(first: int, last: int, count: int) -> NDArray[np.intp]:
    return np.arange(first, first + (last - first) % count + 1) % count


def _mean_u(u: Floats, v: Floats) -> float:
    """Return the mean of u over a path, weighed by length, so that close points of a curve do not count more."""
    length = np.hypot(np.diff(u), np.diff(v))
    total = float(length.sum())
    return float(((u[:-1] + u[1:]) / 2) @ length) / total if total else float(u[0])


def _monotone(chain: Floats) -> Floats:
    falls = np.diff(chain[:, 0])
    if falls.size and (np.maximum.accumulate(chain[:, 0]) - chain[:, 0]).max() > _BACK_MM:
        at = float(chain[int(np.argmin(falls)), 0])
        raise PartError(
            f"the planform turns back at span station {at:.1f} mm, so that a station there has two chords; "
            "carve it as two panels, or turn the span direction."
        )
    return np.column_stack([np.maximum.accumulate(chain[:, 0]), chain[:, 1]])
