"""Streams of air and flue gas: composition, heat content, mixing.

A stream is five amounts, lbmol/h, in the order of :data:`SPECIES`. Heat content is above 77 degF, water as
vapor, so a stream of outdoor air at 77 degF carries nothing.

References
----------
.. [1] Heat contents: our own fit, fifth degree, to the NASA seven-coefficient polynomials of the mechanism
   GRI-Mech 3.0 over -45 to 4,000 degF; tests/plant checks them against Cantera.
.. [2] Saturation of water: Antoine's equation, coefficients for 34 to 212 degF from memory.
"""

from __future__ import annotations

import math

from advisor.physics.combustion import Fuel, lower_heating_value

SPECIES = ("CO2", "H2O", "inert", "O2", "CO")
"""Order of the amounts in a stream; ``inert`` is the nitrogen and argon of air."""

Stream = tuple[float, float, float, float, float]

MOLAR_MASS = (44.009, 18.015, 28.155, 31.998, 28.010)  # lb/lbmol; inert 98.82 % N2, 1.18 % Ar
O2_IN_AIR = 0.20946
AIR_MASS = O2_IN_AIR * MOLAR_MASS[3] + (1 - O2_IN_AIR) * MOLAR_MASS[2]
CO_HEAT = 282_980.0 / 2.326  # Btu/lbmol, CO to CO2 at 77 degF
VAPOR_HEAT = 2441.7 / 2.326  # Btu/lb of water at 77 degF
NOTHING: Stream = (0.0, 0.0, 0.0, 0.0, 0.0)

_HEAT = (  # Btu/lbmol, powers 1 to 5 of (t - 77)/1000 degF [1]_
    (8874.26, 2920.11, -959.57, 187.39, -15.52),
    (8018.73, 394.15, 307.77, -89.25, 7.96),
    (6920.08, 72.14, 265.70, -91.39, 9.49),
    (6998.84, 601.47, 22.90, -48.22, 7.21),
    (6951.25, 122.83, 282.23, -105.31, 11.49),
)


def air(lb_per_h: float) -> Stream:
    """Dry air as a stream.

    >>> round(mass(air(100.0)), 6)
    100.0
    """
    moles = lb_per_h / AIR_MASS
    return (0.0, 0.0, moles * (1 - O2_IN_AIR), moles * O2_IN_AIR, 0.0)


def mix(*streams: Stream) -> Stream:
    """Sum of streams, species by species."""
    return tuple(map(sum, zip(*streams, strict=True)))  # type: ignore[return-value]


def mass(stream: Stream) -> float:
    """Mass flow of a stream, lb/h."""
    return sum(n * m for n, m in zip(stream, MOLAR_MASS, strict=True))


def stoichiometric_air(fuel: Fuel) -> float:
    """Dry air that burns 1 lb of fuel exactly, lb; the plant's fuels hold no sulfur to speak of."""
    oxygen = fuel.carbon / 12.011 + fuel.hydrogen / 4.032 - fuel.oxygen / 31.998
    return oxygen / O2_IN_AIR * AIR_MASS


def burn(fuel: Fuel, fuel_lb_h: float, air_lb_h: float, co_ppm: float) -> Stream:
    """Products of burning fuel in dry air with a given CO in the dry gas.

    Where the air does not reach, carbon stays at CO; where even that is not enough, the caller has burned too
    much (see :func:`burnable`).

    Parameters
    ----------
    fuel : Fuel
    fuel_lb_h, air_lb_h : float
        lb/h, above 0.
    co_ppm : float
        CO in the dry products, ppm; raised where oxygen is short.

    Returns
    -------
    Stream
        lbmol/h.
    """
    carbon = fuel_lb_h * fuel.carbon / 12.011
    water = fuel_lb_h * fuel.hydrogen / 2.016
    _, _, inert, oxygen, _ = air(air_lb_h)
    oxygen += fuel_lb_h * fuel.oxygen / 31.998
    spare = oxygen - carbon - water / 2
    dry = carbon + inert + max(spare, 0.0)
    co = min(carbon, max(co_ppm * 1e-6 * dry, -2 * spare))
    return (carbon - co, water, inert, max(0.0, spare + co / 2), co)


def burnable(fuel: Fuel, fuel_lb_h: float, air_lb_h: float) -> float:
    """Fuel that this air can turn to gas, lb/h: at worst half of the carbon reaches CO only."""
    return min(fuel_lb_h, air_lb_h / (stoichiometric_air(fuel) * 0.8))


def polynomial(stream: Stream) -> tuple[float, float, float, float, float]:
    """Heat content of a stream as coefficients of powers 1 to 5 of (t - 77)/1000 degF, Btu/h."""
    n0, n1, n2, n3, n4 = stream
    a, b, c, d, e = _HEAT
    return tuple(n0 * a[k] + n1 * b[k] + n2 * c[k] + n3 * d[k] + n4 * e[k] for k in range(5))  # type: ignore[return-value]


def heat(poly: tuple[float, float, float, float, float], degf: float) -> float:
    """Heat content at a temperature, Btu/h above 77 degF."""
    x = (degf - 77.0) / 1000.0
    a, b, c, d, e = poly
    return x * (a + x * (b + x * (c + x * (d + x * e))))


def capacity(poly: tuple[float, float, float, float, float], degf: float) -> float:
    """Heat capacity flow at a temperature, Btu/(h degF)."""
    x = (degf - 77.0) / 1000.0
    a, b, c, d, e = poly
    return (a + x * (2 * b + x * (3 * c + x * (4 * d + x * 5 * e)))) / 1000.0


def temperature(poly: tuple[float, float, float, float, float], btu_h: float) -> float:
    """Temperature at which a stream carries this heat, degF."""
    degf = 77.0 + btu_h / capacity(poly, 700.0)
    for _ in range(12):
        step = (btu_h - heat(poly, degf)) / capacity(poly, degf)
        degf += step
        if abs(step) < 1e-6:
            break
    return degf


def adiabatic(fuel: Fuel, excess_air: float, air_degf: float = 77.0) -> float:
    """Flame temperature without loss and without dissociation.

    Parameters
    ----------
    fuel : Fuel
    excess_air : float
        %, 0 or more.
    air_degf : float, optional
        degF.

    Returns
    -------
    float
        degF; dissociation would take off up to 150 degF near no excess air.
    """
    supplied = air(stoichiometric_air(fuel) * (1 + excess_air / 100))
    products = burn(fuel, 1.0, mass(supplied), 0.0)
    return temperature(polynomial(products), lower_heating_value(fuel) + heat(polynomial(supplied), air_degf))


def dry_percent(stream: Stream, species: str) -> float:
    """Share of one species in the dry gas, volume percent."""
    return 100.0 * stream[SPECIES.index(species)] / (sum(stream) - stream[1])


def dew_point(stream: Stream) -> float:
    """Temperature at which water condenses from the stream at 29.92 in. Hg, degF [2]_."""
    pressure = 760.0 * stream[1] / sum(stream)  # mm Hg
    if pressure < 1.0:
        return 0.0
    return (1730.63 / (8.07131 - math.log10(pressure)) - 233.426) * 1.8 + 32.0
