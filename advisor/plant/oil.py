"""Oil from tank to spray: viscosity, suction, pump, nozzle, size of the drops.

References
----------
.. [1] Orifice law and nozzle rating at 100 psi: common practice.
.. [2] Radcliffe's correlation for pressure-swirl nozzles, mean drop size ~ viscosity^0.2 flow^0.25
   pressure^-0.4 (A. Radcliffe, 1960, as quoted in Lefebvre, Atomization and Sprays; exponents from memory).
.. [3] Viscosity of No. 2 oil, 1.9 to 3.4 cSt at 104 degF (ASTM D396, value from memory); its fall with
   temperature is a round figure of the trade.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from advisor.physics.combustion import Fuel
from advisor.plant.burner import Plant, PlantError

FUELS: dict[str, Fuel] = {
    "no-2-oil": Fuel("no-2-oil", "No. 2 oil", 0.873, 0.127, 0.0, 0.0, 0.0, 19500.0, 7.1, "typical"),
    "no-1-oil": Fuel("no-1-oil", "No. 1 oil", 0.865, 0.135, 0.0, 0.0, 0.0, 19800.0, 6.83, "typical"),
    "b5": Fuel("b5", "B5", 0.8677, 0.1266, 0.0, 0.0, 0.0057, 19380.0, 7.11, "mixed by mass"),
    "b20": Fuel("b20", "B20", 0.8518, 0.1254, 0.0, 0.0, 0.0228, 19020.0, 7.15, "mixed by mass"),
}
"""Fuels by ultimate analysis; typical values from memory (10 CFR 430 Subpart B App. O for the heating values)."""

_CST_AT_100 = {"no-2-oil": 2.8, "no-1-oil": 1.8, "b5": 2.85, "b20": 3.05}
_NORMAL_CST = 5.0


@dataclass(frozen=True)
class OilSupply:
    """What reaches the flame while the motor runs."""

    fuel: Fuel
    gph: float
    lb_h: float  # combustible, water taken out
    psi: float  # at the nozzle port
    vacuum_in_hg: float  # at the pump's inlet port
    expected_in_hg: float  # what lift, length and bore alone would give
    dead_end_vacuum_in_hg: float
    ripple: float  # swing of pressure over mean
    gas_share: float  # air or vapor in the oil at the pump
    drop_size: float  # mean drop over that of the specified nozzle at specified pressure
    viscosity_cst: float


def viscosity(fuel: str, degf: float, factor: float = 1.0) -> float:
    """Kinematic viscosity, cSt, at -20 to 120 degF [3]_.

    >>> round(viscosity("no-2-oil", 60.0), 1)
    5.1
    """
    if fuel not in _CST_AT_100:
        raise PlantError(f"fuel {fuel!r} is not known; use one of {', '.join(_CST_AT_100)}")
    return factor * _CST_AT_100[fuel] * math.exp(0.015 * (100.0 - degf))


def supply(p: Plant) -> OilSupply:
    """Flow, pressure, suction and drop size; all zero flow where oil, valve or motor is missing."""
    cst = viscosity(p.fuel, p.oil_degf, p.viscosity_factor)
    fuel = FUELS[p.fuel]
    thick = cst / _NORMAL_CST
    speed = p.motor_speed_factor * (1.0 - p.coupling_slip)
    gears = p.pump_gear_gph * speed * (1.0 - 0.97 * p.pump_worn)
    swept = (1.0 - 0.5 * p.nozzle_plugged) * (1.0 + 0.2 * p.nozzle_worn) * thick**0.1
    wanted = p.nozzle_gph * math.sqrt(p.pump_psi / 100.0) * swept
    # Suction: weight of the lift, laminar flow in the line, filter and kink as narrowed passages.
    line_gph = gears if p.piping == "two-pipe" else min(wanted, gears)
    lift = 0.75 * p.lift_ft
    narrowed = (1.0 + 0.6 / (1.0 - 0.96 * p.filter_plugged) ** 1.6 + 0.4 / (1.0 - 0.98 * p.line_kinked) ** 3.0)
    sludge = 1.0 + 2.0 * p.sludge
    length = p.line_vacuum * line_gph / 17.0 * (1.0 if p.piping == "two-pipe" else 4.0)
    friction = length * thick * narrowed * sludge
    deep = 24.0 * (1.0 - 0.65 * p.pump_worn)  # what the gears can draw against a shut line
    expected = lift + 2.0 * length + 0.4  # the same with clean passages and oil as it should be
    strainer = 0.4 / (1.0 - 0.95 * p.strainer_plugged) ** 1.5 * thick
    need = lift + friction + strainer
    share = 1.0 if need <= deep else max(0.0, (deep - lift) / (need - lift))
    running = p.motor_runs >= 0.5
    if not (p.oil_available and p.valve_open):
        share, friction, lift = 0.0, (deep if not p.valve_open else 0.0), 0.0
    vacuum = min(deep, lift + (friction if p.valve_open else deep) * (share if share > 0 else 1.0))
    if not running:
        return OilSupply(fuel, 0.0, 0.0, 0.0, 0.0, expected, deep, 0.0, 0.0, 1.0, cst)
    # Dissolved air comes out of oil above about 10 in. Hg (common practice).
    gas = min(0.9, p.line_air + p.tank_air + 0.035 * max(0.0, lift + friction + strainer - 10.0) * (share > 0))
    pressure = p.pump_psi * speed**0.3 * share**2 * (1.0 - 0.35 * gas)
    if gears < 3.0 * wanted:  # worn gears cannot hold the set pressure
        pressure *= min(1.0, (gears / (3.0 * wanted)) ** 0.7)
    pressure *= 1.0 - 0.9 * (p.oil_valve_defect >= 0.8)  # a dead valve lets next to nothing through
    gph = p.nozzle_gph * math.sqrt(max(pressure, 0.0) / 100.0) * swept * (1.0 - 0.5 * gas)
    if pressure < 40.0:  # the pump's valve shuts below its opening pressure
        gph = 0.0
    ripple = p.pressure_ripple + 0.8 * gas + 0.15 * max(0.0, p.pump_worn - 0.3)
    at_spec = (p.pump_psi_required / 100.0) ** (0.125 - 0.4)
    drop = 1.0
    if gph > 0.0:
        drop = thick**0.2 * (gph / p.nozzle_gph_required) ** 0.25 * (pressure / 100.0) ** -0.4 / at_spec
        drop *= (1.0 + 0.35 * p.nozzle_worn + 0.45 * p.nozzle_plugged + 0.3 * gas + 0.5 * p.water_in_oil
                 + 0.25 * p.fuel_stale)
    burning = gph * fuel.density_lb_per_gal * (1.0 - p.water_in_oil)
    return OilSupply(fuel, gph, burning, pressure, vacuum, expected, deep, ripple, gas, drop, cst)
