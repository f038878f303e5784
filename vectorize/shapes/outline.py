"""The shape of a part in millimetres: an exterior and its cut-outs, as lines, arcs and cubics.

y points up, the exterior runs counter-clockwise, cut-outs clockwise, and the first point is not
repeated. An outline lies where it lies on the plan: x and y are millimetres from the lower left of
the page. This module needs numpy only; shapely is loaded when a polygon is asked for.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike

from vectorize.basics.errors import OutlineError, ToleranceError
from vectorize.shapes.segment import (
    Arc,
    Cubic,
    Line,
    Point,
    Points,
    Segment,
    as_cubics,
    boundary_integrals,
    control_points,
    extreme_points,
    mapped,
)

if TYPE_CHECKING:
    from shapely.geometry import Polygon

FINE_MM = 0.001
"""Chord tolerance where area, export or JSON is concerned."""

FARTHEST_MM = 1e9
"""How far from the corner of its page a part may reach; drawings are read as far out as a tenth of it."""
_JOIN_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Pose:
    """A rigid move in the plane: mirror in x if `is_flipped`, then turn, then shift.

    A point (x, y) goes to R(angle) · (±x, y) + (x_mm, y_mm); the angle is counter-clockwise.
    """

    x_mm: float = 0.0
    y_mm: float = 0.0
    angle_deg: float = 0.0
    is_flipped: bool = False

    def moved(self, point: Point) -> Point:
        """Return where `point` comes to lie."""
        cos, sin = _cos_sin(self.angle_deg)
        x = -point[0] if self.is_flipped else point[0]
        return (cos * x - sin * point[1] + self.x_mm, sin * x + cos * point[1] + self.y_mm)


@dataclass(frozen=True, slots=True)
class Ring:
    """A closed curve: each piece begins where the one before it ends.

    Raises:
        OutlineError: Fewer than two pieces (or one line pair), a jump between pieces, a number that
            is not finite.
    """

    segments: tuple[Segment, ...]

    def __post_init__(self) -> None:
        if not self.segments:
            raise OutlineError("a ring needs at least two curved or three straight pieces; none were given.")
        for before, after in zip(self.segments, (*self.segments[1:], self.segments[0]), strict=True):
            if not all(map(math.isfinite, (*before.start, *before.end))):
                raise OutlineError("a ring holds a coordinate that is not a finite number.")
            if math.dist(before.end, after.start) > _JOIN_MM * max(1.0, abs(before.end[0]), abs(before.end[1])):
                raise OutlineError(
                    f"a ring is open: a piece ends at ({before.end[0]:.3f}, {before.end[1]:.3f}) "
                    f"and the next begins at ({after.start[0]:.3f}, {after.start[1]:.3f})."
                )

    @staticmethod
    def from_points(points: ArrayLike) -> Ring:
        """Return the polygon through (N, 2) `points`; a repeated first point or neighbour is dropped.

        Raises:
            OutlineError: Fewer than three different points, or one that is not finite.
        """
        array = np.asarray(points, dtype=np.float64)
        if array.ndim != 2 or array.shape[1:] != (2,) or not np.all(np.isfinite(array)):
            raise OutlineError("an outline needs (x, y) points that are finite numbers.")
        distinct: list[Point] = []
        for x, y in array.tolist():
            if not distinct or (x, y) != distinct[-1]:
                distinct.append((x, y))
        if len(distinct) > 1 and distinct[0] == distinct[-1]:
            distinct.pop()
        if len(distinct) < 3:
            raise OutlineError(f"an outline needs at least three different points; {len(distinct)} found.")
        return Ring(tuple(Line(a, b) for a, b in zip(distinct, distinct[1:] + distinct[:1], strict=True)))

    @staticmethod
    def circle(centre: Point, radius_mm: float) -> Ring:
        """Return a full circle, counter-clockwise, as two half arcs."""
        east, west = (centre[0] + radius_mm, centre[1]), (centre[0] - radius_mm, centre[1])
        return Ring((Arc(east, west, 1.0), Arc(west, east, 1.0)))

    @staticmethod
    def rectangle(x0: float, y0: float, x1: float, y1: float) -> Ring:
        """Return the axis-parallel rectangle with the given corners, counter-clockwise."""
        return Ring.from_points([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])

    def _integrals(self) -> tuple[float, float, float]:
        # Moments about the first point, so that a part far from the origin loses no digits.
        ox, oy = self.segments[0].start
        shifted = self.mapped(lambda p: (p[0] - ox, p[1] - oy))
        area, mx, my = (math.fsum(column) for column in zip(*map(boundary_integrals, shifted.segments), strict=True))
        return area, mx + area * ox, my + area * oy

    @property
    def signed_area_mm2(self) -> float:
        """Return the enclosed area, positive when the ring runs counter-clockwise."""
        return self._integrals()[0]

    @property
    def moments_mm3(self) -> tuple[float, float]:
        """Return the signed first moments (integral of x dA, of y dA)."""
        _, mx, my = self._integrals()
        return mx, my

    @property
    def perimeter_mm(self) -> float:
        """Return the length once round."""
        return math.fsum(segment.length for segment in self.segments)

    def flattened(self, tolerance_mm: float = FINE_MM) -> Points:
        """Return (N, 2) points, first not repeated, whose chords stay within `tolerance_mm` of the ring."""
        if not (math.isfinite(tolerance_mm) and tolerance_mm > 0):
            raise ToleranceError(f"a chord tolerance of {tolerance_mm} mm was given; it must be above zero.")
        points: list[Point] = []
        for segment in self.segments:
            points.extend(segment.flattened(tolerance_mm))
        return np.array(points, dtype=np.float64)

    def reversed(self) -> Ring:
        """Return the same curve walked the other way."""
        return Ring(tuple(segment.reversed() for segment in reversed(self.segments)))

    def oriented(self, *, is_counter_clockwise: bool) -> Ring:
        """Return the ring running the way asked for."""
        return self if (self.signed_area_mm2 > 0) == is_counter_clockwise else self.reversed()

    def mapped(self, move: Callable[[Point], Point], *, keeps_circles: bool = True, mirrors: bool = False) -> Ring:
        """Return the ring under the affine map `move`; arcs become cubics unless `keeps_circles`."""
        pieces: Iterable[Segment] = self.segments
        if not keeps_circles:
            pieces = (cubic for segment in self.segments for cubic in as_cubics(segment))
        return Ring(tuple(mapped(s, move, keeps_circles=keeps_circles, mirrors=mirrors) for s in pieces))

    def as_circle(self) -> tuple[Point, float] | None:
        """Return (centre, radius) when every piece lies on one circle, else None."""
        arcs = [segment for segment in self.segments if isinstance(segment, Arc)]
        if len(arcs) != len(self.segments):
            return None
        centre, radius = arcs[0].centre, arcs[0].radius
        slack = 1e-4 * radius
        is_one = all(math.dist(a.centre, centre) < slack and abs(a.radius - radius) < slack for a in arcs)
        return (centre, radius) if is_one else None


@dataclass(frozen=True, slots=True)
class Outline:
    """One shape: an exterior (made counter-clockwise) and cut-outs (made clockwise).

    It is not checked here that rings do not cross; `check_outline` does that where shapely is at hand.

    Raises:
        OutlineError: A ring encloses no area.
    """

    exterior: Ring
    cutouts: tuple[Ring, ...] = ()

    def __post_init__(self) -> None:
        turned = []
        for ring, is_cutout in ((self.exterior, False), *((ring, True) for ring in self.cutouts)):
            area = ring.signed_area_mm2
            if not abs(area) > 0:
                raise OutlineError("an outline encloses no area; give at least three points that are not in line.")
            turned.append(ring.reversed() if (area > 0) == is_cutout else ring)
        object.__setattr__(self, "exterior", turned[0])
        object.__setattr__(self, "cutouts", tuple(turned[1:]))

    @staticmethod
    def from_points(exterior: ArrayLike, cutouts: Sequence[ArrayLike] = ()) -> Outline:
        """Return the polygonal outline through the given (N, 2) points."""
        return Outline(Ring.from_points(exterior), tuple(Ring.from_points(points) for points in cutouts))

    @staticmethod
    def rectangle(x0: float, y0: float, x1: float, y1: float) -> Outline:
        """Return an axis-parallel rectangle."""
        return Outline(Ring.rectangle(x0, y0, x1, y1))

    @staticmethod
    def from_polygon(polygon: Polygon) -> Outline:
        """Return a shapely polygon as an outline of straight pieces."""
        return Outline.from_points(
            np.asarray(polygon.exterior.coords), [np.asarray(ring.coords) for ring in polygon.interiors]
        )

    @property
    def rings(self) -> tuple[Ring, ...]:
        """Return the exterior and then the cut-outs."""
        return (self.exterior, *self.cutouts)

    @property
    def area_mm2(self) -> float:
        """Return the net area: exterior less cut-outs."""
        return math.fsum(ring.signed_area_mm2 for ring in self.rings)

    @property
    def perimeter_mm(self) -> float:
        """Return the length of all edges, cut-outs included."""
        return math.fsum(ring.perimeter_mm for ring in self.rings)

    @property
    def centroid(self) -> Point:
        """Return the centre of the net area."""
        mx, my = (math.fsum(column) for column in zip(*(ring.moments_mm3 for ring in self.rings), strict=True))
        return (mx / self.area_mm2, my / self.area_mm2)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Return (x least, y least, x greatest, y greatest); lines and arcs exactly, cubics to 0.001 mm."""
        points = [point for segment in self.exterior.segments for point in extreme_points(segment, FINE_MM)]
        xs, ys = zip(*points, strict=True)
        return min(xs), min(ys), max(xs), max(ys)

    @property
    def size_mm(self) -> tuple[float, float]:
        """Return width and height of the bounding box."""
        x0, y0, x1, y1 = self.bounds
        return x1 - x0, y1 - y0

    def mapped(self, move: Callable[[Point], Point], *, keeps_circles: bool = True, mirrors: bool = False) -> Outline:
        """Return the outline under an affine map; see `Ring.mapped`."""
        exterior, *cutouts = (r.mapped(move, keeps_circles=keeps_circles, mirrors=mirrors) for r in self.rings)
        return Outline(exterior, tuple(cutouts))

    def placed(self, pose: Pose) -> Outline:
        """Return the outline after the rigid move `pose`."""
        return self.mapped(pose.moved, mirrors=pose.is_flipped)

    def to_polygon(self, tolerance_mm: float = FINE_MM) -> Polygon:
        """Return a shapely polygon whose chords stay within `tolerance_mm` of the curves."""
        from shapely.geometry import Polygon

        exterior, *cutouts = (ring.flattened(tolerance_mm) for ring in self.rings)
        return Polygon(exterior, cutouts)

    def as_json(self) -> dict[str, Any]:
        """Return the outline with its curves, for `outlines/NAME.json`; `from_json` reads it back."""
        return {"exterior": _ring_json(self.exterior), "cutouts": [_ring_json(ring) for ring in self.cutouts]}

    @staticmethod
    def from_json(data: dict[str, Any]) -> Outline:
        """Return the outline that `as_json` wrote.

        Raises:
            OutlineError: `data` is not of that form.
        """
        try:
            outline = Outline(_ring_from_json(data["exterior"]), tuple(_ring_from_json(r) for r in data["cutouts"]))
            _refuse_far(outline)
            return outline
        except OutlineError as error:
            raise OutlineError(f"a stored outline cannot be read: {str(error).rstrip('.')}.") from error
        except (KeyError, TypeError, ValueError, IndexError, ArithmeticError, AttributeError) as error:
            raise OutlineError("a stored outline cannot be read: it is not written as Sheetwood does it.") from error


