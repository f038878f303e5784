"""glTF as another reader reads it."""

import io
import json
import struct

import numpy as np
import pytest
import trimesh

from nesting.patterns.write_glb import Solid, glb_bytes
from vectorize.shapes.mesh import extruded
from vectorize.shapes.outline import Outline

BOX = extruded(Outline.rectangle(0, 0, 200, 30), 4.0)


def read(data: bytes):
    return trimesh.load(io.BytesIO(data), file_type="glb")


def test_it_is_in_metres_with_y_up_the_nose_along_z_and_the_right_along_minus_x():
    """Khronos glTF 2.0, 3.4: 'glTF uses a right-handed coordinate system ... +Y as up, +Z as forward, and -X as right
    ... The units for all linear distances are meters.'
    """
    tall = Solid("tall", BOX.moved(np.eye(3), (100.0, 500.0, 1000.0)), (250, 236, 207))  # aft, right, up
    low, high = read(glb_bytes([tall], title="Mite")).bounds
    assert high == pytest.approx([-0.5, 1.004, -0.1])
    assert low == pytest.approx([-0.53, 1.0, -0.3])


def test_bodies_stay_closed_and_carry_what_is_said_of_them():
    solids = [
        Solid("fin", BOX, (250, 236, 207), {"mass_g": 3.25, "board": "B1"}),
        Solid("rib 2", BOX.moved(np.eye(3), (0.0, 50.0, 0.0)), (202, 150, 92)),
    ]
    scene = read(glb_bytes(solids, title="Mite"))
    assert set(scene.graph.nodes_geometry) == {"fin", "rib 2"}
    for name in scene.graph.nodes_geometry:
        geometry = scene.geometry[scene.graph[name][1]]
        assert geometry.is_watertight
        assert geometry.volume * 1e9 == pytest.approx(200 * 30 * 4, rel=1e-5)
    assert scene.graph.transforms.edge_data["world", "fin"]["metadata"] == {"mass_g": 3.25, "board": "B1"}


def test_colours_are_kept_as_light_not_as_values_of_a_screen():
    """IEC 61966-2-1: the middle grey 188 of a screen is half the light of 255."""
    scene = read(glb_bytes([Solid("grey", BOX, (188, 188, 188))], title="Mite"))
    (geometry,) = scene.geometry.values()
    factor = np.asarray(geometry.visual.material.baseColorFactor, dtype=float)
    assert factor[:3] / (255 if factor.max() > 1 else 1) == pytest.approx([0.5] * 3, abs=0.005)


def test_chunks_are_whole_and_padded_as_the_standard_asks():
    """Khronos glTF 2.0, 4.4: length of the file in its header, chunks aligned to 4 bytes, JSON padded with spaces."""
    data = glb_bytes([Solid("ü", BOX, (1, 2, 3))], title="Größe")
    magic, version, length = struct.unpack_from("<4sII", data)
    assert (magic, version, length) == (b"glTF", 2, len(data))
    size, kind = struct.unpack_from("<I4s", data, 12)
    assert (size % 4, kind) == (0, b"JSON")
    content = json.loads(data[20 : 20 + size])
    assert content["scenes"][0]["name"] == "Größe"
    rest, kind = struct.unpack_from("<I4s", data, 20 + size)
    assert (rest % 4, kind, 28 + size + rest) == (0, b"BIN\0", len(data))
    assert content["buffers"][0]["byteLength"] <= rest


def test_a_model_of_nothing_is_still_a_file():
    assert len(read(glb_bytes([], title="Mite")).geometry) == 0
