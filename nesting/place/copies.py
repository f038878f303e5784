"""What gets placed: a copy of a part, or a couple of copies that must lie side by side."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import shapely
from shapely import affinity
from shapely.geometry import MultiPolygon, Polygon

from nesting.place.layout_rules import NestRules
from nesting.place.search_shapes import grown_polygon
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline, Pose

SAME_SHARE = 1e-6
"""Shapes that differ by less than this share of their area are one."""


@dataclass(frozen=True, slots=True, eq=False)
class Arrangement:
    """One way a piece can look: its grown polygon and the same not grown, its members' poses in it, its grain."""

    polygon: Polygon | MultiPolygon
    bare: Polygon | MultiPolygon
    members: tuple[tuple[str, Pose], ...]
    grain_deg: float


@dataclass(frozen=True, slots=True, eq=False)
class Kind:
    """Pieces that can stand for each other: their arrangements, and how far the grain may be off.

    `turns_deg` lists the turns allowed, where these do not follow from the grain.
    """

    arrangements: tuple[Arrangement, ...]
    tolerance_deg: float
    turns_deg: tuple[float, ...] | None = None


@dataclass(frozen=True, slots=True)
class Piece:
    """One thing to place: number of its kind, and the copy number of each member."""

    kind: int
    copies: tuple[tuple[str, int], ...]


def make_pieces(
    parts: Sequence[Part], rules: NestRules, *, pinned: Collection[tuple[str, int]] = ()
) -> tuple[list[Kind], list[Piece]]:
    """Return all kinds, and one piece per copy or couple of copies, in the order of `parts`, without those pinned.

    Raises:
        OutlineError: An outline that crosses itself.
    """
    least_area = min((part.outline.area_mm2 for part in parts), default=0.0)
    grown = {part.name: _centred_shapes(part, rules, least_guest_mm2=least_area) for part in parts}
    kinds: list[Kind] = []
    pieces: list[Piece] = []
    part_of = {part.name: part for part in parts}
    taken = set(pinned)
    for first, second in rules.side_by_side:
        if first not in part_of or second not in part_of:
            continue
        one, other = part_of[first], part_of[second]
        for copy in range(1, min(one.copies, other.copies) + 1):
            if taken & {(first, copy), (second, copy)}:
                continue
            flips = (one.is_copy_flipped(copy), other.is_copy_flipped(copy))
            kinds.append(_couple(one, other, flips, grown))
            pieces.append(Piece(len(kinds) - 1, ((first, copy), (second, copy))))
            taken |= {(first, copy), (second, copy)}
    for part in parts:
        numbers: dict[bool | None, int] = {}
        for copy in range(1, part.copies + 1):
            if (part.name, copy) in taken:
                continue
            flip = part.is_copy_flipped(copy)
            if flip not in numbers:
                numbers[flip] = len(kinds)
                kinds.append(_single(part, flip, grown[part.name]))
            pieces.append(Piece(numbers[flip], ((part.name, copy),)))
    return kinds, pieces


@dataclass(frozen=True, slots=True, eq=False)
class _Grown:
    """A part's polygon grown and bare, about the centre of its box, so that where it lies on the plan is nothing."""

    polygon: Polygon
    bare: Polygon
    centre: tuple[float, float]

    def centred(self, pose: Pose) -> Pose:
        """Return what `pose`, meant for the shape about its centre, is for the part in its own frame."""
        x, y = pose.moved((-self.centre[0], -self.centre[1]))
        return Pose(x, y, pose.angle_deg, pose.is_flipped)


def _centred_shapes(part: Part, rules: NestRules, *, least_guest_mm2: float) -> _Grown:
    x0, y0, x1, y1 = part.outline.bounds
    centre = ((x0 + x1) / 2, (y0 + y1) / 2)
    moved = replace(part, outline=part.outline.placed(Pose(-centre[0], -centre[1])))
    bare = grown_polygon(moved.outline, grow_mm=0.0, what=f"part {part.name}")
    return _Grown(search_polygon(moved, rules, least_guest_mm2=least_guest_mm2), bare, centre)


def search_polygon(part: Part, rules: NestRules, *, least_guest_mm2: float) -> Polygon:
    """Return the part's polygon grown by half the gap, with only those cut-outs that may take another part.

    With a saw, a cut-out keeps a round spot free for the entry hole, or is closed where none fits.
    """
    outline = part.outline
    keeps = rules.allows_part_in_cutout
    holes = [ring for ring in outline.cutouts if keeps and -ring.signed_area_mm2 > max(least_guest_mm2, 1e-9)]
    what = f"part {part.name}"
    polygon = grown_polygon(outline, grow_mm=rules.gap_mm / 2, what=what)
    kept = [Outline(ring).to_polygon().representative_point() for ring in holes]
    open_holes = []
    for ring in polygon.interiors:
        hole = Polygon(ring)
        if hole.area < least_guest_mm2 or not any(hole.covers(point) for point in kept):
            continue
        open_holes += _with_entry(hole, rules) if rules.needs_entry_hole else [hole]
    return Polygon(polygon.exterior, [hole.exterior for hole in open_holes])


