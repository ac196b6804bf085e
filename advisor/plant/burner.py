"""The unit and its surroundings as physical parameters, one flat value of plain numbers.

Pressures are gauge: in. w.c. against the burner room unless said otherwise, suction negative. A parameter
named for a defect is 0 on a sound unit and 1 (or the stated size) at its worst. Figures of healthy units are
of the size met in houses (common practice, values from memory).
"""

from __future__ import annotations

from dataclasses import dataclass


class PlantError(ValueError):
    """A plant, fault or question that makes no physical sense; says what would."""


@dataclass(frozen=True)
class Plant:
    """One burner, appliance, flue, oil supply and house. Units stand beside each field."""

    # what is installed, in the words of the intake questions
    appliance: str = "boiler"
    burner_type: str = "retention-head"
    burner_fit: str = "matched"
    draft_kind: str = "natural"
    chimney_place: str = "inside"
    chimney_lining: str = "clay-tile"
    flue_sharing: str = "alone"
    air_supply: str = "open-room"
    fuel: str = "no-2-oil"
    piping: str = "one-pipe"
    tank_place: str = "indoor"
    tank_level: str = "above"
    ignition_kind: str = "interrupted"
    flame_sensing: str = "light-sensor"
    has_oil_valve: bool = False
    has_purge: bool = False
    appliance_age: float = 12.0  # years
    years_since_service: float = 1.0

    # weather and house
    outdoor_degf: float = 35.0
    room_degf: float = 68.0
    house_pressure: float = 0.0  # in. w.c. against outdoors, before the burner draws its air
    fans_suction: float = 0.004  # in. w.c. that all exhaust fans together take from the house
    air_opening_in2: float = 600.0  # free area by which the room gets its air, cracks included
    wind_pressure: float = 0.0  # in. w.c. at the chimney top, downward
    supply_voltage: float = 120.0  # V

    # oil: tank, line, pump, nozzle
    nozzle_gph: float = 0.75  # stamped, gph at 100 psi
    nozzle_gph_required: float = 0.75
    pump_psi: float = 140.0  # set
    pump_psi_required: float = 140.0
    pump_gear_gph: float = 17.0  # what the gears move
    oil_degf: float = 62.0  # at the pump
    lift_ft: float = 0.0  # tank level below the pump
    line_vacuum: float = 1.0  # in. Hg that a clear line and filter take at 17 gph of 5 cSt oil
    filter_plugged: float = 0.0
    strainer_plugged: float = 0.0
    line_kinked: float = 0.0
    line_air: float = 0.0  # volume share of air drawn in at a leak
    tank_air: float = 0.0  # volume share of air drawn in at a nearly dry outlet
    pump_worn: float = 0.0
    coupling_slip: float = 0.0
    pressure_ripple: float = 0.0  # swing over mean
    cutoff_leak: float = 0.0
    oil_valve_defect: float = 0.0
    nozzle_plugged: float = 0.0
    nozzle_worn: float = 0.0
    spray_mismatch: float = 0.0  # angle or pattern against chamber and head
    water_in_oil: float = 0.0  # volume share in the oil burned
    tank_water_in: float = 0.0  # in. of water at the bottom
    sludge: float = 0.0
    fuel_stale: float = 0.0  # hard to evaporate and light
    viscosity_factor: float = 1.0
    fuel_changed: str = "none"
    blend_unsuited: float = 0.0  # parts that the blend swells or clogs
    oil_available: bool = True
    valve_open: bool = True

    # combustion air
    fan_pressure: float = 2.6  # in. w.c. at no flow, 75 degF air
    fan_fall: float = 4.5e-5  # in. w.c. per (lb/h)2 that the fan curve falls
    motor_rpm: float = 3450.0
    motor_speed_factor: float = 1.0
    fan_dirty: float = 0.0
    fan_slip: float = 0.0
    inlet_blocked: float = 0.0
    shutter: float = 0.5  # 0.02 to 1
    shutter_tag: float = 0.5  # where the last technician left it
    shutter_k: float = 2.0e-5  # in. w.c. per (lb/h)2 wide open
    head_k: float = 3.0e-5  # in. w.c. per (lb/h)2 of a clean head
    intake_degf: float | None = None  # ducted outdoor air; None: room air
    intake_tag_degf: float | None = None  # intake air on the day the shutter was set
    intake_k: float = 0.0

    # head and chamber
    head_dirty: float = 0.0
    head_burnt: float = 0.0
    head_loose: float = 0.0
    nozzle_offset: float = 0.0  # wrong depth or off center
    tube_depth_error: float = 0.0
    head_rate_ratio: float = 1.0  # rate for which the head is made over the required one
    chamber_small: float = 0.0
    chamber_damaged: float = 0.0
    chamber_oil: float = 0.0
    chamber_carbon: float = 0.0

    # appliance
    radiant_area_ft2: float = 4.2
    conv_ua: float = 54.0  # Btu/(h degF) at reference gas flow, clean
    gas_flow_ref: float = 120.0  # lb/h at which conv_ua and passage_drop hold
    passage_drop: float = 0.024  # in. w.c. at reference flow and 900 degF mean, clean
    soot_closing: float = 0.0  # share of the gap that soot closes
    scale_closing: float = 0.0
    door_leak_in2: float = 0.3
    section_leak_in2: float = 0.15
    connector_leak_in2: float = 0.1  # ahead of the probe
    crack_in2: float = 0.0  # furnace heat exchanger, with the house fan's pressure outside
    jacket_loss: float = 0.01  # share of the heat input
    water_degf: float = 170.0  # boiler or heater mean water
    return_degf: float = 150.0
    water_side_defect: float = 0.0  # scale, little flow
    air_cfm: float = 1150.0  # furnace fan
    air_return_degf: float = 66.0
    rate_gph_plate: float = 0.89

    # venting
    chimney_height_ft: float = 26.0
    chimney_area_in2: float = 49.0
    chimney_u: float = 0.55  # Btu/(h ft2 degF) to its surroundings
    chimney_surround_degf: float = 60.0
    chimney_blocked: float = 0.0
    chimney_leak_in2: float = 0.6
    connector_k: float = 6.0  # velocity heads of 6 in. round pipe
    connector_sooted: float = 0.0
    connector_holes_in2: float = 0.0  # holes beyond the regulator
    connector_long: float = 0.0
    thimble_leak_in2: float = 0.0
    thimble_too_deep: float = 0.0
    regulator_fitted: bool = True
    regulator_set: float = 0.05  # in. w.c. of suction at which the gate starts to open
    regulator_stuck_at: float | None = None  # share open
    regulator_off: float = 0.0  # in. w.c. that the setting has moved from the good one
    regulator_missing: bool = False
    other_appliance_lb_h: float = 0.0  # flue gas of another appliance on the flue, running now
    vent_fan: float = 0.0  # in. w.c. of a power venter at no flow
    vent_fan_weak: float = 0.0
    seal_leak_in2: float = 0.0
    sealed: bool = False

    # ignition, sensing, control
    spark_energy: float = 1.0
    contact_poor: float = 0.0
    porcelain_cracked: float = 0.0
    electrode_worn: float = 0.0
    electrode_offset: float = 0.0
    sensor_dirty: float = 0.0
    sensor_misaimed: float = 0.0
    sensor_failed: float = 0.0
    control_failed: float = 0.0
    wiring_loose: float = 0.0
    call_for_heat: bool = True
    motor_runs: float = 1.0
    purge_defect: float = 0.0
    thermostat_chatter: float = 0.0  # extra starts an hour from the thermostat
    limit_drift: float = 0.0  # degF by which the limit opens too early
    heat_load: float = 0.45  # share of full output that the house takes

    def __post_init__(self) -> None:
        for name in ("nozzle_gph", "pump_psi", "fan_pressure", "shutter", "conv_ua", "chimney_area_in2",
                     "air_opening_in2", "supply_voltage"):
            if not getattr(self, name) > 0:
                raise PlantError(f"plant: {name} {getattr(self, name):g}: wants a value above 0")

    @property
    def furnace(self) -> bool:
        """Whether the appliance heats air."""
        return self.appliance == "furnace"

    @property
    def retention(self) -> bool:
        """Whether the flame is held at a retention head."""
        return self.burner_type == "retention-head"
