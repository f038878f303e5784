"""Dimensions read off a plan, and the scale that most of them share."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from vectorize.basics.units import MM_PER_INCH
from vectorize.marks.dimension_chains import Link, add_up
from vectorize.marks.figures import Length, lengths
from vectorize.marks.lettering import Text
from vectorize.marks.spans import Line, Span
from vectorize.scale.known import AXES_LIMIT
from vectorize.shapes.segment import Point

AGREES_SHARE = 0.002
AGREES_MM = 0.15
"""A dimension agrees with the scale within this share of its length and this much, and half its last place."""

ROUND_MM, ROUND_SHARE = 10.0, 0.25
"""A round length is exact to this share of its last place (common practice, no source)."""

VOTES_SHARE = 0.025
"""A dimension counts for the scale if its tolerance is no more of its length than this."""

STATED_OFF = 6.0
"""Plans are drawn, and copied, to scales between a fifth of the stated size and five times it."""

AXIS_DOUBT = 0.005
"""How unsure the scale of an axis is that is taken from the other one, as a share."""

ALONE_SURE, ALONE_SIGMA = 0.8, 0.003
"""A single dimension along an axis counts for it beside the other one if it is read so surely, and so exact."""

LEAST_LONG_MM, LEAST_SURE, WITNESSES = 25.0, 0.5, 2
"""Figures so long and so surely read tell how exactly a sheet is figured, and so many of them must."""

LEAST_BARE = 10.0
"""A smaller figure without a unit is a number, a count, or a mark that looks like one."""

LEAST_AGREEING = 3
"""So many dimensions must agree before a scale is proposed."""


@dataclass(frozen=True, slots=True)
class Dimension:
    """A dimension read off the plan: the number of its text, what it states, and between which pixels.

    `agrees` says whether it fits the scale that most dimensions share.
    """

    text: int
    length_mm: float
    start: Point
    end: Point
    sure: float
    agrees: bool


@dataclass(frozen=True, slots=True)
class ProposedScale:
    """Pixels per mm along the sheet's x and y as most dimensions say, its standard deviation, and how many say so."""

    px_per_mm: tuple[float, float]
    sigma_share: float
    used: int


def agreed(
    texts: Sequence[Text], spans: Iterable[Span], *, stated_px_per_mm: float | None = None
) -> tuple[tuple[Dimension, ...], ProposedScale | None]:
    """Return the dimensions, one a text, and the scale that most of them share; None where fewer than three agree.

    A text that fits the shared scale in one of its readings takes that one; the others keep their likeliest reading.

    Args:
        texts: The lettering of the page.
        spans: What the texts may state.
        stated_px_per_mm: What the file says, which decides only between scales that as many dimensions share.
    """
    is_metric = any(length.unit in ("mm", "cm") and length.sure > 0.2 for t in texts for length in lengths(t.readings))
    spans = tuple(spans)
    lines = Counter(span.text for span in spans)
    claims = _to_one_place(
        [
            claim
            for span in spans
            for claim in _claims(texts[span.text], span, lines[span.text], is_metric=is_metric)
            if stated_px_per_mm is None or 1 / STATED_OFF < claim.mm_per_px * stated_px_per_mm < STATED_OFF
        ]
    )
    if not claims:
        return (), None
    voters = [claim for claim in claims if claim.votes] or claims
    centre = max(voters, key=lambda claim: _support(voters, claim, stated_px_per_mm))
    best: dict[int, _Claim] = {}
    for claim in sorted(claims, key=lambda claim: _rank(claim, centre.mm_per_px)):
        best.setdefault(claim.span.text, claim)
    alone = _one_a_line(best, centre.mm_per_px)
    near = [claim for claim in alone if claim.fits(centre.mm_per_px, AXES_LIMIT)]
    axes = _axes(near, centre.mm_per_px)
    best = _chained(best, [claim for claim in alone if _agrees(claim, axes)], claims, axes)
    alone = [best[claim.span.text] for claim in alone]
    dimensions = []
    agreeing: list[_Claim] = []
    for index, claim in sorted(best.items()):
        # One that is written too coarsely to tell scales apart bears out none.
        fits = claim in alone and _agrees(claim, axes)
        agreeing += [claim] if fits else []
        dimensions.append(Dimension(index, claim.length.mm, claim.span.start, claim.span.end, claim.length.sure, fits))
    if len(agreeing) < LEAST_AGREEING:
        return tuple(Dimension(d.text, d.length_mm, d.start, d.end, d.sure, False) for d in dimensions), None
    axes = _axes(agreeing, centre.mm_per_px)
    return tuple(dimensions), ProposedScale((1 / axes[0], 1 / axes[1]), _sigma_share(agreeing), len(agreeing))


