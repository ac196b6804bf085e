"""Firing rate, heat input, combustion-air openings and the suction of a lifted oil line.

References
----------
.. [1] NFPA 31, Standard for the Installation of Oil-Burning Equipment: air for combustion and ventilation.
   Values from memory; the edition in force where the unit stands, and the local code, decide.
.. [2] Orifice law: flow through a fixed opening goes with the square root of the pressure across it;
   nozzles are rated at 100 psi (common practice).
"""

from __future__ import annotations

import math
from typing import Literal

from advisor.physics.combustion import Fuel
from advisor.physics.units import PhysicsError, within

__all__ = [
    "RATING_PRESSURE",
    "Opening",
    "btu_per_h_to_kw",
    "combustion_air_opening",
    "confined_space_volume",
    "input_btu_per_h",
    "nozzle_flow",
    "oil_line_lift_vacuum",
    "output_btu_per_h",
    "pressure_for_flow",
]

RATING_PRESSURE = 100.0
"""Pump pressure at which a nozzle's size is its flow, psi (common practice)."""

Opening = Literal["inside-each-of-two", "direct", "vertical-duct", "horizontal-duct", "single"]

_BTU_PER_H_FOR_ONE_SQ_IN: dict[str, float] = {
    "inside-each-of-two": 1000.0,
    "direct": 4000.0,
    "vertical-duct": 4000.0,
    "horizontal-duct": 2000.0,
    "single": 5000.0,
}
LEAST_INSIDE_OPENING = 100.0
"""Free area that each of two openings to inside air has at least, in2."""
_GAL_PER_FT3 = 1728 / 231
_PSI_PER_IN_HG = 0.4911541


def nozzle_flow(rated_gph: float, pressure_psi: float) -> float:
    """Oil flow of a nozzle at a pump pressure: ``rated * sqrt(pressure / 100 psi)``.

    Parameters
    ----------
    rated_gph : float
        Size stamped on the nozzle, gph at 100 psi; above 0 to 30.
    pressure_psi : float
        Pressure at the nozzle, psi; 40 to 400.

    Returns
    -------
    float
        Flow, gph. Viscosity and wear move the true flow by several percent.

    Raises
    ------
    PhysicsError
        A value outside its range.

    Examples
    --------
    >>> round(nozzle_flow(0.85, 140.0), 3)
    1.006

    References
    ----------
    See [2]_ in the module's docstring.
    """
    within("nozzle size", rated_gph, 0.0, 30.0, "gph", above=True)
    within("nozzle pressure", pressure_psi, 40.0, 400.0, "psi")
    return rated_gph * math.sqrt(pressure_psi / RATING_PRESSURE)


def pressure_for_flow(rated_gph: float, flow_gph: float) -> float:
    """Pump pressure at which a nozzle gives a flow: ``100 psi * (flow / rated)**2``.

    Parameters
    ----------
    rated_gph : float
        Size stamped on the nozzle, gph at 100 psi; above 0 to 30.
    flow_gph : float
        Flow wanted, gph; one that needs 40 to 400 psi.

    Returns
    -------
    float
        Pressure, psi.

    Raises
    ------
    PhysicsError
        A value outside its range, or a flow that this nozzle gives only outside 40 to 400 psi.

    Examples
    --------
    >>> round(pressure_for_flow(0.85, 1.0), 1)
    138.4

    References
    ----------
    See [2]_ in the module's docstring.
    """
    within("nozzle size", rated_gph, 0.0, 30.0, "gph", above=True)
    within("flow", flow_gph, 0.0, 60.0, "gph", above=True)
    pressure = RATING_PRESSURE * (flow_gph / rated_gph) ** 2
    if not 40.0 <= pressure <= 400.0:
        raise PhysicsError(
            f"{flow_gph:g} gph from a {rated_gph:g} gph nozzle would need {pressure:.0f} psi, outside "
            "40 to 400 psi; choose another nozzle size"
        )
    return pressure


def input_btu_per_h(gph: float, fuel: Fuel) -> float:
    """Heat input of an oil flow on the higher heating value: ``gph * density * HHV``.

    Parameters
    ----------
    gph : float
        Oil flow, gph; above 0 to 60.
    fuel : Fuel
        Gives lb/gal and Btu/lb.

    Returns
    -------
    float
        Btu/h.

    Raises
    ------
    PhysicsError
        Flow outside its range.

    Examples
    --------
    >>> oil = Fuel("oil", "Light oil", 0.873, 0.127, 0.0, 0.0, 0.0, 19500.0, 7.1, "example")
    >>> round(input_btu_per_h(0.85, oil))
    117682

    References
    ----------
    Definition of the heating value.
    """
    within("oil flow", gph, 0.0, 60.0, "gph", above=True)
    return gph * fuel.density_lb_per_gal * fuel.hhv_btu_per_lb


