"""Acute tips held against the ink: whether two sides end in a point or in a blunt end, and where.

Two sides that meet at a sharp angle melt into one line long before they cross, so the ink alone bears the tip: its end
says how far the pen went. A point and a blunt end narrower than the pen differ by nothing else.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from vectorize.fit.joint_hypotheses import JointHypothesis, Side
from vectorize.fit.place_by_ink import PLAIN_SHARE, Place, Seen, ending, flattened
from vectorize.shapes.primitives import as_point, fit_line
from vectorize.shapes.segment import Line, Point, Points

TIP_DEG = 45.0
"""Sides that meet at less make an acute tip: there the ink ends farther from their crossing than a pen is wide where
the end is blunt by a pen's width. This and the measures of tips below, and those of `way_by_ink`, were chosen on the
drawn tips of seeds 0 to 59 and on sheets in eight hands; seeds from 1000 were left out (`tests.benchmarks.tips`)."""

BLUNT_STARTS_MM = (0.1, 0.25, 0.5, 0.9, 1.4)
"""Thicknesses of blunt ends from which the best one is sought."""

LED_ON_STARTS_MM = (0.0, 0.4, 0.8)
"""By how much sides may be led on beyond a blunt end."""

MOST_LED_ON_MM = 1.0
"""Sides run on by no more where corners overshoot (common practice, no source)."""

MOST_BLUNT_MM = 1.6
"""A longer end is a side of its own; one that is askew by more than half a right angle, none. Of one that is narrower
than the pen only the place shows, so it is taken to be nearly square."""

TIP_SPAN_MM = 2.4
"""Where sides leave a tip by more they do so on purpose, by a curve."""

APART_PENS = 1.5
"""Between sides that are led on beyond a narrower end no paper shows."""

GOES_ON_MM, JOINS_MM, TELLS_MM = 4.0, 1.5, 4.0
"""A line that ends on a tip is led on by so much: so long it may have melted into a side. Its last stretch, which they
bend, does not tell whither; as much before it does."""


def tip_deg(one: Side, other: Side, apex: Point) -> float:
    """Return the angle at which two sides, each walked towards the place, meet at `apex`: 0 where they run together."""
    (ax, ay), (bx, by) = one.direction(apex), other.direction(apex)
    return math.degrees(math.atan2(abs(ax * by - ay * bx), ax * bx + ay * by))


def blunt_tips(one: Side, other: Side, apex: Point, place: Place) -> list[Seen]:
    """Return the ways with a short straight end before `apex`, each as well as the ink has it.

    An end wider than the pen shows as a line of its own, beyond which the sides may be led on. In a narrower one
    nothing shows of how the sides end, so there they end with it. A side that is led on is charged as a joint is.
    """
    tip = _Tip(one, other, apex, (flattened(one.up_to(apex)), flattened(other.up_to(apex))[::-1]), place)
    half = math.radians(max(tip_deg(one, other, apex), 2.0) / 2)
    starts = [
        (-wide / (2 * math.sin(half)),) * 2 + (led_on,) * 2
        for wide in BLUNT_STARTS_MM
        for led_on in LED_ON_STARTS_MM
        if led_on == 0.0 or wide > APART_PENS * place.pen.width_mm
    ]
    known = {start: tip.left(start) for start in starts}
    best = sorted((s for s in starts if math.isfinite(known[s])), key=lambda s: known[s])[:3]
    found = [_settled(tip.left, start, known[start]) for start in best]
    return [Seen(tip.way(at), left, extra=PLAIN_SHARE * sum(by > 0.0 for by in at[2:])) for at, left in found]


Ends = tuple[float, float, float, float]
"""How far from the apex each side has its corner, negative before it, and by how much each is led on beyond that."""


def led_on_to(place: Point, lines: Sequence[Points]) -> list[Points]:
    """Return lines with each end near a place led on straight, as it went before it melted into the sides there."""
    found = []
    for line in lines:
        for end in (line, line[::-1]):
            back = np.hypot(*(end - end[-1]).T)
            tells = end[(back >= JOINS_MM) & (back <= JOINS_MM + TELLS_MM)]
            if np.hypot(*(end[-1] - place)) > GOES_ON_MM or len(tells) < 5:
                continue
            heading = as_point(tells[-1] - tells[0])
            straight = fit_line(tells, heading)
            first = np.array(straight.nearest(as_point(tells[-1])))
            found.append(np.array([first, first + (JOINS_MM + GOES_ON_MM) * np.array(straight.along)]))
    return [*lines, *found]


@dataclass(frozen=True, slots=True, eq=False)
class _Tip:
    """Two sides that would cross at an apex, both as lines up to there, and the ink."""

    one: Side
    other: Side
    apex: Point
    lines: tuple[Points, Points]
    place: Place

    def corners(self, ends: Ends) -> tuple[Point, Point]:
        """Return the two corners of the end."""
        first, last = (
            side.at(side.beyond(self.apex) + by) for side, by in zip((self.one, self.other), ends[:2], strict=True)
        )
        return first, last

    def left(self, ends: Ends) -> float:
        """Return the share of the ink that an end leaves unexplained; infinite where it is none."""
        first, last = self.corners(ends)
        wide, (a, b, on_a, on_b) = math.dist(first, last), ends
        is_within = a <= 0.0 and b <= 0.0 and self.one.has_room(first) and self.other.has_room(last)
        is_led_on = on_a > 0.0 or on_b > 0.0
        if not is_within or max(on_a, on_b) > MOST_LED_ON_MM:
            return math.inf
        pen_mm = self.place.pen.width_mm
        if not max(1e-6, abs(a - b) * (1.0 if wide > pen_mm else 2.0)) <= wide <= MOST_BLUNT_MM:
            return math.inf
        if not self.place.shows(np.array([first, last])) or (is_led_on and wide < APART_PENS * pen_mm):
            return math.inf
        sides = [ending(line, by) for line, by in zip(self.lines, (a + on_a, b + on_b), strict=True)]
        return self.place.left_by([*sides, np.array([first, last])])

    def way(self, ends: Ends) -> JointHypothesis:
        """Return the way round an end."""
        first, last = self.corners(ends)
        before, after = self.one.up_to(first), self.other.up_to(last)
        end = Line(before[-1].end, after[0].start)
        return JointHypothesis(before[0], (*before[1:], end, *after[:-1]), after[-1])


def _settled(left: Callable[[Ends], float], at: Ends, least: float) -> tuple[Ends, float]:
    """Return the ends near `at` that leave least, and what they leave."""
    for step in (0.4, 0.15, 0.05, 0.02):
        for _ in range(8):
            tries = list(_neighbours(at, step))
            lefts = [left(one) for one in tries]
            if min(lefts) >= least:
                break
            least, at = min(lefts), tries[int(np.argmin(lefts))]
    return at, least


def _neighbours(at: Ends, step: float) -> Iterable[Ends]:
    """Return ends with one corner moved, both moved alike, or one side led on more or less."""
    a, b, on_a, on_b = at
    for by in (step, -step):
        yield a + by, b, on_a, on_b
        yield a, b + by, on_a, on_b
        yield a + by, b + by, on_a, on_b
        yield a, b, max(0.0, on_a + by), on_b
        yield a, b, on_a, max(0.0, on_b + by)
