"""The surface of a carved panel encloses the volume that the panel's own integrals give."""

import pytest
import trimesh

from nesting.carve.panel_mesh import TO_LOOK_AT, panel_mesh
from vectorize.basics.errors import PartError
from vectorize.shapes.outline import Outline

from .carved_panels import high_point_panel, naca_panel, rectangle, rounded


@pytest.mark.parametrize("panel", [high_point_panel(rectangle()), naca_panel(rounded())], ids=["blunt", "round tip"])
def test_a_panel_is_closed_and_has_its_volume_and_centre(panel):
    """Gauss integration over the sections, which knows no triangle, against trimesh's sum over the surface."""
    mesh, solid = panel_mesh(panel), panel.solid()
    body = trimesh.Trimesh(mesh.points, mesh.triangles, process=False)
    assert body.is_watertight
    assert body.is_winding_consistent
    assert body.body_count == 1
    assert body.volume == pytest.approx(solid.volume_mm3, rel=1e-3)
    (u, v), z = panel.planform.to_panel(body.center_mass[None, :2])[0], body.center_mass[2]
    assert (u, v, z) == pytest.approx(solid.centroid, abs=0.05)


def test_pieces_make_up_the_panel():
    panel = naca_panel(rectangle())
    pieces = [
        Outline.rectangle(0, -100, 300, -94),
        Outline.rectangle(0, -94, 300, -40),
        Outline.rectangle(0, -40, 300, 0),
    ]
    meshes = [panel_mesh(panel, piece) for piece in pieces]
    for mesh, piece in zip(meshes, pieces, strict=True):
        assert trimesh.Trimesh(mesh.points, mesh.triangles, process=False).is_watertight
        assert mesh.volume_mm3 == pytest.approx(panel.solid(piece).volume_mm3, rel=1e-3)
    assert sum(mesh.volume_mm3 for mesh in meshes) == pytest.approx(panel.solid().volume_mm3, rel=1e-3)


def test_one_to_look_at_is_closed_too_and_much_smaller():
    panel = naca_panel(rounded())
    coarse = panel_mesh(panel, steps=TO_LOOK_AT)
    assert trimesh.Trimesh(coarse.points, coarse.triangles, process=False).is_watertight
    assert len(coarse.triangles) < 3000
    assert coarse.volume_mm3 == pytest.approx(panel.solid().volume_mm3, rel=0.01)


def test_a_piece_beside_the_panel_is_refused():
    with pytest.raises(PartError, match="outside the panel"):
        panel_mesh(naca_panel(), Outline.rectangle(500, 0, 520, 10))
