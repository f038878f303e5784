"""Quantities as builders write them: `3/32 in`, `1 1/4 oz`, `3,5 mm`, `7.5 lb/ft3`.

Inside Sheetwood lengths are millimetres, masses grams, densities kg/m3, angles degrees.
Conversion happens here, once, with exact factors (international yard and pound, 1959).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction

from vectorize.basics.errors import UnitError
from vectorize.basics.wording import shown

MM_PER_INCH = 25.4
IN_MILLIMETRES = "drawn in millimetres"
"""Words that state the unit of a DXF where its header cannot: R12 has no $INSUNITS."""

G_PER_POUND = 453.59237
G_PER_OUNCE = G_PER_POUND / 16
KG_M3_PER_LB_FT3 = 0.45359237 / 0.3048**3
STANDARD_GRAVITY = 9.80665

_INCH = Fraction("25.4")
_POUND = Fraction("453.59237")
_PCF = Fraction("0.45359237") / Fraction("0.3048") ** 3
_G = Fraction("9.80665")
_PSI_MPA = _POUND / 1000 * _G / (_INCH * _INCH)


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity: its name, the unit used inside, and exact factors to that unit."""

    name: str
    inside: str
    factors: dict[str, Fraction] = field(hash=False)

    @property
    def unit_list(self) -> str:
        """Return the main units in words for a message."""
        return ", ".join(unit for unit in self.factors if unit.isascii() and not {"'", '"'} & set(unit))


LENGTH = Kind(
    "length",
    "mm",
    {
        "mm": Fraction(1),
        "cm": Fraction(10),
        "m": Fraction(1000),
        "in": _INCH,
        "inch": _INCH,
        "inches": _INCH,
        '"': _INCH,
        "″": _INCH,
        "”": _INCH,
        "''": _INCH,
        "ft": 12 * _INCH,
        "'": 12 * _INCH,
        "′": 12 * _INCH,
    },
)
MASS = Kind(
    "mass",
    "g",
    {
        "g": Fraction(1),
        "gr": Fraction(1),
        "gram": Fraction(1),
        "grams": Fraction(1),
        "kg": Fraction(1000),
        "mg": Fraction(1, 1000),
        "oz": _POUND / 16,
        "lb": _POUND,
        "lbs": _POUND,
    },
)
DENSITY = Kind(
    "density",
    "kg/m3",
    {
        "kg/m3": Fraction(1),
        "kg/m^3": Fraction(1),
        "kg/m³": Fraction(1),
        "g/cm3": Fraction(1000),
        "g/cm³": Fraction(1000),
        "lb/ft3": _PCF,
        "lb/ft^3": _PCF,
        "lb/ft³": _PCF,
        "lb/cu ft": _PCF,
        "pcf": _PCF,
    },
)
ANGLE = Kind("angle", "deg", {"deg": Fraction(1), "°": Fraction(1), "degrees": Fraction(1)})
AREA_WEIGHT = Kind(
    "weight per area",
    "g/m2",
    {
        "g/m2": Fraction(1),
        "g/m^2": Fraction(1),
        "g/m²": Fraction(1),
        "gsm": Fraction(1),
        "oz/yd2": _POUND / 16 / (36 * _INCH / 1000) ** 2,
        "oz/ft2": _POUND / 16 / (12 * _INCH / 1000) ** 2,
    },
)
STIFFNESS = Kind(
    "modulus",
    "MPa",
    {"MPa": Fraction(1), "GPa": Fraction(1000), "N/mm2": Fraction(1), "psi": _PSI_MPA, "ksi": 1000 * _PSI_MPA},
)
DURATION = Kind("time", "s", {"s": Fraction(1), "sec": Fraction(1), "min": Fraction(60), "h": Fraction(3600)})
MEMORY = Kind("memory", "MB", {"MB": Fraction(1), "GB": Fraction(1000)})
FREQUENCY = Kind("frequency", "Hz", {"Hz": Fraction(1), "kHz": Fraction(1000)})
SHARE = Kind("share", "1", {"%": Fraction(1, 100), "": Fraction(1)})

LARGEST = 1e9
"""Most of any quantity in the unit used inside, and of any pixel or count: what is larger is a slip."""
_LONGEST = 100

_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3"}
_NUMBER = re.compile(
    r"""^\s*(?P<sign>[+\-−])?\s*
    (?:(?:(?P<whole>\d+)[\s\-+]+)?(?P<num>\d+)\s*/\s*(?P<den>\d+)
      |(?P<decimal>\d+(?:[.,]\d*)?|[.,]\d+)(?P<more>(?:[.,]\d+)*))
    \s*(?P<unit>.*?)\s*$""",
    re.VERBOSE,
)


