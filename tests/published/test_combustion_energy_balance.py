"""Efficiency, latent heat and dew point recomputed with reference libraries (Cantera, CoolProp, chemicals).

Cantera's `gri30.yaml` gives the enthalpies of CO2, H2O, N2, O2, Ar and CO; CoolProp the IAPWS-95 properties
of water; chemicals its air-fuel solver and the heating-value formulas of Dulong and Boie.
"""

from functools import cache
from typing import Any

import pytest

from advisor.physics import combustion as c

OIL = c.Fuel("oil", "Light oil", 0.873, 0.127, 0.0, 0.0, 0.0, 19500.0, 7.1, "spot values")
HYDROGEN_RICH = c.Fuel("rich", "Light oil", 0.866, 0.134, 0.0, 0.0, 0.0, 19500.0, 7.1, "10 CFR 430 App. O")
BLEND = c.Fuel("blend", "Blend", 0.8518, 0.1254, 0.0, 0.0, 0.0228, 19020.0, 7.15, "blend with an ester")
FUELS = [OIL, HYDROGEN_RICH, BLEND]
CO2_GRID = [8.0, 9.0, 10.0, 11.0, 12.0, 13.0, 13.5]
NET_GRID = [250.0, 325.0, 400.0, 475.0, 550.0, 625.0, 700.0]
MOLAR = {"C": 12.011, "H": 1.008, "O": 15.999}


@cache
def gri() -> Any:
    import cantera

    return cantera.Solution("gri30.yaml")


@cache
def enthalpy(species: str, degf: float) -> float:
    """J/kmol, with the enthalpy of formation, from Cantera."""
    return float(gri().species(species).thermo.h((degf + 459.67) / 1.8))


def reference_efficiency(fuel: c.Fuel, co2: float, net: float, room: float, co_ppm: float = 0.0) -> float:
    """% of HHV by an energy balance at 77 degF, per kg of fuel; written apart from the product's formulas.

    Solves for the air by bisection on CO2, then: loss = enthalpy of the products above their state at 77 degF
    with water as liquid, less what the air brings.
    """
    from CoolProp.CoolProp import PropsSI

    carbon, hydrogen = fuel.carbon / MOLAR["C"], fuel.hydrogen / MOLAR["H"]  # kmol/kg
    oxygen = fuel.oxygen / MOLAR["O"]
    air = {"O2": 0.2095, "N2": 0.7812, "AR": 0.0093}

    def products(air_kmol: float) -> tuple[dict[str, float], float]:
        co = 0.0
        for _ in range(50):  # CO depends on the dry volume, which depends on CO
            left = oxygen / 2 + air_kmol * air["O2"] - (carbon - co) - co / 2 - hydrogen / 4
            gas = {
                "CO2": carbon - co,
                "CO": co,
                "O2": left,
                "N2": air_kmol * air["N2"],
                "AR": air_kmol * air["AR"],
            }
            co = co_ppm / 1e6 * sum(gas.values())
        return gas, sum(gas.values())

    low, high = 0.3, 5.0
    for _ in range(80):
        middle = (low + high) / 2
        gas, dry = products(middle)
        low, high = (middle, high) if gas["CO2"] / dry * 100 > co2 else (low, middle)
    stack = room + net
    sensible = sum(n * (enthalpy(s, stack) - enthalpy(s, 77.0)) for s, n in gas.items())
    sensible += hydrogen / 2 * (enthalpy("H2O", stack) - enthalpy("H2O", 77.0))
    brought = low * sum(x * (enthalpy(s, room) - enthalpy(s, 77.0)) for s, x in air.items())
    latent = PropsSI("H", "T", 298.15, "Q", 1, "Water") - PropsSI("H", "T", 298.15, "Q", 0, "Water")  # J/kg
    unburned = gas["CO"] * (enthalpy("CO", 77.0) + enthalpy("O2", 77.0) / 2 - enthalpy("CO2", 77.0))
    loss = sensible - brought + hydrogen / 2 * 18.015 * latent + unburned
    return float(100 * (1 - loss / (fuel.hhv_btu_per_lb * 2326)))