def btu_per_h_to_kw(btu_per_h: float) -> float:
    """Convert Btu/h (International Table) to kW.

    Parameters
    ----------
    btu_per_h : float
        Btu/h; any finite number.

    Returns
    -------
    float
        kW.

    Raises
    ------
    PhysicsError
        Not a finite number.

    Examples
    --------
    >>> round(btu_per_h_to_kw(100000.0), 2)
    29.31

    References
    ----------
    NIST SP 811: 1 Btu(IT) = 1,055.05585262 J, exact.
    """
    within("heat rate", btu_per_h, -math.inf, math.inf, "Btu/h")
    return btu_per_h * 1055.05585262 / 3.6e6


def output_btu_per_h(input_btu_per_h: float, efficiency: float) -> float:
    """Heat passed to air or water while the burner runs: ``input * efficiency / 100``.

    Jacket and standby losses are not in the combustion efficiency, so the rated output is lower.

    Parameters
    ----------
    input_btu_per_h : float
        Btu/h on the higher heating value; 0 or more.
    efficiency : float
        Combustion efficiency on the higher heating value, %; 0 to 100.

    Returns
    -------
    float
        Btu/h.

    Raises
    ------
    PhysicsError
        A value outside its range.

    Examples
    --------
    >>> round(output_btu_per_h(117682.0, 82.0))
    96499

    References
    ----------
    Definition of the efficiency.
    """
    within("heat input", input_btu_per_h, 0.0, math.inf, "Btu/h")
    within("efficiency", efficiency, 0.0, 100.0, "%")
    return input_btu_per_h * efficiency / 100.0


def combustion_air_opening(input_btu_per_h: float, kind: Opening) -> float:
    """Free area of a combustion-air opening for the total input of all appliances in the space.

    Parameters
    ----------
    input_btu_per_h : float
        Total input, Btu/h; above 0 to 2,000,000.
    kind : str
        ``inside-each-of-two`` (to another room; each of two: 1 in2 per 1,000 Btu/h, at least 100), ``direct`` or
        ``vertical-duct`` (outdoors, each of two: 4,000), ``horizontal-duct`` (outdoors, each of two: 2,000),
        ``single`` (one duct from outdoors: 5,000).

    Returns
    -------
    float
        Free area, in2: what is left after louvers and screens. Never under 100 in2 for each of two to inside air.

    Raises
    ------
    PhysicsError
        Input outside its range, or an unknown kind of opening.

    Examples
    --------
    >>> combustion_air_opening(120000.0, "inside-each-of-two"), combustion_air_opening(120000.0, "direct")
    (120.0, 30.0)
    >>> combustion_air_opening(70000.0, "inside-each-of-two")
    100.0

    References
    ----------
    See [1]_ in the module's docstring.
    """
    within("heat input", input_btu_per_h, 0.0, 2e6, "Btu/h", above=True)
    if kind not in _BTU_PER_H_FOR_ONE_SQ_IN:
        raise PhysicsError(f"opening {kind!r} is not known; use one of {', '.join(_BTU_PER_H_FOR_ONE_SQ_IN)}")
    least = LEAST_INSIDE_OPENING if kind == "inside-each-of-two" else 0.0
    return max(input_btu_per_h / _BTU_PER_H_FOR_ONE_SQ_IN[kind], least)


def confined_space_volume(input_btu_per_h: float) -> float:
    """Room volume below which a space counts as confined: 50 ft3 per 1,000 Btu/h.

    Parameters
    ----------
    input_btu_per_h : float
        Total input of all appliances in the space, Btu/h; above 0 to 2,000,000.

    Returns
    -------
    float
        ft3. A smaller room needs openings (:func:`combustion_air_opening`); so may a tight house of any size.

    Raises
    ------
    PhysicsError
        Input outside its range.

    Examples
    --------
    >>> confined_space_volume(120000.0)
    6000.0

    References
    ----------
    See [1]_ in the module's docstring.
    """
    within("heat input", input_btu_per_h, 0.0, 2e6, "Btu/h", above=True)
    return input_btu_per_h / 1000.0 * 50.0


def oil_line_lift_vacuum(lift_ft: float, density_lb_per_gal: float = 7.1) -> float:
    """Vacuum at the pump that lifting the oil alone takes; line, filter and valves add to it.

    The weight of a column of oil: about 0.75 in. Hg for each foot of No. 2 oil.

    Parameters
    ----------
    lift_ft : float
        From the oil level in the tank up to the pump, ft; 0 to 30.
    density_lb_per_gal : float
        lb/gal; 6 to 9.

    Returns
    -------
    float
        in. Hg.

    Raises
    ------
    PhysicsError
        A value outside its range.

    Examples
    --------
    >>> round(oil_line_lift_vacuum(8.0), 1)
    6.0

    References
    ----------
    Hydrostatics; 0.75 in. Hg per ft is common practice.
    """
    within("lift", lift_ft, 0.0, 30.0, "ft")
    within("oil density", density_lb_per_gal, 6.0, 9.0, "lb/gal")
    return lift_ft * density_lb_per_gal * _GAL_PER_FT3 / 144.0 / _PSI_PER_IN_HG
