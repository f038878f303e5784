"""Panels that several tests carve."""

from nesting.carve.panel import CarvedPanel
from nesting.carve.planform import Planform
from nesting.carve.section import HighPoint, naca4
from vectorize.shapes.outline import Outline, Ring
from vectorize.shapes.segment import Cubic, Line


def rectangle(chord: float = 100.0, span: float = 300.0) -> Planform:
    """Leading edge at the top, root at x = 0."""
    return Planform(Outline.rectangle(0, -chord, span, 0))


def taper(root: float = 120.0, tip: float = 60.0, span: float = 400.0, sweep: float = 20.0) -> Planform:
    """Straight taper; the tip's leading edge lies `sweep` aft of the root's."""
    return Planform(Outline.from_points([(0, -root), (span, -sweep - tip), (span, -sweep), (0, 0)]))


def rounded() -> Planform:
    """A panel with a curved tip."""
    return Planform(
        Outline(
            Ring((Line((0, -100), (250, -90)), Cubic((250, -90), (310, -85), (320, -25), (250, -10)),
                  Line((250, -10), (0, 0)), Line((0, 0), (0, -100))))
        )
    )  # fmt: skip


def high_point_panel(planform: Planform | None = None) -> CarvedPanel:
    """A flat-bottomed 8 mm panel with its high point at 30 % and a 1 mm trailing edge."""
    section = HighPoint(8 / 120, high_at=0.30, nose=0.01, trailing=0.01, is_flat_bottomed=True)
    return CarvedPanel(planform or taper(), 8.0, section, thickness_mm=(8.0, 5.0), trailing_mm=1.0)


def naca_panel(planform: Planform | None = None, digits: str = "0009") -> CarvedPanel:
    return CarvedPanel(planform or taper(), 12.0, naca4(digits))
