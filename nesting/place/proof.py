"""The proof of a layout: shapely on the true outlines, sharing nothing with the search but what a margin is.

Outlines are flattened within 0.0002 mm. Two parts overlap, or one leaves the board, if the area in
common (or left over) exceeds 1e-6 mm²; a gap is kept if it falls short by less than 0.001 mm.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from nesting.place.layout import BoardLayout, Placement, Proof, Unplaced
from nesting.place.layout_rules import NestRules
from nesting.place.margins import edges_of
from nesting.wood.board import Board
from nesting.wood.part import FREE_GRAIN_DEG, Part
from vectorize.shapes.outline import Outline
from vectorize.shapes.segment import Line

CHORD_MM = 0.0002
AREA_MM2 = 1e-6
GAP_SLACK_MM = 1e-3
_ANGLE_SLACK_DEG = 1e-6
_BESIDE_MM = 1.0  # a couple counts as side by side when no more than this beyond the gap apart


def prove_layout(
    layouts: Sequence[BoardLayout],
    parts: Sequence[Part],
    boards: Sequence[Board],
    rules: NestRules,
    *,
    unplaced: Sequence[Unplaced] = (),
) -> Proof:
    """Return every fault of the layouts, in sentences; none means that they are proved.

    Checked: every copy there exactly once or listed in `unplaced`; material, thickness and tie to a
    board; direction of grain and hand; inside the board with margins kept; clear of blemishes; no overlap and the
    gap kept; entry holes in cut-outs that carry parts; couples side by side. Not checked: whether wood was wasted.
    """
    part_of = {part.name: part for part in parts}
    board_of = {board.name: board for board in boards}
    faults: list[str] = list(_count_faults(layouts, part_of, unplaced))
    least = math.inf
    for layout in layouts:
        board = board_of.get(layout.board)
        if board is None:
            faults.append(f"board {layout.board}: it is not among the boards.")
            continue
        known = [p for p in layout.placements if p.part in part_of]
        shapes = [part_of[p.part].outline.placed(p.pose).to_polygon(CHORD_MM) for p in known]
        wood = board.shape.to_polygon(CHORD_MM)
        edges = edges_of(wood)
        for placement, shape in zip(known, shapes, strict=True):
            part = part_of[placement.part]
            faults += _match_faults(part, board, placement)
            faults += _board_faults(part, board, rules, placement, shape, wood, edges)
        least = min(least, _least_gap(shapes))
        faults += _pair_faults(board, known, part_of, shapes, rules)
    faults += _couple_faults(layouts, part_of, rules)
    return Proof(tuple(faults), least)


def copy_label(placement: Placement) -> str:
    """Return what faults call a copy."""
    return f"part {placement.part} copy {placement.copy}"


def _count_faults(
    layouts: Sequence[BoardLayout], part_of: dict[str, Part], unplaced: Sequence[Unplaced]
) -> Iterator[str]:
    found = Counter((p.part, p.copy) for layout in layouts for p in layout.placements)
    found.update((u.part, u.copy) for u in unplaced)
    wanted = {(part.name, copy) for part in part_of.values() for copy in range(1, part.copies + 1)}
    for name, copy in sorted(wanted | set(found)):
        if (name, copy) not in wanted:
            yield f"part {name} copy {copy}: it was never asked for."
        elif found[name, copy] != 1:
            yield f"part {name} copy {copy}: it is there {found[name, copy]} times; expected once."


def _match_faults(part: Part, board: Board, placement: Placement) -> Iterator[str]:
    label, where = copy_label(placement), f"board {board.name}"
    # Tied to a board, a part takes one up to 8 % off in thickness; else 0.15 mm is the same thickness.
    allowed_mm = max(0.15, 0.08 * part.thickness_mm) if part.board == board.name else 0.15
    if part.material != board.material or abs(part.thickness_mm - board.thickness_mm) > allowed_mm + 1e-9:
        yield (
            f"{label}: {part.thickness_mm:g} mm {part.material} lies on {where}, "
            f"which is {board.thickness_mm:g} mm {board.material}."
        )
    if part.board is not None and part.board != board.name:
        yield f"{label}: it is tied to board {part.board} but lies on {where}."
    if part.boards and board.name not in part.boards:
        yield f"{label}: it may come from {' or '.join(part.boards)} but lies on {where}."
    wanted = part.is_copy_flipped(placement.copy)
    if wanted is not None and wanted != placement.pose.is_flipped:
        yield f"{label}: it must {'' if wanted else 'not '}be turned over."
    off = _grain_off_deg(part, board, placement)
    if part.grain_tolerance_deg < FREE_GRAIN_DEG and off > part.grain_tolerance_deg + _ANGLE_SLACK_DEG:
        yield f"{label}: its grain is {off:.2f} deg off; {part.grain_tolerance_deg:g} deg is allowed."


def _grain_off_deg(part: Part, board: Board, placement: Placement) -> float:
    angle = math.radians(part.grain_deg)
    along = (math.cos(angle) * (-1 if placement.pose.is_flipped else 1), math.sin(angle))
    turned = math.degrees(math.atan2(along[1], along[0])) + placement.pose.angle_deg
    off = (turned - board.grain_deg) % 180.0
    return min(off, 180.0 - off)


def _board_faults(
    part: Part,
    board: Board,
    rules: NestRules,
    placement: Placement,
    shape: Polygon,
    wood: Polygon,
    edges: BaseGeometry,
) -> Iterator[str]:
    label = f"{copy_label(placement)} on board {board.name}"
    is_curved = _is_curved(part.outline) or _is_curved(board.shape)
    if _is_real(shape.difference(wood), is_curved):
        yield f"{label}: it reaches past the edge of the board."
    else:
        to_edge = shape.distance(edges)
        if to_edge < rules.edges_mm - GAP_SLACK_MM:
            yield f"{label}: it is {to_edge:.3f} mm from the edge; {rules.edges_mm:g} mm is asked."
        to_end = min(shape.bounds[0] - wood.bounds[0], wood.bounds[2] - shape.bounds[2])
        if to_end < rules.ends_mm - GAP_SLACK_MM:
            yield f"{label}: it is {to_end:.3f} mm from the end; {rules.ends_mm:g} mm is asked."
    for number, blemish in enumerate(board.blemishes, 1):
        if blemish.is_soft and part.name in rules.on_soft_patches:
            continue
        flaw = blemish.outline.to_polygon(CHORD_MM)
        if _is_real(shape.intersection(flaw), _is_curved(part.outline) or _is_curved(blemish.outline)):
            yield f"{label}: it lies on blemish {number} ({blemish.text or 'no text'})."


def _pair_faults(
    board: Board, placements: Sequence[Placement], part_of: dict[str, Part], shapes: list[Polygon], rules: NestRules
) -> Iterator[str]:
    if len(shapes) < 2:
        return
    tree = shapely.STRtree(shapes)
    firsts, seconds = tree.query(shapes, predicate="dwithin", distance=max(rules.gap_mm, 0.0))
    for a, b in zip(firsts.tolist(), seconds.tolist(), strict=True):
        if a >= b:
            continue
        names = f"{copy_label(placements[a])} and {copy_label(placements[b])} on board {board.name}"
        is_curved = any(_is_curved(part_of[placements[k].part].outline) for k in (a, b))
        common = shapes[a].intersection(shapes[b])
        if _is_real(common, is_curved):
            yield f"{names}: they overlap by {common.area:.6f} mm2."
        elif shapes[a].distance(shapes[b]) < rules.gap_mm - GAP_SLACK_MM:
            yield f"{names}: they are {shapes[a].distance(shapes[b]):.4f} mm apart; {rules.gap_mm:g} mm is asked."
    yield from _cutout_faults(board, placements, shapes, tree, rules)


def _cutout_faults(
    board: Board, placements: Sequence[Placement], shapes: list[Polygon], tree: shapely.STRtree, rules: NestRules
) -> Iterator[str]:
    for host, shape in enumerate(shapes):
        for ring in shape.interiors:
            hole = Polygon(ring)
            guests = [
                k for k in tree.query(hole).tolist() if k != host and hole.covers(shapes[k].representative_point())
            ]
            if not guests:
                continue
            label = f"{copy_label(placements[host])} on board {board.name}"
            if not rules.allows_part_in_cutout:
                yield f"{label}: {copy_label(placements[guests[0]])} lies in its cut-out, which the rules forbid."
            elif rules.needs_entry_hole:
                waste = hole.difference(shapely.union_all([shapes[k] for k in guests]))
                # A hair less, because the round hole is tested through its chords.
                if waste.buffer(-(rules.entry_hole_mm / 2 - GAP_SLACK_MM)).is_empty:
                    yield f"{label}: no entry hole of {rules.entry_hole_mm:g} mm fits the waste of its cut-out."


def _couple_faults(layouts: Sequence[BoardLayout], part_of: dict[str, Part], rules: NestRules) -> Iterator[str]:
    places = {(p.part, p.copy): (layout.board, p) for layout in layouts for p in layout.placements}
    for first, second in rules.side_by_side:
        for copy in range(1, min(part_of[first].copies, part_of[second].copies) + 1):
            one, other = places.get((first, copy)), places.get((second, copy))
            if one is None or other is None:
                continue
            shapes = [part_of[p.part].outline.placed(p.pose).to_polygon(CHORD_MM) for _, p in (one, other)]
            if one[0] != other[0]:
                yield f"parts {first} and {second}, copy {copy}: they lie on different boards ({one[0]}, {other[0]})."
            elif shapes[0].distance(shapes[1]) > rules.gap_mm + _BESIDE_MM:
                yield f"parts {first} and {second}, copy {copy}: they do not lie side by side."


def _least_gap(shapes: list[Polygon]) -> float:
    if len(shapes) < 2:
        return math.inf
    tree = shapely.STRtree(shapes)
    boxes = [shapely.box(*shape.bounds) for shape in shapes]
    near_mm = 5.0
    while True:
        firsts, seconds = tree.query(boxes, predicate="dwithin", distance=near_mm)
        pairs = firsts < seconds
        found = shapely.distance(np.array(shapes)[firsts[pairs]], np.array(shapes)[seconds[pairs]])
        if found.size and found.min() <= near_mm:
            return float(found.min())
        near_mm *= 10  # nothing so near: look farther


def _is_real(common: BaseGeometry, is_curved: bool) -> bool:
    """Return whether an overlap is more than the last bits and, on curves, more than the chords explain."""
    if common.area <= AREA_MM2:
        return False
    return not is_curved or not common.buffer(-2 * CHORD_MM).is_empty


def _is_curved(outline: Outline) -> bool:
    pieces = itertools.chain.from_iterable(ring.segments for ring in outline.rings)
    return any(not isinstance(piece, Line) for piece in pieces)