@dataclass(frozen=True, slots=True)
class _Claim:
    """That a span has a certain length."""

    span: Span
    length: Length
    likeliest: float
    lines: int

    @property
    def is_likelier_than_chance(self) -> bool:
        """Whether it is likelier to be read so, against the text's likeliest reading, than a line is to fit by chance.

        Of many lines about a text one is soon as long as some far-fetched reading of it says.
        """
        by_chance = self.lines * 2 * self.tolerance_mm / self.length.mm
        return self.length.sure > min(by_chance, 1.0) * self.likeliest

    @property
    def mm_per_px(self) -> float:
        return self.length.mm / self.span.px

    @property
    def is_in_inches(self) -> bool:
        return self.length.unit in ("in", "ft")

    def written_to(self, step_mm: float) -> _Claim:
        """Return it as exact as that last place where it is written to a coarser one."""
        return replace(self, length=replace(self.length, step_mm=min(step_mm, self.length.step_mm)))

    @property
    def sigma_share(self) -> float:
        """Standard deviation of the scale by this dimension alone: its last place, and how well its ends are seen."""
        step_mm = self.length.step_mm * (ROUND_SHARE if self.is_round else 1.0)
        return math.hypot(step_mm / math.sqrt(12), AGREES_MM / 2) / self.length.mm

    @property
    def is_round(self) -> bool:
        """Whether it is a whole number of inches, or of tens of millimetres: chosen, and drawn so, not measured."""
        unit = MM_PER_INCH if self.is_in_inches else ROUND_MM
        return abs(self.length.mm / unit - round(self.length.mm / unit)) < 1e-6

    @property
    def tolerance_mm(self) -> float:
        """How far off it may be by the way it is written and drawn."""
        return AGREES_MM + self.length.step_mm / 2

    @property
    def votes(self) -> bool:
        """Whether it is long and finely written enough to tell scales apart: a thickness in a callout is not."""
        return self.tolerance_mm <= VOTES_SHARE * self.length.mm

    def fits(self, mm_per_px: float, share: float) -> bool:
        """Return whether it agrees with a scale, within a share of its length more."""
        off = abs(self.span.px * mm_per_px - self.length.mm)
        return off <= self.tolerance_mm + share * self.length.mm


def _claims(text: Text, span: Span, lines: int, *, is_metric: bool) -> list[_Claim]:
    """Return what a span may measure; a bare figure may be inches where no other text of the sheet has millimetres."""
    found = []
    likeliest = max(reading.sure for reading in text.readings)
    for length in lengths(text.readings):
        if length.unit == "" and length.mm < LEAST_BARE:
            continue
        found.append(_Claim(span, length, likeliest, lines))
        if length.unit == "" and not is_metric:
            found.append(_Claim(span, length.in_inches(), likeliest, lines))
    return found


def _to_one_place(claims: Sequence[_Claim]) -> list[_Claim]:
    """Return claims as exact as the finest last place that long figures of their unit are written to on the sheet.

    A draughtsman writes 1-3/8 for 1-12/32, and 28 for 28.0. Two figures must say so: one may be misread.
    """
    places: dict[bool, dict[int, float]] = {False: {}, True: {}}
    for claim in claims:
        if claim.length.mm >= LEAST_LONG_MM and claim.length.sure > LEAST_SURE:
            places[claim.is_in_inches][claim.span.text] = claim.length.step_mm
    finest = {unit: sorted(steps.values())[WITNESSES - 1 :][:1] for unit, steps in places.items()}
    return [claim.written_to(min(finest[claim.is_in_inches], default=math.inf)) for claim in claims]


def _rank(claim: _Claim, mm_per_px: float) -> tuple[bool, bool, float, bool, float]:
    """Return the order in which the claims of a text are taken: figures stand on their lines, or in them."""
    below = claim.span.below_px
    misfits = not claim.fits(mm_per_px, AXES_LIMIT), not claim.fits(mm_per_px, AGREES_SHARE)
    return *misfits, -claim.length.sure, below < -AGREES_MM / mm_per_px, abs(below)