@dataclass(frozen=True, slots=True)
class TracedOutline:
    """An outline as a trace gives it, with how sure it is (one standard deviation each)."""

    outline: Outline
    sigma_edge_mm: float
    sigma_area_mm2: float


def check_outline(outline: Outline, *, what: str = "the outline") -> None:
    """Do nothing if no ring crosses itself or another and cut-outs lie inside.

    Raises:
        OutlineError: With the place of the first fault.
    """
    from shapely.errors import ShapelyError
    from shapely.validation import explain_validity

    try:
        polygon = outline.to_polygon()
    except (ShapelyError, ValueError, ArithmeticError, MemoryError) as error:
        raise OutlineError(f"{what} is no shape: too few points, or some that cannot be.") from error
    if not polygon.is_valid:
        raise OutlineError(f"{what} is no simple shape: {fault_in_words(explain_validity(polygon))}")


def _refuse_far(outline: Outline) -> None:
    for x, y in (point for ring in outline.rings for segment in ring.segments for point in control_points(segment)):
        if not max(abs(x), abs(y)) <= FARTHEST_MM:
            raise OutlineError(f"it goes through ({x:.6g}, {y:.6g}) mm, farther out than any part reaches")


_FAULTS = {
    "Self-intersection": "its edge crosses itself",
    "Ring Self-intersection": "its edge touches itself",
    "Hole lies outside shell": "a cut-out lies outside",
    "Holes are nested": "one cut-out lies within another",
    "Interior is disconnected": "its cut-outs divide it",
}


