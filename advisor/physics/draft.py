"""Chimney draft: what height and temperatures give, and what the appliance uses up.

References
----------
.. [1] ASHRAE Handbook, HVAC Systems and Equipment, chapter on chimney, vent and fireplace systems:
   theoretical draft 0.2554 B H (1/To - 1/Tm), temperatures in degR (constant from memory).
"""

from __future__ import annotations

from advisor.physics.units import PhysicsError, within

__all__ = ["draft_drop", "theoretical_draft"]

_R = 8.31446261815324  # J/(mol K)
_AIR = 0.028958  # kg/mol, dry air; flue gas of oil differs by less than 1 %
_FT = 0.3048  # m
_PA_PER_IN_HG = 3386.38864
_PA_PER_IN_WC = 249.08891
_G = 9.80665  # m/s2


def theoretical_draft(
    height_ft: float, flue_gas_degf: float, outdoor_degf: float, barometer_in_hg: float = 29.92
) -> float:
    """Draft that a chimney would give with no flow and no friction.

    The difference in weight of two columns of gas of the chimney's height: ``g H (rho_outdoor - rho_flue)``
    with ``rho = p M / (R T)``. The draft measured at the breech is less: flow, elbows, caps and the draft
    regulator take their share.

    Parameters
    ----------
    height_ft : float
        From the breech to the top of the chimney, ft; above 0 to 200.
    flue_gas_degf : float
        Mean temperature of the gas in the chimney, degF; above outdoor, at most 1,500.
    outdoor_degf : float
        degF; -80 to 130.
    barometer_in_hg : float
        Station pressure (not corrected to sea level), in. Hg; 15 to 32.

    Returns
    -------
    float
        Draft as a positive magnitude, in. w.c.

    Raises
    ------
    PhysicsError
        A value outside its range, or flue gas no warmer than outdoors.

    Examples
    --------
    >>> round(theoretical_draft(25.0, 400.0, 30.0), 3)
    0.167

    References
    ----------
    See [1]_ in the module's docstring.
    """
    within("chimney height", height_ft, 0.0, 200.0, "ft", above=True)
    within("outdoor temperature", outdoor_degf, -80.0, 130.0, "degF")
    within("flue-gas temperature", flue_gas_degf, -80.0, 1500.0, "degF")
    within("barometer", barometer_in_hg, 15.0, 32.0, "in. Hg")
    if flue_gas_degf <= outdoor_degf:
        raise PhysicsError(
            f"flue gas {flue_gas_degf:g} degF is not warmer than outdoors ({outdoor_degf:g} degF): no upward "
            "draft; give the mean gas temperature of a warm chimney"
        )
    column = barometer_in_hg * _PA_PER_IN_HG * _AIR / _R * _G * height_ft * _FT  # Pa K
    return column * (1 / _kelvin(outdoor_degf) - 1 / _kelvin(flue_gas_degf)) / _PA_PER_IN_WC


def draft_drop(over_fire: float, breech: float) -> float:
    """Draft used up between the fire and the breech.

    Parameters
    ----------
    over_fire, breech : float
        Readings as the gauge shows them, in. w.c.: suction is negative; -1 to 1.

    Returns
    -------
    float
        over_fire - breech, in. w.c.; positive when the breech pulls harder than the fire, as it should.

    Raises
    ------
    PhysicsError
        A reading beyond 1 in. w.c., most often a missing point (-2 for -0.02).

    Examples
    --------
    >>> round(draft_drop(-0.02, -0.06), 3)
    0.04

    References
    ----------
    Common practice.
    """
    for name, value in (("overfire draft", over_fire), ("breech draft", breech)):
        within(name, value, -1.0, 1.0, "in. w.c.")
    return over_fire - breech


def _kelvin(degf: float) -> float:
    return (degf + 459.67) / 1.8
