"""Mass and energy of a solved plant close, checked with Cantera as an outside reference."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import cantera as ct
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.physics import combustion, draft
from advisor.plant import KINDS, State, gas, healthy, solve, venting
from advisor.plant.oil import FUELS

_GAS = ct.Solution("gri30.yaml")
_BTU = 2.326  # kJ/kg per Btu/lb, exact


def _heat(stream: gas.Stream, degf: float) -> float:
    """Heat of a stream above 77 degF by Cantera, Btu/h, water as vapor."""
    co2, h2o, inert, o2, co = stream
    parts = {"CO2": co2, "H2O": h2o, "N2": inert * 0.9882, "AR": inert * 0.0118, "O2": o2, "CO": co}

    def enthalpy(kelvin: float) -> float:
        _GAS.TPX = kelvin, ct.one_atm, parts
        return float(_GAS.enthalpy_mole) / 1000.0 / _BTU  # Btu/lbmol

    if sum(stream) == 0.0:
        return 0.0
    return sum(stream) * (enthalpy((degf + 459.67) / 1.8) - enthalpy(298.15))


def _units() -> list[Any]:
    return list(_each_unit())


def _each_unit() -> Iterator[Any]:
    for kind in KINDS:
        yield pytest.param(solve(healthy(kind)), id=kind)
    boiler = healthy("boiler")
    changes: dict[str, dict[str, Any]] = {
        "starved": {"shutter": 0.3}, "leaky": {"door_leak_in2": 4.0, "section_leak_in2": 3.0},
        "cold return": {"return_degf": 85.0, "water_degf": 110.0}, "sooted": {"soot_closing": 0.2},
        "coarse spray": {"nozzle_worn": 0.8}, "wet oil": {"water_in_oil": 0.1}, "blocked": {"chimney_blocked": 0.93},
    }
    for name, change in changes.items():
        yield pytest.param(solve(replace(boiler, **change)), id=name)


@pytest.mark.parametrize("state", _units())
def test_mass_closes(state: State) -> None:
    # Conservation of mass; 0.1 % asked.
    escaping = max(0.0, -state.chamber_leak_lb_h)
    into = (state.burnt_lb_h + state.burner_air_lb_h + max(0.0, state.chamber_leak_lb_h) + state.section_leak_lb_h
            + state.collar_leak_lb_h + state.oil_water_lb_h)
    out = gas.mass(state.probe) + state.exchange.condensate_lb_h + escaping
    assert out == pytest.approx(into, rel=1e-3)


@pytest.mark.parametrize("state", _units())
def test_energy_closes(state: State) -> None:
    # Conservation of energy with Cantera's enthalpies; 0.1 % of the heat input asked.
    p, fuel = state.plant, state.oil.fuel
    inlet = p.room_degf if p.intake_degf is None else p.intake_degf
    brought = _heat(gas.air(state.burner_air_lb_h), inlet)
    brought += _heat(gas.air(max(0.0, state.chamber_leak_lb_h) + state.section_leak_lb_h + state.collar_leak_lb_h),
                     p.room_degf)
    steam = state.probe[1] * 18.015 * 2441.7 / _BTU
    left = (state.useful_btu_h + state.exchange.jacket_btu_h + _heat(state.probe, state.stack_degf) + steam
            + state.probe[4] * 282_980.0 / _BTU + state.unburned_btu_h + state.escaped_btu_h)
    assert left == pytest.approx(state.oil.lb_h * fuel.hhv_btu_per_lb + brought,
                                 abs=1e-3 * state.input_btu_h)


@pytest.mark.parametrize("kind", [k for k in KINDS if k != "sealed"])
def test_efficiency_agrees_with_the_arithmetic_of_stack_losses(kind: str) -> None:
    # The indirect method (losses from stack gas) and the direct one (heat to the water) are two ways to one
    # figure: ASME PTC 4, value from memory. Stack gas is the gas at the probe, so a point is allowed for rounding.
    s = solve(healthy(kind))
    fuel = FUELS[s.plant.fuel]
    excess = combustion.excess_air_from_co2(fuel, s.co2, s.co_ppm)
    found = combustion.losses(fuel, excess, s.stack_degf, s.plant.room_degf, s.co_ppm)
    assert s.efficiency == pytest.approx(found.efficiency, abs=0.3)


@given(excess=st.floats(0.0, 200.0), degf=st.floats(0.0, 3500.0))
@settings(max_examples=60)
def test_heat_content_agrees_with_cantera(excess: float, degf: float) -> None:
    fuel = FUELS["no-2-oil"]
    products = gas.burn(fuel, 1.0, gas.stoichiometric_air(fuel) * (1 + excess / 100), 0.0)
    assert gas.heat(gas.polynomial(products), degf) == pytest.approx(_heat(products, degf), rel=5e-3, abs=2.0)


@given(excess=st.floats(0.0, 150.0), fuel=st.sampled_from(sorted(FUELS)))
@settings(max_examples=40)
def test_products_agree_with_cantera(excess: float, fuel: str) -> None:
    # Complete combustion is Cantera's equilibrium at 400 K, where CO and NO are nil.
    oil = FUELS[fuel]
    supplied = gas.air(gas.stoichiometric_air(oil) * (1 + excess / 100))
    _GAS.TPX = 400.0, ct.one_atm, {
        "C": oil.carbon / 12.011, "H": oil.hydrogen / 1.008, "O": oil.oxygen / 15.999, "O2": supplied[3],
        "N2": supplied[2] * 0.9882, "AR": supplied[2] * 0.0118}
    _GAS.equilibrate("TP")
    ours = gas.burn(oil, 1.0, gas.mass(supplied), 0.0)
    for species in ("CO2", "H2O", "O2"):
        assert ours[gas.SPECIES.index(species)] / sum(ours) == pytest.approx(
            float(_GAS[species].X[0]), abs=2e-4)


def test_adiabatic_temperature_agrees_with_cantera() -> None:
    # Without dissociation ours lies above equilibrium, by little where air is plenty.
    oil = FUELS["no-2-oil"]
    gaps = []
    for excess in (5.0, 20.0, 40.0, 60.0, 100.0):
        ours = gas.adiabatic(oil, excess)
        supplied = gas.air(gas.stoichiometric_air(oil) * (1 + excess / 100))
        products = gas.burn(oil, 1.0, gas.mass(supplied), 0.0)
        kelvin = (ours + 459.67) / 1.8
        _GAS.TPX = kelvin, ct.one_atm, {"CO2": products[0], "H2O": products[1], "N2": products[2],
                                        "O2": products[3]}
        _GAS.equilibrate("HP")
        gaps.append((ours + 459.67) - _GAS.T * 1.8)
    assert all(gap > -5.0 for gap in gaps)
    assert gaps == sorted(gaps, reverse=True)
    assert gaps[-1] < 30.0
    assert gaps[0] < 250.0


@pytest.mark.parametrize("excess", [10.0, 30.0, 60.0, 120.0])
def test_dew_point_agrees_with_the_steam_tables(excess: float) -> None:
    # Antoine here, IAPWS saturation in advisor.physics.
    fuel = FUELS["no-2-oil"]
    products = gas.burn(fuel, 1.0, gas.stoichiometric_air(fuel) * (1 + excess / 100), 0.0)
    assert gas.dew_point(products) == pytest.approx(combustion.dew_point(fuel, excess), abs=0.5)


def test_theoretical_draft_is_the_handbook_one() -> None:
    # ASHRAE chimney chapter (constant from memory), against the density difference of advisor.physics.draft.
    p = healthy("boiler")
    vent = venting.chimney(p, 120.0, 450.0, -0.05, 0.0)
    assert vent.theoretical == pytest.approx(
        draft.theoretical_draft(p.chimney_height_ft, vent.chimney_degf, p.outdoor_degf), rel=0.01)
