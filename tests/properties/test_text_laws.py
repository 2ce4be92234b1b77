"""Lengths and other quantities as text: what is written is what is read."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from shrinkage import units
from shrinkage.errors import ShrinkageError

MM = Fraction("25.4")
"""Exactly, by the definition of the inch (international yard and pound agreement, 1959)."""
ROUNDING = 1e-9
"""[mm]"""


@given(
    st.integers(0, 300),
    st.integers(0, 11),
    st.integers(0, 63),
    st.sampled_from([2, 4, 8, 16, 32, 64]),
)
def test_every_spelling_of_a_length_is_the_same_length(feet, inches, over, under):
    part = Fraction(over % under, under)
    exact = float((12 * feet + inches + part) * MM)
    texts = [f"{feet}' {inches} {part}\"", f"{feet} ft {inches}-{part} in",
             f"{feet}'-{inches} {part}\"", f"{feet} feet {inches} {part} inches",
             f"{12 * feet + inches} {part} in",
             f"{feet}′ {inches}–{part}″", f"+{12 * feet + inches}-{part}\""]  # fmt: skip
    for text in texts:
        if part:  # "3 0 in" is no mixed number
            assert_allclose(units.length(text), exact, rtol=0, atol=ROUNDING)
    whole = float((12 * feet + inches) * MM)
    for text in (f"{feet}' {inches}\"", f"{feet} ft {inches} in", f"{12 * feet + inches} in"):
        assert_allclose(units.length(text), whole, rtol=0, atol=ROUNDING)


@given(st.integers(-(10**6), 10**6), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_tape_text_returns(ticks, denominator):
    mm = float(ticks * MM / denominator)
    for feet in (True, False):
        text = units.tape(mm, denominator, feet)
        assert_allclose(units.length(text), mm, rtol=0, atol=1e-6)


@given(st.floats(-1e5, 1e5), st.sampled_from([8, 16, 32]))
def test_shown_lengths_are_within_half_their_last_digit(mm, denominator):
    shown = units.length(units.show(mm, "imperial", denominator))
    assert abs(shown - mm) <= 25.4 / denominator / 2 + ROUNDING
    assert abs(units.length(units.show(mm, "metric")) - mm) <= 0.05 + ROUNDING


@given(
    st.decimals(-99_999, 99_999, places=4), st.sampled_from([("mm", 1), ("cm", 10), ("m", 1000)])
)
def test_metric_text_is_read_as_written(number, unit):
    name, per = unit
    assert_allclose(units.length(f"{number} {name}"), float(number * per), rtol=1e-12, atol=1e-12)


@given(st.decimals(-50, 120, places=2))
def test_fahrenheit_is_celsius(celsius):
    fahrenheit = f"{float(celsius) * 1.8 + 32:.6f} F"
    assert_allclose(units.temperature(fahrenheit), float(celsius), rtol=0, atol=1e-6)
    assert units.temperature(f"{celsius} C") == float(celsius)


@given(st.text(max_size=40))
def test_any_text_is_a_length_or_refused(text):
    for read in (units.length, units.temperature, units.percent, units.roof_pitch):
        try:
            assert abs(read(text)) < 1e90
        except ShrinkageError as error:
            assert "accepted:" in error.message


NOTATION = st.text(alphabet="0123456789.'\"/- +ftinm%xCF½×°", max_size=20)


@given(NOTATION)
def test_any_notation_is_a_quantity_or_refused(text):
    test_any_text_is_a_length_or_refused.hypothesis.inner_test(text)


@pytest.mark.parametrize("read", [units.length, units.temperature, units.percent, units.roof_pitch])
def test_text_without_end_is_refused_at_once(read):
    for text in ("1" + " " * 100_000 + "in", "9" * 100_000, "1-" * 50_000):
        with pytest.raises(ShrinkageError, match=r"has \d+ letters; accepted: "):
            read(text)
