"""A photo that a lens bent: what the page draws, and where a click on it lies, are where the trace saw them."""

import json
import math

import numpy as np

from nesting.desk.outline_view import regions_view
from nesting.desk.plan_view import scale_view
from vectorize.scale.lens import Lens
from vectorize.scale.plan_scale import PlanScale
from vectorize.shapes.outline import Outline
from vectorize.trace.traced import Trace, TracedPart

PHOTO = PlanScale(
    np.array([[0.2, 0.004, -8.0], [-0.003, -0.2, 118.0], [1e-5, 2e-5, 1.0]]),
    (0.2, 0.2),
    1.0,
    (140.0, 110.0),
    lens=Lens(-0.04, (399.0, 324.0), 514.0),
)
DRAWN_TOL_PX = 0.1  # a tenth of a screen pixel at full size; the page is sent hundredths


def test_the_page_is_told_how_the_lens_bends():
    assert scale_view(PHOTO)["lens"] == {"strength": -0.04, "centre": [399.0, 324.0], "reach_px": 514.0}
    json.dumps(scale_view(PHOTO))


def test_a_straight_edge_of_a_part_is_drawn_bowed_as_the_photo_shows_it():
    x0, y0, x1, y1 = 10.0, 12.0, 130.0, 100.0
    part = TracedPart("plate", Outline.rectangle(x0, y0, x1, y1), 0.05, 1.0, 0.4, (400.0, 300.0))
    (view,) = regions_view(Trace((part,)), PHOTO)
    drawn = np.array(view["outline_px"][0])
    # Half way between two drawn points lies nearly on the true edge, back in millimetres.
    x, y = PHOTO.to_mm((drawn + np.roll(drawn, -1, axis=0)) / 2).T
    away_mm = np.minimum.reduce([abs(x - x0), abs(x - x1), abs(y - y0), abs(y - y1)])
    assert away_mm.max() * PHOTO.px_per_mm < DRAWN_TOL_PX
    bow = PHOTO.to_px([((x0 + x1) / 2, y0)])[0] - PHOTO.to_px([(x0, y0), (x1, y0)]).mean(axis=0)
    assert math.hypot(*bow) > 10 * DRAWN_TOL_PX