def _support(claims: Sequence[_Claim], centre: _Claim, stated: float | None) -> tuple[float, float]:
    """Return how many texts share the scale of a claim, well read ones more, and how near the stated one it is.

    Several texts between the same two uprights are one witness: only one of them can be the figure.
    """
    texts: dict[int, tuple[float, Line]] = {}
    for claim in claims:
        if claim.fits(centre.mm_per_px, AGREES_SHARE):
            weight = 0.5 + 0.5 * claim.length.sure
            texts[claim.span.text] = max(texts.get(claim.span.text, (0.0, claim.span.line)), (weight, claim.span.line))
    lines: dict[Line, float] = {}
    for weight, line in texts.values():
        lines[line] = max(lines.get(line, 0.0), weight)
    near = -abs(math.log(centre.mm_per_px * stated)) if stated else 0.0
    return sum(lines.values()), near


def _one_a_line(best: Mapping[int, _Claim], mm_per_px: float) -> list[_Claim]:
    """Return the claims with one of those between the same uprights: the one that stands to it as figures do."""
    lines: dict[Line, _Claim] = {}
    for claim in sorted(best.values(), key=lambda claim: (_rank(claim, mm_per_px), claim.span.text)):
        lines.setdefault(claim.span.line, claim)
    return sorted(lines.values(), key=lambda claim: claim.span.text)


def _agrees(claim: _Claim, axes: tuple[float, float]) -> bool:
    """Return whether a claim fits, and is surer to be read so than one of so many lines is to fit by chance."""
    return claim.votes and claim.fits(axes[claim.span.is_upright], AGREES_SHARE) and claim.is_likelier_than_chance


def _chained(
    best: Mapping[int, _Claim], agreeing: Sequence[_Claim], claims: Sequence[_Claim], axes: tuple[float, float]
) -> dict[int, _Claim]:
    """Return the claims with another reading that agrees as well, where a chain adds up by that one alone."""
    options = {
        claim.span.text: {
            other.length.mm: other for other in claims if other.span == claim.span and _agrees(other, axes)
        }
        for claim in agreeing
    }
    links = [
        Link(
            claim.span.start, claim.span.end, claim.length.mm, tuple(set(options[claim.span.text]) - {claim.length.mm})
        )
        for claim in agreeing
    ]
    said = zip(agreeing, add_up(links), strict=True)
    return {**best, **{claim.span.text: options[claim.span.text][mm] for claim, mm in said}}


def _sigma_share(claims: Sequence[_Claim]) -> float:
    """Return how unsure the scale is along the less sure axis, as a share."""
    return max(_of_axis(claims, is_upright=is_upright)[1] for is_upright in (False, True))


def _axes(claims: Sequence[_Claim], usual: float) -> tuple[float, float]:
    """Return mm per pixel along x and y."""
    if not claims:
        return usual, usual
    return _of_axis(claims, is_upright=False)[0], _of_axis(claims, is_upright=True)[0]


def _of_axis(claims: Sequence[_Claim], *, is_upright: bool) -> tuple[float, float]:
    """Return mm per pixel along an axis and its standard deviation, as a share.

    It is the weighted mean of the axis' own dimensions. Of a single one, and without any, that of both axes counts too,
    with how unlike axes are: one confirms nothing but itself.
    """
    along = [claim for claim in claims if claim.span.is_upright == is_upright]
    if len(along) > 1:
        return _mean(along)
    others = [claim for claim in claims if claim.span.is_upright != is_upright]
    value, sigma = _mean(others if len(others) > 1 else claims)
    doubt = math.hypot(sigma, AXIS_DOUBT)
    is_exact = bool(along) and along[0].length.sure > ALONE_SURE and along[0].sigma_share < ALONE_SIGMA
    if len(others) < 2 or not is_exact:
        return value, doubt
    own = along[0].sigma_share
    weight = own**-2 / (own**-2 + doubt**-2)
    return (1 - weight) * value + weight * along[0].mm_per_px, (own**-2 + doubt**-2) ** -0.5


def _mean(claims: Sequence[_Claim]) -> tuple[float, float]:
    """Return the weighted mean of mm per pixel, and its standard deviation as a share."""
    weights = [claim.sigma_share**-2 for claim in claims]
    total = sum(weight * claim.mm_per_px for weight, claim in zip(weights, claims, strict=True))
    return total / sum(weights), sum(weights) ** -0.5
