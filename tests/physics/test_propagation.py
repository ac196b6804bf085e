"""Propagation of errors: exact cases, one reading in two places, edges, rounding; and the pressure at an altitude."""

import math
from collections.abc import Callable
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.physics import accuracy, atmosphere, combustion, draft, units
from advisor.physics.units import PhysicsError

VALUES = st.floats(-50.0, 50.0)
ERRORS = st.floats(0.01, 5.0)
OIL = combustion.Fuel("oil", "Light oil", 0.873, 0.127, 0.0, 0.0, 0.0, 19500.0, 7.1, "typical")


@given(a=VALUES, b=VALUES, c=VALUES, x=VALUES, y=VALUES, off_x=ERRORS, off_y=ERRORS)
def test_the_slopes_of_a_parabola_are_exact(
    a: float, b: float, c: float, x: float, y: float, off_x: float, off_y: float
) -> None:
    """Central differences have no error up to the second power, whatever the step."""
    found = accuracy.sensitivities(lambda x, y: a * x * x + b * x * y + c * y, (x, y), (off_x, off_y))
    size = abs(a) + abs(b) + abs(c) + 1.0
    assert found == pytest.approx((2 * a * x + b * y, b * x + c), rel=1e-6, abs=1e-7 * size * 1e4)


@given(error=ERRORS, factor=VALUES, other=ERRORS)
def test_one_reading_in_two_figures_counts_once(error: float, factor: float, other: float) -> None:
    """What rests on one reading adds up with its sign: x + k x is off by |1 + k| times what x is off by."""
    shares = accuracy.added([(1.0, {"x": error}), (factor, {"x": error, "y": other})])
    assert accuracy.joint(shares.values()) == pytest.approx(math.hypot((1 + factor) * error, factor * other))


def test_at_an_edge_the_side_that_holds_counts() -> None:
    (at_none,) = accuracy.sensitivities(lambda co: combustion.co_air_free(co, 5.0), (0.0,), (10.0,))
    assert at_none == pytest.approx(20.9 / 15.9)  # no CO below none; the formula is a straight line
    with pytest.raises(PhysicsError, match="on both sides"):
        accuracy.sensitivities(lambda o2: combustion.co2_from_o2(OIL, o2), (10.0,), (80.0,))


@pytest.mark.parametrize(("function", "values", "errors"), [
    (lambda co2, stack, room: combustion.losses(OIL, combustion.excess_air_from_co2(OIL, co2), stack, room).efficiency,
     (11.0, 520.0, 70.0), (0.3, 5.0, 2.0)),
    (lambda co, o2: combustion.co_air_free(co, o2), (80.0, 7.0), (10.0, 0.3)),
    (lambda height, flue, outdoor: draft.theoretical_draft(height, flue, outdoor), (25.0, 450.0, 30.0),
     (1.0, 5.0, 3.0)),
    (lambda before, after: combustion.fuel_saved(before, after), (76.0, 83.0), (0.4, 0.3)),
])
def test_drawing_readings_at_random_gives_the_same_error(
    function: Callable[..., float], values: tuple[float, ...], errors: tuple[float, ...]
) -> None:
    """Monte Carlo (JCGM 101:2008, 5 to 7): normal readings, the accuracy being two standard deviations.

    The standard deviation of 4,000 draws is itself off by 1.1 %, so 6 % is more than five times that.
    """
    slopes = accuracy.sensitivities(function, values, errors)
    linear = accuracy.joint(slope * error for slope, error in zip(slopes, errors, strict=True))
    rng, here = Random(100), function(*values)
    drawn = [function(*(rng.gauss(value, error / accuracy.COVERAGE)
                        for value, error in zip(values, errors, strict=True))) for _ in range(4000)]
    mean = math.fsum(drawn) / len(drawn)
    spread = math.sqrt(math.fsum((one - mean) ** 2 for one in drawn) / (len(drawn) - 1))
    assert accuracy.COVERAGE * spread == pytest.approx(linear, rel=0.06)
    covered = sum(abs(one - here) <= linear for one in drawn) / len(drawn)
    assert covered == pytest.approx(math.erf(accuracy.COVERAGE / math.sqrt(2.0)), abs=0.02)


@settings(max_examples=300)
@given(value=st.floats(-9e5, 9e5), error=st.floats(1e-3, 9e4))
def test_the_error_has_one_digit_two_where_it_begins_with_one(value: float, error: float) -> None:
    number, off = accuracy.rounded(value, error, "ratio")
    digits = off.replace(",", "").replace(".", "").strip("0")
    shown, written = (float(text.replace(",", "")) for text in (number, off))
    last = 10.0 ** (math.floor(math.log10(error)) - (error / 10.0 ** math.floor(math.log10(error)) < 1.95))
    assert len(digits) == 1 or (len(digits) == 2 and digits[0] == "1")
    assert abs(written - error) <= 0.5001 * last
    assert abs(shown - value) <= 0.5001 * last
    assert abs(written - error) <= 0.25 * error  # 0.14 is not 0.1


@given(value=st.floats(-1e5, 1e5), error=st.floats(0.01, 1e3), kind=st.sampled_from(sorted(units.KINDS)))
def test_figure_and_error_are_written_with_one_unit(value: float, error: float, kind: str) -> None:
    if kind == "temperature" and value < -400.0:
        return
    text = accuracy.format_with_error(value, error, kind)
    unit = units.symbol(kind)
    assert text.count("+/-") == 1
    assert text.endswith(unit)
    assert not unit or text.count(unit) == 1
    assert accuracy.format_with_error(value, 0.0, kind) == units.format_value(value, kind)


@pytest.mark.parametrize(("feet", "in_hg"), [
    (-1000, 31.02), (0, 29.92), (1000, 28.86), (2000, 27.82), (5000, 24.90), (10_000, 20.58), (15_000, 16.89)])
def test_station_pressure_agrees_with_the_table(feet: float, in_hg: float) -> None:
    """U.S. Standard Atmosphere, 1976, table of pressure by geopotential altitude (values from memory)."""
    assert atmosphere.station_pressure(feet) == pytest.approx(in_hg, abs=0.006)


@given(feet=st.floats(-1500.0, 14_000.0))
def test_air_is_in_balance_with_its_weight(feet: float) -> None:
    """dp = - rho g dh with rho = p M / (R T), T falling by 6.5 K a kilometer: hydrostatics."""
    step = 10.0
    fall = atmosphere.station_pressure(feet) - atmosphere.station_pressure(feet + step)
    middle = atmosphere.station_pressure(feet + step / 2)
    kelvin = 288.15 - 0.0065 * (feet + step / 2) * 0.3048
    assert fall / middle == pytest.approx(9.80665 * 0.0289644 / (8.31432 * kelvin) * step * 0.3048, rel=1e-5)


def test_an_altitude_out_of_reach_says_so() -> None:
    with pytest.raises(PhysicsError, match=r"altitude 20000 ft: wants -1,500 to 15,000 ft"):
        atmosphere.station_pressure(20_000.0)