def parse(text: str, kind: Kind, *, default_unit: str | None = None, what: str = "value") -> float:
    """Return `text` as a number in the unit that Sheetwood uses inside for `kind`.

    Decimal point or comma, vulgar fractions and mixed numbers are read; so is a leading sign.

    Args:
        text: What the user wrote, such as `1 1/16 in`.
        kind: LENGTH, MASS, DENSITY, ANGLE, AREA_WEIGHT, STIFFNESS, DURATION or SHARE.
        default_unit: Unit for a bare number (a table whose heading names the unit); by default
            a bare number is an error.
        what: Name of the value for the message, such as `board B2: mass`.

    Raises:
        UnitError: No number, no unit, an unknown unit, or digits that can be read in two ways.
    """
    found = shown(str(text).strip())
    value, unit = _number_and_unit(str(text), kind, what)
    if not unit and "" not in kind.factors:
        if default_unit is None:
            raise UnitError(f"{what} is {found}, without a unit; write it with one of {kind.unit_list}.")
        unit = default_unit
    factor = kind.factors.get(unit, kind.factors.get(unit.lower()))
    if factor is None:
        raise UnitError(f"{what} is {found}: {shown(unit)} is not a unit of {kind.name}; use one of {kind.unit_list}.")
    if abs(value * factor) > LARGEST:
        raise UnitError(f"{what} is {found}, more than any {kind.name} in a model can be; look for a slip.")
    return float(value * factor)


def parse_length(text: str, *, default_unit: str | None = None, what: str = "length") -> float:
    """Return `text` in millimetres; see `parse`."""
    return parse(text, LENGTH, default_unit=default_unit, what=what)


def parse_mass(text: str, *, default_unit: str | None = None, what: str = "mass") -> float:
    """Return `text` in grams; see `parse`."""
    return parse(text, MASS, default_unit=default_unit, what=what)


def parse_density(text: str, *, default_unit: str | None = None, what: str = "density") -> float:
    """Return `text` in kg/m3; see `parse`."""
    return parse(text, DENSITY, default_unit=default_unit, what=what)


def parse_angle(text: str, *, default_unit: str | None = None, what: str = "angle") -> float:
    """Return `text` in degrees; see `parse`."""
    return parse(text, ANGLE, default_unit=default_unit, what=what)


def _number_and_unit(text: str, kind: Kind, what: str) -> tuple[Fraction, str]:
    if len(text) > _LONGEST:
        raise UnitError(
            f"{what} is {shown(text)}, too long for a number with a unit; write it like '3.5 {kind.inside}'."
        )
    plain = text
    for sign, fraction in () if text.isascii() else _VULGAR.items():
        plain = re.sub(rf"(\d)\s*{sign}", rf"\1 {fraction}", plain).replace(sign, fraction)
    match = _NUMBER.match(plain)
    if match is None:
        raise UnitError(
            f"{what} is {shown(text.strip())}, which does not begin with a number; write it like '3.5 {kind.inside}'."
        )
    magnitude = _fraction(match, text, what) if match["num"] else _decimal(match, text, what)
    return (-magnitude if match["sign"] in ("-", "−") else magnitude), match["unit"]


def _fraction(match: re.Match[str], text: str, what: str) -> Fraction:
    if int(match["den"]) == 0:
        raise UnitError(f"{what} is {shown(text.strip())}, a fraction with nothing below the line.")
    return Fraction(int(match["whole"] or 0)) + Fraction(int(match["num"]), int(match["den"]))


def _decimal(match: re.Match[str], text: str, what: str) -> Fraction:
    digits = match["decimal"]
    is_doubtful = bool(match["more"]) or re.fullmatch(r"[1-9]\d{0,2},\d{3}", digits) is not None
    if is_doubtful:
        raise UnitError(
            f"{what} is {shown(text.strip())}, which can be read in two ways; "
            "write one decimal mark and no mark between thousands, like 1234.5."
        )
    return Fraction(digits.replace(",", ".").rstrip(".") if digits[0] not in ",." else "0" + digits.replace(",", "."))


def inch_fraction(length_mm: float, *, largest_denominator: int = 64, tolerance_mm: float = 0.02) -> str | None:
    """Return `length_mm` as a builder's fraction of an inch such as `1 1/16`, or None if it is not near one."""
    inches = length_mm / MM_PER_INCH
    nearest = Fraction(round(inches * largest_denominator), largest_denominator)
    if nearest <= 0 or abs(float(nearest) * MM_PER_INCH - length_mm) > tolerance_mm:
        return None
    whole, rest = divmod(nearest, 1)
    if rest == 0:
        return str(whole)
    return f"{whole} {rest}" if whole else str(rest)


