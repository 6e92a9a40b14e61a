"""Lengths, areas, volumes and weights as a yard writes them: the only place that knows inches.

Inside Ribband a length is millimetres, an area square metres, a volume cubic metres and a weight
kilograms. A job has one unit of its own, a key of `UNITS`; bare numbers are in it and everything
printed is in it.

*Feet-inches-eighths*: ``3-7-5`` is 3 ft 7 5/8 in; ``3-7-5+`` a sixteenth of an inch over and
``3-7-5-`` a sixteenth under. It always has three parts: ``3-7`` could be feet and inches or inches
and eighths, and in such a job a bare ``12`` could be feet or inches, so both are refused.
A fraction without a mark (``43 5/8``) is inches, in the jobs that count in inches.

Reading is exact (`fractions.Fraction`); 1 in = 25.4 mm and 1 lb = 0.45359237 kg by definition.

Not checked here: whether a length is a likely one for a vessel; `ribband.survey` does that.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction

__all__ = [
    "BOARD_FEET_PER_M3",
    "UNITS",
    "Unit",
    "as_written",
    "bare",
    "counted",
    "format_area",
    "format_bare",
    "format_length",
    "format_off",
    "format_quantity",
    "format_small",
    "format_volume",
    "format_weight",
    "imperial",
    "in_unit",
    "parse_exact",
    "parse_length",
    "rounded_up",
    "unit_named",
]

INCH = Fraction(254, 10)  # mm, exact by definition
FOOT = 12 * INCH
POUND = Fraction(45359237, 100_000_000)  # kg, exact by definition
BOARD_FOOT = 144 * INCH**3 / 10**9  # m3
US_GALLON = 231 * INCH**3 / 10**6  # litres, exact by definition
IMPERIAL_GALLON = Fraction(454609, 100_000)  # litres, exact by definition
SQUARE_FOOT = FOOT**2 / 10**6  # m2
BOARD_FEET_PER_M3 = float(1 / BOARD_FOOT)


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of length: `mm` in one of it, `step` it is printed to, words and an example."""

    key: str
    says: str
    mm: Fraction
    step: Fraction
    mark: str
    example: str


UNITS = {
    unit.key: unit
    for unit in (
        Unit("mm", "millimetres", Fraction(1), Fraction(1), "mm", "1108"),
        Unit("cm", "centimetres", Fraction(10), Fraction(1, 10), "cm", "110.8"),
        Unit("m", "metres", Fraction(1000), Fraction(1, 1000), "m", "1.108"),
        Unit("in", "inches", INCH, Fraction(1, 16), "in", "43 5/8"),
        Unit("ft", "decimal feet", FOOT, Fraction(1, 100), "ft", "3.64"),
        Unit("ft-in-8ths", "feet-inches-eighths", INCH, Fraction(1, 16), "", "3-7-5"),
    )
}
_SAID = {
    "mm": ("millimetre", "millimetres", "millimeter", "millimeters"),
    "cm": ("centimetre", "centimetres", "centimeter", "centimeters"),
    "m": ("metre", "metres", "meter", "meters"),
    "in": ("inch", "inches"),
    "ft": ("decimal feet", "feet decimal", "decimal ft"),
    "ft-in-8ths": ("feet-inches-eighths", "feet inches eighths", "ft-in-8", "feet and inches"),
}
_NAMES = {word: key for key, words in _SAID.items() for word in (key, *words)}

_PLAIN = str.maketrans(
    {
        **dict.fromkeys("′’‘ʹ´`", "'"),
        **dict.fromkeys("″”“ʺ", '"'),
        **dict.fromkeys("−–‐‑", "-"),
        **dict.fromkeys("\u00a0\u2009\u202f\t", " "),
        **{sign: f" {part}" for sign, part in zip(
            "½¼¾⅛⅜⅝⅞", ("1/2", "1/4", "3/4", "1/8", "3/8", "5/8", "7/8"), strict=True
        )},
    }
)  # fmt: skip
_LONGEST = 40  # characters; a length is never longer
_NUMBER = r"\d{1,9}(?:\.\d{0,9})?|\.\d{1,9}"
_MIXED = r"\d{1,9} \d{1,2}/\d{1,2}|\d{1,3}/\d{1,2}"
_DASHED = re.compile(r"(\d{1,4})-(\d{1,2})-(\d)([+-]?)")
_DASHES = re.compile(r"\d+(?:-\d+)+[+-]?")
_FEET_INCHES = re.compile(rf"({_NUMBER}) ?(?:'|ft|feet) ?-? ?({_MIXED}|{_NUMBER}) ?(?:\"|in)?")
_MARKED = re.compile(rf"({_MIXED}|{_NUMBER}) ?(mm|cm|m|in|ft|feet|inches|inch|\"|')")
_BARE = re.compile(rf"({_MIXED}|{_NUMBER})")
_MARKS = {"'": "ft", '"': "in", "feet": "ft", "inch": "in", "inches": "in"}
_HALVES = (2, 4, 8, 16, 32, 64)
_DATE = re.compile(
    r"\d{4}-\d\d-\d\d.*|\d{1,2}[/.]\d{1,2}[/.]\d{2,4}"
    r"|\d{1,2}[ -](?!inc|fe|foo|met|mil|cen)[a-z]{3,9}(?:[ -]\d{2,4})?"
    r"|[a-z]{3}[ -]\d{2}|\d{1,2}:\d\d(?::\d\d)?"
)


