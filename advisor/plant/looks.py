"""What a careful person sees of the parts: each answer by a stated rule on the physical condition.

Slight defects stay below the level at which a person would notice, and read as sound. Levels are our own
estimates of what the eye can tell.
"""

from __future__ import annotations

from collections.abc import Callable

from advisor.plant.air import voltage_speed
from advisor.plant.instruments import Scene

Rule = Callable[[Scene], str | None]


def levels(value: float, *steps: tuple[float, str], sound: str) -> str:
    """The first answer whose level the value passes."""
    return next((answer for level, answer in steps if value > level), sound)


def yes_no(condition: bool) -> str:
    return "yes" if condition else "no"


def _air_shutter(v: Scene) -> str:
    if v.plant.shutter > 0.95 and v.plant.shutter_tag < 0.9:
        return "wide-open"
    return "moved" if abs(v.plant.shutter / v.plant.shutter_tag - 1.0) > 0.12 else "as-tagged"


def _head(v: Scene) -> str:
    p = v.plant
    worst = max((p.head_burnt / 0.25, "burnt"), (p.head_loose / 0.3, "loose"), (p.head_dirty / 0.22, "carboned"))
    return worst[1] if worst[0] > 1.0 else "clean"


def _nozzle_match(v: Scene) -> str:
    if abs(v.plant.nozzle_gph / v.plant.nozzle_gph_required - 1.0) > 0.06:
        return "wrong-size"
    return "wrong-angle-or-pattern" if v.plant.spray_mismatch > 0.15 else "right"


def _chamber(v: Scene) -> str:
    p = v.plant
    worst = max((p.chamber_oil / 0.3, "oil-soaked"), (p.chamber_damaged / 0.25, "cracked"),
                (max(p.chamber_carbon, v.state.flame.impingement - 0.1) / 0.3, "carboned"))
    return worst[1] if worst[0] > 1.0 else "sound"


def _nozzle(v: Scene) -> str:
    p = v.plant
    carbon = 0.7 * p.head_dirty + 0.6 * p.cutoff_leak
    worst = max((p.nozzle_plugged / 0.3, "plugged"), (p.nozzle_worn / 0.4, "worn"), (carbon / 0.4, "carboned"))
    return worst[1] if worst[0] > 1.0 else "clean"


def _oil_look(v: Scene) -> str:
    p = v.plant
    if p.water_in_oil > 0.02 or p.tank_water_in > 1.8:
        return "cloudy"
    if p.oil_degf < 16.0 and p.fuel != "no-1-oil":
        return "waxy"
    return "dirty" if p.sludge > 0.3 or p.fuel_stale > 0.5 else "clear"


def _oil_line(v: Scene) -> str:
    p = v.plant
    if p.line_kinked > 0.3:
        return "kinked"
    if p.line_air > 0.08 and p.oil_available:
        return "wet" if p.tank_level == "above" else "compression-fittings"
    return "sound"


def _electrodes(v: Scene) -> str:
    p = v.plant
    worst = max((p.electrode_worn, "worn"), (p.electrode_offset, "misplaced"))
    return worst[1] if worst[0] > 0.25 else "right"


def _passages(v: Scene) -> str:
    p = v.plant
    if max(p.soot_closing, p.scale_closing) > 0.7:
        return "blocked"
    if p.soot_closing > 0.2 and p.soot_closing >= p.scale_closing:
        return "sooted"
    return "scaled" if p.scale_closing > 0.15 else "clean"


def _joints(v: Scene) -> str:
    p, s = v.plant, v.state
    # The pencil shows a leak only where the pressure inside draws.
    worst = max((p.door_leak_in2 * (s.draft_over_fire < -0.002), "door"),
                (p.section_leak_in2 * (s.draft_breech < -0.004), "sections"),
                (p.connector_leak_in2 * (s.draft_breech < -0.004), "connector"))
    return worst[1] if worst[0] > 1.0 else "tight"


def _regulator(v: Scene) -> str:
    p = v.plant
    if not p.regulator_fitted:
        return "not-used"
    if p.regulator_missing:
        return "missing"
    if p.regulator_stuck_at is not None:
        return "stuck"
    return "misset" if abs(p.regulator_off) > 0.012 else "works"


