"""Start, stop and control: what becomes of spark, spray, flame sensor and call for heat.

A start succeeds where the spark brings more energy than the spray needs; near the limit it comes late. The
energy needed grows with the square of the drop size and with viscosity (form after Lefebvre's ignition model,
sizes are our own estimates).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from advisor.plant.burner import Plant
from advisor.plant.steady import State

NEVER = 90.0
"""Ignition delay written where no flame came, s."""

LIGHT_LIMIT_OHM = 1600.0
"""Resistance of the cell above which the control sees no flame (common practice for light-sensitive cells)."""


@dataclass(frozen=True)
class Cycle:
    """One start, run and stop."""

    call_reaches: float  # 1 steady, 0 none, between: comes and goes
    control_output: float  # likewise
    motor: float  # 1 to speed at once, 0 not at all
    spark_ratio: float  # energy over need
    delay_s: float
    lights: bool
    sensor_ohm: float
    lockout: str  # when: never, at-start, during-run, at-random, cold-mornings
    pressure_puff: float  # oil gathered before lighting, ml
    afterdrip_ml: float
    starts_per_hour: float
    stopped_by: str  # thermostat, limit, safety
    draft_minutes: float  # from cold start to a working draft; inf: never
    back_at_start: bool  # air comes down a cold flue


def spark(p: Plant) -> float:
    """Spark energy reaching the spray, of a sound igniter at 120 V."""
    path = (1.0 - 0.75 * p.contact_poor) * (1.0 - 0.8 * p.porcelain_cracked) * (1.0 - 0.2 * p.head_dirty)
    tips = (1.0 - 0.6 * p.electrode_worn) * (1.0 - 0.65 * p.electrode_offset)
    return p.spark_energy * (p.supply_voltage / 120.0) ** 2 * path * tips


def spark_need(p: Plant, s: State) -> float:
    """Spark energy that this spray needs, on the same scale."""
    return (0.35 * s.oil.drop_size**2 * math.pow(s.oil.viscosity_cst / 5.0, 0.3) * (1.0 + 3.0 * p.water_in_oil)
            * (1.0 + 1.2 * p.fuel_stale) * (1.0 + 0.4 * p.nozzle_offset + 0.5 * s.oil.gas_share)
            * (1.0 + max(0.0, s.flame.excess_air - 80.0) / 100.0 * s.burning))


def sensor_resistance(p: Plant, s: State) -> float:
    """Resistance of a light-sensitive cell with the burner firing, ohm; it falls as the light grows."""
    light = (s.flame.luminosity * (1.0 - 0.9 * p.sensor_dirty) * (1.0 - 0.9 * p.sensor_misaimed)
             * (1.0 - 0.97 * p.sensor_failed)) if s.burning else 0.0
    return min(1.0e6, 330.0 / max(light, 3e-4))


def cycle(p: Plant, s: State) -> Cycle:
    """Follow one call for heat through start, run and stop.

    Parameters
    ----------
    p : Plant
    s : State
        Its steady state (:func:`advisor.plant.steady.solve`).

    Returns
    -------
    Cycle
    """
    call = 0.0 if not p.call_for_heat else 1.0 - 0.6 * (p.wiring_loose > 0.5) - 0.5 * (p.thermostat_chatter > 8.0)
    output = 1.0 if p.control_failed < 0.25 else (0.5 if p.control_failed < 0.55 else 0.0)
    low_volts = max(0.0, (95.0 - p.supply_voltage) / 40.0)
    motor = max(0.0, min(1.0, p.motor_runs - low_volts))
    ratio = spark(p) / spark_need(p, s)
    delay = NEVER
    if s.burning and output > 0 and motor > 0.3 and ratio > 0.8:
        delay = 0.2 + 0.45 / (ratio - 0.75) ** 1.3 + 3.0 * s.oil.gas_share + 1.2 * p.purge_defect
        delay += 2.0 * (0.3 < p.oil_valve_defect < 0.8)
    trial = 15.0 if p.retention else 45.0
    lights = delay < trial
    ohm = sensor_resistance(p, s)
    seen = ohm < LIGHT_LIMIT_OHM if p.flame_sensing == "light-sensor" else p.sensor_failed < 0.5
    cold_start = p.oil_degf < 35.0 and p.tank_place != "indoor" and ratio < 2.2
    tried = call > 0 and output > 0 and motor > 0.3
    if (tried and not lights) or (lights and not seen):
        lockout = "at-start"
    elif lights and (ohm > 0.75 * LIGHT_LIMIT_OHM or s.flame.flutter > 0.45 or s.oil.psi < 60.0):
        lockout = "during-run"
    # A flame that a slug of water or a loose wire puts out fails without a pattern.
    elif (p.wiring_loose > 0.25 or 0.0 < output < 1.0 or s.flame.flutter > 0.35 or p.tank_water_in > 2.5
          or p.porcelain_cracked > 0.45):
        lockout = "at-random"
    elif cold_start:
        lockout = "cold-mornings"
    else:
        lockout = "never"
    puff = s.oil.gph * 3785.0 / 3600.0 * min(delay, trial) if s.burning and motor > 0.3 and output > 0 else 0.0
    drip = (0.05 + 3.0 * p.cutoff_leak + 5.0 * s.oil.gas_share + 1.5 * p.oil_valve_defect + 0.25 * p.nozzle_worn
            + 0.3 * p.nozzle_plugged)
    starts, stopped = _starts(p, s)
    if lockout in ("at-start", "during-run") and stopped == "thermostat":
        stopped = "safety"
    minutes, back = _draft_start(p, s)
    return Cycle(call, output, motor, ratio, delay, lights, ohm, lockout, puff, drip, starts, stopped, minutes, back)


def _starts(p: Plant, s: State) -> tuple[float, str]:
    """Starts an hour and what ends the run: storage between limit and load, thermostat besides."""
    wanted = 4.0 * 4.5 * p.heat_load * (1.0 - p.heat_load) * 0.8 + p.thermostat_chatter
    hot = p.limit_drift
    if p.furnace:
        hot += 1.5 * max(0.0, s.air_rise_degf - 95.0)
    else:
        hot += 60.0 * max(0.0, p.water_side_defect - 0.25)
    if hot > 10.0:
        return wanted + 0.25 * hot, "limit"
    return wanted, "thermostat"


def _draft_start(p: Plant, s: State) -> tuple[float, bool]:
    """Minutes until the draft works, and whether a cold flue blows back first (mass of masonry, our estimate)."""
    if p.sealed or p.draft_kind == "power-vented":
        return 0.2 + (20.0 if p.vent_fan_weak > 0.8 else 0.0), False
    place = 1.0 if p.chimney_place == "inside" else 1.7
    minutes = 0.9 * place * (p.chimney_area_in2 / 49.0) ** 1.2 * (p.chimney_u / 0.55) ** 0.5
    minutes *= 0.05 / max(0.004, -s.draft_chimney)
    # A cold flue holds air at about its surroundings; suction of the house or wind can outweigh its lift.
    flue = p.chimney_surround_degf if p.chimney_place == "inside" else 0.7 * p.outdoor_degf + 0.3 * p.room_degf
    lift = 0.2554 * 29.92 * p.chimney_height_ft * (1 / (p.outdoor_degf + 459.67) - 1 / (flue + 459.67))
    back = s.room_pressure + lift - p.wind_pressure < -0.012
    return (float("inf") if s.draft_chimney > -0.008 else minutes), back
