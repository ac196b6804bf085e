"""Instruments: true value plus accuracy, drift and their own faults.

A kit carries the state of the instruments on the day of the visit. A reading is None where nothing can be
read: no flame, or the unit has no such part.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass

from advisor.plant import air
from advisor.plant.burner import Plant, PlantError
from advisor.plant.ignition import NEVER, Cycle, cycle
from advisor.plant.steady import State


@dataclass(frozen=True)
class Kit:
    """State of the instruments; the default is a sound, warm, zeroed kit rightly used."""

    gauge_zero: float = 0.0  # in. w.c. added to every draft reading
    hose_leak: float = 0.0  # share of room air in the sample
    fluid_spent: float = 0.0  # share of CO2 that old fluid does not take up
    analyzer_cold: bool = False
    analyzer_fuel_wrong: bool = False
    probe_place: str = "right"  # right, past-regulator, shallow
    thermometer_off: float = 0.0  # degF
    smoke_leak: float = 0.0  # share of room air in the smoke sample
    strokes: int = 10
    warmed_up: bool = True
    hole_loose: bool = False


CO_RANGE = 4000.0
"""Top of the range of a service analyzer for carbon monoxide, ppm."""
GAUGE_RANGE = 0.25
"""End of the scale of a service draft gauge, to either side, in. w.c."""

SOUND = Kit()
"""A kit without fault."""


def faulty_kit(rng: random.Random) -> Kit:
    """A kit with one fault, at random."""
    return rng.choice((
        Kit(gauge_zero=rng.choice((-1, 1)) * rng.uniform(0.012, 0.03)),
        Kit(hose_leak=rng.uniform(0.15, 0.4)),
        Kit(fluid_spent=rng.uniform(0.1, 0.3)),
        Kit(analyzer_cold=True),
        Kit(analyzer_fuel_wrong=True),
        Kit(probe_place=rng.choice(("past-regulator", "shallow"))),
        Kit(thermometer_off=rng.choice((-1, 1)) * rng.uniform(40.0, 90.0)),
        Kit(smoke_leak=rng.uniform(0.3, 0.6)),
        Kit(strokes=rng.choice((4, 5, 6, 15))),
        Kit(warmed_up=False),
        Kit(hole_loose=True),
    ))


@dataclass(frozen=True)
class Scene:
    """What a reading is taken from: plant, steady state, cycle, kit."""

    plant: Plant
    state: State
    cycle: Cycle
    kit: Kit

    @property
    def runs(self) -> bool:
        """Whether the burner can be held at steady state for readings (the tester may bridge the thermostat)."""
        p, c = self.plant, self.cycle
        seen = c.sensor_ohm < 1600.0 if p.flame_sensing == "light-sensor" else p.sensor_failed < 0.5
        return self.state.burning and c.lights and seen

    @property
    def motor(self) -> bool:
        """Whether the motor turns, flame or not."""
        return self.cycle.motor > 0.3 and self.cycle.control_output > 0.0


def _share_of_room_air(v: Scene) -> float:
    """Room air in the gas sample from hose, hole and place of the probe."""
    share = v.kit.hose_leak + (0.12 if v.kit.hole_loose and v.state.draft_breech < 0 else 0.0)
    if v.kit.probe_place == "past-regulator":
        drawn = max(0.0, v.state.vent.regulator_lb_h)
        share += drawn / (drawn + v.state.burner_air_lb_h + 7.0)
    return min(0.9, share)


def _stack(v: Scene) -> float:
    value = v.state.stack_degf + v.kit.thermometer_off
    if v.kit.probe_place == "shallow":
        value -= 0.12 * (v.state.stack_degf - v.plant.room_degf)
    elif v.kit.probe_place == "past-regulator" or v.kit.hole_loose:
        value -= _share_of_room_air(v) * (v.state.stack_degf - v.plant.room_degf)
    return value if v.kit.warmed_up else v.plant.room_degf + 0.75 * (value - v.plant.room_degf)


def _co2(v: Scene) -> float:
    value = v.state.co2 * (1.0 - _share_of_room_air(v)) * (1.0 - v.kit.fluid_spent)
    # An analyzer set to natural gas (CO2 max about 11.8 %) turns oxygen into too little CO2.
    return value * (11.8 / 15.5 if v.kit.analyzer_fuel_wrong else 1.0) + (0.6 if v.kit.analyzer_cold else 0.0)


def _o2(v: Scene) -> float:
    share = _share_of_room_air(v)
    return v.state.o2 * (1.0 - share) + 20.9 * share - (0.7 if v.kit.analyzer_cold else 0.0)


def _co(v: Scene) -> float:
    # The cell of a service analyzer goes no higher (common practice); the display then shows the end of its range.
    return min(CO_RANGE, v.state.co_ppm * (1.0 - _share_of_room_air(v)) + 25.0 * v.kit.analyzer_cold)


def _smoke(v: Scene) -> float:
    value = v.state.smoke * (1.0 - v.kit.smoke_leak) * min(1.2, v.kit.strokes / 10.0)
    return min(9.0, value + (0.0 if v.kit.warmed_up else 0.4))


def _draft(pressure: Callable[[State], float]) -> Callable[[Scene], float]:
    # The needle of a service draft gauge stands at its stop beyond (common practice).
    return lambda v: max(-GAUGE_RANGE, min(GAUGE_RANGE, pressure(v.state) + v.kit.gauge_zero))


def _vacuum(v: Scene) -> float:
    return v.state.oil.vacuum_in_hg


_RUNNING, _MOTOR, _ALWAYS = "running", "motor", "always"

# name: (needs, true value with the kit's faults, standard error, resolution). Errors are about half the accuracy
# that the trade states for such instruments (common practice).
_QUANTITIES: dict[str, tuple[str, Callable[[Scene], float | None], float, float]] = {
    "stack_temperature": (_RUNNING, _stack, 2.5, 1.0),
    "room_temperature": (_ALWAYS, lambda v: air.intake_temperature(v.plant), 1.0, 1.0),
    "stack_rise_rate": (_RUNNING, lambda v: 1.0 if v.kit.warmed_up else 14.0, 0.6, 0.5),
    "outdoor_temperature": (_ALWAYS, lambda v: v.plant.outdoor_degf, 1.5, 1.0),
    "oil_temperature": (_ALWAYS, lambda v: v.plant.oil_degf, 1.5, 1.0),
    "return_temperature": (_RUNNING, lambda v: None if v.plant.furnace else v.plant.return_degf, 1.5, 1.0),
    "air_temperature_rise": (_RUNNING, lambda v: v.state.air_rise_degf if v.plant.furnace else None, 2.0, 1.0),
    "draft_over_fire": (_RUNNING, _draft(lambda s: s.draft_over_fire), 0.001, 0.001),
    "draft_breech": (_RUNNING, _draft(lambda s: s.draft_breech), 0.001, 0.001),
    "draft_chimney": (_RUNNING, _draft(lambda s: s.draft_chimney), 0.001, 0.001),
    "house_pressure": (_ALWAYS, lambda v: v.state.room_pressure - v.plant.fans_suction + v.kit.gauge_zero, 0.002,
                       0.001),
    "smoke": (_RUNNING, _smoke, 0.1, 0.5),
    "co2": (_RUNNING, _co2, 0.12, 0.1),
    "o2": (_RUNNING, _o2, 0.12, 0.1),
    "co": (_RUNNING, _co, 4.0, 1.0),
    "pump_pressure": (_MOTOR, lambda v: v.state.oil.psi, 1.0, 1.0),
    "pump_vacuum": (_MOTOR, _vacuum, 0.25, 0.5),
    "flame_sensor_resistance": (_RUNNING, lambda v: v.cycle.sensor_ohm if v.plant.flame_sensing == "light-sensor"
                                else None, 15.0, 1.0),
    "flame_sensor_dark_resistance": (_ALWAYS, lambda v: 4e5 * (1.0 - 0.9 * v.plant.sensor_failed)
                                     if v.plant.flame_sensing == "light-sensor" else None, 5000.0, 100.0),
    "ignition_delay": (_MOTOR, lambda v: min(NEVER, v.cycle.delay_s), 0.2, 0.1),
    "supply_voltage": (_ALWAYS, lambda v: v.plant.supply_voltage, 0.5, 0.1),
    "motor_speed": (_MOTOR, lambda v: v.plant.motor_rpm * v.plant.motor_speed_factor
                    * air.voltage_speed(v.plant.supply_voltage), 12.0, 1.0),
    "cycles_per_hour": (_RUNNING, lambda v: v.cycle.starts_per_hour, 0.3, 0.5),
    "water_in_tank": (_ALWAYS, lambda v: v.plant.tank_water_in, 0.05, 0.1),
    "co_room": (_ALWAYS, lambda v: v.state.co_room_ppm + 25.0 * v.kit.analyzer_cold * v.state.burning, 0.7, 1.0),
    "o2_fresh_air": (_ALWAYS, lambda v: 20.2 if v.kit.analyzer_cold else 20.9, 0.025, 0.01),
    "co_fresh_air": (_ALWAYS, lambda v: 25.0 if v.kit.analyzer_cold else 0.0, 0.4, 1.0),
    "smoke_strokes": (_ALWAYS, lambda v: float(v.kit.strokes), 0.0, 1.0),
    # Plates, tags and the tape measure.
    "appliance_age": (_ALWAYS, lambda v: v.plant.appliance_age, 0.5, 1.0),
    "years_since_service": (_ALWAYS, lambda v: v.plant.years_since_service, 0.1, 0.25),
    "nozzle_size": (_ALWAYS, lambda v: v.plant.nozzle_gph, 0.0, 0.05),
    "firing_rate_rated": (_ALWAYS, lambda v: v.plant.rate_gph_plate, 0.0, 0.01),
    "pump_pressure_required": (_ALWAYS, lambda v: v.plant.pump_psi_required, 0.0, 1.0),
    "chimney_height": (_ALWAYS, lambda v: None if v.plant.chimney_place == "sidewall"
                       else 12.0 * v.plant.chimney_height_ft, 6.0, 1.0),
    "air_opening": (_ALWAYS, lambda v: v.plant.air_opening_in2 if v.plant.air_supply == "enclosed-room" else None,
                    2.0, 1.0),
}
MEASURED = tuple(_QUANTITIES)
"""Names of the quantities that can be read."""

_SIGNED = {"draft_over_fire", "draft_breech", "draft_chimney", "house_pressure", "room_temperature",
           "outdoor_temperature", "oil_temperature", "stack_rise_rate", "co_fresh_air"}


def measure(state: State, plant: Plant, name: str, rng: random.Random, kit: Kit = SOUND) -> float | None:
    """One reading.

    Parameters
    ----------
    state : State
        Steady state of the plant.
    plant : Plant
    name : str
        One of :data:`MEASURED`; units are those of the trade (degF, in. w.c., %, ppm, psi, in. Hg, in.).
    rng : random.Random
    kit : Kit, optional

    Returns
    -------
    float or None
        None where there is nothing to read.

    Raises
    ------
    PlantError
        Unknown quantity.
    """
    return read(Scene(plant, state, cycle(plant, state), kit), name, rng)


def read(scene: Scene, name: str, rng: random.Random) -> float | None:
    """As :func:`measure`, from a scene at hand."""
    if name not in _QUANTITIES:
        raise PlantError(f"{name!r} cannot be measured; the quantities are {', '.join(MEASURED)}")
    needs, true, error, resolution = _QUANTITIES[name]
    noise = rng.gauss(0.0, 1.0)
    if (needs == _RUNNING and not scene.runs) or (needs == _MOTOR and not scene.motor):
        return None
    value = true(scene)
    if value is None:
        return None
    # A resistance is read to a share of its value, everything else to a fixed error.
    spread = max(error, 0.02 * value) if "resistance" in name or name == "co" else error
    if name == "ignition_delay" and value >= NEVER:
        return NEVER
    value = round(round((value + spread * noise) / resolution) * resolution, 6)
    return value if name in _SIGNED else max(0.0, value)
