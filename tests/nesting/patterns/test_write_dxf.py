from __future__ import annotations

import math
import os
import subprocess
import sys

import pytest

from nesting.patterns.drawing import Layer, Stroke, Text
from nesting.patterns.write_dxf import dxf_bytes, layer_name
from tests.nesting.patterns.pattern_shapes import read_dxf
from vectorize.shapes.outline import Ring
from vectorize.shapes.segment import Arc, Line

BOX = (0.0, 0.0, 20.0, 20.0)


def polyline(segments, *, is_closed=True, version="R2010"):
    data = dxf_bytes([Stroke(tuple(segments), Layer.OUTLINE, is_closed=is_closed)], box=BOX, version=version)
    (entity,) = read_dxf(data).modelspace().query("LWPOLYLINE POLYLINE")
    if entity.dxftype() == "LWPOLYLINE":
        return [tuple(v) for v in entity.get_points("xyb")], entity.closed
    return [(*v.dxf.location.vec2, v.dxf.get("bulge", 0.0)) for v in entity.vertices], entity.is_closed


# DXF Reference: the bulge is the tangent of a quarter of the included angle, negative when the arc runs clockwise.
@pytest.mark.parametrize("version", ["R12", "R2000", "R2010"])
@pytest.mark.parametrize(
    ("angle_deg", "bulge"),
    [(60, 0.2679491924311227), (90, 0.41421356237309503), (180, 1.0), (270, 2.414213562373095)],
)
def test_bulges_are_those_of_the_format_reference(angle_deg, bulge, version):
    end = (5 * math.cos(math.radians(angle_deg)), 5 * math.sin(math.radians(angle_deg)))
    arc = Arc((5.0, 0.0), end, math.tan(math.radians(angle_deg) / 4))
    vertices, is_closed = polyline([arc, Line(end, (5.0, 0.0))], version=version)
    assert is_closed
    assert vertices[0][2] == pytest.approx(bulge, abs=1e-12)
    assert vertices[1][2] == 0


def test_a_clockwise_arc_has_a_negative_bulge():
    vertices, _ = polyline([Arc((0.0, 0.0), (10.0, 0.0), -1.0), Line((10.0, 0.0), (0.0, 0.0))])
    assert vertices[0][2] == -1.0


# DXF Reference: r = c (1 + b²) / (4 |b|), sagitta = c |b| / 2; a chord of 10 over 90° gives 7.0710678 and 2.0710678.
def test_the_arc_that_a_bulge_means_bends_to_the_right_side():
    arc = Arc((0.0, 0.0), (10.0, 0.0), math.tan(math.pi / 8))
    data = dxf_bytes([Stroke((arc,), Layer.OUTLINE)], box=BOX)
    (entity,) = read_dxf(data).modelspace().query("LWPOLYLINE")
    (piece,) = entity.virtual_entities()
    assert piece.dxf.radius == pytest.approx(7.0710678, abs=1e-7)
    # Counter-clockwise from (0, 0) to (10, 0), the arc passes below its chord.
    assert piece.dxf.center.y - piece.dxf.radius == pytest.approx(-2.0710678, abs=1e-7)


def test_a_closing_piece_that_is_curved_keeps_its_bulge_on_the_last_vertex():
    ring = Ring((Line((0.0, 0.0), (10.0, 0.0)), Arc((10.0, 0.0), (0.0, 0.0), 1.0)))
    vertices, is_closed = polyline(ring.segments)
    assert (len(vertices), is_closed) == (2, True)
    assert [v[2] for v in vertices] == [0.0, 1.0]


def test_a_circle_is_two_half_arcs_and_no_vertex_is_repeated():
    vertices, _ = polyline(Ring.circle((5.0, 5.0), 4.0).segments)
    assert [v[2] for v in vertices] == [1.0, 1.0]
    assert len({v[:2] for v in vertices}) == 2


@pytest.mark.parametrize("version", ["R12", "R2000", "R2010"])
def test_accents_fractions_and_cyrillic_survive(version):
    words = "Höhe é ½ Крыло"
    data = dxf_bytes([Text(words, (0.0, 0.0), 3.0)], box=BOX, version=version)
    texts = [text.dxf.text for text in read_dxf(data).modelspace().query("TEXT")]
    from ezdxf.lldxf.encoding import decode_dxf_unicode

    assert words in [decode_dxf_unicode(text) for text in texts]
    if version != "R2010":
        # Never raw UTF-8 under the code page of the header.
        assert "Крыло".encode() not in data
        assert b"\\U+041a" in data.replace(b"\\U+041A", b"\\U+041a")


def test_layers_have_names_that_every_version_allows():
    for layer in Layer:
        name = layer_name(layer)
        assert name == name.upper()
        assert set(name) <= set("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_$-")


def test_what_concerns_paper_only_is_left_out():
    elements = [Stroke(Ring.rectangle(0, 0, 9, 9).segments, layer, is_closed=True) for layer in Layer]
    used = {entity.dxf.layer for entity in read_dxf(dxf_bytes(elements, box=BOX)).modelspace()}
    assert not used & {layer_name(layer) for layer in (Layer.PAGE, Layer.JOIN, Layer.SCISSORS, Layer.HELP)}
    assert layer_name(Layer.OUTLINE) in used


def test_every_process_writes_the_same_bytes():
    """The order in which a process walks a set must not show."""
    code = (
        "import hashlib; from nesting.patterns.write_dxf import dxf_bytes; "
        "print([hashlib.sha256(dxf_bytes([], box=(0, 0, 9, 9), version=v)).hexdigest() for v in ('R2000', 'R2010')])"
    )
    said = {
        subprocess.check_output([sys.executable, "-c", code], env={**os.environ, "PYTHONHASHSEED": seed})
        for seed in ("1", "4")  # two that once gave two files
    }
    assert len(said) == 1
