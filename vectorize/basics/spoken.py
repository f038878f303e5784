"""Sentences in the preferred system: what is said in metric units is said anew in inches and ounces."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass

from vectorize.basics.units import QUANTITIES, figure, inch_fraction, unit_of

_QUANTITY = {metric.unit: name for name, (metric, _) in QUANTITIES.items()} | {
    "mm²": "area",
    "mm2": "area",
    "mm³": "volume",
    "mm3": "volume",
    "kg/m³": "density",
}
_SIZE = {"mm²": 1.0, "mm2": 1.0, "mm³": 1.0, "mm3": 1.0}
"""What one of a unit is inside, where that is not what the quantity is shown in."""
_NUMBER = r"(?:[+−-]?\d+(?:\.\d+)?)"
_UNIT = "|".join(re.escape(unit) for unit in sorted(_QUANTITY, key=len, reverse=True))
# Several figures may share one unit: 100 x 40 mm, 35.4 ± 0.2 g, 12 to 15 mm.
_JOINED = rf"(?: ?[x×±/…] ?| to | and | or ){_NUMBER}"
_MEASURE = rf"(?:(?<![\w./,:#\"]){_NUMBER}|\({_NUMBER}, {_NUMBER}\))(?:{_JOINED})*\s(?:{_UNIT})(?![\w²³⁴/])"
_IMPERIAL = r"(?:in|oz|lb/ft[3³])"
_SPEECH = re.compile(
    rf"(?P<quoted>(?<!\w)'[^'\n]*'(?!\w)|`[^`\n]*`|\"[^\"\n]*\")"
    rf"|(?P<told>{_IMPERIAL} \({_MEASURE}\))"
    rf"|(?P<metric>{_MEASURE}) \((?P<imperial>[^()\n]*\b{_IMPERIAL})\)"
    rf"|(?P<bare>{_MEASURE})"
)


def in_units(text: str, *, units: str, kept: Collection[str] = ()) -> str:
    """Return a sentence with its lengths, areas, masses and densities in the preferred system, `mm` or `in`.

    Sentences are made in metric units, where what they speak of is computed; this is where they are said to a
    person. A metric figure becomes the imperial one of as many digits: `a gap of 1.4 mm` is said `a gap of
    0.055 in`. Where both systems stand side by side the imperial one goes first. What somebody wrote stays:
    words in quotes, and the names in `kept`.
    """
    if units != "in":
        return text
    names = "|".join(re.escape(name) for name in sorted(kept, key=len, reverse=True) if re.search(r"\d", name))
    pieces = re.split(rf"(?<!\w)({names})(?!\w)", text) if names else [text]
    return "".join(piece if number % 2 else _SPEECH.sub(_said, piece) for number, piece in enumerate(pieces))


@dataclass(frozen=True, slots=True)
class Speech:
    """How a job speaks: its units, and the names in it, which are said as they are written."""

    units: str = "mm"
    kept: tuple[str, ...] = ()

    def said(self, text: str) -> str:
        """Return a sentence in the units of the job; see `in_units`."""
        return in_units(text, units=self.units, kept=self.kept)


METRIC = Speech()


def _said(match: re.Match[str]) -> str:
    if match["imperial"]:
        return f"{match['imperial']} ({match['metric']})"
    return match[0] if match["bare"] is None else _converted(match["bare"])


def _converted(measure: str) -> str:
    figures, unit = measure.rsplit(maxsplit=1)
    quantity = _QUANTITY[unit]
    # Sheets are sold by fractions: 25.4 mm, 3.175 mm. Two decimals are a measurement.
    if quantity == "length" and (written := re.fullmatch(r"\d+(?:\.(?:\d|(?P<fine>\d{3,})))?", figures)):
        fraction = inch_fraction(float(figures), tolerance_mm=0.0005 if written["fine"] else 0.005)
        if fraction is not None:
            return f"{fraction} in"
    size = _SIZE.get(unit, QUANTITIES[quantity][0].size)
    return f"{re.sub(_NUMBER, lambda found: _figure(found[0], quantity, size), figures)} {unit_of(quantity, 'in')}"


def _figure(digits: str, quantity: str, size: float) -> str:
    decimals = len(digits.partition(".")[2])
    value = float(digits.replace("−", "-")) * size
    # A figure that would be told as nothing gets the digits that it needs.
    while decimals < 6 and value and not float(figure(value, quantity, units="in", decimals=decimals)):
        decimals += 1
    return figure(value, quantity, units="in", decimals=decimals, is_signed=digits[0] == "+")
