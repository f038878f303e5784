"""Results as the JSON contract has them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from nesting.balance.balance_report import difference_json, entry_json
from nesting.balance.ledger import Ledger
from nesting.balance.weights import WeightTable
from nesting.job.tracing import JobTrace
from nesting.place.layout import BoardLayout, Layout, Placement, Proof, Unplaced
from nesting.wood.board import Board
from nesting.wood.density import USUAL, Wood, board_density, board_gradient, unresolved_note
from nesting.wood.stiffness import board_modulus
from vectorize.basics.notes import Note
from vectorize.basics.units import LARGEST
from vectorize.shapes.alternative import Alternative
from vectorize.shapes.likeness import Likeness
from vectorize.shapes.outline import FINE_MM, Pose, Ring


def notes_result(notes: Iterable[Note]) -> list[dict[str, Any]]:
    """Return notes as JSON."""
    return [note.as_json() for note in notes]


def trace_result(trace: JobTrace, notes: Iterable[Note], likenesses: Iterable[Likeness] = ()) -> dict[str, Any]:
    """Return outlines as JSON: points in millimetres, chords within 0.001 mm of the curves.

    `likenesses` say which parts are one shape with an earlier one.
    """
    same = {
        like.name: {"part": like.same_as, "mirrored": like.is_mirrored, "worst_mm": round(like.worst_mm, 3)}
        for like in likenesses
    }
    parts = [
        {
            "name": stored.name,
            "plan": stored.plan,
            "outline": _points(stored.outline.exterior),
            "cutouts": [_points(ring) for ring in stored.outline.cutouts],
            "area_mm2": stored.outline.area_mm2,
            "perimeter_mm": stored.outline.perimeter_mm,
            "sigma_edge_mm": stored.traced.sigma_edge_mm,
            "sigma_area_mm2": stored.traced.sigma_area_mm2,
            "inside_px": list(stored.inside_px),
            "sure": round(stored.sure, 4),
            "alternatives": [_alternative(other) for other in stored.alternatives],
            "same_as": same.get(stored.name),
        }
        for stored in trace.outlines
    ]
    return {"parts": parts, "notes": notes_result(notes)}


def _alternative(other: Alternative) -> dict[str, Any]:
    shape = {"outline": _points(other.outline.exterior), "cutouts": [_points(ring) for ring in other.outline.cutouts]}
    return other.as_json() | shape


def _points(ring: Ring) -> list[list[float]]:
    return [[round(float(x), 6), round(float(y), 6)] for x, y in ring.flattened(FINE_MM)]


def weigh_result(table: WeightTable, notes: Iterable[Note]) -> dict[str, Any]:
    """Return weights as JSON, with all that was said on the way to them."""
    return table.as_json() | {"notes": notes_result(notes)}


def build_result(ledger: Ledger) -> dict[str, Any]:
    """Return wood, finish and glue of all parts with scale readings in place of what they replaced, as JSON."""
    whole = ledger.mass()
    return {
        "entries": [entry_json(entry) for entry in ledger.entries],
        "as_built": [difference_json(difference) for difference in ledger.differences],
        "total_g": whole.value,
        "total_sigma_g": whole.sigma,
    }


def nest_result(layout: Layout, notes: Iterable[Note]) -> dict[str, Any]:
    """Return a layout as JSON; `proved` is what the independent check found."""
    boards = [
        {
            "name": board.board,
            "placements": [
                {
                    "part": placement.part,
                    "copy": placement.copy,
                    "x_mm": placement.pose.x_mm,
                    "y_mm": placement.pose.y_mm,
                    "angle_deg": placement.pose.angle_deg,
                    "flipped": placement.pose.is_flipped,
                }
                for placement in board.placements
            ],
            "used_fraction": board.used_fraction,
            "used_length_mm": board.used_length_mm,
        }
        for board in layout.boards
    ]
    unplaced = [{"part": u.part, "copy": u.copy, "reason": u.reason} for u in layout.unplaced]
    return {"boards": boards, "unplaced": unplaced, "proved": layout.proof.is_proved, "notes": notes_result(notes)}


def layout_from_json(data: dict[str, Any]) -> Layout:
    """Return the layout that `nest_result` wrote, without its proof: prove it again before use.

    Raises:
        KeyError, TypeError, ValueError: `data` is not of that form.
    """
    boards = tuple(
        BoardLayout(
            str(board["name"]),
            tuple(Placement(str(p["part"]), int(p["copy"]), _pose_from_json(p)) for p in board["placements"]),
            float(board["used_fraction"]),
            float(board["used_length_mm"]),
        )
        for board in data["boards"]
    )
    unplaced = tuple(Unplaced(str(u["part"]), int(u["copy"]), str(u["reason"])) for u in data["unplaced"])
    return Layout(boards, unplaced, Proof(("not yet proved",), 0.0))


def _pose_from_json(data: Mapping[str, Any]) -> Pose:
    x, y, angle = (float(data[key]) for key in ("x_mm", "y_mm", "angle_deg"))
    if not all(abs(value) <= LARGEST for value in (x, y, angle)):
        raise ValueError("a place that is none")
    return Pose(x, y, angle, bool(data["flipped"]))


def rack_result(
    boards: Iterable[Board],
    *,
    wood: Wood = USUAL,
    notes: Iterable[Note] = (),
) -> dict[str, Any]:
    """Return boards with their densities, gradients and stiffness as JSON."""
    return {"boards": [_board_json(board, wood) for board in boards], "notes": notes_result(notes)}


def _board_json(board: Board, wood: Wood) -> dict[str, Any]:
    density = board_density(board, wood=wood)
    gradient = board_gradient(board, wood=wood)
    modulus = board_modulus(board, wood=wood)
    return board.as_json() | {
        "density_kg_m3": density.value,
        "sigma_kg_m3": density.sigma,
        "default_density": board.known_mass_g is None,
        "gradient": gradient.change.value if gradient.is_resolved else None,
        "gradient_sigma": gradient.change.sigma if gradient.is_resolved else None,
        "modulus_mpa": modulus.value.value,
        "modulus_sigma_mpa": modulus.value.sigma,
        "modulus_measured": modulus.is_measured,
        "modulus_by": {name: {"value": value.value, "sigma": value.sigma} for name, value in modulus.readings},
    }


def rack_notes(boards: Iterable[Board], *, wood: Wood = USUAL) -> tuple[Note, ...]:
    """Return what is to be said of readings: none, a gradient that is not resolved, limits of a bend test."""
    notes: list[Note] = []
    for board in boards:
        if board.known_mass_g is None:
            text = f"board {board.name} has no scale reading; the default density of its material is used."
            notes.append(Note("default-density", text))
        gradient = board_gradient(board, wood=wood)
        if gradient.measured is not None and not gradient.is_resolved:
            notes.append(unresolved_note(board.name, gradient))
        notes += board_modulus(board, wood=wood).notes
    return tuple(notes)
