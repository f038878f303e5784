"""What a scale said of a piece, and at which stage: as sawn, carved, or with everything on it.

What is carved, bevelled or trued afterwards weighs more on the scale than it will weigh when it flies. A reading
of the sawn blank is therefore scaled by the share of its mass that stays.
"""

from __future__ import annotations

import math
from typing import Literal

from nesting.wood.estimate import Estimate

WeighedAs = Literal["sawn", "carved", "finished"]
"""`sawn`: before carving; `carved`: shaped, still bare; `finished`: with its own glue, covering and paint."""

HARDLY_WORKED_SHARE = 0.9
"""Where more stays, as of planks that are only trued, it hardly matters when a piece was weighed (no source)."""
REMOVED_SPREAD = 0.05
"""How sure it is what carving takes off (relative standard deviation, common practice, no source)."""


def likely_stage(reading_g: float, *, sawn_g: float, carved_g: float) -> WeighedAs:
    """Return whether a reading of unknown stage is nearer, as a ratio, to what a piece weighs sawn or carved."""
    if not (reading_g > 0 and carved_g > 0) or carved_g > HARDLY_WORKED_SHARE * sawn_g:
        return "carved"
    return "sawn" if reading_g > math.sqrt(sawn_g * carved_g) else "carved"


def as_it_flies(reading: Estimate, share: float, *, name: str) -> Estimate:
    """Return what stays of a sawn piece that weighs `reading`: times `share`, with the doubt of what comes off."""
    return reading * Estimate.measured(share, REMOVED_SPREAD * (1 - share), f"carving of {name}")