def fault_in_words(said: str) -> str:
    """Return GEOS' words, such as `Self-intersection[12.5 40]`, as a sentence with the place."""
    fault, _, rest = said.partition("[")
    words = _FAULTS.get(fault.strip(), fault.strip().lower())
    try:
        x, y = (float(number) for number in rest.rstrip("]").split()[:2])
    except ValueError:
        return f"{words}; draw it without crossings."
    return f"{words} at ({x:.1f}, {y:.1f}) mm; draw it without crossings."


def _cos_sin(angle_deg: float) -> tuple[float, float]:
    """Return cosine and sine, exact at quarter turns so that an exact fit stays exact."""
    turns, rest = divmod(angle_deg, 90.0)
    cos, sin = math.cos(math.radians(rest)), math.sin(math.radians(rest))
    for _ in range(int(turns) % 4):
        cos, sin = -sin, cos
    return cos, sin


def _ring_json(ring: Ring) -> dict[str, Any]:
    """First point, then one list per piece: line [x, y], arc [x, y, bulge], cubic [x1, y1, x2, y2, x, y]."""
    pieces: list[list[float]] = []
    for segment in ring.segments:
        match segment:
            case Line(_, end):
                pieces.append([*end])
            case Arc(_, end, bulge):
                pieces.append([*end, bulge])
            case Cubic(_, first, second, end):
                pieces.append([*first, *second, *end])
    return {"start": [*ring.segments[0].start], "pieces": pieces}


def _ring_from_json(data: dict[str, Any]) -> Ring:
    at: Point = (float(data["start"][0]), float(data["start"][1]))
    segments: list[Segment] = []
    for piece in data["pieces"]:
        numbers = [float(number) for number in piece]
        match numbers:
            case [x, y]:
                segments.append(Line(at, (x, y)))
            case [x, y, bulge]:
                segments.append(Arc(at, (x, y), bulge))
            case [x1, y1, x2, y2, x, y]:
                segments.append(Cubic(at, (x1, y1), (x2, y2), (x, y)))
            case _:
                raise OutlineError(f"a piece has {len(numbers)} numbers; a line has 2, an arc 3, a cubic 6")
        at = segments[-1].end
    return Ring(tuple(segments))
