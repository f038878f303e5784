"""Outlines with a thickness as closed surfaces, against a mesh library's own reading of them."""

import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from vectorize.shapes.mesh import Mesh, between, extruded
from vectorize.shapes.outline import Outline, Ring


def read_by_library(mesh: Mesh):
    """The same surface in trimesh, which looks for open edges and turned triangles by itself."""
    return trimesh.Trimesh(mesh.points, mesh.triangles, process=False)


def with_holes() -> Outline:
    holes = (Ring.circle((15, 35), 3).reversed(), Ring.rectangle(25, 30, 40, 41).reversed())
    return Outline(Ring.rectangle(5, 25, 45, 45), holes)


def test_a_plate_with_holes_is_a_closed_body_of_its_volume():
    outline = with_holes()
    body = read_by_library(extruded(outline, 2.5))
    assert body.is_watertight
    assert body.is_winding_consistent
    assert body.euler_number == 2 - 2 * 2  # a sphere with a handle for each hole
    assert body.volume == pytest.approx(2.5 * outline.area_mm2, rel=1e-4)


@given(turn=st.floats(0, 360), x=st.floats(-2000, 2000), mirrors=st.booleans())
def test_a_moved_body_keeps_its_volume_and_faces_outwards(turn, x, mirrors):
    """Volume and centre as trimesh gives them, also of the image in a mirror and far from the origin."""
    cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    matrix = np.array([[cos, -sin, 0], [sin, cos, 0], [0, 0, -1 if mirrors else 1]])
    mesh = extruded(with_holes(), 2.0, tolerance_mm=0.1).moved(matrix, (x, 5.0, -3.0))
    body = read_by_library(mesh)
    assert body.is_winding_consistent
    assert mesh.volume_mm3 == pytest.approx(body.volume, rel=1e-6)
    assert mesh.volume_mm3 > 0
    assert mesh.centroid == pytest.approx(body.center_mass, abs=1e-4)


def test_a_wedge_has_no_wall_where_it_comes_to_an_edge():
    plane = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 6.0], [0.0, 6.0]])
    wedge = between(plane, np.array([[0, 1, 2], [0, 2, 3]]), np.zeros(4), np.array([0.0, 3.0, 3.0, 0.0]))
    body = read_by_library(wedge)
    assert body.is_watertight
    assert len(wedge.points) == 6
    assert body.volume == pytest.approx(10 * 6 * 3 / 2)
