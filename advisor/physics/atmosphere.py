"""Pressure of the air at an altitude, and how its weight changes with its temperature.

References
----------
.. [1] NOAA, NASA and U.S. Air Force, U.S. Standard Atmosphere, 1976: 59 degF and 29.92 in. Hg at sea level, cooling by
   6.5 K a kilometer up to 11 km, in hydrostatic balance (constants from memory, tested against its table).
"""

from __future__ import annotations

import math

from advisor.physics.units import within

__all__ = ["SEA_LEVEL_IN_HG", "excess_air_at", "station_pressure"]

SEA_LEVEL_IN_HG = 101_325.0 / 3386.38864
"""Standard pressure at sea level, in. Hg [1]_."""

_SEA_LEVEL_K, _LAPSE = 288.15, 0.0065  # K, K/m
_EXPONENT = 9.80665 * 0.0289644 / (8.31432 * _LAPSE)  # g M / (R L), with the gas constant of the standard
_FT = 0.3048  # m
_RANKINE = 459.67


def station_pressure(altitude_ft: float) -> float:
    """Usual barometric pressure at an altitude, not corrected to sea level.

    ``29.92 (1 - L h / T0)**(g M / (R L))``. Weather moves the true pressure by about 2 % either way.

    Parameters
    ----------
    altitude_ft : float
        Above sea level, ft; -1,500 to 15,000.

    Returns
    -------
    float
        in. Hg.

    Raises
    ------
    PhysicsError
        An altitude outside its range.

    Examples
    --------
    >>> round(station_pressure(0.0), 2), round(station_pressure(5000.0), 2)
    (29.92, 24.9)

    References
    ----------
    See [1]_ in the module's docstring.
    """
    within("altitude", altitude_ft, -1500.0, 15_000.0, "ft")
    return SEA_LEVEL_IN_HG * math.pow(1.0 - _LAPSE * altitude_ft * _FT / _SEA_LEVEL_K, _EXPONENT)


def excess_air_at(excess_air: float, set_at: float, degf: float) -> float:
    """Excess air that is left when the air for the flame has another temperature than on the day of the setting.

    A blower moves the same volume, and air weighs less the warmer it is: ``(1 + e) T_set / T - 1`` in absolute
    temperatures (the law of ideal gases, at the same pressure and oil flow).

    Parameters
    ----------
    excess_air : float
        On the day of the setting, %; 0 to 1,000.
    set_at, degf : float
        Temperature of the air at the burner on that day and now, degF; -60 to 150.

    Returns
    -------
    float
        %; below 0 where the air no longer suffices.

    Raises
    ------
    PhysicsError
        A figure outside its range.

    Examples
    --------
    >>> round(excess_air_at(28.0, 10.0, 60.0), 1)
    15.7
    """
    within("excess air", excess_air, 0.0, 1000.0, "%")
    within("temperature of the setting", set_at, -60.0, 150.0, "degF")
    within("air temperature", degf, -60.0, 150.0, "degF")
    return (100.0 + excess_air) * (set_at + _RANKINE) / (degf + _RANKINE) - 100.0
