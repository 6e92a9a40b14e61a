"""What slip of the pen or tape would account for a doubtful reading.

Slips tried: a whole number of the units the tape is marked in, two digits the wrong way round,
one digit taken for another that looks like it, height and half-breadth of the wrong foot. The
first that lands within the uncertainty is named; if two land, the closer.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

__all__ = ["explain"]

_NUMBERS = ("a", "two", "three", "four", "five", "six", "seven")
_ALIKE = ("17", "38", "56", "06", "49", "35", "08", "58")
_STEPS = {
    "ft-in-8ths": (
        (304.8, "foot", "feet", 3), (25.4, "inch", "inches", 6), (3.175, "eighth", "eighths", 7),
    ),
    "ft": ((304.8, "foot", "feet", 3), (30.48, "tenth of a foot", "tenths of a foot", 5)),
    "mm": ((1000.0, "metre", "metres", 1), (100.0, "hundred mm", "hundred mm", 5),
           (10.0, "centimetre", "centimetres", 7)),
}  # fmt: skip
_STEPS["in"] = _STEPS["ft-in-8ths"]
_STEPS["cm"] = _STEPS["m"] = _STEPS["mm"]


def explain(
    off_mm: float,
    uncertain_mm: float,
    as_typed: str,
    unit: str,
    parse: Callable[[str, str], float],
) -> str:
    """Name the slip that would put a reading `off_mm` too great, or give "".

    Parameters
    ----------
    off_mm : reading less fair value, signed
    uncertain_mm : how far the slip may land from the fair value
    parse : text and unit to mm; raises ValueError for what is no length

    >>> explain(25.0, 2.0, "3-7-5", "ft-in-8ths", lambda text, unit: 0.0)
    'an inch'
    """
    slips = [*_of_units(unit), *_of_digits(as_typed, unit, parse)]
    landed = [
        (abs(abs(off_mm) - abs(slip)) if says[0] != "=" else abs(off_mm - slip), says)
        for slip, says in slips
    ]
    good = [(miss, says) for miss, says in landed if miss <= min(uncertain_mm, abs(off_mm) / 3)]
    return min(good, key=lambda pair: round(pair[0], 3))[1].lstrip("=") if good else ""


def _of_units(unit: str) -> Iterator[tuple[float, str]]:
    for step, one, many, most in _STEPS.get(unit, _STEPS["mm"]):
        for k in range(1, most + 1):
            yield k * step, _said(k, one, many)


def _said(k: int, one: str, many: str) -> str:
    if k == 1:
        return f"{'an' if one[0] in 'aeio' else 'a'} {one}"
    return f"{_NUMBERS[k - 1]} {many}"


def _of_digits(
    as_typed: str, unit: str, parse: Callable[[str, str], float]
) -> Iterator[tuple[float, str]]:
    """Yield slips of digits, signed (marked "="): the reading less what was meant."""
    try:
        read = parse(as_typed, unit)
    except ValueError:
        return
    for meant, says in _meant(as_typed):
        try:
            yield read - parse(meant, unit), f"={says}"
        except ValueError:
            continue


def _meant(text: str) -> Iterator[tuple[str, str]]:
    for i in range(len(text) - 1):
        j = i + 1 if text[i + 1].isdigit() else i + 2
        if j < len(text) and text[i].isdigit() and text[j].isdigit() and text[i] != text[j]:
            swapped = text[:i] + text[j] + text[i + 1 : j] + text[i] + text[j + 1 :]
            yield swapped, f"digits swapped: {swapped} for {text}"
    for i, digit in enumerate(text):
        for pair in _ALIKE:
            if digit in pair:
                other = pair[1 - pair.index(digit)]
                yield (
                    text[:i] + other + text[i + 1 :],
                    f"a {digit} taken for {'an' if other == '8' else 'a'} {other}",
                )