def _with_entry(hole: Polygon, rules: NestRules) -> list[Polygon]:
    """Return what is left of a cut-out beside a round spot for the entry hole in its remotest corner."""
    radius = rules.entry_hole_mm / 2
    centres = hole.buffer(-radius)
    if centres.is_empty:
        return []
    middle = hole.representative_point()
    corners = [corner for piece in getattr(centres, "geoms", [centres]) for corner in piece.exterior.coords]
    spot = max(corners, key=lambda corner: (middle.distance(shapely.Point(corner)), corner))
    rest = hole.difference(shapely.Point(spot).buffer(radius * 1.02, quad_segs=4))
    return [Polygon(piece.exterior) for piece in getattr(rest, "geoms", [rest]) if piece.area > 0]


def _single(part: Part, flip: bool | None, grown: _Grown) -> Kind:
    ways: list[Arrangement] = []
    for is_flipped in (False, True) if flip is None else (flip,):
        pose = Pose(is_flipped=is_flipped)
        members = ((part.name, grown.centred(pose)),)
        polygon, bare = placed(grown.polygon, pose), placed(grown.bare, pose)
        way = Arrangement(polygon, bare, members, _grain_after(part, pose))
        if not ways or not is_same_shape(way, ways[0]):
            ways.append(way)
    return Kind(tuple(ways), part.grain_tolerance_deg)


def is_same_shape(one: Arrangement, other: Arrangement) -> bool:
    """Return whether the two are the same shape along the grain, possibly after a half-turn."""
    if len(one.members) > 1:
        return False
    base = _centred(affinity.rotate(one.polygon, -one.grain_deg, origin=(0, 0)))
    for turn in (0, 180):
        against = _centred(affinity.rotate(other.polygon, turn - other.grain_deg, origin=(0, 0)))
        if base.centroid.distance(against.centroid) > 1e-3 * base.length:
            continue  # spares most of the dear comparisons
        if base.symmetric_difference(against).area < SAME_SHARE * base.area:
            return True
    return False


def _centred(polygon: Polygon | MultiPolygon) -> Polygon | MultiPolygon:
    x0, y0, x1, y1 = polygon.bounds
    return affinity.translate(polygon, -(x0 + x1) / 2, -(y0 + y1) / 2)


def placed(polygon: Polygon | MultiPolygon, pose: Pose) -> Polygon | MultiPolygon:
    """Return a polygon after a rigid move."""
    bare = Pose(0.0, 0.0, pose.angle_deg, pose.is_flipped)
    (a, d), (b, e) = bare.moved((1.0, 0.0)), bare.moved((0.0, 1.0))
    return affinity.affine_transform(polygon, [a, b, d, e, pose.x_mm, pose.y_mm])


def _grain_after(part: Part, pose: Pose) -> float:
    return ((180.0 - part.grain_deg if pose.is_flipped else part.grain_deg) + pose.angle_deg) % 180.0


def _couple(one: Part, other: Part, flips: tuple[bool | None, bool | None], grown: dict[str, _Grown]) -> Kind:
    """Return the ways two parts can lie beside each other, grain along x: across the grain, then along it."""
    ways = []
    for axis in ("across", "along"):
        for turn, is_flipped in ((0, flips[1]), (180, flips[1])):
            poses = [_grain_pose(one, flips[0] or False, 0.0), _grain_pose(other, is_flipped or False, turn)]
            shapes = [placed(grown[p.name].polygon, pose) for p, pose in zip((one, other), poses, strict=True)]
            poses[1] = _beside(shapes, poses[1], axis)
            shapes[1] = placed(grown[other.name].polygon, poses[1])
            bare = [placed(grown[p.name].bare, pose) for p, pose in zip((one, other), poses, strict=True)]
            members = tuple((p.name, grown[p.name].centred(pose)) for p, pose in zip((one, other), poses, strict=True))
            ways.append(Arrangement(_together(shapes), _together(bare), members, 0.0))
    return Kind(tuple(ways), min(one.grain_tolerance_deg, other.grain_tolerance_deg))


def _together(shapes: Sequence[Polygon | MultiPolygon]) -> MultiPolygon:
    return MultiPolygon([piece for shape in shapes for piece in getattr(shape, "geoms", [shape])])


def _grain_pose(part: Part, is_flipped: bool, turn: float) -> Pose:
    grain = 180.0 - part.grain_deg if is_flipped else part.grain_deg
    return Pose(0.0, 0.0, turn - grain, is_flipped)


def _beside(shapes: list[Polygon | MultiPolygon], pose: Pose, axis: str) -> Pose:
    """Return `pose` moved so that the second shape lies above (or right of) the first, just touching."""
    (ax0, ay0, ax1, ay1), (bx0, by0, bx1, by1) = shapes[0].bounds, shapes[1].bounds
    if axis == "across":
        dx, dy = (ax0 + ax1 - bx0 - bx1) / 2, ay1 - by0
    else:
        dx, dy = ax1 - bx0, (ay0 + ay1 - by0 - by1) / 2
    return Pose(pose.x_mm + dx, pose.y_mm + dy, pose.angle_deg, pose.is_flipped)
