"""The edge of a thing on the scanner, point by point, against circles of known size."""

import math

import numpy as np
import pytest

from fixtures.sawn_parts import Glass, scan
from vectorize.basics.errors import PickError
from vectorize.page import Page
from vectorize.scale.fit_scale import fit_scale
from vectorize.shapes.outline import Ring
from vectorize.trace.scanned_edge import scanned_things

RADIUS_MM, HOLE_MM = 15.0, 4.0
HALF_PX_MM = 25.4 / 240 / 2  # point by point, noise and all; the mean of an edge is far surer


def washer(glass):
    rings = [Ring.circle((0.0, 0.0), r).flattened(0.002) for r in (RADIUS_MM, HOLE_MM)]
    return scan(rings, glass, np.random.default_rng(8))


def things_on_scan(grey, *, dpi=240.0, at_px=None):
    per_mm = dpi / 25.4
    page = Page("scan", 1, 1, grey, (), grey.shape[1], grey.shape[0], stated_px_per_mm=(per_mm, per_mm))
    return scanned_things(page, fit_scale(page, accepts_stated_size=True, corrections=()), at_px=at_px)


@pytest.mark.parametrize("falloff", [0.0, 0.25])
def test_edges_are_where_they_are_also_where_light_falls_off(falloff):
    (thing,) = things_on_scan(washer(Glass(dpi=240, falloff=falloff, grain=10.0, noise=6.0)))
    for ring, radius in zip(thing.rings, (RADIUS_MM, HOLE_MM), strict=True):
        away = np.hypot(*(ring - ring.mean(axis=0)).T)
        assert np.mean(away) == pytest.approx(radius, abs=0.02)
        assert np.std(away) < HALF_PX_MM
    assert thing.area_mm2 == pytest.approx(math.pi * (RADIUS_MM**2 - HOLE_MM**2), rel=0.003)


def test_a_pixel_chooses_and_one_beside_everything_is_refused():
    grey = washer(Glass(dpi=240))
    beside = np.full((grey.shape[0], 200), 35, np.uint8)
    beside[100:200, 50:150] = 200
    both = np.hstack([grey, beside])
    assert len(things_on_scan(both)) == 2
    (square,) = things_on_scan(both, at_px=(grey.shape[1] + 100.0, 150.0))
    assert square.area_mm2 == pytest.approx((100 * 25.4 / 240) ** 2, rel=0.01)
    with pytest.raises(PickError, match="no part lies at the pixel"):
        things_on_scan(both, at_px=(3.0, 3.0))
    with pytest.raises(PickError, match="outside of the picture"):
        things_on_scan(both, at_px=(-5.0, 3.0))


def test_what_runs_over_the_edge_of_the_picture_is_refused():
    grey = washer(Glass(dpi=240))
    with pytest.raises(PickError, match="no part lies wholly on scan"):
        things_on_scan(grey[:, : grey.shape[1] // 2])