@pytest.mark.parametrize("fuel", FUELS, ids=lambda f: f.name)
@pytest.mark.parametrize("room", [30.0, 60.0, 80.0])
def test_efficiency_against_cantera_within_0_3_points(fuel: c.Fuel, room: float) -> None:
    worst = max(
        abs(
            c.losses(fuel, c.excess_air_from_co2(fuel, co2), room + net, room).efficiency
            - reference_efficiency(fuel, co2, net, room)
        )
        for co2 in CO2_GRID
        for net in NET_GRID
    )
    assert worst < 0.3


@pytest.mark.parametrize("co_ppm", [100.0, 1000.0, 5000.0])
def test_loss_by_co_against_cantera(co_ppm: float) -> None:
    for co2 in (8.0, 10.0, 12.0):
        found = c.losses(OIL, c.excess_air_from_co2(OIL, co2, co_ppm), 460.0, 60.0, co_ppm)
        assert found.efficiency == pytest.approx(reference_efficiency(OIL, co2, 400.0, 60.0, co_ppm), abs=0.1)
        assert found.co > 0.0


@pytest.mark.parametrize(
    ("gas", "species"),
    [("CO2", "CO2"), ("H2O", "H2O"), ("O2", "O2"), ("N2", "N2"), ("CO", "CO"), ("Ar", "AR")],
)
def test_heats_of_the_gases_against_cantera(gas: str, species: str) -> None:
    for stack in (150.0, 400.0, 800.0, 1300.0):
        ours = c._heat(gas, 60.0, stack) * 2326  # Btu/lbmol -> J/kmol
        assert ours == pytest.approx(enthalpy(species, stack) - enthalpy(species, 60.0), rel=0.005)


def test_heat_of_sulfur_dioxide_against_coolprop() -> None:
    from CoolProp.CoolProp import PropsSI

    low, high = (
        PropsSI("HMOLAR", "T", (t + 459.67) / 1.8, "P", 1000.0, "SulfurDioxide") for t in (60.0, 460.0)
    )
    assert c._heat("SO2", 60.0, 460.0) * 2.326 == pytest.approx(high - low, rel=0.01)


def test_latent_heat_of_water_against_coolprop() -> None:
    from CoolProp.CoolProp import PropsSI

    latent = PropsSI("H", "T", 298.15, "Q", 1, "Water") - PropsSI("H", "T", 298.15, "Q", 0, "Water")
    found = c.losses(OIL, 50.0, 460.0, 60.0).water_latent
    assert found == pytest.approx(100 * OIL.hydrogen * 18.015 / 2.016 * latent / 2326 / 19500, rel=0.001)


@pytest.mark.parametrize("fuel", FUELS, ids=lambda f: f.name)
@pytest.mark.parametrize("excess_air", [0.0, 25.0, 50.0, 100.0, 200.0])
@pytest.mark.parametrize("humidity", [0.0, 0.01])
def test_dew_point_against_coolprop_within_half_a_kelvin(
    fuel: c.Fuel, excess_air: float, humidity: float
) -> None:
    from CoolProp.CoolProp import PropsSI

    air = c.air_fuel_ratio(fuel) * (1 + excess_air / 100)
    water = fuel.hydrogen / 2.016 + air * humidity / 18.015
    dry = fuel.carbon / 12.011 / (c.co2_from_excess_air(fuel, excess_air) / 100)
    reference = PropsSI("T", "P", 101325 * water / (water + dry), "Q", 1, "Water")
    ours = (c.dew_point(fuel, excess_air, humidity) + 459.67) / 1.8
    assert ours == pytest.approx(reference, abs=0.5)


@pytest.mark.parametrize("kelvin", [273.16, 290.0, 310.0, 330.0, 350.0, 373.124])
def test_saturation_pressure_against_coolprop(kelvin: float) -> None:
    from CoolProp.CoolProp import PropsSI

    assert c._saturation_pressure(kelvin) == pytest.approx(
        PropsSI("P", "T", kelvin, "Q", 1, "Water"), rel=0.001
    )