@dataclass(frozen=True, slots=True)
class Shown:
    """How a quantity is shown in one system: its unit, how much of the inside unit that is, and decimals beside metric.

    `more` decimals are shown than in the metric unit, so that both say about as much.
    """

    unit: str
    size: float
    more: int = 0


QUANTITIES: dict[str, tuple[Shown, Shown]] = {
    "length": (Shown("mm", 1.0), Shown("in", MM_PER_INCH, 2)),
    "area": (Shown("cm²", 100.0), Shown("in²", MM_PER_INCH**2, 1)),
    "volume": (Shown("cm³", 1000.0), Shown("in³", MM_PER_INCH**3, 2)),
    "second moment": (Shown("mm⁴", 1.0), Shown("in⁴", MM_PER_INCH**4, 6)),
    "mass": (Shown("g", 1.0), Shown("oz", G_PER_OUNCE, 1)),
    "density": (Shown("kg/m3", 1.0), Shown("lb/ft3", KG_M3_PER_LB_FT3, 1)),
}
"""Metric and imperial unit of every quantity that is shown, in mm, mm², mm³, mm⁴, g and kg/m3 inside."""


def unit_of(quantity: str, units: str) -> str:
    """Return the unit that a quantity is shown in where the preferred system is `mm` or `in`."""
    return _shown(quantity, units).unit


def figure(
    value: float, quantity: str, *, units: str, decimals: int = 1, sigma: float | None = None, is_signed: bool = False
) -> str:
    """Return a value, and its doubt in the same unit, without that unit: `35.4 ± 0.2`, `1.249 ± 0.007`.

    Args:
        value: In mm, mm², mm³, mm⁴, g or kg/m3.
        quantity: One of `QUANTITIES`.
        units: The preferred system, `mm` or `in`.
        decimals: Of the metric figure; the imperial one gets more where its unit is larger.
        sigma: One standard deviation, in the unit of `value`.
        is_signed: Whether a plus sign is written.
    """
    shown = _shown(quantity, units)
    sign, digits = ("+" if is_signed else ""), decimals + shown.more
    doubt = "" if sigma is None else f" ± {sigma / shown.size:.{digits}f}"
    return f"{value / shown.size:{sign}.{digits}f}{doubt}"


def measure(
    value: float, quantity: str, *, units: str, decimals: int = 1, sigma: float | None = None, is_signed: bool = False
) -> str:
    """Return a value with its unit in the preferred system alone: `35.4 ± 0.2 g`; see `figure`."""
    text = figure(value, quantity, units=units, decimals=decimals, sigma=sigma, is_signed=is_signed)
    return f"{text} {unit_of(quantity, units)}"


def sides(size_mm: tuple[float, float], *, units: str, decimals: int = 1) -> str:
    """Return a length and a width without their unit: `100.0 x 40.0`, `3.937 x 1.575`."""
    return " x ".join(figure(side, "length", units=units, decimals=decimals) for side in size_mm)


def _shown(quantity: str, units: str) -> Shown:
    return QUANTITIES[quantity][units == "in"]


def _both(value: float, quantity: str, units: str, decimals: int, sigma: float | None) -> str:
    """Return the value with its doubt in the preferred system, and in brackets the value in the other."""
    first = measure(value, quantity, units=units, decimals=decimals, sigma=sigma)
    return f"{first} ({measure(value, quantity, units='mm' if units == 'in' else 'in', decimals=decimals)})"


def format_length(length_mm: float, *, units: str = "mm", decimals: int = 1, sigma: float | None = None) -> str:
    """Return a length in both systems, the preferred (`mm` or `in`) first: `2.4 mm (3/32 in)`.

    Inches are a builder's fraction or have three decimals; with a doubt, as many more than the metric figure as fit.
    """
    metric = measure(length_mm, "length", units="mm", decimals=decimals, sigma=None if units == "in" else sigma)
    if sigma is not None and units == "in":
        return f"{measure(length_mm, 'length', units='in', decimals=decimals, sigma=sigma)} ({metric})"
    fraction = inch_fraction(length_mm)
    inches = f"{fraction} in" if fraction else measure(length_mm, "length", units="in")
    return f"{inches} ({metric})" if units == "in" else f"{metric} ({inches})"


def format_mass(mass_g: float, *, units: str = "mm", decimals: int = 1, sigma: float | None = None) -> str:
    """Return a mass in both systems, grams first unless `units` is `in`: `35.4 ± 0.2 g (1.25 oz)`."""
    return _both(mass_g, "mass", units, decimals, sigma)


def format_density(density_kg_m3: float, *, units: str = "mm", sigma: float | None = None) -> str:
    """Return a density in both systems: `160 ± 2 kg/m3 (10.0 lb/ft3)`."""
    return _both(density_kg_m3, "density", units, 0, sigma)
