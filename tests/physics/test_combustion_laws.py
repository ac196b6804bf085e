"""Laws that the combustion arithmetic must keep, and its errors."""

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.physics import combustion as c
from advisor.physics.units import PhysicsError

OIL = c.Fuel("oil", "Light oil", 0.873, 0.127, 0.0, 0.0, 0.0, 19500.0, 7.1, "typical")


@st.composite
def oils(draw: st.DrawFn) -> c.Fuel:
    hydrogen, sulfur = draw(st.floats(0.11, 0.14)), draw(st.floats(0.0, 0.01))
    nitrogen, oxygen = draw(st.floats(0.0, 0.005)), draw(st.floats(0.0, 0.11))
    carbon = 1 - hydrogen - sulfur - nitrogen - oxygen
    return c.Fuel("drawn", "Drawn oil", carbon, hydrogen, sulfur, nitrogen, oxygen, 19000.0, 7.1, "drawn")


CO = st.sampled_from([0.0, 50.0, 400.0, 3000.0])


@settings(max_examples=150)
@given(fuel=oils(), o2=st.floats(0.5, 20.0), co=CO)
def test_o2_there_and_back(fuel: c.Fuel, o2: float, co: float) -> None:
    excess = c.excess_air_from_o2(fuel, o2, co)
    assert c.o2_from_excess_air(fuel, excess, co) == pytest.approx(o2, abs=1e-9)
    co2 = c.co2_from_o2(fuel, o2, co)
    assert c.excess_air_from_co2(fuel, co2, co) == pytest.approx(excess, rel=1e-6, abs=1e-6)
    assert c.o2_from_co2(fuel, co2, co) == pytest.approx(o2, abs=1e-6)


@settings(max_examples=100)
@given(fuel=oils(), low=st.floats(0.0, 19.0), step=st.floats(0.1, 1.5))
def test_more_o2_means_less_co2_more_air_lower_dew_point(fuel: c.Fuel, low: float, step: float) -> None:
    assert c.co2_from_o2(fuel, low + step) < c.co2_from_o2(fuel, low)
    assert c.co_air_free(100.0, low + step) > c.co_air_free(100.0, low)
    lean, rich = c.excess_air_from_o2(fuel, low + step), c.excess_air_from_o2(fuel, low)
    assert lean > rich
    if low + step < 16:
        assert c.dew_point(fuel, lean) < c.dew_point(fuel, rich)
        assert c.losses(fuel, lean, 450.0, 70.0).efficiency < c.losses(fuel, rich, 450.0, 70.0).efficiency


@settings(max_examples=100)
@given(
    fuel=oils(),
    stack=st.floats(100.0, 700.0),
    step=st.floats(1.0, 300.0),
    excess=st.floats(0.0, 120.0),
    co=CO,
)
def test_efficiency_falls_with_stack_temperature_and_co(
    fuel: c.Fuel, stack: float, step: float, excess: float, co: float
) -> None:
    cool, hot = c.losses(fuel, excess, stack, 70.0, co), c.losses(fuel, excess, stack + step, 70.0, co)
    assert hot.efficiency < cool.efficiency < cool.efficiency_lower < 100
    assert cool.total == pytest.approx(cool.dry_gas + cool.water_vapor + cool.co)
    assert cool.efficiency == pytest.approx(100 - cool.total)
    assert c.losses(fuel, excess, stack, 70.0, co + 500).efficiency < cool.efficiency


def test_nothing_is_lost_but_latent_heat_where_the_stack_is_at_room_temperature() -> None:
    found = c.losses(OIL, 40.0, 70.0, 70.0)
    assert found.dry_gas == found.water_sensible == found.co == 0.0
    assert found.efficiency_lower == pytest.approx(100.0)
    assert found.efficiency == pytest.approx(100 * c.lower_heating_value(OIL) / OIL.hhv_btu_per_lb)


def test_no_excess_air_gives_the_maximum_co2() -> None:
    assert c.co2_from_excess_air(OIL, 0.0) == pytest.approx(c.co2_max(OIL))
    assert c.excess_air_from_co2(OIL, c.co2_max(OIL)) == pytest.approx(0.0, abs=1e-9)
    assert c.o2_from_co2(OIL, c.co2_max(OIL)) == pytest.approx(0.0, abs=1e-9)


def test_co_with_no_o2_left_is_a_lack_of_air() -> None:
    excess = c.excess_air_from_o2(OIL, 0.0, 2000.0)
    assert excess < 0
    assert c.losses(OIL, excess, 500.0, 70.0, 2000.0).co > 0
    with pytest.raises(PhysicsError, match="less oxygen"):
        c.losses(OIL, excess, 500.0, 70.0)


def test_humid_air_and_altitude_move_the_dew_point() -> None:
    assert c.dew_point(OIL, 40.0, 0.01) > c.dew_point(OIL, 40.0)
    assert c.dew_point(OIL, 40.0, barometer_in_hg=24.9) < c.dew_point(OIL, 40.0)


def test_fuel_saved() -> None:
    assert c.fuel_saved(80.0, 80.0) == 0.0
    assert c.fuel_saved(82.0, 80.0) < 0.0


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: c.excess_air_from_o2(OIL, 21.0), "O2 21 %: flue gas has 0 to below 20.9 %"),
        (lambda: c.excess_air_from_o2(OIL, -0.1), "O2 -0.1 %"),
        (lambda: c.excess_air_from_o2(OIL, float("nan")), "O2 nan %"),
        (lambda: c.co_air_free(100.0, 20.9), "outdoor air"),
        (lambda: c.co_air_free(-1.0, 5.0), "CO -1 ppm: wants 0 to 50,000 ppm"),
        (lambda: c.excess_air_from_co2(OIL, 16.0), "at most 15.6 %"),
        (lambda: c.excess_air_from_co2(OIL, 0.0), "CO2 0 %"),
        (lambda: c.o2_from_co2(OIL, 15.7), "check the reading and the fuel chosen"),
        (lambda: c.co2_from_excess_air(OIL, -5.0), "less oxygen"),
        (lambda: c.co2_from_excess_air(OIL, 1e5, 40000.0), "more carbon"),
        (lambda: c.net_stack(60.0, 70.0), "stack 60 degF is colder than the combustion air (70 degF)"),
        (lambda: c.net_stack(1400.0, 70.0), "stack temperature 1400 degF"),
        (lambda: c.net_stack(400.0, 200.0), "combustion-air temperature 200 degF"),
        (lambda: c.losses(OIL, 2000.0, 1000.0, 70.0), "losses come to"),
        (lambda: c.dew_point(OIL, 5000.0), "too dilute"),
        (lambda: c.dew_point(OIL, 50.0, 0.1), "room humidity ratio"),
        (lambda: c.fuel_saved(0.0, 80.0), "efficiency before"),
        (lambda: c.fuel_saved(80.0, 101.0), "efficiency after"),
        (lambda: c.Fuel("x", "X", 0.9, 0.2, 0, 0, 0, 19500, 7.1, ""), "must add to 1"),
        (lambda: c.Fuel("x", "X", 1.0, 0.0, 0, 0, 0, 19500, 7.1, ""), "hydrogen"),
        (lambda: c.Fuel("x", "X", 0.9, 0.1, 0, 0, 0, 45.0, 7.1, ""), "higher heating value"),
        (lambda: c.Fuel("x", "X", 0.9, 0.1, 0, 0, 0, 19500, 850.0, ""), "density"),
    ],
)
def test_errors(call: Callable[[], object], words: str) -> None:
    with pytest.raises(PhysicsError) as caught:
        call()
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)