def parse_exact(text: str, unit: str) -> Fraction:
    """Read a length as written, to exact millimetres; bare numbers are in the job's `unit`.

    Raises
    ------
    ValueError : saying what is wanted, when it is no length or could be two

    >>> parse_exact("3-7-5+", "mm") == parse_exact("3 ft 7 11/16 in", "m")
    True
    >>> parse_exact("43 5/8", "in")
    Fraction(44323, 40)
    """
    plain = _plain(text)
    sign, body = (-1, plain[1:].lstrip()) if plain.startswith("-") else (1, plain)
    return sign * _magnitude(body, UNITS[unit], text.strip())


_WORDED = re.compile(
    r"(?<![\w.])(\d{1,3}(?: \d{3})+|\d+(?:\.\d+)?) ?(mm|kg/m³|kg|degrees in a metre)(?![\w/])"
)
_LB_FT3 = float(Fraction(3048, 10_000) ** 3 / POUND)


def in_unit(text: str, unit: str) -> str:
    """Put every "120 mm", "23 kg", "545 kg/m³" and "2.1 degrees in a metre" of words into a unit.

    >>> in_unit("Steps of 25.4 mm, two 9s.", "ft-in-8ths"), in_unit("Steps of 25.4 mm.", "mm")
    ('Steps of 0-1-0, two 9s.', 'Steps of 25.4 mm.')
    >>> in_unit("545 kg/m³; 23 kg", "ft")
    '34 lb/ft³; 50.7 lb'
    """
    return text if unit == "mm" else _WORDED.sub(lambda m: _worded(m[1], m[2], m[0], unit), text)


def _worded(number: str, kind: str, said: str, unit: str) -> str:
    value = float(number.replace(" ", ""))
    if kind == "mm":
        return format_length(value, unit)
    if not imperial(unit):
        return said
    if kind == "kg":
        return format_weight(value, unit)
    if kind == "kg/m³":
        return f"{value * _LB_FT3:.0f} lb/ft³"
    return f"{value * 0.3048:.1f} degrees in a foot"


def counted(number: int, one: str, many: str = "") -> str:
    """Count things in the words a reader expects; `many` where it is more than an s that is added.

    >>> counted(1, "end"), counted(3, "end"), counted(1, "plank hangs", "planks hang")
    ('1 end', '3 ends', '1 plank hangs')
    """
    return f"{number} {one if number == 1 else many or one + 's'}"


def parse_length(text: str, unit: str) -> float:
    """Read a length as written, to millimetres; as `parse_exact`.

    >>> [parse_length(t, "mm") for t in ("1108", "1.108m", "43.625in", "3-7-5")]
    [1108.0, 1108.0, 1108.075, 1108.075]
    """
    return float(parse_exact(text, unit))


def format_length(mm: float, unit: str) -> str:
    """Print a length in the job's unit, with its mark; it reads back to within half a step.

    >>> [format_length(1108.075, u) for u in UNITS]
    ['1108 mm', '110.8 cm', '1.108 m', '43 5/8 in', '3.64 ft', '3-7-5']
    >>> format_length(187.3, "ft-in-8ths"), format_length(1106.5, "ft-in-8ths")
    ('0-7-3', '3-7-4+')
    """
    return f"{format_bare(mm, unit)} {UNITS[unit].mark}".rstrip()


def format_bare(mm: float, unit: str) -> str:
    """Print a length without its mark, for tables whose heading gives the unit.

    >>> format_bare(1108.075, "in"), format_bare(-0.2, "mm"), format_bare(float("nan"), "mm")
    ('43 5/8', '0', '')
    """
    if mm != mm:  # noqa: PLR0124 - NaN: not known, so nothing is printed
        return ""
    kind = UNITS[unit]
    steps = round(Fraction(mm) / kind.mm / kind.step)
    sign = "-" if steps < 0 else ""
    return sign + _printed(abs(steps), kind)


