"""What was typed -> number and unit."""

import contextlib
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.physics.units import KINDS, PhysicsError, convert, format_value, parse, symbol, within


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("520", "temperature", 520.0),
        ("520 °F", "temperature", 520.0),
        ("520 deg F", "temperature", 520.0),
        ("520f", "temperature", 520.0),
        ("271 C", "temperature", 519.8),
        ("1,200", "temperature", 1200.0),
        ("-40 degC", "temperature", -40.0),
        ("10 K", "temperature_difference", 18.0),
        ("-.02", "draft", -0.02),
        ("−.02", "draft", -0.02),
        ("+0.5", "draft", 0.5),
        ("0.05 in wc", "draft", 0.05),
        ("0.05 in. W.C.", "draft", 0.05),
        ('-.02"wc', "draft", -0.02),
        ("-.02 iwc", "draft", -0.02),
        ("-.02 inwc", "draft", -0.02),
        ("-5 Pa", "draft", -0.020073),
        ("12.1%", "percent", 12.1),
        ("180 ppm", "concentration", 180.0),
        ("0.018 %", "concentration", 180.0),
        ("10 bar", "oil_pressure", 145.038),
        ("1 MPa", "oil_pressure", 145.038),
        ("#3", "smoke", 3.0),
        ("3 #", "smoke", 3.0),
        ("no. 3", "smoke", 3.0),
        ("No 3", "smoke", 3.0),
        ("85 MBH", "power", 85000.0),
        ("30'", "length", 360.0),
        ('8"', "length", 8.0),
        ("2 ft²", "area", 288.0),
        ("$3.99/gal", "price", 3.99),
        ("5 mV", "voltage", 0.005),
        ("90 s", "time_min", 1.5),
        ("2 min", "time_s", 120.0),
        ("6 months", "years", 0.5),
        ("45°", "angle", 45.0),
    ],
)
def test_forms(text: str, kind: str, value: float) -> None:
    assert parse(text, kind).value == pytest.approx(value, rel=1e-4)


def test_unit_assumed_is_said() -> None:
    assert parse("520", "temperature").assumed
    assert parse("520 deg", "temperature").assumed
    assert parse("-.02 in", "draft").assumed
    assert not parse("520 F", "temperature").assumed
    assert not parse("3", "smoke").assumed
    assert parse("271 C", "temperature").typed_unit == "C"


@pytest.mark.parametrize(
    ("text", "kind", "words"),
    [
        ("", "percent", "no number"),
        ("abc", "percent", "does not begin with a number"),
        ("nan", "draft", "does not begin"),
        ("inf", "draft", "does not begin"),
        ("-", "draft", "does not begin"),
        ("5 6", "draft", "more than one number"),
        ("5-7", "percent", "more than one number"),
        ("1.2.3", "draft", "more than one number"),
        ("5 in 2", "area", "more than one number"),
        ("0,05", "draft", "with a point"),
        ("0,050", "draft", "with a point"),
        ("1,2", "draft", "with a point"),
        ("500 psi", "temperature", "psi is a pressure unit; a temperature wants degF or degC"),
        ("12 ppm", "percent", "ppm is a concentration unit; a percentage wants %"),
        ("3 kg/h", "flow", "needs the oil's density"),
        ("3 psi", "smoke", "has no unit"),
        ("3 furlongs", "length", "not a unit known here"),
        ("-500", "temperature", "below absolute zero"),
        ("9" * 400, "count", "not a finite number"),
        ("1 mPa", "oil_pressure", "mPa is not MPa"),
        ("5 MV", "voltage", "MV is not mV"),
        ("1", "color", "not a kind of quantity"),
    ],
)
def test_errors_say_what_would_be_right(text: str, kind: str, words: str) -> None:
    with pytest.raises(PhysicsError) as caught:
        parse(text, kind)
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 200 or kind == "color"


@settings(max_examples=200)
@given(text=st.text(max_size=30), kind=st.sampled_from(sorted(KINDS)))
def test_any_text_gives_a_number_or_our_error(text: str, kind: str) -> None:
    try:
        found = parse(text, kind)
    except PhysicsError as error:
        said = str(error)
    else:
        assert math.isfinite(found.value)
        assert found.unit == symbol(kind)
        return
    assert said
    assert "\n" not in said


@settings(max_examples=200)
@given(
    text=st.from_regex(r"[-+#$−]?[0-9.,]{1,6} ?[a-zA-Z%°/\"'.]{0,6}[23]?", fullmatch=True),
    kind=st.sampled_from(sorted(KINDS)),
)
def test_text_that_is_nearly_a_quantity(text: str, kind: str) -> None:
    with contextlib.suppress(PhysicsError):
        assert parse(text, kind).unit == symbol(kind)


@settings(max_examples=100)
@given(value=st.floats(-400.0, 1e5), kind=st.sampled_from(sorted(KINDS)))
def test_written_and_read_back(value: float, kind: str) -> None:
    step = 0.5 * 10.0 ** -KINDS[kind].decimals[1]
    assert parse(format_value(value, kind), kind).value == pytest.approx(value, abs=step * 1.001)


@settings(max_examples=100)
@given(data=st.data(), kind=st.sampled_from(sorted(KINDS)), value=st.floats(-400.0, 1e5))
def test_there_and_back(data: st.DataObject, kind: str, value: float) -> None:
    unit = data.draw(st.sampled_from(sorted(KINDS[kind].units)))
    there = convert(value, symbol(kind), unit, kind)
    assert convert(there, unit, symbol(kind), kind) == pytest.approx(value, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_symbol_and_spelling_is_read(kind: str) -> None:
    for spelling, unit in KINDS[kind].spellings.items():
        factor, offset = KINDS[kind].units[unit]
        assert parse(f"2 {spelling}", kind).value == pytest.approx(2 * factor + offset)
    for unit in KINDS[kind].units:
        assert not parse(f"2 {unit}", kind).assumed


@pytest.mark.parametrize(
    ("value", "kind", "digits", "text"),
    [
        (-0.02, "draft", None, "-0.02 in. w.c."),
        (-0.0149, "draft", None, "-0.015 in. w.c."),
        (-0.0001, "draft", None, "0.00 in. w.c."),
        (519.6, "temperature", None, "520 degF"),
        (12.14, "percent", None, "12.1 %"),
        (145.04, "oil_pressure", None, "145 psi"),
        (119000.0, "power", None, "119,000 Btu/h"),
        (1.0, "smoke", None, "1"),
        (0.5, "smoke", None, "0.5"),
        (-0.02, "draft", 4, "-0.0200 in. w.c."),
    ],
)
def test_written(value: float, kind: str, digits: int | None, text: str) -> None:
    assert format_value(value, kind, digits) == text


def test_not_a_number_is_refused() -> None:
    with pytest.raises(PhysicsError):
        format_value(float("nan"), "draft")
    with pytest.raises(PhysicsError):
        convert(float("inf"), "Pa", "kPa", "draft")
    with pytest.raises(PhysicsError, match="above 0 to 30 ft"):
        within("height", 0.0, 0.0, 30.0, "ft", above=True)
