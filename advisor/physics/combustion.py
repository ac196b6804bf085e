"""Combustion of fuel oil: air, flue gas, heat losses and efficiency from the fuel's ultimate analysis.

Everything follows from mass balances over 1 lb of fuel burned in dry air, with no soot and no unburned
vapor left. Flue-gas readings are dry volume percent; CO2 does not count SO2. Argon is counted with
nitrogen, the inert part of air. Amounts are lbmol per lb of fuel unless said otherwise.

References
----------
.. [1] Moran and Shapiro, Fundamentals of Engineering Thermodynamics, chapter on reacting mixtures and
   combustion.
.. [2] McBride, Gordon and Reno, Coefficients for Calculating Thermodynamic and Transport Properties of
   Individual Species, NASA TM-4513, 1993 (seven-coefficient polynomials, 200 to 1,000 K; values from
   memory, tested).
.. [3] Wagner and Pruss, J. Phys. Chem. Ref. Data 22, 1993, 783: saturation pressure of water (IAPWS).
.. [4] ASME PTC 4, Fired Steam Generators: losses on the higher heating value by the energy-balance method.
.. [5] 40 CFR 60, Appendix A, Methods 3B and 19: dry basis, 20.9 % oxygen in air.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from advisor.physics.units import PhysicsError, within

__all__ = [
    "AIR_O2",
    "Fuel",
    "Losses",
    "air_fuel_ratio",
    "co2_emitted_lb_per_gal",
    "co2_from_excess_air",
    "co2_from_o2",
    "co2_max",
    "co_air_free",
    "dew_point",
    "excess_air_from_co2",
    "excess_air_from_o2",
    "fuel_saved",
    "losses",
    "lower_heating_value",
    "net_stack",
    "o2_from_co2",
    "o2_from_excess_air",
]

AIR_O2 = 20.9
"""Oxygen in dry air as the trade and the analyzers round it, volume percent [5]_."""

_R_O2 = 0.20946  # mole fraction in dry air, for the balances (U.S. Standard Atmosphere, 1976)
_ARGON_IN_INERT = 0.0118  # mole fraction: 0.934 % of air in the 79.05 % that is not oxygen
_C, _H2, _S, _N2, _O2, _AR = 12.011, 2.016, 32.06, 28.014, 31.998, 39.948  # lb/lbmol
_CO2, _H2O = 44.009, 18.015
_AIR = _R_O2 * _O2 + (1 - _R_O2) * ((1 - _ARGON_IN_INERT) * _N2 + _ARGON_IN_INERT * _AR)
_BTU_PER_LB = 1 / 2.326  # per kJ/kg, exact; also Btu/lbmol per kJ/kmol
_CO_HEAT = 282_980.0 * _BTU_PER_LB  # Btu/lbmol, CO to CO2 at 77 degF
_LATENT = 2441.7 * _BTU_PER_LB  # Btu/lb, water at 77 degF, the heating values' own temperature [3]_
_STACK_MAX = 1300.0  # degF; the polynomials end at 1,340 degF


@dataclass(frozen=True)
class Fuel:
    """A fuel by its ultimate analysis.

    Parameters
    ----------
    name, title : str
        Short name and words for people.
    carbon, hydrogen, sulfur, nitrogen, oxygen : float
        Mass fractions, together 1 within 0.001.
    hhv_btu_per_lb : float
        Higher heating value, Btu/lb; 10,000 to 25,000.
    density_lb_per_gal : float
        lb per US gallon; 6 to 9.
    source : str
        Where the figures come from.

    Raises
    ------
    PhysicsError
        A fraction outside 0 to 1, a sum other than 1, no carbon or no hydrogen, or a value outside its range.

    Examples
    --------
    >>> Fuel("oil", "Light oil", 0.9, 0.2, 0.0, 0.0, 0.0, 19500.0, 7.1, "example")
    Traceback (most recent call last):
    advisor.physics.units.PhysicsError: fuel oil: mass fractions add to 1.1; they must add to 1
    """

    name: str
    title: str
    carbon: float
    hydrogen: float
    sulfur: float
    nitrogen: float
    oxygen: float
    hhv_btu_per_lb: float
    density_lb_per_gal: float
    source: str

    def __post_init__(self) -> None:
        parts = {"carbon": self.carbon, "hydrogen": self.hydrogen, "sulfur": self.sulfur,
                 "nitrogen": self.nitrogen, "oxygen": self.oxygen}
        for part, fraction in parts.items():
            within(f"fuel {self.name}: {part}", fraction, 0.0, 1.0, "(mass fraction)",
                   above=part in ("carbon", "hydrogen"))
        total = math.fsum(parts.values())
        if abs(total - 1.0) > 0.001:
            raise PhysicsError(f"fuel {self.name}: mass fractions add to {total:g}; they must add to 1")
        within(f"fuel {self.name}: higher heating value", self.hhv_btu_per_lb, 10_000.0, 25_000.0, "Btu/lb")
        within(f"fuel {self.name}: density", self.density_lb_per_gal, 6.0, 9.0, "lb/gal")


@dataclass(frozen=True)
class Losses:
    """Where the heat goes that does not reach air or water, in % of the higher heating value.

    ``water_latent`` and ``water_sensible`` are the two parts of the loss by water vapor. ``efficiency`` is
    on the higher heating value; ``efficiency_lower`` on the lower one, in which the latent part is not
    counted.
    """

    dry_gas: float
    water_latent: float
    water_sensible: float
    co: float
    efficiency_lower: float

    @property
    def water_vapor(self) -> float:
        """Latent and sensible loss by water vapor, % of the higher heating value."""
        return self.water_latent + self.water_sensible

    @property
    def total(self) -> float:
        """All stack losses, % of the higher heating value."""
        return self.dry_gas + self.water_latent + self.water_sensible + self.co

    @property
    def efficiency(self) -> float:
        """Combustion efficiency, % of the higher heating value."""
        return 100.0 - self.total


def _oxygen(fuel: Fuel) -> float:
    """O2 needed to burn 1 lb of fuel, lbmol."""
    return fuel.carbon / _C + fuel.hydrogen / (2 * _H2) + fuel.sulfur / _S - fuel.oxygen / _O2


def _dry_exact(fuel: Fuel) -> float:
    """Dry flue gas with exactly the air needed, lbmol."""
    inert = _oxygen(fuel) * (1 / _R_O2 - 1)
    return fuel.carbon / _C + fuel.sulfur / _S + fuel.nitrogen / _N2 + inert


def _dry(fuel: Fuel, excess_air: float, co_ppm: float) -> float:
    """Dry flue gas at an excess air, lbmol; each CO leaves half an O2 over."""
    return (_dry_exact(fuel) + _oxygen(fuel) * excess_air / 100.0 / _R_O2) / (1 - co_ppm / 2e6)


def _checked_co(co_ppm: float) -> float:
    return within("CO", co_ppm, 0.0, 50_000.0, "ppm")


def _checked_o2(o2: float) -> float:
    if not math.isfinite(o2) or not 0.0 <= o2 < AIR_O2:
        raise PhysicsError(
            f"O2 {o2:g} %: flue gas has 0 to below {AIR_O2} %; {AIR_O2} % is outdoor air; check the probe"
        )
    return o2


def _checked_co2(fuel: Fuel, co2: float) -> float:
    most = co2_max(fuel)
    if not math.isfinite(co2) or not 0.0 < co2 <= most * (1 + 1e-9):
        raise PhysicsError(
            f"CO2 {co2:g} %: {fuel.title} gives above 0 to at most {most:.1f} % (no excess air); check the "
            "reading and the fuel chosen"
        )
    return co2


def _checked_excess_air(fuel: Fuel, excess_air: float, co_ppm: float = 0.0) -> float:
    """Check the range; below 0 only as far as the CO found accounts for the missing oxygen."""
    _checked_co(co_ppm)
    within("excess air", excess_air, -50.0, 1e6, "%")
    spare = _oxygen(fuel) * excess_air / 100.0 + _dry(fuel, excess_air, co_ppm) * co_ppm / 2e6
    if spare < -1e-12:
        raise PhysicsError(f"excess air {excess_air:g} % with CO {co_ppm:g} ppm: less oxygen than these burn;"
                           " wants 0 or more, or the CO that goes with the lack of air")
    return excess_air


def air_fuel_ratio(fuel: Fuel) -> float:
    """Dry air needed to burn the fuel exactly.

    ``(C/12.011 + H/4.032 + S/32.06 - O/31.998) / 0.20946 * 28.96``

    Parameters
    ----------
    fuel : Fuel

    Returns
    -------
    float
        lb of dry air per lb of fuel.

    Examples
    --------
    >>> oil = Fuel("oil", "Light oil", 0.873, 0.127, 0.0, 0.0, 0.0, 19500.0, 7.1, "example")
    >>> round(air_fuel_ratio(oil), 1)
    14.4

    References
    ----------
    See [1]_ in the module's docstring.
    """
    return _oxygen(fuel) / _R_O2 * _AIR


def lower_heating_value(fuel: Fuel) -> float:
    """Heating value with the water formed left as vapor: ``HHV - 8.936 H h_fg`` at 77 degF.

    Parameters
    ----------
    fuel : Fuel

    Returns
    -------
    float
        Btu/lb.

    Examples
    --------
    >>> oil = Fuel("oil", "Light oil", 0.873, 0.127, 0.0, 0.0, 0.0, 19500.0, 7.1, "example")
    >>> round(lower_heating_value(oil))
    18309

    References
    ----------
    See [1]_ in the module's docstring.
    """
    return fuel.hhv_btu_per_lb - fuel.hydrogen / _H2 * _H2O * _LATENT


def co2_max(fuel: Fuel) -> float:
    """CO2 in dry flue gas with no excess air and complete combustion.

    Parameters
    ----------
    fuel : Fuel

    Returns
    -------
    float
        Dry volume %.

    Examples
    --------
    >>> oil = Fuel("oil", "Light oil", 0.873, 0.127, 0.0, 0.0, 0.0, 19500.0, 7.1, "example")
    >>> round(co2_max(oil), 1)
    15.6

    References
    ----------
    See [1]_ and [5]_ in the module's docstring.
    """
    return 100.0 * fuel.carbon / _C / _dry_exact(fuel)


def excess_air_from_o2(fuel: Fuel, o2: float, co_ppm: float = 0.0) -> float:
    """Excess air from measured O2.

    Parameters
    ----------
    fuel : Fuel
    o2 : float
        Dry volume %; 0 to below 20.9.
    co_ppm : float, optional
        CO as measured, ppm; 0 to 50,000. It uses up the O2 that it left over.

    Returns
    -------
    float
        Excess air, % of the air needed; slightly below 0 where CO outweighs the O2.

    Raises
    ------
    PhysicsError
        A value outside its range.

    Examples
    --------
    >>> oil = Fuel("oil", "Light oil", 0.873, 0.127, 0.0, 0.0, 0.0, 19500.0, 7.1, "example")
    >>> round(excess_air_from_o2(oil, 7.5), 1)
    52.2

    References
    ----------
    See [1]_ in the module's docstring.
    """
    half_co = _checked_co(co_ppm) / 2e6
    spare = (_checked_o2(o2) / 100.0 - half_co) / (1 - half_co)
    return 100.0 * spare * _dry_exact(fuel) / (_oxygen(fuel) * (1 - spare / _R_O2))


def excess_air_from_co2(fuel: Fuel, co2: float, co_ppm: float = 0.0) -> float:
    """Excess air from measured CO2.

    Parameters
    ----------
    fuel : Fuel
    co2 : float
        Dry volume %; above 0 to the fuel's maximum (:func:`co2_max`).
    co_ppm : float, optional
        CO as measured, ppm; 0 to 50,000. Its carbon is missing from the CO2.

    Returns
    -------
    float
        Excess air, % of the air needed.

    Raises
    ------
    PhysicsError
        A value outside its range.

    Examples
    --------
    >>> oil = Fuel("oil", "Light oil", 0.873, 0.127, 0.0, 0.0, 0.0, 19500.0, 7.1, "example")
    >>> round(excess_air_from_co2(oil, 12.0), 1)
    28.1

    References
    ----------
    See [1]_ in the module's docstring.
    """
    co = _checked_co(co_ppm) / 1e6
    dry = fuel.carbon / _C / (_checked_co2(fuel, co2) / 100.0 + co)
    return 100.0 * (dry * (1 - co / 2) - _dry_exact(fuel)) * _R_O2 / _oxygen(fuel)


def o2_from_excess_air(fuel: Fuel, excess_air: float, co_ppm: float = 0.0) -> float:
    """O2 in dry flue gas at an excess air.

    Parameters
    ----------
    fuel : Fuel
    excess_air : float
        %; 0 or more (below 0 only with the CO that goes with it).
    co_ppm : float, optional
        ppm; 0 to 50,000.

    Returns
    -------
    float
        Dry volume %.

    Raises
    ------
    PhysicsError
        A value outside its range.

    Examples
    --------
    >>> oil = Fuel("oil", "Light oil", 0.873, 0.127, 0.0, 0.0, 0.0, 19500.0, 7.1, "example")
    >>> round(o2_from_excess_air(oil, 28.1), 1)
    4.8

    References
    ----------
    See [1]_ in the module's docstring.
    """
    _checked_excess_air(fuel, excess_air, co_ppm)
    spare = _oxygen(fuel) * excess_air / 100.0
    return max(0.0, 100.0 * (spare / _dry(fuel, excess_air, co_ppm) + co_ppm / 2e6))


def co2_from_excess_air(fuel: Fuel, excess_air: float, co_ppm: float = 0.0) -> float:
    """CO2 in dry flue gas at an excess air.

    Parameters
    ----------
    fuel : Fuel
    excess_air : float
        %; 0 or more (below 0 only with the CO that goes with it).
    co_ppm : float, optional
        ppm; 0 to 50,000.

    Returns
    -------
    float
        Dry volume %.

    Raises
    ------
    PhysicsError
        A value outside its range, or more CO than the fuel's carbon can give at that dilution.

    Examples
    --------
    >>> oil = Fuel("oil", "Light oil", 0.873, 0.127, 0.0, 0.0, 0.0, 19500.0, 7.1, "example")
    >>> round(co2_from_excess_air(oil, 52.5), 1)
    10.0

    References
    ----------
    See [1]_ in the module's docstring.
    """
    _checked_excess_air(fuel, excess_air, co_ppm)
    co2 = 100.0 * (fuel.carbon / _C / _dry(fuel, excess_air, co_ppm) - co_ppm / 1e6)
    if co2 < 0.0:
        raise PhysicsError(f"CO {co_ppm:g} ppm at excess air {excess_air:g} %: more carbon than the fuel has;"
                           " check both readings")
    return co2


def co2_from_o2(fuel: Fuel, o2: float, co_ppm: float = 0.0) -> float:
    """CO2 that goes with a measured O2, by the fuel's stoichiometry.

    Parameters
    ----------
    fuel : Fuel
    o2 : float
        Dry volume %; 0 to below 20.9.
    co_ppm : float, optional
        ppm; 0 to 50,000.

    Returns
    -------
    float
        Dry volume %.

    Raises
    ------
    PhysicsError
        A value outside its range.

    Examples
    --------
    >>> oil = Fuel("oil", "Light oil", 0.873, 0.127, 0.0, 0.0, 0.0, 19500.0, 7.1, "example")
    >>> round(co2_from_o2(oil, 5.0), 1)
    11.9

    References
    ----------
    See [1]_ in the module's docstring.
    """
    return co2_from_excess_air(fuel, excess_air_from_o2(fuel, o2, co_ppm), co_ppm)


def o2_from_co2(fuel: Fuel, co2: float, co_ppm: float = 0.0) -> float:
    """O2 that goes with a measured CO2, by the fuel's stoichiometry.

    Parameters
    ----------
    fuel : Fuel
    co2 : float
        Dry volume %; above 0 to the fuel's maximum (:func:`co2_max`).
    co_ppm : float, optional
        ppm; 0 to 50,000.

    Returns
    -------
    float
        Dry volume %.

    Raises
    ------
    PhysicsError
        A value outside its range.

    Examples
    --------
    >>> oil = Fuel("oil", "Light oil", 0.873, 0.127, 0.0, 0.0, 0.0, 19500.0, 7.1, "example")
    >>> round(o2_from_co2(oil, 10.0), 1)
    7.5

    References
    ----------
    See [1]_ in the module's docstring.
    """
    return o2_from_excess_air(fuel, excess_air_from_co2(fuel, co2, co_ppm), co_ppm)


def co_air_free(co_ppm: float, o2: float) -> float:
    """CO as it would read with no excess air: ``CO * 20.9 / (20.9 - O2)``.

    Parameters
    ----------
    co_ppm : float
        As measured, ppm; 0 to 50,000.
    o2 : float
        In the same sample, dry volume %; 0 to below 20.9.

    Returns
    -------
    float
        ppm, air-free.

    Raises
    ------
    PhysicsError
        A value outside its range.

    Examples
    --------
    >>> round(co_air_free(60.0, 7.5))
    94

    References
    ----------
    Dilution with air of 20.9 % oxygen, see [5]_ in the module's docstring.
    """
    return _checked_co(co_ppm) * AIR_O2 / (AIR_O2 - _checked_o2(o2))


def net_stack(stack: float, room: float) -> float:
    """Net stack temperature: gross stack less the temperature of the combustion air.

    Parameters
    ----------
    stack : float
        Flue gas at the test hole, degF; room to 1,300.
    room : float
        Combustion air at the burner, degF; -40 to 150.

    Returns
    -------
    float
        degF difference.

    Raises
    ------
    PhysicsError
        A value outside its range, or a stack colder than the room.

    Examples
    --------
    >>> net_stack(520.0, 70.0)
    450.0

    References
    ----------
    Common practice.
    """
    within("combustion-air temperature", room, -40.0, 150.0, "degF")
    if stack < room:
        raise PhysicsError(f"stack {stack:g} degF is colder than the combustion air ({room:g} degF): "
                           "the burner is not firing, or the two readings are swapped")
    return within("stack temperature", stack, room, _STACK_MAX, "degF") - room


# a1 to a5 of cp/R = a1 + a2 T + a3 T2 + a4 T3 + a5 T4, T in K, 200 to 1,000 K [2]_
_HEATS: dict[str, tuple[float, float, float, float, float]] = {
    "CO2": (2.35677352, 8.98459677e-3, -7.12356269e-6, 2.45919022e-9, -1.43699548e-13),
    "H2O": (4.19864056, -2.03643410e-3, 6.52040211e-6, -5.48797062e-9, 1.77197817e-12),
    "O2": (3.78245636, -2.99673416e-3, 9.84730201e-6, -9.68129509e-9, 3.24372837e-12),
    "N2": (3.53100528, -1.23660988e-4, -5.02999433e-7, 2.43530612e-9, -1.40881235e-12),
    "CO": (3.57953347, -6.10353680e-4, 1.01681433e-6, 9.07005884e-10, -9.04424499e-13),
    "SO2": (3.26653380, 5.32379020e-3, 6.84375520e-7, -5.28100470e-9, 2.55904540e-12),
    "Ar": (2.5, 0.0, 0.0, 0.0, 0.0),
}


def _heat(gas: str, cold: float, hot: float) -> float:
    """Sensible heat of a gas between two temperatures, degF; Btu/lbmol."""
    low, high = (cold + 459.67) / 1.8, (hot + 459.67) / 1.8
    total = 0.0
    for power, a in enumerate(_HEATS[gas], start=1):
        total += a / power * (high**power - low**power)
    return 8.31446261815324 * total * _BTU_PER_LB


def losses(fuel: Fuel, excess_air: float, stack: float, room: float, co_ppm: float = 0.0) -> Losses:
    """Stack losses and combustion efficiency by an energy balance.

    Dry gas and water vapor carry ``n (h(stack) - h(room))`` with heats that depend on temperature; the water
    formed carries its latent heat at 77 degF besides; each CO keeps back 282.98 kJ/mol. Combustion air is
    taken as dry (moist air costs 0.1 to 0.2 points), fuel and air come at room temperature, jacket and
    standby losses are not counted.

    Parameters
    ----------
    fuel : Fuel
    excess_air : float
        %; 0 or more (below 0 only with the CO that goes with it).
    stack : float
        Gross stack temperature, degF; room to 1,300. Gas below :func:`dew_point` gives back latent heat
        that is not counted here.
    room : float
        Combustion air, degF; -40 to 150.
    co_ppm : float, optional
        As measured, ppm; 0 to 50,000.

    Returns
    -------
    Losses
        In % of the higher heating value; the efficiency on the lower one besides.

    Raises
    ------
    PhysicsError
        A value outside its range, a stack colder than the room, or losses above the fuel's heat.

    Examples
    --------
    >>> oil = Fuel("oil", "Light oil", 0.873, 0.127, 0.0, 0.0, 0.0, 19500.0, 7.1, "example")
    >>> found = losses(oil, excess_air=52.5, stack=460.0, room=60.0)
    >>> round(found.efficiency, 1), round(found.dry_gas, 1), round(found.water_vapor, 1)
    (82.0, 10.9, 7.2)

    References
    ----------
    See [2]_ and [4]_ in the module's docstring.
    """
    net_stack(stack, room)
    co2 = co2_from_excess_air(fuel, excess_air, co_ppm)
    dry = _dry(fuel, excess_air, co_ppm)
    air = _oxygen(fuel) * (1 + excess_air / 100.0) / _R_O2
    argon = air * (1 - _R_O2) * _ARGON_IN_INERT
    gases = {
        "CO2": dry * co2 / 100.0,
        "O2": dry * o2_from_excess_air(fuel, excess_air, co_ppm) / 100.0,
        "N2": air * (1 - _R_O2) - argon + fuel.nitrogen / _N2,
        "Ar": argon,
        "SO2": fuel.sulfur / _S,
        "CO": dry * co_ppm / 1e6,
    }
    water = fuel.hydrogen / _H2
    percent = 100.0 / fuel.hhv_btu_per_lb
    dry_gas = percent * sum(amount * _heat(gas, room, stack) for gas, amount in gases.items() if amount)
    sensible = percent * water * _heat("H2O", room, stack)
    co_loss = percent * gases["CO"] * _CO_HEAT
    on_lower = (dry_gas + sensible + co_loss) * fuel.hhv_btu_per_lb / lower_heating_value(fuel)
    found = Losses(dry_gas, percent * water * _H2O * _LATENT, sensible, co_loss, 100.0 - on_lower)
    if found.total > 100.0:
        raise PhysicsError(f"losses come to {found.total:.0f} % of the fuel's heat: no burner runs so; check "
                           f"stack {stack:g} degF, excess air {excess_air:g} % and CO {co_ppm:g} ppm")
    return found


def _saturation_pressure(kelvin: float) -> float:
    """Pa, 273.16 to 647 K [3]_."""
    t = 1 - kelvin / 647.096
    series = (-7.85951783 * t + 1.84408259 * t**1.5 - 11.7866497 * t**3 + 22.6807411 * t**3.5
              - 15.9618719 * t**4 + 1.80122502 * t**7.5)
    return 22.064e6 * math.exp(647.096 / kelvin * series)


def dew_point(
    fuel: Fuel, excess_air: float, room_humidity_ratio: float = 0.0, barometer_in_hg: float = 29.92
) -> float:
    """Temperature at which water begins to condense from the flue gas.

    The temperature whose saturation pressure equals the vapor's share of the barometer. Sulfuric acid
    condenses earlier, at 200 degF and more with sulfur in the oil; it is not counted here.

    Parameters
    ----------
    fuel : Fuel
    excess_air : float
        %; 0 or more.
    room_humidity_ratio : float, optional
        Water in the combustion air, lb per lb of dry air; 0 to 0.05.
    barometer_in_hg : float, optional
        Station pressure, in. Hg; 15 to 32.

    Returns
    -------
    float
        degF, above 32.

    Raises
    ------
    PhysicsError
        A value outside its range, or gas so dilute that frost would form before dew.

    Examples
    --------
    >>> oil = Fuel("oil", "Light oil", 0.873, 0.127, 0.0, 0.0, 0.0, 19500.0, 7.1, "example")
    >>> round(dew_point(oil, 50.0))
    108

    References
    ----------
    See [3]_ in the module's docstring.
    """
    within("room humidity ratio", room_humidity_ratio, 0.0, 0.05, "lb/lb dry air")
    within("barometer", barometer_in_hg, 15.0, 32.0, "in. Hg")
    _checked_excess_air(fuel, excess_air)
    air_lb = air_fuel_ratio(fuel) * (1 + excess_air / 100.0)
    water = fuel.hydrogen / _H2 + air_lb * room_humidity_ratio / _H2O
    pressure = barometer_in_hg * 3386.38864 * water / (water + _dry(fuel, excess_air, 0.0))
    low, high = 273.16, 373.15
    if pressure < _saturation_pressure(low):
        raise PhysicsError(f"excess air {excess_air:g} %: flue gas too dilute for a dew point above 32 degF; "
                           "wants a reading from a firing burner")
    for _ in range(30):
        middle = (low + high) / 2
        low, high = (middle, high) if _saturation_pressure(middle) < pressure else (low, middle)
    return high * 1.8 - 459.67


def fuel_saved(efficiency_before: float, efficiency_after: float) -> float:
    """Fuel saved for the same heat when efficiency rises: ``100 (1 - before / after)``.

    Parameters
    ----------
    efficiency_before, efficiency_after : float
        On the same heating value, %; above 0 to 100.

    Returns
    -------
    float
        % of the fuel used before; negative where efficiency fell.

    Raises
    ------
    PhysicsError
        A value outside its range.

    Examples
    --------
    >>> round(fuel_saved(75.0, 80.0), 2)
    6.25

    References
    ----------
    Definition of the efficiency.
    """
    within("efficiency before", efficiency_before, 0.0, 100.0, "%", above=True)
    within("efficiency after", efficiency_after, 0.0, 100.0, "%", above=True)
    return 100.0 * (1.0 - efficiency_before / efficiency_after)


def co2_emitted_lb_per_gal(fuel: Fuel) -> float:
    """CO2 from burning a gallon, all carbon burned: ``density * C * 44.009 / 12.011``.

    Parameters
    ----------
    fuel : Fuel

    Returns
    -------
    float
        lb of CO2 per gallon.

    Examples
    --------
    >>> oil = Fuel("oil", "Light oil", 0.873, 0.127, 0.0, 0.0, 0.0, 19500.0, 7.1, "example")
    >>> round(co2_emitted_lb_per_gal(oil), 1)
    22.7

    References
    ----------
    See [1]_ in the module's docstring.
    """
    return fuel.density_lb_per_gal * fuel.carbon * _CO2 / _C
