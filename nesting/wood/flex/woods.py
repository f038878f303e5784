"""What a board's wood is worth in a built-up section: E and G along the beam, and density, with their doubts."""

from __future__ import annotations

from nesting.wood.board import Board
from nesting.wood.density import Wood, board_density, material_of
from nesting.wood.estimate import Estimate
from nesting.wood.flex.plies import sheared_share, stretched_share
from nesting.wood.flex.slabs import Stuff
from nesting.wood.stiffness import board_modulus, run_out_factor

SHEAR_SPREAD = 0.3
"""How sure G over E of a material is (relative): half of how its values scatter in the Wood Handbook's table 5-1."""
SHEAR_SCATTER = 0.1
"""How far boards of one material scatter about it (relative; common practice, no source)."""


def wood_of_board(board: Board, angle_deg: float, *, name: str, wood: Wood, is_stretched: bool) -> Stuff:
    """Return a board's wood at an angle of its length to the beam.

    Args:
        board: Its E by test or trend is that in bending along its grain.
        angle_deg: Between the board's own length and the beam.
        name: What it is called.
        wood: The kinds of wood.
        is_stretched: Whether all of its thickness is strained alike, as a skin far from the middle or a sheet bent in
            its plane; else it is bent across its thickness. For plywood the two differ.
    """
    material, modulus = material_of(board, wood.materials), board_modulus(board, wood=wood).value
    turned = board.grain_deg + angle_deg
    share = stretched_share(material, turned) if is_stretched else run_out_factor(material, turned)
    shear = Estimate.measured(1.0, SHEAR_SPREAD, f"G over E of {material.name}")
    own = Estimate.measured(1.0, SHEAR_SCATTER, f"G of {board.name}")
    return Stuff(
        name,
        modulus * share,
        modulus * sheared_share(material, turned) * shear * own,
        board_density(board, wood=wood),
        is_shell=is_stretched,
    )


def board_by_default(material: str, thickness_mm: float) -> Board:
    """Return a board of a material that nobody has weighed or named."""
    return Board(f"{material} by default", material, thickness_mm, 1000.0, 100.0)
