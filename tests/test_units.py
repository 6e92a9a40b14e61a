"""Lengths and quantities: what is read, what is printed, and what is refused."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ribband.units import (
    BOARD_FEET_PER_M3,
    UNITS,
    as_written,
    bare,
    format_area,
    format_bare,
    format_length,
    format_volume,
    format_weight,
    imperial,
    parse_exact,
    parse_length,
    unit_named,
)

INCH = Fraction(127, 5)
SAME = 43 * INCH + 5 * INCH / 8  # 3 ft 7 5/8 in

units = st.sampled_from(sorted(UNITS))


def refusal(text: str, unit: str) -> str:
    """Give the words by which a length is refused, or "" if it is read."""
    try:
        parse_length(text, unit)
    except ValueError as error:
        return str(error) or "refused without a word"
    return ""


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize(
    "text",
    [
        "3-7-5",
        " 3-7-5 ",
        "3-07-5",
        "3' 7 5/8\"",
        "3'-7 5/8\"",
        "3'7 5/8\"",
        "3′ 7 5/8″",
        "3’ 7⅝”",
        "3' 7 5/8''",
        "3 ft 7 5/8 in",
        "3ft 7.625in",
        "3' 7.625",
        "43 5/8 in",
        '43 5/8"',
        "43⅝ inches",
        "43.625in",
        "43.625 IN",
        "3\u20117\u20115",
        "3–7–5",
        "3 ft\u00a07 5/8 in",
    ],
)
def test_one_length_written_many_ways_in_any_job(text: str, unit: str) -> None:
    assert parse_exact(text, unit) == SAME


@pytest.mark.parametrize(
    ("text", "unit", "mm"),
    [
        ("3-7-5+", "mm", SAME + INCH / 16),
        ("3-7-5-", "mm", SAME - INCH / 16),
        ("0-0-0", "ft-in-8ths", 0),
        ("3-0-0-", "ft-in-8ths", 36 * INCH - INCH / 16),
        ("0", "ft-in-8ths", 0),
        ("-0-2-3", "mm", -(2 * INCH + 3 * INCH / 8)),
        ("-3-7-5+", "mm", -(SAME + INCH / 16)),
        ("−12.5", "mm", Fraction(-25, 2)),
        ("- 12.5", "mm", Fraction(-25, 2)),
        ("43 5/8", "in", SAME),
        ("43 5/8", "ft-in-8ths", SAME),
        ("5/8", "in", 5 * INCH / 8),
        ("¾", "ft-in-8ths", 3 * INCH / 4),
        ("1 1/64", "in", INCH + INCH / 64),
        ("43.625", "in", SAME),
        ("1108", "mm", 1108),
        ("1108mm", "ft-in-8ths", 1108),
        ("1.108m", "mm", 1108),
        ("1.108", "m", 1108),
        ("110.8", "cm", 1108),
        ("110.8 cm", "m", 1108),
        (".5", "m", 500),
        ("5.", "mm", 5),
        ("3.64ft", "mm", Fraction(364, 100) * 12 * INCH),
        ("3.64", "ft", Fraction(364, 100) * 12 * INCH),
        ("3.64'", "m", Fraction(364, 100) * 12 * INCH),
        ("12-0-0", "mm", 144 * INCH),
    ],
)
def test_reading(text: str, unit: str, mm: Fraction) -> None:
    assert parse_exact(text, unit) == mm


@pytest.mark.parametrize(
    ("text", "unit", "words"),
    [
        ("7-13-2", "ft-in-8ths", "inches from 0 to 11, not 13"),
        ("7-3-9", "ft-in-8ths", "eighths from 0 to 7, not 9"),
        ("3-7", "ft-in-8ths", "3-7-0 for feet and inches, 0-3-7 for inches and eighths"),
        ("3-7", "mm", "three parts"),
        ("3-7-10", "ft-in-8ths", "one digit from 0 to 7"),
        ("3-7-5-2", "ft-in-8ths", "three parts"),
        ("12", "ft-in-8ths", "12 alone could be feet or inches"),
        ("12.5", "ft-in-8ths", "could be feet or inches"),
        ("43 5/8", "mm", "a fraction with its unit"),
        ("43 5/8", "ft", "a fraction with its unit"),
        ("43 8/8", "in", "8/8 is not"),
        ("43 5/9", "in", "halves to 64ths"),
        ("43 1/0", "in", "halves to 64ths"),
        ("3' 13\"", "mm", "less than 12 inches"),
        ("3.5' 2\"", "mm", "whole feet"),
        ("1,108", "mm", "a point for decimals"),
        ("12,5", "cm", "a point for decimals"),
        ("", "mm", "blank"),
        ("   ", "mm", "blank"),
        ("nan", "mm", "a length in millimetres"),
        ("inf", "m", "a length in metres"),
        ("-inf", "m", "a length in metres"),
        ("1e3", "mm", "a length in millimetres"),
        ("0x10", "mm", "a length"),
        ("1_000", "mm", "a length"),
        ("twelve", "mm", "a length"),
        ("--3", "mm", "a length"),
        ("12 furlongs", "mm", "a length"),
        ("١٢", "mm", "plain digits"),
        ("３-７-５", "mm", "plain digits"),
        ("9" * 41, "mm", "at most 40 characters"),
        ("2005-03-07", "ft-in-8ths", "has made a date of it"),
        ("2005-03-07 00:00:00", "mm", "has made a date of it"),
        ("7-Mar-05", "ft-in-8ths", "has made a date of it"),
        ("07-Mar", "ft-in-8ths", "has made a date of it"),
        ("03/07/2005", "ft-in-8ths", "has made a date of it"),
        ("Mar-05", "ft-in-8ths", "has made a date of it"),
        ("3:07", "ft-in-8ths", "has made a date of it"),
    ],
)
def test_refusing_says_what_is_wanted(text: str, unit: str, words: str) -> None:
    assert words in refusal(text, unit)


@given(
    st.integers(0, 999),
    st.integers(0, 11),
    st.integers(0, 7),
    st.sampled_from(["", "+", "-"]),
    units,
)
def test_dashed_lengths_are_exact(
    feet: int, inches: int, eighths: int, over: str, unit: str
) -> None:
    mm = parse_exact(f"{feet}-{inches}-{eighths}{over}", unit)
    sixteenths = 16 * (12 * feet + inches) + 2 * eighths + {"": 0, "+": 1, "-": -1}[over]
    assert mm == sixteenths * INCH / 16


@given(st.integers(0, 10**6), st.integers(0, 10**6 - 1), units)
def test_decimals_are_exact(whole: int, part: int, unit: str) -> None:
    written = f"{whole}.{part:06d}"
    value = whole + Fraction(part, 10**6)
    assert parse_exact(f"{written} mm", unit) == value
    assert parse_exact(f"{written}in", unit) == value * INCH
    if unit != "ft-in-8ths":
        assert parse_exact(written, unit) == value * UNITS[unit].mm


@given(st.integers(-(10**6), 10**6), units)
def test_what_is_on_the_scale_prints_and_reads_back_exactly(steps: int, unit: str) -> None:
    exact = steps * UNITS[unit].step * UNITS[unit].mm
    assert parse_exact(format_bare(exact, unit), unit) == exact
    assert parse_exact(format_length(exact, unit), "mm") == exact


@given(st.floats(-1e6, 1e6), units)
def test_what_is_printed_is_the_nearest_on_the_scale(mm: float, unit: str) -> None:
    printed = parse_exact(format_length(mm, unit), unit)
    assert abs(printed - Fraction(mm)) <= UNITS[unit].step * UNITS[unit].mm / 2


PLAIN = re.compile(r"|(a|less|whole|three|feet-inches).*", re.DOTALL)  # how a refusal begins


@given(st.text(max_size=60), units)
@settings(max_examples=300)
def test_any_text_is_a_length_or_a_plain_refusal(text: str, unit: str) -> None:
    assert PLAIN.fullmatch(refusal(text, unit))


@given(st.text("0123456789-+/'\". ftinmc", max_size=12), units)
@settings(max_examples=500)
def test_likely_text_is_a_length_or_a_plain_refusal(text: str, unit: str) -> None:
    assert PLAIN.fullmatch(refusal(text, unit))
    assert refusal(f"  {text.upper()} ", unit) == refusal(text, unit)


def test_printing_in_the_jobs_own_unit() -> None:
    assert [format_length(187.325, unit) for unit in UNITS] == [
        "187 mm", "18.7 cm", "0.187 m", "7 3/8 in", "0.61 ft", "0-7-3",
    ]  # fmt: skip


@pytest.mark.parametrize("unit", ["in", "ft", "ft-in-8ths"])
def test_a_vessel_in_feet_never_prints_metric(unit: str) -> None:
    said = [
        format_length(1234.5, unit),
        format_area(3.2, unit),
        format_volume(0.4, unit),
        format_weight(12.0, unit),
    ]
    assert imperial(unit)
    assert not [
        text for text in said if "mm" in text or "m²" in text or "m³" in text or "kg" in text
    ]


def test_rounding_carries_into_inches_and_feet() -> None:
    almost = 12 * 25.4 - 0.1
    assert format_length(almost, "ft-in-8ths") == "1-0-0"
    assert format_length(almost, "in") == "12 in"
    assert format_length(-almost, "ft-in-8ths") == "-1-0-0"
    assert format_length(-0.01, "ft-in-8ths") == "0-0-0"


def test_an_odd_sixteenth_is_a_plus() -> None:
    assert format_length(float(SAME + INCH / 16), "ft-in-8ths") == "3-7-5+"
    assert format_length(float(SAME - INCH / 16), "ft-in-8ths") == "3-7-4+"


@pytest.mark.parametrize(
    ("said", "key"),
    [
        ("mm", "mm"),
        (" Metres ", "m"),
        ("inches", "in"),
        ("decimal feet", "ft"),
        ("Feet-Inches-Eighths", "ft-in-8ths"),
    ],
)
def test_units_as_people_say_them(said: str, key: str) -> None:
    assert unit_named(said) == key


def test_feet_alone_could_be_two_units() -> None:
    with pytest.raises(ValueError, match="decimal feet"):
        unit_named("feet")


@given(st.floats(0, 1e5), units)
def test_quantities_are_printed_to_their_last_place(amount: float, unit: str) -> None:
    feet = imperial(unit)
    for said, one, near in (
        (format_area(amount, unit), 0.3048**2 if feet else 1.0, 0.006),
        (format_volume(amount, unit), 1 / BOARD_FEET_PER_M3 if feet else 1.0, 6e-4),
        (format_weight(amount, unit), 0.45359237 if feet else 1.0, 0.06),
    ):
        assert float(said.split()[0]) * one == pytest.approx(amount, abs=near)


@pytest.mark.parametrize(
    ("text", "unit"), [("1-6", "ft-in-8ths"), ("9-0-9", "ft-in-8ths"), ("-457", "mm"), ("", "mm")]
)
def test_an_example_is_written_as_what_it_stands_beside(text: str, unit: str) -> None:
    assert as_written(text, "mm") == unit


@given(st.fractions(Fraction(1, 8), 9999, max_denominator=8), units)
def test_a_bare_figure_is_one_that_hangs_on_the_unit(value: Fraction, unit: str) -> None:
    text = f"{float(value):.3f}"
    assert bare(text) == (float(text) > 0)
    assert not bare(f"{text} {unit if unit != 'ft-in-8ths' else 'in'}")
