"""Faults: what goes wrong, as changes of physical parameters with a severity.

A fault knows nothing of readings or symptoms; those follow from the solved plant. Sizes at full severity are
of common practice. Several faults act one after the other on the same plant.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from advisor.plant.burner import Plant, PlantError

SEVERITY = {"slight": 0.3, "moderate": 0.6, "gross": 1.0}
"""Words for a severity from 0 (none) to 1 (the worst met on calls)."""

Change = Callable[[Any, float, Plant], Any]


@dataclass(frozen=True)
class Fault:
    """A named change of parameters.

    Parameters
    ----------
    name : str
        The shared name of the cause.
    mechanism : str
        What happens to the part.
    changes : Mapping[str, Change]
        For each field of :class:`Plant` the new value from old value, severity and plant.
    fits : Callable[[Plant], bool]
        Whether the unit has the part.
    """

    name: str
    mechanism: str
    changes: Mapping[str, Change]
    fits: Callable[[Plant], bool]

    def apply(self, plant: Plant, severity: float) -> Plant:
        """The plant with this fault; severity 0 to 1, else PlantError."""
        self.check(plant, severity)
        return self._acted(plant, severity)

    def check(self, plant: Plant, severity: float) -> None:
        """Raise PlantError for a severity outside 0 to 1 or a part that the plant does not have."""
        if not 0.0 <= severity <= 1.0:
            raise PlantError(f"{self.name}: severity {severity:g}: wants 0 to 1 (slight 0.3, moderate 0.6, gross 1)")
        if not self.fits(plant):
            raise PlantError(f"{self.name}: this plant has no such part; see applicable()")

    def _acted(self, plant: Plant, severity: float) -> Plant:
        if severity == 0.0:
            return plant
        return replace(plant, **{f: change(getattr(plant, f), severity, plant)
                                 for f, change in self.changes.items()})


def _to(end: float) -> Change:
    """Move from the sound value toward ``end``."""
    return lambda old, s, p: old + (end - old) * s


def _add(size: float) -> Change:
    return lambda old, s, p: old + size * s


def _times(factor: float) -> Change:
    return lambda old, s, p: old * (1.0 + (factor - 1.0) * s)


def _narrows(end: float) -> Change:
    """Close a passage until ``end`` of it is gone, by what that does to the flow: each step of severity multiplies
    the resistance alike. A passage has room to spare; a third of it gone would do nothing and be no fault.
    """
    return lambda old, s, p: 1.0 - (1.0 - old) * ((1.0 - end) / (1.0 - old)) ** s


def _becomes(value: Any, above: float = 0.0) -> Change:
    """Jump to a value once the severity passes ``above``."""
    return lambda old, s, p: value if s > above else old


def _always(p: Plant) -> bool:
    return True


def _draft(p: Plant) -> bool:
    return not p.sealed


def _chimney(p: Plant) -> bool:
    return p.draft_kind == "natural"


def _regulator(p: Plant) -> bool:
    return p.regulator_fitted and not p.regulator_missing


def _light(p: Plant) -> bool:
    return p.flame_sensing == "light-sensor"


FAULTS: dict[str, Fault] = {}
"""All faults by name."""


def _fault(name: str, mechanism: str, fits: Callable[[Plant], bool] = _always, **changes: Change) -> None:
    FAULTS[name] = Fault(name, mechanism, changes, fits)


# Air
_fault("air-shutter-too-closed", "shutter set or crept shut", shutter=_times(0.45))
_fault("air-shutter-too-open", "shutter set or crept open", shutter=lambda old, s, p: old + (1.0 - old) * s)
_fault("fan-wheel-dirty", "lint fills the vanes", fan_dirty=_to(0.75))
_fault("fan-wheel-or-coupling-slipping", "wheel slips on the shaft, coupling worn",
       fan_slip=_to(0.35), coupling_slip=_to(0.45))
_fault("air-inlet-blocked", "lint or a cover over the inlet", inlet_blocked=_to(0.85))
_fault("motor-speed-wrong", "wrong or dragging motor", motor_speed_factor=_to(0.68))
_fault("cold-duct-air", "outdoor air far colder than on the day of setting",
       lambda p: p.intake_degf is not None, intake_degf=_to(-5.0), outdoor_degf=_to(0.0))
_fault("supply-voltage-low", "voltage sags under load", supply_voltage=_to(82.0))

# Head, nozzle and chamber
_fault("dirty-retention-head", "carbon narrows the slots", lambda p: p.retention, head_dirty=_to(0.8))
_fault("burnt-or-loose-head", "head warped, burnt away or loose", head_burnt=_to(0.7), head_loose=_to(0.6))
_fault("head-or-nozzle-misplaced", "wrong depth or off center", nozzle_offset=_to(0.8))
_fault("air-tube-depth-wrong", "tube sticks in or stands back", tube_depth_error=_to(0.9))
_fault("head-wrong-for-rate", "head made for a higher rate", lambda p: p.retention, head_rate_ratio=_to(1.8))
_fault("nozzle-wrong-angle-or-pattern", "spray does not fit head and chamber", spray_mismatch=_to(0.85))
_fault("flame-impingement", "chamber too small for the fire", chamber_small=_to(0.8))
_fault("chamber-damaged", "lining cracked or sagged, target gone", chamber_damaged=_to(0.9),
       section_leak_in2=_add(0.4))
_fault("chamber-oil-soaked", "raw oil in the lining", chamber_oil=_to(1.0))
_fault("over-fired", "more oil than the plate allows",
       nozzle_gph=_times(1.52))
_fault("under-fired", "far less oil than the plate", nozzle_gph=_times(0.62))
_fault("nozzle-plugged", "dirt in strainer or slots", nozzle_plugged=_to(0.85))
_fault("nozzle-worn", "orifice scratched and widened", nozzle_worn=_to(1.0))
_fault("nozzle-wrong-size", "another size than the maker's", nozzle_gph=_times(1.35))

# Oil
_fault("pump-pressure-low", "pressure set too low or valve weak", pump_psi=_times(0.62))
_fault("pump-pressure-high", "pressure set too high", pump_psi=_times(1.45))
_fault("pump-pressure-unsteady", "regulating valve sticks and hunts", pressure_ripple=_to(0.35))
_fault("weak-cut-off", "cut-off valve does not seat", cutoff_leak=_to(1.0))
_fault("air-in-oil-line", "a suction joint draws air", line_air=_to(0.35))
_fault("high-suction-vacuum", "long, small line or lift too high", lift_ft=_add(14.0), line_vacuum=_times(8.0))
_fault("filter-or-strainer-plugged", "sludge in filter and strainer", filter_plugged=_narrows(0.96),
       strainer_plugged=_narrows(0.9))
_fault("oil-line-kinked-or-shut", "line flattened", line_kinked=_narrows(0.9))
_fault("cold-oil", "oil near its pour point", lambda p: p.tank_place != "indoor", oil_degf=_to(6.0),
       outdoor_degf=_to(5.0))
_fault("water-in-oil", "water at the bottom reaches the outlet", tank_water_in=_to(4.0),
       water_in_oil=lambda old, s, p: old + 0.16 * max(0.0, s - 0.2))
_fault("sludge-in-tank", "sludge is drawn into line and filter", sludge=_to(1.0), filter_plugged=_narrows(0.9),
       strainer_plugged=_narrows(0.7))
_fault("wrong-or-stale-fuel", "old or wrong grade, hard to evaporate", fuel_stale=_to(1.0),
       viscosity_factor=_times(1.7), fuel_changed=_becomes("other-grade", 0.5))
_fault("blend-not-suited", "blend loosens deposits and swells the shaft seal", viscosity_factor=_times(1.15),
       fuel=_becomes("b20"), fuel_changed=_becomes("other-grade"), blend_unsuited=_to(1.0),
       filter_plugged=_narrows(0.85), line_air=_to(0.15))
_fault("pump-worn", "gears worn", pump_worn=_to(0.95))
_fault("tank-empty-or-valve-shut", "no oil at the pump",
       oil_available=_becomes(False, 0.5), tank_air=_to(0.4))
_fault("oil-valve-faulty", "delayed valve opens late, leaks or stays shut", lambda p: p.has_oil_valve,
       oil_valve_defect=_to(1.0))

# Ignition, sensing, control
_fault("electrodes-worn-or-misset", "tips burnt, gap or place wrong", electrode_worn=_to(0.8),
       electrode_offset=_to(0.8))
_fault("porcelain-cracked", "spark runs to ground", porcelain_cracked=_to(1.0))
_fault("weak-igniter", "little energy", spark_energy=_to(0.15))
_fault("igniter-contact-poor", "springs burnt or bent", contact_poor=_to(1.0))
_fault("flame-sensor-dirty", "soot on the cell", _light, sensor_dirty=_to(1.0))
_fault("flame-sensor-misaimed", "cell does not see the flame", _light, sensor_misaimed=_to(1.0))
_fault("flame-sensor-failed", "cell lost its response", sensor_failed=_to(1.0))
_fault("primary-control-failed", "control does not power motor and ignition", control_failed=_to(1.0))
_fault("thermostat-short-cycling", "thermostat chatters or is badly placed", thermostat_chatter=_to(14.0))
_fault("limit-short-cycling", "limit opens too early", limit_drift=_to(60.0))
_fault("control-wiring-loose", "terminal loose or corroded", wiring_loose=_to(1.0))
_fault("thermostat-wire-broken", "open circuit before the control", call_for_heat=_becomes(False))
_fault("burner-motor-failed", "motor drags, then stands", motor_runs=_to(0.0), motor_speed_factor=_to(0.7))
_fault("purge-fault", "no time of air ahead of the oil", lambda p: p.has_purge, purge_defect=_to(1.0))

# Appliance
_fault("sooted-gas-passages", "soot lies on the heating surface", soot_closing=_to(0.48))
_fault("scaled-or-rusted-passages", "hard scale and rust", scale_closing=_to(0.45))
_fault("air-leak-in-appliance", "door, plate and section joints open", _draft, door_leak_in2=_add(4.0),
       section_leak_in2=_add(3.0))
_fault("cracked-heat-exchanger", "house fan blows into the fire", lambda p: p.furnace, crack_in2=_to(1.5))
_fault("boiler-water-side-poor", "scale on the water side, metal runs hot", lambda p: not p.furnace,
       water_side_defect=_to(1.0))
_fault("furnace-filter-loaded", "a loaded filter chokes the air", lambda p: p.furnace,
       air_cfm=_times(0.4))
_fault("low-return-temperature", "cold water comes back all the time", lambda p: p.appliance == "boiler",
       return_degf=_to(85.0), water_degf=_to(120.0))

# Venting and house
_fault("blocked-flue", "soot, nest or debris in the flue", chimney_blocked=_to(0.93))
_fault("draft-regulator-stuck", "gate rusted or jammed", _regulator,
       regulator_stuck_at=lambda old, s, p: 0.0 if s < 0.65 else 1.0)
_fault("draft-regulator-misset", "weight moved", _regulator, regulator_off=_add(0.06))
_fault("draft-regulator-missing", "none fitted where one is needed", _regulator, regulator_missing=_becomes(True))
_fault("oversized-or-cold-chimney", "flue far larger than the gas can warm", _chimney,
       chimney_area_in2=_times(4.0), chimney_u=_times(1.9), chimney_surround_degf=_to(40.0))
_fault("connector-poor", "long, flat, sooted or holed pipe", _draft, connector_long=_to(1.0),
       connector_sooted=_to(0.7), connector_holes_in2=_to(6.0))
_fault("chimney-damaged", "broken tiles, open joints", _chimney, chimney_leak_in2=_add(24.0),
       chimney_blocked=_to(0.5))
_fault("thimble-leak-or-too-deep", "open round the pipe, or pipe too far in", _chimney,
       thimble_leak_in2=_to(18.0), thimble_too_deep=_to(1.0))
_fault("wind-downdraft", "wind presses down the flue", _chimney, wind_pressure=_to(0.075))
_fault("shared-flue-interference", "the other appliance fills the flue",
       lambda p: _chimney(p) and p.flue_sharing == "shared", other_appliance_lb_h=_to(650.0))
_fault("power-venter-weak", "venter dirty or slow", lambda p: p.vent_fan > 0.0, vent_fan_weak=_to(0.9))
_fault("sealed-unit-leak", "door or vent joint leaks", lambda p: p.sealed, seal_leak_in2=_to(0.8))
_fault("house-under-suction", "fans take more air than the house lets in", _draft, house_pressure=_add(-0.05),
       fans_suction=_to(0.03))
_fault("combustion-air-opening-small", "room too tight for the fire", lambda p: p.air_supply == "enclosed-room",
       air_opening_in2=lambda old, s, p: old * (6.0 / old) ** s)


def applicable(plant: Plant) -> list[str]:
    """Names of the faults that this unit can have."""
    return [name for name, fault in FAULTS.items() if fault.fits(plant)]


def with_faults(plant: Plant, faults: Mapping[str, float | str]) -> Plant:
    """The plant with several faults at once.

    Parameters
    ----------
    plant : Plant
    faults : Mapping[str, float or str]
        Severity 0 to 1, or one of the words of :data:`SEVERITY`, by fault name.

    Returns
    -------
    Plant

    Raises
    ------
    PlantError
        Unknown fault or word, severity outside 0 to 1, or a part that the unit does not have.

    Examples
    --------
    >>> with_faults(Plant(), {"sooted-gas-passages": "gross"}).soot_closing
    0.48
    """
    sick = plant  # parts are looked for on the sound plant: one fault cannot take away the part of another
    for name, severity in faults.items():
        if name not in FAULTS:
            raise PlantError(f"fault {name!r} is not known; see FAULTS")
        if isinstance(severity, str):
            if severity not in SEVERITY:
                raise PlantError(f"severity {severity!r}: wants {', '.join(SEVERITY)} or a number 0 to 1")
            severity = SEVERITY[severity]
        FAULTS[name].check(plant, severity)
        sick = FAULTS[name]._acted(sick, severity)
    return sick
