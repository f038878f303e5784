"""One copy of a part as a solid body of the model."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from nesting.balance.stance import Stance
from nesting.wood.part import Part
from vectorize.shapes.mesh import Floats, Mesh


@dataclass(frozen=True, slots=True)
class Body:
    """One copy of a part as a solid in the model: mm aft, right, up; `is_beside` where nobody knows its place.

    `density_kg_m3` is that of the board where the piece comes from it, and None, like the mass, without a board.
    """

    part: Part
    copy: int
    mesh: Mesh
    grain: Floats
    stance: Stance
    thickness_mm: float
    board: str | None
    mass_g: float | None
    density_kg_m3: float | None
    is_beside: bool

    @property
    def name(self) -> str:
        """Return the part's name, with the number of the copy where there are several."""
        return f"{self.part.name} {self.copy}" if self.part.copies > 1 else self.part.name

    def moved(self, shift: Floats) -> Body:
        """Return the same, moved in the model."""
        return replace(self, mesh=self.mesh.moved(np.eye(3), shift), stance=self.stance.moved(shift))