def rounded_up(mm: float, unit: str) -> float:
    """Give the next length up that the unit prints, mm, for what must not come out less.

    What is over a step by less than can be measured (0.05 mm) stays at it.

    >>> format_length(rounded_up(40.33, "ft-in-8ths"), "ft-in-8ths"), rounded_up(43.02, "mm")
    ('0-1-5', 43.0)
    """
    step = float(UNITS[unit].mm * UNITS[unit].step)
    return math.ceil((mm - 0.05) / step) * step


def format_off(mm: float, unit: str, more: str = "high", less: str = "low") -> str:
    """Say how far off the plan a length is, in words: before a `+` for a sixteenth signs mislead.

    >>> format_off(-14.2875, "ft-in-8ths"), format_off(1.5875, "ft-in-8ths", "wider", "narrower")
    ('0-0-4+ low', '0-0-0+ wider')
    >>> format_off(0.2, "mm")
    'as planned'
    """
    said = format_length(abs(mm), unit)
    return "as planned" if said == format_length(0, unit) else f"{said} {more if mm > 0 else less}"


def format_small(mm: float, unit: str) -> str:
    """Print a small error or tolerance, finer than a tape reads; feet jobs in decimals of an inch.

    >>> format_small(1.98, "ft-in-8ths"), format_small(1.98, "m")
    ('0.08 in', '2.0 mm')
    """
    return f"{mm / 25.4:.2f} in" if imperial(unit) else f"{mm:.1f} mm"


def imperial(unit: str) -> bool:
    """Tell whether the job counts timber in board feet and pounds.

    >>> imperial("ft-in-8ths"), imperial("mm")
    (True, False)
    """
    return unit in {"in", "ft", "ft-in-8ths"}


def as_written(text: str, unit: str) -> str:
    """Give the unit an example is best shown in beside `text`: feet-inches-eighths beside dashes.

    >>> as_written("1-6", "mm"), as_written("9-0-9", "cm"), as_written("-457", "mm")
    ('ft-in-8ths', 'ft-in-8ths', 'mm')
    """
    return "ft-in-8ths" if _DASHES.fullmatch(text.translate(_PLAIN).strip()) else unit


def bare(text: str) -> bool:
    """Tell whether a length is written without a mark, so that it hangs on the job's unit.

    >>> [bare(text) for text in ("457", "-3 1/2", "0", "1-6-0", "457 mm")]
    [True, True, False, False, False]
    """
    found = _BARE.fullmatch(" ".join(text.translate(_PLAIN).split()).removeprefix("-").lstrip())
    return found is not None and bool(_number(found[1]))


def unit_named(text: str) -> str:
    """Find the key of `UNITS` for a unit as people say it.

    Raises
    ------
    ValueError : with the choices; "feet" alone could be two of them

    >>> unit_named("Millimetres"), unit_named("feet-inches-eighths")
    ('mm', 'ft-in-8ths')
    """
    said = " ".join(text.lower().split())
    if said in _NAMES:
        return _NAMES[said]
    choices = ", ".join(f"{unit.key} ({unit.says})" for unit in UNITS.values())
    raise ValueError(f"one of {choices}")


def format_area(m2: float, unit: str) -> str:
    """Print an area.

    >>> format_area(10, "mm"), format_area(10, "ft")
    ('10.00 m²', '107.6 ft²')
    """
    return f"{m2 / float(SQUARE_FOOT):.1f} ft²" if imperial(unit) else f"{m2:.2f} m²"


def format_volume(m3: float, unit: str) -> str:
    """Print a volume of timber.

    >>> format_volume(1, "m"), format_volume(1, "in")
    ('1.000 m³', '423.8 board feet')
    """
    return f"{m3 * BOARD_FEET_PER_M3:.1f} board feet" if imperial(unit) else f"{m3:.3f} m³"


def format_weight(kg: float, unit: str) -> str:
    """Print a weight.

    >>> format_weight(23, "mm"), format_weight(23, "ft-in-8ths")
    ('23.0 kg', '50.7 lb')
    """
    return f"{kg / float(POUND):.1f} lb" if imperial(unit) else f"{kg:.1f} kg"


def format_quantity(quantity: float, of: str, unit: str) -> str:
    """Print so much of a thing `of` kg, m, l or of things counted, which are whole.

    >>> format_quantity(2.25, "kg", "mm"), format_quantity(100, "m", "ft-in-8ths")
    ('2.2 kg', '328 ft')
    >>> format_quantity(1.5, "l", "mm"), format_quantity(320.0, "bungs", "mm")
    ('1.5 l', '320 bungs')
    >>> format_quantity(4.54609, "l", "ft")
    '1.20 US gal (1.00 imperial)'
    """
    if of == "kg":
        return format_weight(quantity, unit)
    if of == "m" and imperial(unit):
        return f"{quantity * 1000 / float(FOOT):.0f} ft"
    if of == "l" and imperial(unit):
        us, imp = (quantity / float(gallon) for gallon in (US_GALLON, IMPERIAL_GALLON))
        return f"{us:.2f} US gal ({imp:.2f} imperial)"
    return f"{quantity:.1f} {of}" if of in ("m", "l") else f"{quantity:.0f} {of}"


