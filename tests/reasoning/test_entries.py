"""Units and answers as people type them, and what is said when they cannot be taken."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.library.base import load
from advisor.reasoning.entries import EntryError, read_entry


@pytest.mark.parametrize(("name", "typed", "value"), [
    ("stack_temperature", "520", 520.0), ("stack_temperature", "520F", 520.0),
    ("stack_temperature", "271 C", 519.8),  # exact: 271 x 9/5 + 32
    ("draft_over_fire", "-.02", -0.02), ("draft_over_fire", "0.05 in wc", -0.05), ("draft_breech", "5 Pa", -0.020073),
    ("co2", "12.1%", 12.1), ("co", "180 ppm", 180.0), ("nozzle_size", "0.85 gph", 0.85),
    ("pump_pressure", "140 psi", 140.0), ("pump_pressure", "10 bar", 145.038), ("smoke", "trace", 0.5),
    ("draft_over_fire", "+0.02", 0.02), ("smoke", "#3", 3.0), ("appliance_age", "18 months", 1.5),
])
def test_numbers_as_typed(name: str, typed: str, value: float) -> None:
    assert read_entry(load(), name, typed).value == pytest.approx(value, rel=1e-4)


def test_a_draft_without_a_sign_is_suction_and_says_so() -> None:
    assert read_entry(load(), "draft_breech", ".05").note == "read as suction: -0.05 in. w.c."
    assert read_entry(load(), "draft_breech", "-.05").note == ""


@pytest.mark.parametrize(("name", "typed", "value"), [
    ("spot_look", "oily", "oily-yellow"), ("spot_look", "Oily Yellow", "oily-yellow"), ("symptoms", "y", "yes"),
    ("nozzle_match", "wrong size", "wrong-size"), ("burner_type", "retention", "retention-head"),
])
def test_answers_as_typed(name: str, typed: str, value: str) -> None:
    assert read_entry(load(), name, typed).value == value


@pytest.mark.parametrize(("name", "typed", "words"), [
    ("stack_temperature", "hot", "does not begin with a number"),
    ("stack_temperature", "", "nothing was typed after it"),
    ("stack_temperature", "500 psi", "psi is a pressure unit; a temperature wants degF or degC"),
    ("stack_temperature", "5200", "is not plausible; it lies between 32 degF and 1,500 degF"),
    ("co2", "12,1", "write a decimal with a point"),
    ("co2", "nan", "does not begin with a number"),
    ("spot_look", "purple", "it takes one of clean, dry-gray, oily-yellow, brown"),
    ("nozzle_match", "wrong", "may be wrong-size or wrong-angle-or-pattern; say which"),
    ("draft_drop", "0.05", "is computed, not entered"),
    ("stak", "500", "is not the name of a reading"),
])
def test_what_cannot_be_taken_is_told_in_one_line(name: str, typed: str, words: str) -> None:
    with pytest.raises(EntryError) as caught:
        read_entry(load(), name, typed)
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(sorted({**load().quantities, **load().observations})), st.text(max_size=30))
def test_any_text_is_taken_or_refused_in_one_line(name: str, typed: str) -> None:
    try:
        said = read_entry(load(), name, typed).name
    except EntryError as error:
        said = str(error)
    assert said
    assert "\n" not in said
