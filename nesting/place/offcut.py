"""What is left of a board when its parts are cut out: pieces with an outline and the mass that remains."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from nesting.place.layout import BoardLayout, Placement
from nesting.wood.board import BendTest, Blemish, Board
from nesting.wood.density import USUAL, Wood, areal_density, board_gradient
from nesting.wood.estimate import UNIFORM_SIGMA, Estimate
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline, Pose

if TYPE_CHECKING:
    from shapely.geometry import Polygon
    from shapely.geometry.base import BaseGeometry

LEAST_WIDTH_MM = 12.0
"""Tongues narrower than this are no use and are taken off an offcut (common practice, no source)."""
LEAST_AREA_MM2 = 2500.0
"""Pieces smaller than this are scrap (common practice, no source)."""
_CHORD_MM = 0.02


def offcuts(
    board: Board,
    layout: BoardLayout,
    parts: Iterable[Part],
    *,
    kerf_mm: float,
    least_width_mm: float = LEAST_WIDTH_MM,
    least_area_mm2: float = LEAST_AREA_MM2,
    wood: Wood = USUAL,
) -> tuple[Board, ...]:
    """Return the usable pieces left of a board, largest first, named after it.

    Each has the outline in its own frame (lower left corner of its box at the origin), the flaws that lie
    in it, and, where the board was weighed, the mass that its place on the board gives; the uncertainty of
    that mass stands as its scale step. A bend test stays with the load that its width bears, and
    a tone rises as the piece is shorter. A bow is inherited by
    the square of the length, a price by the area.
    """
    pieces = _left_over(board, layout, parts, kerf_mm, least_width_mm)
    useful = sorted((p for p in pieces if p.area >= least_area_mm2), key=lambda p: -p.area)
    return tuple(_offcut(board, piece, f"{board.name}-{number}", wood) for number, piece in enumerate(useful, start=1))


def _left_over(
    board: Board, layout: BoardLayout, parts: Iterable[Part], kerf_mm: float, least_width_mm: float
) -> list[Polygon]:
    from shapely import unary_union
    from shapely.geometry import Polygon

    cut = _cut_out(layout.placements, parts, kerf_mm)
    left: BaseGeometry = board.shape.to_polygon(_CHORD_MM).difference(unary_union(cut))
    half = least_width_mm / 2
    opened = left.buffer(-half).buffer(half, join_style="mitre").intersection(left).simplify(_CHORD_MM)
    return [piece for piece in getattr(opened, "geoms", [opened]) if isinstance(piece, Polygon) and not piece.is_empty]


def as_sawn(board: Board, placements: Sequence[Placement], parts: Iterable[Part], *, gap_mm: float) -> Board:
    """Return a board with what is cut out of it as flaws, each with the gap round it; its sizes and mass stay."""
    holes = _cut_out(placements, parts, gap_mm)
    flaws = (
        Blemish(Outline.from_polygon(hole), text=f"{p.part} {p.copy} is cut out of it")
        for p, hole in zip(placements, holes, strict=True)
    )
    return replace(board, blemishes=(*board.blemishes, *flaws))


def _cut_out(placements: Iterable[Placement], parts: Iterable[Part], grown_mm: float) -> list[Polygon]:
    """Return what parts take from a board: cut-outs fall out as small pieces, so their exteriors, grown."""
    from shapely.geometry import Polygon

    by_name = {part.name: part for part in parts}
    rings = (by_name[p.part].outline.placed(p.pose).exterior.flattened(_CHORD_MM) for p in placements)
    return [Polygon(ring).buffer(grown_mm) for ring in rings]


def _offcut(board: Board, piece: Polygon, name: str, wood: Wood) -> Board:
    x0, y0, x1, y1 = piece.bounds
    shift = Pose(-x0, -y0)
    mass = _mass(board, piece, wood)
    return replace(
        board,
        name=name,
        length_mm=x1 - x0,
        width_mm=y1 - y0,
        mass_g=None if mass is None else mass.value,
        mass_resolution_g=board.mass_resolution_g if mass is None else mass.sigma / UNIFORM_SIGMA,
        bow_mm=board.bow_mm * ((x1 - x0) / board.length_mm) ** 2,
        outline=Outline.from_polygon(piece).placed(shift),
        blemishes=tuple(
            replace(b, outline=b.outline.placed(shift))
            for b in board.blemishes
            if b.outline.to_polygon().intersects(piece)
        ),
        end_readings_g=None,
        bend_test=_bend_test(board, x1 - x0, y1 - y0),
        # A shorter piece of the same wood sounds higher.
        tone_hz=None if board.tone_hz is None else board.tone_hz * board.length_mm / (x1 - x0),
        price=None if board.price is None else board.price * piece.area / board.shape.area_mm2,
        notes="; ".join(filter(None, (f"offcut of {board.name}", board.notes))),
    )


def _bend_test(board: Board, length_mm: float, width_mm: float) -> BendTest | None:
    """Return the board's bend test as a piece of it would have answered: the load goes with the width that bears it.

    A piece shorter than the span could not have been tested.
    """
    test = board.bend_test
    if test is None or test.span_mm > length_mm:
        return None
    return replace(test, load_g=test.load_g * width_mm / board.width_mm)


def _mass(board: Board, piece: Polygon, wood: Wood) -> Estimate | None:
    if board.known_mass_g is None:
        return None
    areal = areal_density(board, wood=wood)
    gradient = board_gradient(board, wood=wood).change
    middle = piece.centroid.x / board.length_mm - 0.5
    return areal * piece.area * (gradient * middle + 1.0)


def side_file(board: Board) -> dict[str, Any] | None:
    """Return what a row of the rack cannot hold, for `rack/NAME.json`; None where there is nothing."""
    if board.outline is None and not board.blemishes:
        return None
    return {
        "outline": None if board.outline is None else board.outline.as_json(),
        "blemishes": [blemish_json(blemish) for blemish in board.blemishes],
    }


def blemish_json(blemish: Blemish) -> dict[str, Any]:
    """Return a blemish as it lies in `rack/NAME.json`."""
    return {"outline": blemish.outline.as_json(), "is_soft": blemish.is_soft, "text": blemish.text}


def blemish_from_json(data: Mapping[str, Any]) -> Blemish:
    """Return a blemish from what lies in `rack/NAME.json`.

    Raises:
        ValueError, KeyError, TypeError: It is none.
    """
    return Blemish(Outline.from_json(data["outline"]), bool(data.get("is_soft", False)), str(data.get("text", "")))


def rack_after(boards: Sequence[Board], cut: Mapping[str, Sequence[Board]]) -> tuple[Board, ...]:
    """Return the rack with each cut board replaced by what is left of it, names kept apart.

    No piece is called as a board that was cut: what was cut from that would seem to lie on the piece.
    """
    taken = {board.name.casefold() for board in boards}
    rack: list[Board] = []
    for board in boards:
        for piece in cut.get(board.name, (board,)):
            name, number = piece.name, 1
            while name.casefold() in taken and piece is not board:
                number += 1
                name = f"{piece.name}-{number}"
            taken.add(name.casefold())
            rack.append(piece if name == piece.name else replace(piece, name=name))
    return tuple(rack)