def _plain(text: str) -> str:
    """Turn typographic marks into typewriter ones; refuse whatever else is not ASCII."""
    plain = " ".join(text.translate(_PLAIN).lower().split()).replace("''", '"')
    if not plain:
        raise ValueError("a length; the cell is blank")
    if len(plain) > _LONGEST:
        raise ValueError(f"a length of at most {_LONGEST} characters")
    if strange := [sign for sign in plain if not sign.isascii()]:
        raise ValueError(f"a length in plain digits; {strange[0]!r} is not one")
    return plain


def _magnitude(body: str, unit: Unit, text: str) -> Fraction:
    if found := _DASHED.fullmatch(body):
        return _dashed(*found.groups())
    if found := _FEET_INCHES.fullmatch(body):
        return _feet_inches(*found.groups())
    if found := _MARKED.fullmatch(body):
        mark = _MARKS.get(found[2], found[2])
        return _number(found[1]) * UNITS[mark].mm
    if found := _BARE.fullmatch(body):
        return _bare(found[1], unit)
    raise ValueError(_why_not(body, unit))


def _dashed(feet: str, inches: str, eighths: str, over: str) -> Fraction:
    if int(inches) > 11:
        raise ValueError(f"feet-inches-eighths with inches from 0 to 11, not {int(inches)}")
    if int(eighths) > 7:
        raise ValueError(f"feet-inches-eighths with eighths from 0 to 7, not {eighths}")
    sixteenth = {"+": 1, "-": -1, "": 0}[over]
    return (12 * int(feet) + int(inches) + Fraction(2 * int(eighths) + sixteenth, 16)) * INCH


def _feet_inches(feet: str, inches: str) -> Fraction:
    if "." in feet:
        raise ValueError("whole feet before the inches")
    if _number(inches) >= 12:
        raise ValueError("less than 12 inches after the feet")
    return (12 * int(feet) + _number(inches)) * INCH


def _bare(number: str, unit: Unit) -> Fraction:
    if "/" in number and unit.key not in {"in", "ft-in-8ths"}:
        raise ValueError(f"a fraction with its unit ({number} in), or a number in {unit.says}")
    value = _number(number)
    if unit.key == "ft-in-8ths" and "/" not in number and value:
        raise ValueError(f"feet-inches-eighths; {number} alone could be feet or inches")
    return value * unit.mm


def _number(text: str) -> Fraction:
    """Read ``43``, ``43.625``, ``5/8`` or ``43 5/8`` exactly."""
    whole, _, part = text.rpartition(" ")
    if "/" not in part:
        return Fraction(text if text[0] != "." else "0" + text)
    top, bottom = (int(number) for number in part.split("/"))
    if bottom not in _HALVES or not 0 < top < bottom:
        raise ValueError(f"a fraction of halves to 64ths, less than one; {part} is not")
    return int(whole or 0) + Fraction(top, bottom)


def _why_not(body: str, unit: Unit) -> str:
    if _DATE.fullmatch(body):
        return (
            f"a length in {unit.says}; the spreadsheet has made a date of it, so format the "
            "cells as text and type it again"
        )
    if body.count("-") == 1 and re.fullmatch(r"\d{1,4}-\d{1,2}[+-]?", body):
        return (
            f"three parts, feet-inches-eighths: {body}-0 for feet and inches, "
            f"0-{body} for inches and eighths"
        )
    if _DASHES.fullmatch(body):
        return "feet-inches-eighths in three parts, the last one digit from 0 to 7"
    if re.fullmatch(r"[\d.]+,[\d,.]+.*", body):
        return "a point for decimals and no mark for thousands"
    return f"a length in {unit.says}"


def _printed(steps: int, unit: Unit) -> str:
    if unit.key == "ft-in-8ths":
        return _printed_dashed(steps)
    if unit.key == "in":
        whole, part = divmod(steps, 16)
        fraction = str(Fraction(part, 16)) if part else ""
        return f"{whole} {fraction}".strip() if whole or not part else fraction
    value = steps * unit.step
    places = len(str(unit.step.denominator)) - 1
    return f"{float(value):.{places}f}"


def _printed_dashed(sixteenths: int) -> str:
    """Print in eighths; an odd sixteenth is a + on the eighth below."""
    eighths, over = divmod(sixteenths, 2)
    inches, eighth = divmod(eighths, 8)
    return f"{inches // 12}-{inches % 12}-{eighth}{'+' if over else ''}"
