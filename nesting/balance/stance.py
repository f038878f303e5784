"""How a part stands in the model: from its plan to millimetres aft of the datum, to the right, and up.

It agrees with `locate`: a part's centre of mass comes to the station and the lateral arm that the balance counts with.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from nesting.balance.station import Datum, Seat, is_opposite, locate
from nesting.wood.part import Part
from vectorize.shapes.mesh import Mesh
from vectorize.shapes.segment import Point

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Stance:
    """The map p -> turn p + shift from a part's plan to the model; z of the plan points towards who looks at it.

    `is_flat` where the part's faces look up and down, else they look to the sides.
    """

    turn: Floats
    shift: Floats
    is_flat: bool

    def placed(self, mesh: Mesh) -> Mesh:
        """Return a body that lies on the plan in the model."""
        return mesh.moved(self.turn, self.shift)

    def direction(self, angle_deg: float) -> Floats:
        """Return the direction in the model of a line on the plan, of length 1."""
        angle = math.radians(angle_deg)
        way: Floats = self.turn @ np.array([math.cos(angle), math.sin(angle), 0.0])
        return way

    def moved(self, shift: Floats) -> Stance:
        """Return the same, moved in the model."""
        return replace(self, shift=self.shift + shift)


def stance_of(
    part: Part, copy: int, seat: Seat, datum: Datum, *, thickness_mm: float, dihedral_deg: float = 0.0
) -> Stance | None:
    """Return how one copy of a part stands, the middle of its thickness at its seat; None if only its station is known.

    A part that lies flat is turned up by `dihedral_deg` about its inner end. A copy for the other side of the model is
    the image of the first one in the model's middle.
    """
    if seat.station_mm is not None:
        return None
    plan = _to_side_view(seat, datum)
    lateral = locate(part, copy, seat, datum).lateral_mm
    if not seat.is_flat:
        out = datum.up if is_opposite(part, copy, seat) else -datum.up
        return _standing(plan, lateral, out, datum.up, thickness_mm)
    reach = float(plan[1] @ np.array([*part.centroid, 1.0]))
    side = _side(part, copy, seat, lateral, reach)
    height = 0.0 if seat.at is None else datum.height_mm(seat.at)
    stance = _lying(plan, side, lateral - side * reach, height - thickness_mm / 2)
    return _turned_up(stance, part, dihedral_deg, height, thickness_mm / 2) if dihedral_deg else stance


def _to_side_view(seat: Seat, datum: Datum) -> Floats:
    """Return the 2 x 3 matrix from the part's plan to station and across; across is 0 where it is brought to."""
    zero = 0.0 if seat.at is None or not seat.is_flat else datum.across_mm(seat.at)

    def there(point: Point) -> Floats:
        moved = seat.pose.moved(point)
        return np.array([datum.station_mm(moved), datum.across_mm(moved) - zero])

    origin = there((0.0, 0.0))
    return np.column_stack([there((1.0, 0.0)) - origin, there((0.0, 1.0)) - origin, origin])


def _side(part: Part, copy: int, seat: Seat, lateral: float, reach: float) -> float:
    """Return 1 where across of the plan becomes right of the model, -1 where the part is turned to the other side."""
    is_other = is_opposite(part, copy, seat)
    if not seat.is_from_above:
        return -1.0 if is_other else 1.0
    own = lateral + (seat.lateral_mm if is_other else -seat.lateral_mm)
    return math.copysign(1.0, own * reach)


def _standing(plan: Floats, lateral: float, out: float, up: float, thickness: float) -> Stance:
    # With the nose at the left the drawing shows the model's left side: the plan's z points there.
    turn = np.array([[*plan[0, :2], 0.0], [0.0, 0.0, out], [*(up * plan[1, :2]), 0.0]])
    shift = np.array([plan[0, 2], lateral - out * thickness / 2, up * plan[1, 2]])
    return Stance(turn, shift, is_flat=False)


def _lying(plan: Floats, side: float, lateral: float, bottom: float) -> Stance:
    turn = np.array([[*plan[0, :2], 0.0], [*(side * plan[1, :2]), 0.0], [0.0, 0.0, 1.0]])
    return Stance(turn, np.array([plan[0, 2], lateral + side * plan[1, 2], bottom]), is_flat=True)


def _turned_up(stance: Stance, part: Part, dihedral_deg: float, height: float, half: float) -> Stance:
    """Return a panel with its tip raised: turned about the line along the model through its inner end."""
    ring = part.outline.exterior.flattened()
    lateral = (np.column_stack([ring, np.full(len(ring), half)]) @ stance.turn.T + stance.shift)[:, 1]
    hinge = np.array([0.0, lateral[np.argmin(np.abs(lateral))], height])
    angle = math.copysign(math.radians(dihedral_deg), lateral.mean())
    cos, sin = math.cos(angle), math.sin(angle)
    up = np.array([[1.0, 0.0, 0.0], [0.0, cos, -sin], [0.0, sin, cos]])
    return replace(stance, turn=up @ stance.turn, shift=up @ (stance.shift - hinge) + hinge)