@pytest.mark.parametrize("fuel", FUELS, ids=lambda f: f.name)
@pytest.mark.parametrize("excess_air", [0.0, 20.0, 50.0])
def test_air_and_products_against_chemicals(fuel: c.Fuel, excess_air: float) -> None:
    from chemicals.combustion import combustion_stoichiometry

    # 1 kg of fuel as a pseudo-molecule of mol/kg
    atoms = {
        "C": 1000 * fuel.carbon / 12.011,
        "H": 1000 * fuel.hydrogen / 1.008,
        "O": 1000 * fuel.oxygen / 15.999,
    }
    change = combustion_stoichiometry({k: v for k, v in atoms.items() if v})
    burned = -change["O2"]
    air = burned / 0.2095 * 28.96 / 1000
    assert c.air_fuel_ratio(fuel) == pytest.approx(air, rel=0.002)
    dry = change["CO2"] + burned * ((1 + excess_air / 100) / 0.2095 - 1)
    assert c.co2_from_excess_air(fuel, excess_air) == pytest.approx(100 * change["CO2"] / dry, rel=0.002)
    left = 100 * burned * excess_air / 100 / dry
    assert c.o2_from_excess_air(fuel, excess_air) == pytest.approx(left, rel=0.002, abs=1e-9)


@pytest.mark.parametrize("o2", [1.0, 4.8, 7.5, 12.0])
def test_excess_air_against_the_air_fuel_solver_of_chemicals(o2: float) -> None:
    from chemicals.combustion import fuel_air_spec_solver

    # Dodecane, C12H26, stands for a light oil of known formula.
    molar = 12 * 12.011 + 26 * 1.008
    dodecane = c.Fuel(
        "c12",
        "Dodecane",
        12 * 12.011 / molar,
        26 * 1.008 / molar,
        0.0,
        0.0,
        0.0,
        20400.0,
        6.25,
        "molar masses",
    )
    solved = fuel_air_spec_solver(
        zs_air=[0.79054, 0.20946, 0.0, 0.0, 0.0],
        zs_fuel=[0.0, 0.0, 1.0, 0.0, 0.0],
        CASs=["7727-37-9", "7782-44-7", "112-40-3", "7732-18-5", "124-38-9"],
        atomss=[{"N": 2}, {"O": 2}, {"C": 12, "H": 26}, {"H": 2, "O": 1}, {"C": 1, "O": 2}],
        n_fuel=1.0,
        frac_out_O2_dry=o2 / 100,
        MW_air=28.96,
        MW_fuel=molar,
        Vm_air=0.024,
        Vm_fuel=0.024,
    )
    excess = c.excess_air_from_o2(dodecane, o2)
    assert excess == pytest.approx(100 * solved["O2_excess"], rel=0.002)
    assert c.air_fuel_ratio(dodecane) * (1 + excess / 100) == pytest.approx(solved["mass_ratio"], rel=0.002)


def test_heating_value_against_boie_and_dulong() -> None:
    """Correlations for fuels at large: Boie within 2 %; Dulong, high on oils rich in hydrogen, within 7 %."""
    from chemicals.combustion import HHV_Boie, HHV_modified_Dulong

    for fuel in FUELS:
        analysis = {"C": fuel.carbon, "H": fuel.hydrogen, "O": fuel.oxygen, "S": 0.0, "N": 0.0}
        assert -HHV_Boie(analysis) / 2.326 == pytest.approx(fuel.hhv_btu_per_lb, rel=0.02)
        assert -HHV_modified_Dulong(analysis) / 2.326 == pytest.approx(fuel.hhv_btu_per_lb, rel=0.07)


def test_lower_heating_value_against_chemicals() -> None:
    from chemicals.combustion import LHV_from_HHV

    moles = OIL.hydrogen / 2.016 * 1000  # mol of water per kg
    reference = -LHV_from_HHV(-OIL.hhv_btu_per_lb * 2326, moles) / 2326
    assert c.lower_heating_value(OIL) == pytest.approx(reference, rel=0.001)
