"""Lengths as text: every way of writing one, every way of getting it wrong, and how they are shown."""

from __future__ import annotations

import pytest

from stickout.fem.errors import InputError
from stickout.fem.units import length_text, mm_from_bare, parse_length_mm, rounded, small_length_text

# An inch is 25.4 mm exactly (international yard and pound agreement, 1959; from memory); a thou is a
# thousandth of it. Products of short decimals: exact but for the last bits, hence 1e-14.
WRITTEN = {
    "80 mm": 80.0,
    "0.5mm": 0.5,
    ".5 mm": 0.5,
    " 80 mm ": 80.0,
    "-2 mm": -2.0,
    "3/8 in": 9.525,
    "1 3/8 in": 34.925,
    "1-3/8 in": 34.925,
    "-1/2 in": -12.7,
    "2 inch": 50.8,
    '3/8"': 9.525,
    "8 cm": 80.0,
    "\u00f816 mm": 16.0,
    "5 thou": 0.127,
    "20 um": 0.02,
    "20 µm": 0.02,
    "20 μm": 0.02,
}


@pytest.mark.parametrize(("text", "length_mm"), WRITTEN.items())
def test_lengths_as_people_write_them(text: str, length_mm: float) -> None:
    """Definition of the inch; everything else is decimal."""
    assert parse_length_mm(text, key="bar.overhang") == pytest.approx(length_mm, rel=1e-14)


@pytest.mark.parametrize("text", ["0,5 mm", "80,0 mm", ",5 mm", "1.000,5 mm"])
def test_a_decimal_comma_is_refused_and_named(text: str) -> None:
    """It must not pass for a thousands mark or end the number."""
    with pytest.raises(InputError, match="decimal comma") as caught:
        parse_length_mm(text, key="bar.overhang")
    assert caught.value.key == "bar.overhang"
    assert caught.value.given == text


@pytest.mark.parametrize(
    "text",
    [
        "80",
        "80 dm",
        "80 m",
        "mm",
        "",
        "96 m m",
        "8 mm 3",
        "3/8'",
        "3//8 in",
        "1e3 mm",
        "nan mm",
        "inf mm",
        "80 MM",
        "٣ mm",
    ],
)
def test_anything_else_is_refused(text: str) -> None:
    """Nothing is guessed: no missing unit, no other unit, no power of ten, no other digits."""
    with pytest.raises(InputError) as caught:
        parse_length_mm(text, key="cut.feed")
    assert caught.value.given == text
    assert "3/8 in" in caught.value.allowed


def test_a_number_without_unit_is_told_what_is_missing() -> None:
    """The advice differs from that for an unknown unit."""
    with pytest.raises(InputError, match="Add the unit"):
        parse_length_mm("80", key="bar.overhang")
    with pytest.raises(InputError, match="units known are"):
        parse_length_mm("80 furlongs", key="bar.overhang")


def test_a_fraction_over_zero_is_refused() -> None:
    """It has no value."""
    with pytest.raises(InputError, match="over zero"):
        parse_length_mm("3/0 in", key="bar.overhang")


def test_bare_numbers_take_the_files_units() -> None:
    """Definition of the inch."""
    assert mm_from_bare(2, "inch") == pytest.approx(50.8, rel=1e-14)  # one product
    assert mm_from_bare(2, "mm") == 2


def test_lengths_are_shown_in_the_users_units() -> None:
    """16 mm is 0.629921... inch (16/25.4); five digits are kept."""
    assert length_text(16, "mm") == "16 mm"
    assert length_text(16, "inch") == "0.62992 in"
    assert small_length_text(12.87e-6, "mm") == "13 µm"
    assert small_length_text(12.7e-6, "inch") == "0.50 thou"
    assert small_length_text(12.87e-6, "mm", digits=3) == "12.9 µm"


def test_rounding_keeps_digits_not_places() -> None:
    """Own rule: significant digits, never a power of ten."""
    assert rounded(0.001234, 2) == "0.0012"
    assert rounded(99.6, 2) == "100"
    assert rounded(-5.55e4, 1) == "-60000"
    assert rounded(float("inf"), 2) == "inf"
