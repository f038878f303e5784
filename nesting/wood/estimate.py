"""A value with its uncertainty, kept apart by where the uncertainty comes from.

Two parts cut from one board share that board's scale reading, so their errors do not average out.
An estimate therefore remembers each source of doubt by name, with the change that one standard
deviation of that source makes (first order, signed); sums and products combine them source by source.
Source: JCGM 100:2008 (GUM), clause 5, the law of propagation of uncertainty, correlated terms included.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

UNIFORM_SIGMA = 1 / math.sqrt(12)
"""Standard deviation of a uniform error one step wide: what a scale that rounds to its step adds (GUM 4.3.7)."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value and its doubts: pairs of source name and signed effect of one standard deviation.

    Sources with different names are independent, a source with the same name is the same error.
    """

    value: float
    doubts: tuple[tuple[str, float], ...] = ()

    @staticmethod
    def measured(value: float, sigma: float, source: str) -> Estimate:
        """Return `value` with one source of doubt of standard deviation `sigma`."""
        return Estimate(value, ((source, sigma),) if sigma else ())

    @staticmethod
    def reading(value: float, step: float, source: str) -> Estimate:
        """Return a reading that was rounded to `step`."""
        return Estimate.measured(value, step * UNIFORM_SIGMA, source)

    @property
    def sigma(self) -> float:
        """Return one standard deviation of the whole."""
        return math.sqrt(math.fsum(effect * effect for _, effect in self.doubts))

    @property
    def relative_sigma(self) -> float:
        """Return one standard deviation as a share of the value (inf at zero)."""
        return self.sigma / abs(self.value) if self.value else math.inf

    @property
    def main_doubt(self) -> str | None:
        """Return the source that adds most, or None where there is no doubt."""
        return max(self.doubts, key=lambda doubt: abs(doubt[1]), default=(None, 0.0))[0]

    def __add__(self, other: Estimate | float) -> Estimate:
        other = as_estimate(other)
        return _combined(self.value + other.value, (self, 1.0), (other, 1.0))

    __radd__ = __add__

    def __neg__(self) -> Estimate:
        return self * -1.0

    def __sub__(self, other: Estimate | float) -> Estimate:
        return self + -as_estimate(other)

    def __rsub__(self, other: Estimate | float) -> Estimate:
        return as_estimate(other) + -self

    def __mul__(self, other: Estimate | float) -> Estimate:
        other = as_estimate(other)
        return _combined(self.value * other.value, (self, other.value), (other, self.value))

    __rmul__ = __mul__

    def __truediv__(self, other: Estimate | float) -> Estimate:
        other = as_estimate(other)
        return _combined(
            self.value / other.value, (self, 1 / other.value), (other, -self.value / (other.value * other.value))
        )

    def __pow__(self, power: float) -> Estimate:
        return _combined(self.value**power, (self, power * self.value ** (power - 1)))


def as_estimate(value: Estimate | float) -> Estimate:
    """Return a plain number as an estimate without doubt."""
    return value if isinstance(value, Estimate) else Estimate(float(value))


def total(estimates: Iterable[Estimate]) -> Estimate:
    """Return the sum; errors from a common source add up in full, others by their squares."""
    terms = [(estimate, 1.0) for estimate in estimates]
    return _combined(math.fsum(estimate.value for estimate, _ in terms), *terms)


def _combined(value: float, *terms: tuple[Estimate, float]) -> Estimate:
    effects: dict[str, float] = {}
    for estimate, slope in terms:
        for source, effect in estimate.doubts:
            effects[source] = effects.get(source, 0.0) + slope * effect
    return Estimate(value, tuple(sorted((source, effect) for source, effect in effects.items() if effect)))