def _connector(v: Scene) -> str:
    p = v.plant
    worst = max((p.connector_holes_in2 / 1.5, "perforated"), (p.connector_long / 0.3, "long-or-flat"),
                (p.connector_sooted / 0.25, "sooted"))
    return worst[1] if worst[0] > 1.0 else "sound"


def _chimney(v: Scene) -> str:
    p = v.plant
    if p.chimney_leak_in2 > 6.0:
        return "damaged"
    if p.chimney_blocked > 0.3:
        return "obstructed"
    return "oversized" if p.chimney_area_in2 > 90.0 else "clear"


def _sensor(v: Scene) -> str | None:
    p = v.plant
    if p.flame_sensing != "light-sensor":
        return None
    if p.sensor_misaimed > 0.3:
        return "misaimed"
    return "dirty" if p.sensor_dirty > 0.25 else "clean"


PARTS: dict[str, Rule] = {
    # lint shows once it fills a fifth of the vanes; a wheel slipping a tenth rubs or rattles
    "fan_wheel": lambda v: "loose" if v.plant.fan_slip > 0.1 else levels(v.plant.fan_dirty, (0.2, "dirty"),
                                                                         sound="clean"),
    # lint over a fifth of the opening shows
    "air_inlet": lambda v: levels(v.plant.inlet_blocked, (0.2, "blocked"), sound="free"),
    "air_shutter": _air_shutter,  # the tag marks where it was left; an eighth off shows
    # an eighth of the turns lost is felt as play
    "coupling": lambda v: levels(v.plant.coupling_slip, (0.12, "slipping"), sound="sound"),
    "head_look": _head,  # the worst of the three defects past what the eye sees
    "head_position": lambda v: levels(v.plant.nozzle_offset, (0.2, "wrong"), sound="right"),  # measured
    "tube_insertion": lambda v: levels(v.plant.tube_depth_error, (0.25, "wrong"), sound="right"),  # measured
    "head_matches": lambda v: yes_no(abs(v.plant.head_rate_ratio - 1.0) < 0.25),  # heads cover a range of rates
    "nozzle_match": _nozzle_match,  # stamped on the nozzle
    "chamber_look": _chamber,  # carbon gathers where the flame touches
    # walls nearer than the spray by a third show; a missing target does at once
    "chamber_fit": lambda v: "no-target" if v.plant.chamber_damaged > 0.85 else levels(
        v.plant.chamber_small, (0.3, "too-small"), sound="fits"),
    "nozzle_look": _nozzle,  # drip and dirty heads leave carbon on the face
    # sludge shows on the cartridge past a third
    "oil_filter": lambda v: levels(v.plant.filter_plugged, (0.3, "dirty"), sound="clean"),
    # a fine screen shows dirt a little sooner
    "pump_strainer": lambda v: levels(v.plant.strainer_plugged, (0.25, "dirty"), sound="clean"),
    "oil_look": _oil_look,  # water clouds, wax under the cloud point, sludge and age darken
    "fuel_change": lambda v: v.plant.fuel_changed,
    "oil_lines_seen": _oil_line,  # a joint under head weeps, one under suction does not
    # an outlet that draws air stands at the level of the oil: a stick shows it
    "valves_open": lambda v: "valve-shut" if not v.plant.valve_open else (
        "yes" if v.plant.oil_available and v.plant.tank_air < 0.05 else "tank-empty"),
    # a quarter of the way to burnt tips, or of the gap, is measured
    "electrodes": _electrodes,
    # a crack shows past a third of its length; soot of a dirty head leaves tracks
    "porcelain": lambda v: levels(v.plant.porcelain_cracked, (0.3, "cracked"), sound="tracked"
                                   if v.plant.head_dirty > 0.6 else "sound"),
    # burnt contacts show once a quarter is gone
    "transformer_springs": lambda v: levels(v.plant.contact_poor, (0.25, "poor"), sound="clean"),
    # a quarter of the light lost shows as a gray face; aim off by a third shows
    "sensor_look": _sensor,
    # a loose terminal moves under the finger
    "wiring_look": lambda v: levels(v.plant.wiring_loose, (0.25, "loose"), sound="sound"),
    "passages_look": _passages,  # soot clearly narrows the passage past a fifth; scale flakes sooner
    # a pencil finds openings over 1 in2, where the pressure inside draws
    "joint_leaks": _joints,
    # a gap of more than 1 in2 beyond a sound door shows
    "gasket_look": lambda v: levels(v.plant.door_leak_in2, (1.3, "broken"), sound="sound"),
    # an opening of 0.8 in2 is seen, one of 0.3 in2 leaves a line of rust
    "exchanger_look": lambda v: levels(v.plant.crack_in2, (0.8, "cracked"), (0.3, "suspect"), sound="sound"),
    # air down by a sixth: the filter shows it
    "air_filter": lambda v: None if not v.plant.furnace else yes_no(v.plant.air_cfm < 950.0).replace(
        "yes", "loaded").replace("no", "clean"),
    "regulator_state": _regulator,  # a gauge shows a setting off by more than 0.012 in. w.c.
    # the worst of holes over 1.5 in2, length and soot over a quarter of the bore
    "connector_look": _connector,
    # a mirror shows a third of the bore gone, open joints, a flue of nearly twice the size
    "chimney_look": _chimney,
    # 3 in2 round the pipe is seen from outside, a deep pipe with the mirror
    "thimble": lambda v: None if v.plant.draft_kind != "natural" else (
        "leaking" if v.plant.thimble_leak_in2 > 3.0 else levels(v.plant.thimble_too_deep, (0.3, "too-deep"),
                                                                 sound="tight")),
    # a smoke pencil finds 0.2 in2 under pressure
    "seal_state": lambda v: "not-sealed" if not v.plant.sealed else levels(v.plant.seal_leak_in2, (0.2, "leaking"),
                                                                            sound="tight"),
    # an ohm-meter shows a switch that lags by two fifths
    "heat_switch": lambda v: "none-fitted" if v.plant.flame_sensing != "stack-switch" else levels(
        v.plant.sensor_failed, (0.4, "faulty"), sound="works"),
    # side by side, a quarter of the way to stale shows in color and smell
    "fuel_sample": lambda v: levels(v.plant.fuel_stale, (0.25, "off"), sound="alike"),
    # the makers' lists of parts tell
    "blend_fit": lambda v: levels(v.plant.blend_unsuited, (0.25, "not-suited"), sound="suited"),
    # a tachometer shows 7 %
    "motor_speed_match": lambda v: None if not v.motor else (
        "slow" if v.plant.motor_speed_factor * voltage_speed(v.plant.supply_voltage) < 0.93 else "right"),
    # the tag gives the day of setting; 30 degF apart counts as drifted
    "duct_setting": lambda v: "not-ducted" if v.plant.intake_degf is None else levels(
        abs(v.plant.intake_degf - (v.plant.intake_tag_degf or 0.0)), (30.0, "drifted"), sound="fits"),
    # asked for open holes as well, whoever walks along the pipe sees what the connector look does
    "vent_disconnected": lambda v: yes_no(v.plant.connector_holes_in2 > 1.5),
}
"""Observations of parts."""

