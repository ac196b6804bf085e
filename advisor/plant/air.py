"""Combustion air and leaks: fan against shutter, head and chamber pressure; flow through openings.

References
----------
.. [1] Fan laws: pressure goes with the square of speed and with the density of the air.
.. [2] Orifice flow with a discharge coefficient of 0.62 (common handbook value).
"""

from __future__ import annotations

import math

from advisor.plant.burner import Plant

HEAD_CONSTANT = 8.316e6
"""One velocity head, in. w.c. = (lb/h)2 degR / (constant in.^4), for air-like gas at sea level."""

_ORIFICE_K = 1 / 0.62**2


def orifice(area_in2: float, drop: float, degf: float) -> float:
    """Mass flow through an opening, lb/h, with the sign of the pressure drop (in. w.c.) [2]_.

    >>> round(orifice(1.0, 0.02, 70.0), 1)
    11.0
    """
    return area_in2 * math.copysign(
        math.sqrt(abs(drop) * HEAD_CONSTANT / ((degf + 459.67) * _ORIFICE_K)), drop)


def velocity_heads(k: float, lb_h: float, degf: float, area_in2: float) -> float:
    """Pressure taken by k velocity heads, in. w.c., with the sign of the flow."""
    return k * lb_h * abs(lb_h) * (degf + 459.67) / (HEAD_CONSTANT * area_in2**2)


def intake_temperature(p: Plant) -> float:
    """Temperature of the air at the burner inlet, degF."""
    return p.room_degf if p.intake_degf is None else p.intake_degf


def voltage_speed(volts: float) -> float:
    """Speed of a split-phase motor over normal; it sags below about 105 V and stalls near 70 V."""
    return 1.0 if volts >= 105.0 else max(0.3, 1.0 - 0.008 * (105.0 - volts))


def head_factor(p: Plant) -> float:
    """Flow area of the head over that of a clean, whole, right one."""
    defects = (1.0 - 0.45 * p.head_dirty) * (1.0 + 0.35 * p.head_burnt) * (1.0 + 0.15 * p.head_loose)
    return defects * math.pow(p.head_rate_ratio, 0.7)


def fan_air(p: Plant, chamber: float, intake: float = 0.0) -> float:
    """Air through the burner.

    Parameters
    ----------
    p : Plant
    chamber : float
        Pressure over the fire against the room, in. w.c.
    intake : float, optional
        Pressure where the burner takes its air, against the room, in. w.c.

    Returns
    -------
    float
        lb/h; negative where the chamber blows back through a standing fan.
    """
    density = (75.0 + 459.67) / (intake_temperature(p) + 459.67)
    speed = p.motor_speed_factor * voltage_speed(p.supply_voltage) * (1.0 - p.fan_slip) * (p.motor_runs >= 0.5)
    pressure = p.fan_pressure * speed**2 * density * (1.0 - 0.55 * p.fan_dirty)
    fall = p.fan_fall / (1.0 - 0.6 * p.fan_dirty)
    opened = max(0.02, p.shutter)
    path = (p.shutter_k / opened**2 + p.head_k / head_factor(p) ** 2 + p.intake_k
            + p.shutter_k * (1.0 / (1.0 - 0.93 * p.inlet_blocked) ** 2 - 1.0))
    driving = (pressure + intake - chamber) * density
    return math.copysign(math.sqrt(abs(driving) / (fall + path)), driving)
