"""A part as it was cut against its outline: where to sand, its area, and what it should weigh.

A scan tells how the edge lies; that a part fits says nothing of how strong its wood or its joints are.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from nesting.wood.ascut.deviations import EdgeDeviation, Place, edge_deviation, overall, places_off
from nesting.wood.ascut.edge_samples import EdgeSamples, outline_samples
from nesting.wood.ascut.lay_on import Laid, lay_on
from nesting.wood.part import Part
from vectorize.basics.errors import PartError
from vectorize.basics.notes import Note
from vectorize.shapes.outline import Outline, Pose
from vectorize.shapes.segment import Point, Points

TOLERANCE_MM = 0.22
"""Half way between 0.3 mm, which is always to be told, and 0.15 mm, which never is."""
EDGE_SIGMA_PX, EDGE_SIGMA_MM = 0.12, 0.015
"""How far an edge on a scan may be told wrongly beside the scale: by noise and the fit, and by what lies on the glass
askew (measured on drawn scans, `python -m tests.benchmarks.planted_errors`)."""
NO_SUCH_AREA, NO_SUCH_MM = 0.3, 1.5
"""What differs by more in area, or lies farther off as root mean square, is another part."""
SCALE_SHARE_OF_COST, SCALE_MM = 0.5, 0.1
"""The scale is doubted where another one halves the misfit, and moves the ends by so much."""
PROFILE_MM = 2.0
"""A deviation every so many millimetres of edge is given to programs."""


@dataclass(frozen=True, slots=True, eq=False)
class CutEdge:
    """The edge of a part on a scan, in mm: (N, 2) points of the exterior, then of each hole.

    `px_mm` is a pixel, `scale_sigma` how unsure the scale is as a share, `area_mm2` the area without the holes.
    """

    rings: tuple[Points, ...]
    area_mm2: float
    px_mm: float
    scale_sigma: float


@dataclass(frozen=True, slots=True, eq=False)
class AsCut:
    """What a scan says of a part: how it lies, deviations along its edges, and the places beyond the tolerance.

    `laid` takes the scan's mm to the outline's frame. Deviations are positive where wood is left.
    """

    part: str
    outline: Outline
    laid: Laid
    edges: tuple[EdgeDeviation, ...]
    places: tuple[Place, ...]
    tolerance_mm: float
    area_mm2: float
    sigma_area_mm2: float
    sigma_mm: float
    notes: tuple[Note, ...]

    @property
    def area_share(self) -> float:
        """Return the area as cut over the drawn one."""
        return self.area_mm2 / self.outline.area_mm2

    @property
    def lower_left(self) -> Point:
        """Return the corner of the box round the outline from which places are told."""
        return self.outline.bounds[:2]

    def as_json(self) -> dict[str, Any]:
        """Return fit, deviations, area and places as the documented `check` output spells them."""
        mean, rms, most, least = overall(self.edges)
        pose: Pose = self.laid.pose
        return {
            "fit": {
                "x_mm": round(pose.x_mm, 4),
                "y_mm": round(pose.y_mm, 4),
                "angle_deg": round(pose.angle_deg, 4),
                "flipped": pose.is_flipped,
                "scale_share": round(self.laid.scale_share, 6),
            },
            "tolerance_mm": self.tolerance_mm,
            "edge": {
                "mean_mm": round(mean, 4),
                "rms_mm": round(rms, 4),
                "most_mm": round(most, 4),
                "least_mm": round(least, 4),
                "sigma_mm": round(self.sigma_mm, 4),
            },
            "area": {
                "drawn_mm2": round(self.outline.area_mm2, 2),
                "as_cut_mm2": round(self.area_mm2, 2),
                "sigma_mm2": round(self.sigma_area_mm2, 2),
            },
            "places": [self._place_json(number, place) for number, place in enumerate(self.places, start=1)],
            "profile": [row for edge in self.edges for row in _profile(edge)],
        }

    def _place_json(self, number: int, place: Place) -> dict[str, Any]:
        row: dict[str, Any] = {
            "number": number,
            "kind": place.kind,
            "ring": place.ring,
            "at": [round(v, 3) for v in place.at],
            "off_mm": round(place.off_mm, 4),
            "sigma_mm": round(place.sigma_mm, 4),
            "over_mm": round(place.over_mm, 2),
            "text": place_words(place, self.lower_left),
        }
        return row if place.towards is None else row | {"towards": [round(v, 4) for v in place.towards]}


def _profile(edge: EdgeDeviation) -> list[dict[str, Any]]:
    every = max(1, round(PROFILE_MM / edge.samples.step_mm))
    return [
        {"ring": edge.ring, "at": np.round(at, 3).tolist(), "off_mm": round(float(off), 4)}
        for at, off, judged in list(zip(edge.samples.points, edge.off_mm, edge.judged, strict=True))[::every]
        if judged
    ]


def compare_as_cut(part: Part, cut: CutEdge, *, tolerance_mm: float = TOLERANCE_MM) -> AsCut:
    """Return what the scanned edge of a part says against its outline, laid on it by turn, shift and mirror alone.

    Args:
        part: With the outline as it is to be cut.
        cut: The edge as scanned.
        tolerance_mm: What is off by more becomes a place.

    Raises:
        PartError: What was scanned is another part, or a tolerance that is none.
    """
    if not (math.isfinite(tolerance_mm) and tolerance_mm > 0):
        raise PartError(f"the tolerance is {tolerance_mm:g} mm; give a length above zero, such as 0.2 mm.")
    outline = part.outline
    _refuse_other_area(part, cut)
    samples = outline_samples(outline)
    laid = lay_on(samples, cut.rings)
    moved = [_moved(ring, laid.pose) for ring in cut.rings]
    pairs, missing, extra = _matched(samples, moved)
    edges = tuple(edge_deviation(k, samples[k], moved[m], px_mm=cut.px_mm) for k, m in pairs)
    _refuse_misfit(part, edges)
    found = [place for edge in edges for place in places_off(edge, tolerance_mm=tolerance_mm)]
    centre = samples[0].points.mean(axis=0)
    places = tuple(_with_doubt(place, edges, cut, centre) for place in sorted(found, key=lambda p: -abs(p.off_mm)))
    perimeter = outline.perimeter_mm
    sigma_mm = _edge_sigma(cut)
    sigma_area = math.hypot(2 * cut.scale_sigma * cut.area_mm2, EDGE_SIGMA_PX / 2 * cut.px_mm * perimeter)
    notes = (
        *_hole_notes(part, samples, missing, [moved[m] for m in extra]),
        *_fit_notes(part, laid, outline, cut, tolerance_mm),
        *_over_notes(part, places, tolerance_mm),
    )
    return AsCut(part.name, outline, laid, edges, places, tolerance_mm, cut.area_mm2, sigma_area, sigma_mm, notes)


def _refuse_other_area(part: Part, cut: CutEdge) -> None:
    share = cut.area_mm2 / part.outline.area_mm2
    if not 1 - NO_SUCH_AREA < share < 1 + NO_SUCH_AREA:
        raise PartError(
            f"what lies on the scan has {cut.area_mm2:.0f} mm², but part {part.name} has "
            f"{part.outline.area_mm2:.0f} mm²; scan that part, point at it with --at X,Y, or check the scale of "
            "the scan."
        )


def _refuse_misfit(part: Part, edges: Sequence[EdgeDeviation]) -> None:
    _, rms, _, _ = overall(edges)
    if rms > NO_SUCH_MM:
        raise PartError(
            f"what lies on the scan does not look like part {part.name}: laid on it as well as it goes, its edge is "
            f"still {rms:.1f} mm off on average. Scan that part, point at it with --at X,Y, or check the scale of the "
            "scan."
        )


def _edge_sigma(cut: CutEdge) -> float:
    return math.hypot(EDGE_SIGMA_PX * cut.px_mm, EDGE_SIGMA_MM)


def _with_doubt(place: Place, edges: Sequence[EdgeDeviation], cut: CutEdge, centre: Points) -> Place:
    """Return a place with its doubt: the edge as seen, and the scale, which errs more the farther out an edge lies."""
    if place.towards is not None:
        way = np.array(place.towards) / math.hypot(*place.towards)
    elif place.kind == "hole-size":
        way = np.zeros(2)
    else:
        normals = next(edge.samples.normals for edge in edges if edge.ring == place.ring)
        way = normals[place.samples[len(place.samples) // 2]]
    out = abs(float((np.array(place.at) - centre) @ way))
    return replace(place, sigma_mm=math.hypot(_edge_sigma(cut), cut.scale_sigma * out))


def _moved(points: Points, pose: Pose) -> Points:
    turn = math.radians(pose.angle_deg)
    cos, sin = math.cos(turn), math.sin(turn)
    x = -points[:, 0] if pose.is_flipped else points[:, 0]
    return np.column_stack([cos * x - sin * points[:, 1] + pose.x_mm, sin * x + cos * points[:, 1] + pose.y_mm])


def _matched(
    samples: Sequence[EdgeSamples], rings: Sequence[Points]
) -> tuple[list[tuple[int, int]], list[int], list[int]]:
    """Return pairs of drawn and scanned rings, drawn cut-outs that were not found, and holes that are not drawn."""
    pairs, missing = [(0, 0)], []
    left = set(range(1, len(rings)))
    for number, drawn in enumerate(samples[1:], start=1):
        centre, size = drawn.points.mean(axis=0), float(np.ptp(drawn.points, axis=0).max())
        near = {m: float(np.hypot(*(_middle(rings[m]) - centre))) for m in left}
        fits = {m for m, away in near.items() if away < max(2.0, size / 4) and _is_as_large(rings[m], size)}
        if not fits:
            missing.append(number)
            continue
        best = min(fits, key=lambda m: near[m])
        left.discard(best)
        pairs.append((number, best))
    return pairs, missing, sorted(left)


def _middle(ring: Points) -> Points:
    return np.asarray((ring.min(axis=0) + ring.max(axis=0)) / 2, np.float64)


def _is_as_large(ring: Points, size_mm: float) -> bool:
    found = float(np.ptp(ring, axis=0).max())
    return abs(found - size_mm) < max(1.0, size_mm / 4)


def _hole_notes(
    part: Part, samples: Sequence[EdgeSamples], missing: Sequence[int], extra: Sequence[Points]
) -> list[Note]:
    corner = part.outline.bounds[:2]
    notes = [
        Note("hole-missing", f"part {part.name}: no hole was found {_where(_middle(samples[k].points), corner)}, where "
             "one is drawn; cut it, or clear it of dust and scan again.", "open", part.name)
        for k in missing
    ]  # fmt: skip
    return notes + [
        Note("hole-not-drawn", f"part {part.name}: there is a hole of {np.ptp(ring, axis=0).max():.1f} mm "
             f"{_where(_middle(ring), corner)} that is not drawn; it counts in the area.", "open", part.name)
        for ring in extra
    ]  # fmt: skip


def _fit_notes(part: Part, laid: Laid, outline: Outline, cut: CutEdge, tolerance_mm: float) -> list[Note]:
    notes = []
    half = max(outline.size_mm) / 2
    if laid.is_ambiguous:
        text = (
            f"part {part.name} lies about as well on its outline another way round; places are told for one of these "
            "ways, so mark one end before you scan."
        )
        notes.append(Note("lies-either-way", text, part=part.name))
    off = laid.scale_share - 1.0
    if abs(off) * half > SCALE_MM and laid.scaled_cost < SCALE_SHARE_OF_COST * laid.cost:
        text = (
            f"part {part.name} would fit better if the scan were {100 * abs(off):.2f} % "
            f"{'larger' if off > 0 else 'smaller'}; if the part is right, the scale is off: lay a steel rule beside it "
            "and give its length with --known."
        )
        notes.append(Note("scan-scale", text, "open", part.name))
    elif cut.scale_sigma * half > tolerance_mm / 2:
        text = (
            f"part {part.name}: the scale of the scan is known to {100 * cut.scale_sigma:.1f} %, "
            f"{cut.scale_sigma * half:.2f} mm at its far end; lay a steel rule beside it and give its length with "
            "--known to do better."
        )
        notes.append(Note("scan-scale-unsure", text, part=part.name))
    return notes


def _over_notes(part: Part, places: Sequence[Place], tolerance_mm: float) -> list[Note]:
    if not places:
        return []
    count = "1 place is" if len(places) == 1 else f"{len(places)} places are"
    worst = max(abs(place.off_mm) for place in places)
    text = f"part {part.name}: {count} off by more than {tolerance_mm:.2f} mm, the worst by {worst:.2f} mm."
    return [Note("off-outline", text, "open", part.name)]


def place_words(place: Place, corner: Point) -> str:
    """Return a place as it is said at the bench, in metric units, told from the outline's lower left `corner`."""
    where, off = _where(place.at, corner), abs(place.off_mm)
    match place.kind:
        case "proud":
            return f"{off:.2f} mm proud over {place.over_mm:.0f} mm of edge {where}: sand it down"
        case "short":
            return f"cut {off:.2f} mm short over {place.over_mm:.0f} mm of edge {where}: fill it, or leave it"
        case "hole-off":
            return f"the cut-out {where} lies {off:.2f} mm too far {_direction(place)}: open it there, and fill behind"
        case "hole-size":
            side = "small: open it up" if place.off_mm > 0 else "large: bush or fill it"
            return f"the cut-out {where} is {2 * off:.2f} mm too {side}"


def _where(at: Points | Point, corner: Point) -> str:
    x, y = float(at[0]) - corner[0], float(at[1]) - corner[1]
    return f"{max(x, 0.0):.0f} mm from the left, {max(y, 0.0):.0f} mm up"


def _direction(place: Place) -> str:
    x, y = place.towards or (1.0, 0.0)
    across = "right" if x > 0 else "left"
    along = "up" if y > 0 else "down"
    if abs(y) < 0.4 * abs(x):
        return across
    return along if abs(x) < 0.4 * abs(y) else f"{along} and {across}"
