"""glTF 2.0 as one binary file: closed bodies with their colour, for any viewer of solid models.

Khronos, glTF 2.0 Specification (ISO/IEC 12113): metres, y up, the front looks along +z and the right side along -x;
a header of 12 bytes, then a chunk of JSON and one of numbers, each a multiple of 4 bytes long.
"""

from __future__ import annotations

import json
import struct
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from vectorize.shapes.mesh import Mesh

TO_GLTF = np.array([[0.0, -1.0, 0.0], [0.0, 0.0, 1.0], [-1.0, 0.0, 0.0]])
"""From a model's aft, right and up to the file's x, y and z."""

_MM_PER_M = 1000.0
_MAGIC, _JSON, _BIN = 0x46546C67, 0x4E4F534A, 0x004E4942
_FLOAT, _UINT = 5126, 5125
_POINTS, _TRIANGLES = 34962, 34963
_ROUGH = 0.9
"""Bare wood hardly shines."""


@dataclass(frozen=True, slots=True)
class Solid:
    """A body in mm aft, right and up, its colour (sRGB, 0 to 255), and what is said of it (`extras` of its node)."""

    name: str
    mesh: Mesh
    colour: tuple[int, int, int]
    extras: Mapping[str, Any] = field(default_factory=dict)


def glb_bytes(solids: Sequence[Solid], *, title: str, extras: Mapping[str, Any] | None = None) -> bytes:
    """Return the bodies as glTF: a node for each, its middle as the node's place, so that a viewer can move it."""
    colours = sorted({solid.colour for solid in solids})
    numbers = _Numbers()
    nodes: list[dict[str, Any]] = []
    meshes: list[dict[str, Any]] = []
    for solid in solids:
        points = solid.mesh.points @ TO_GLTF.T / _MM_PER_M
        middle = (points.min(axis=0) + points.max(axis=0)) / 2
        attributes = {"POSITION": numbers.points(points - middle)}
        primitive = {
            "attributes": attributes,
            "indices": numbers.triangles(solid.mesh.triangles),
            "material": colours.index(solid.colour),
        }
        meshes.append({"name": solid.name, "primitives": [primitive]})
        nodes.append({
            "name": solid.name, "mesh": len(nodes), "translation": middle.tolist(), "extras": dict(solid.extras),
        })  # fmt: skip
    content = {
        "asset": {"version": "2.0", "generator": "Sheetwood", "extras": dict(extras or {})},
        "scene": 0,
        "scenes": [{"name": title, **({"nodes": list(range(len(nodes)))} if nodes else {})}],
    }
    if nodes:
        content |= {"nodes": nodes, "meshes": meshes, "materials": [_material(one) for one in colours]}
        content |= numbers.tables()
    return _packed(content, bytes(numbers.data))


class _Numbers:
    """The numbers of all bodies, one after the other, and the tables that say where each begins."""

    def __init__(self) -> None:
        self.data = bytearray()
        self.views: list[dict[str, int]] = []
        self.accessors: list[dict[str, Any]] = []

    def points(self, points: NDArray[np.float64]) -> int:
        single = points.astype("<f4")
        limits = {"min": single.min(axis=0).tolist(), "max": single.max(axis=0).tolist()}
        return self._kept(single, _POINTS, {"componentType": _FLOAT, "type": "VEC3", "count": len(single), **limits})

    def triangles(self, triangles: NDArray[np.int64]) -> int:
        flat = triangles.astype("<u4").ravel()
        return self._kept(flat, _TRIANGLES, {"componentType": _UINT, "type": "SCALAR", "count": len(flat)})

    def _kept(self, values: NDArray[Any], target: int, accessor: dict[str, Any]) -> int:
        raw = values.tobytes()
        self.views.append({"buffer": 0, "byteOffset": len(self.data), "byteLength": len(raw), "target": target})
        self.accessors.append({"bufferView": len(self.views) - 1, **accessor})
        self.data += raw
        return len(self.accessors) - 1

    def tables(self) -> dict[str, Any]:
        return {
            "accessors": self.accessors,
            "bufferViews": self.views,
            "buffers": [{"byteLength": len(self.data)}],
        }


def _material(colour: tuple[int, int, int]) -> dict[str, Any]:
    factor = [*(round(_linear(value / 255), 6) for value in colour), 1.0]
    rough = {"baseColorFactor": factor, "metallicFactor": 0.0, "roughnessFactor": _ROUGH}
    return {"name": "wood #" + bytes(colour).hex(), "pbrMetallicRoughness": rough}


def _linear(value: float) -> float:
    """Return how much light a value of a screen stands for (IEC 61966-2-1, sRGB)."""
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4


def _packed(content: Mapping[str, Any], data: bytes) -> bytes:
    text = json.dumps(content, separators=(",", ":")).encode()
    chunks = _chunk(_JSON, text, b" ") + (_chunk(_BIN, data, b"\0") if data else b"")
    return struct.pack("<III", _MAGIC, 2, 12 + len(chunks)) + chunks


def _chunk(kind: int, data: bytes, fill: bytes) -> bytes:
    padded = data + fill * (-len(data) % 4)
    return struct.pack("<II", len(padded), kind) + padded
