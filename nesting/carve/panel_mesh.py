"""The solid of a carved panel, or of a piece of it, as a closed surface of triangles."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from nesting.carve.panel import CarvedPanel
from nesting.carve.planform import Floats
from vectorize.shapes.mesh import Mesh, between, triangulated
from vectorize.shapes.outline import Outline

if TYPE_CHECKING:
    from shapely import LineString, Polygon


@dataclass(frozen=True, slots=True)
class Steps:
    """How many stretches of chord and of span stand for a curved surface, each closer where it is more curved."""

    along_chord: int
    along_span: int


EXACT = Steps(72, 56)
"""Their flats enclose 0.06 % less than a panel with a round tip, which is where they lose most."""
TO_LOOK_AT = Steps(22, 14)
CHORD_MM = 0.01
"""How far the chords of a curved edge may stand off it; a carved edge is thin."""
GRID_MM = 1e-4
"""Points are rounded to this, so that no two lines cross without a point in common."""
_LEAST_CHORD_MM = 1e-9


def panel_mesh(panel: CarvedPanel, piece: Outline | None = None, *, steps: Steps = EXACT) -> Mesh:
    """Return the carved panel, or one piece of it, in the plan's x and y with z above the blank's lower face, in mm.

    Raises:
        PartError: The piece lies outside the panel.
    """
    panel.solid(piece)  # refuses a piece that lies outside
    plane, triangles = triangulated(_cells(panel, piece or panel.planform.outline, steps))
    low, high = _heights(panel, panel.planform.to_panel(plane))
    return between(plane, triangles, low, high)


def _cells(panel: CarvedPanel, outline: Outline, steps: Steps) -> list[Polygon]:
    """Return the polygons into which lines along span and chord divide an outline, their points in common."""
    import shapely

    # What hangs over the panel's own edge by a hair is not carved.
    whole = outline.to_polygon(CHORD_MM).intersection(panel.planform.outline.to_polygon(CHORD_MM))
    points = panel.planform.to_panel(shapely.get_coordinates(whole))
    lines = shapely.union_all([whole.boundary, *_guides(panel, points, steps)], grid_size=GRID_MM)
    cells = shapely.get_parts(shapely.polygonize(shapely.get_parts(lines)))
    inside = shapely.intersects(whole, shapely.point_on_surface(cells))
    return list(cells[inside])


def _guides(panel: CarvedPanel, reached: Floats, steps: Steps) -> list[LineString]:
    """Return lines across the span, and along it at shares of the chord, over what the points (u, v) reach."""
    from shapely import LineString

    form = panel.planform
    low, high = np.clip([reached[:, 1].min(), reached[:, 1].max()], *form.span)
    stations = low + (high - low) * (1 - np.cos(np.linspace(0, np.pi, steps.along_span + 1))) / 2
    lead, chord = form.leading_edge(stations), form.chord(stations)
    inner = zip(lead[1:-1], chord[1:-1], stations[1:-1], strict=True)
    across = [np.array([(u - 1, v), (u + c + 1, v)]) for u, c, v in inner]
    shares = _shares(panel, reached)
    first, last = (float(np.arccos(1 - 2 * share)) for share in (shares.min(), shares.max()))
    along = [
        np.column_stack([lead + (1 - np.cos(angle)) / 2 * chord, stations])
        for angle in np.linspace(first, last, steps.along_chord + 1)[1:-1]
    ]
    return [LineString(form.to_plan(line)) for line in (*across, *along)]


def _shares(panel: CarvedPanel, points: Floats) -> Floats:
    """Return how far aft along their chord points (u, v) lie, from 0 to 1; where there is no chord, in its middle."""
    u, v = points.T
    lead, chord = panel.planform.leading_edge(v), panel.planform.chord(v)
    has_chord = chord > _LEAST_CHORD_MM
    return np.where(has_chord, np.clip((u - lead) / np.where(has_chord, chord, 1.0), 0.0, 1.0), 0.5)


def _heights(panel: CarvedPanel, points: Floats) -> tuple[Floats, Floats]:
    """Return lower and upper surface at points (u, v) of the panel; off its edges that of the edge."""
    shares = _shares(panel, points)
    low, high = np.empty(len(points)), np.empty(len(points))
    # Points of one line across were rounded apart by a hair: one section does for them all.
    stations, which = np.unique(np.clip(points[:, 1], *panel.planform.span).round(3), return_inverse=True)
    for number, station in enumerate(stations.tolist()):
        here = np.flatnonzero(which.ravel() == number)
        high[here], low[here] = panel.heights(min(station, panel.planform.span[1]), shares[here])
    return low, high