EQUIPMENT: dict[str, Rule] = {
    **{name: (lambda v, name=name: getattr(v.plant, name))  # type: ignore[misc]
       for name in ("appliance", "burner_type", "burner_fit", "draft_kind", "chimney_place", "chimney_lining",
                    "flue_sharing", "air_supply", "fuel", "piping", "tank_place", "tank_level", "ignition_kind",
                    "flame_sensing")},
    # the modeled boilers all heat water
    "heat_medium": lambda v: "water" if v.plant.appliance == "boiler" else None,
}
"""What is installed."""

TESTING: dict[str, Rule] = {
    "analyzer_warm": lambda v: yes_no(not v.kit.analyzer_cold),
    "analyzer_fuel": lambda v: "wrong" if v.kit.analyzer_fuel_wrong else "right",
    "probe_place": lambda v: v.kit.probe_place,
    "sample_line": lambda v: "leaking" if v.kit.hose_leak > 0.05 else "tight",
    "gauge_zero": lambda v: yes_no(abs(v.kit.gauge_zero) < 0.004),
    "fluid_state": lambda v: "spent" if v.kit.fluid_spent > 0.05 else "fresh",
    "smoke_tester": lambda v: "leaking" if v.kit.smoke_leak > 0.1 else "sound",
    "warmed_up": lambda v: yes_no(v.kit.warmed_up),
    "test_hole": lambda v: "loose" if v.kit.hole_loose else "right",
    "readings_together": lambda v: "yes",
    "thermometer_check": lambda v: "off" if abs(v.kit.thermometer_off) > 10.0 else "right",
}
"""How the readings were taken."""
