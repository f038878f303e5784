"""The flat pattern of a wire, measured on the drawing and on the printed page, against plane geometry."""

import math

import numpy as np
import pypdfium2
import pytest

from nesting.patterns.drawing import Layer, Recorder, element_points
from nesting.patterns.pattern_settings import PatternSettings
from nesting.patterns.wire_template import draw_flat_wire, wire_template
from nesting.wood.bent_wire import BentWire

TRUE_MM = 0.1
STAPLE = BentWire("staple", 2.0, 5.0, ((0, 0, 0), (0, 0, 60), (0, 80, 60), (0, 80, 0)))
# Middle radius 6 mm: a right angle takes 6 mm of each leg and is 6 pi / 2 long. Along the wire: 54, arc, 68, arc, 54.
ARC = 3 * math.pi
MARKS = (54, 54 + ARC, 122 + ARC, 122 + 2 * ARC)
LENGTH = 176 + 2 * ARC


def test_each_bend_lies_between_its_marks():
    recorder = Recorder()
    draw_flat_wire(recorder, STAPLE, units="mm")
    marks = sorted({round(x, 6) for element in recorder.on(Layer.MARK) for x, _ in element_points(element)})
    assert marks == pytest.approx(MARKS, abs=TRUE_MM)
    assert recorder.bounds(Layer.OUTLINE) == pytest.approx((0.0, -1.0, LENGTH, 1.0), abs=TRUE_MM)
    assert {"54.0 mm", "68.0 mm", "90.0°"} <= set(recorder.texts)


@pytest.mark.parametrize("is_mirrored", [False, True])
def test_the_printed_wire_is_of_true_size_and_begins_at_its_first_end(is_mirrored):
    settings = PatternSettings(paper="A3", is_mirrored=is_mirrored)
    (pdf,) = wire_template(STAPLE, settings=settings).values()
    page = pypdfium2.PdfDocument(pdf)[0]
    # Boxes of everything drawn, from points to mm; only the wire's two sides are as long as the wire.
    boxes = np.array([thing.get_bounds() for thing in page.get_objects() if thing.type == 2]) * 25.4 / 72
    sides = boxes[np.abs(boxes[:, 2] - boxes[:, 0] - LENGTH) < 1.0]
    assert len(sides) >= 2
    # A box holds half a pen all round: a level line's is as high as the pen is wide.
    assert np.ptp(sides[:, [0, 2]], axis=1) - np.ptp(sides[:, [1, 3]], axis=1) == pytest.approx(LENGTH, abs=TRUE_MM)
    words = page.get_textpage().get_text_range()
    assert words.index("54.0 mm") < words.index("68.0 mm")
