"""What a careful person sees, hears and smells of a unit: each answer by a stated rule on the solved state."""

from __future__ import annotations

from dataclasses import replace

from advisor.plant.ignition import NEVER, spark
from advisor.plant.instruments import Scene
from advisor.plant.looks import Rule, levels, yes_no


def _spot(v: Scene) -> str:
    if v.state.flame.unburned > 0.004:
        return "oily-yellow"
    return levels(v.state.smoke, (0.7, "dry-gray"), sound="clean")


def _flame(v: Scene) -> str:
    f = v.state.flame
    if v.plant.water_in_oil > 0.06 or v.state.oil.drop_size > 1.6:
        return "sparkling"
    if f.flutter > 0.15:
        return "fluttering"
    if f.asymmetry > 0.3:
        return "lopsided"
    if f.smoke > 2.5:
        return "dark-smoky"
    return "white-short" if f.excess_air > f.knee + 45.0 else "steady-bright"


def _over_cycle(v: Scene) -> str:
    if v.state.smoke > 1.5:
        return "growing" if v.state.room_pressure < -0.02 else "throughout"
    if v.cycle.afterdrip_ml > 0.7:
        return "at-stop"
    late = 1.5 < v.cycle.delay_s < NEVER
    return "at-start" if late or v.cycle.draft_minutes > 4.0 or v.cycle.back_at_start else "never"


def _start(v: Scene) -> str:
    p, c = v.plant, v.cycle
    if c.call_reaches == 0.0 or not v.motor:
        return "nothing"
    if not c.lights:
        return "spray-no-flame"
    unseen = p.flame_sensing == "light-sensor" and c.sensor_ohm >= 1600.0
    if unseen or (p.flame_sensing != "light-sensor" and p.sensor_failed >= 0.5):
        return "lights-then-trips"
    return "delayed-puff" if c.delay_s > 1.5 else "clean"


def _bleed(v: Scene) -> str | None:
    if not v.motor:
        return None
    o = v.state.oil
    if o.psi < 40.0 and v.plant.oil_valve_defect < 0.8:
        return "none"
    return "little" if o.gas_share > 0.12 or v.plant.pump_worn > 0.85 else "full"


def _against_lift(v: Scene) -> str | None:
    o = v.state.oil
    if not v.motor:
        return None
    if o.vacuum_in_hg > o.expected_in_hg + 2.0:
        return "beyond"
    if o.expected_in_hg > 3.0 and o.vacuum_in_hg < o.expected_in_hg - 2.0:
        return "below"
    most = 10.0 if v.plant.piping == "two-pipe" else 6.0
    return "explained" if o.vacuum_in_hg > most else "in-order"


def _screw(v: Scene) -> str | None:
    p, o = v.plant, v.state.oil
    if not v.motor or o.psi < 40.0:
        return None
    if p.pressure_ripple > 0.06:
        return "wanders"
    ratio = o.psi / p.pump_psi_required
    if abs(ratio - 1.0) < 0.06:
        return "right"
    if ratio > 1.0:
        return "comes-down"
    return "will-not-reach" if o.psi < 0.93 * p.pump_psi else "comes-up"


def _false_flame(v: Scene) -> str:
    return "still-dead" if _start(v) == "nothing" else "not-dead"


def _motor(v: Scene) -> str:
    if v.cycle.motor <= 0.3 and v.cycle.control_output > 0.0:
        return "not"
    slow = v.cycle.motor < 0.8 or v.plant.motor_speed_factor < 0.88
    return "slow" if slow else ("normal" if v.cycle.control_output > 0.0 else "not")


def _draft_comes(v: Scene) -> str:
    if v.cycle.back_at_start:
        return "back"
    return levels(v.cycle.draft_minutes, (1e6, "never"), (3.5, "slow"), sound="at-once")


def _soot_place(v: Scene) -> str:
    s = v.state
    if v.plant.sealed and s.smoke > 2.0:
        return "outside"
    if s.smoke > 1.2 and s.draft_over_fire > 0.02 and not v.plant.sealed:
        return "at-burner"
    if s.spill_lb_h > 3.0 and s.smoke > 1.0:
        return "at-regulator"
    return "passages" if v.plant.soot_closing > 0.15 or s.smoke > 2.0 else "none"


def _soot_kind(v: Scene) -> str:
    if _soot_place(v) == "none":
        return "none"
    if v.state.flame.unburned > 0.006:
        return "oily-wet"
    return "hard-carbon" if v.state.flame.impingement > 0.3 else "dry-fluffy"


def _noise(v: Scene) -> str:
    s, p = v.state, v.plant
    if v.cycle.motor < 0.8 or p.fan_slip > 0.1 or p.coupling_slip > 0.2 or p.motor_speed_factor < 0.85:
        return "squeal"
    if s.oil.gas_share > 0.05 or s.oil.vacuum_in_hg > 12.0 or p.pump_worn > 0.6:
        return "whine"
    return "rumble" if s.flame.flutter > 0.15 or (s.draft_over_fire > 0.02 and not p.sealed) else "normal"


def _smell(v: Scene) -> str:
    s, c = v.state, v.cycle
    if s.spill_lb_h > 4.0:
        return "fumes"
    gathered = c.pressure_puff > 2.5
    if c.afterdrip_ml > 0.8 or s.flame.unburned > 0.012 * s.burning + 2.0 * (not s.burning) or gathered:
        return "raw-oil"
    return "hot-metal" if s.stack_degf > 850.0 else "none"


def _spillage(v: Scene) -> str:
    if v.state.spill_lb_h > 3.0:
        return "lasting"
    return "at-start" if v.cycle.back_at_start or v.cycle.draft_minutes > 4.0 else "none"


def _water(v: Scene) -> str | None:
    return None if v.plant.furnace else levels(v.plant.water_side_defect, (0.4, "kettling"), sound="good")


def _strength(v: Scene) -> str:
    p = v.plant
    # The makers' tests are made at the terminals of the igniter: contacts, porcelain and electrodes do not count.
    energy = spark(replace(p, electrode_worn=0.0, electrode_offset=0.0, head_dirty=0.0, contact_poor=0.0,
                           porcelain_cracked=0.0))
    return "none" if energy < 0.12 else ("weak" if energy < 0.65 else "strong")


def _in_chamber(v: Scene) -> str:
    if v.state.oil.gph > 0.0 and v.motor and not v.cycle.lights:
        return "pool" if v.cycle.pressure_puff > 12.0 else "damp"
    return "damp" if v.plant.chamber_oil > 0.4 or v.cycle.afterdrip_ml > 2.5 else "none"


def _puffback(v: Scene) -> str:
    if not v.cycle.lights:
        return "none"
    return levels(v.cycle.pressure_puff, (7.0, "violent"), (2.2, "small"), sound="none")


def _signs_of_water(v: Scene) -> str:
    return yes_no(v.state.exchange.condensate_lb_h > 0.15 or v.state.chimney_condenses)


RUNNING: dict[str, Rule] = {
    # unburned oil past 0.4 % of the oil colours and wets the paper
    "spot_look": _spot,
    # the most striking sign names the flame
    "flame_look": _flame,
    # a seventh of the flame on a wall is seen
    "flame_touches": lambda v: yes_no(v.state.flame.impingement > 0.15),
    # a gap of a quarter of full lift-off is seen
    "flame_lifts": lambda v: yes_no(v.state.flame.lift > 0.25),
    # late light-off and cold flues smoke at the start, drip at the stop
    "smoke_over_cycle": _over_cycle,
    # gusts of 0.012 in. w.c. move the needle
    "wind_effect": lambda v: yes_no(v.plant.wind_pressure > 0.012),
    # minutes from cold start: over 3.5 is slow
    "draft_over_time": _draft_comes,
    # pressure over the fire past 0.12 in. w.c. pushes flame out
    "flame_rollout": lambda v: yes_no(v.state.draft_over_fire > 0.12 and not v.plant.sealed),
    # pipe discolours above about 850 degF, glows above 1,100
    "heat_damage": lambda v: levels(v.state.stack_degf, (1100.0, "glowing"), (850.0, "scorched"), sound="none"),
    # 3 lb/h of gas moves the pencil's smoke outward
    "spillage": _spillage,
}

ALWAYS: dict[str, Rule] = {
    # a motor at less than four fifths of its torque comes up slowly
    "motor_start": _motor,
    # a gauge at the nozzle port creeps at a fifth of full leakage
    "cutoff_hold": lambda v: levels(v.plant.cutoff_leak, (0.7, "falls-to-zero"), (0.2, "falls-slowly"),
                                     sound="holds") if v.motor else None,
    # half a millilitre burns on visibly
    "afterdrip": lambda v: yes_no(v.cycle.afterdrip_ml > 0.6),
    # a swing of 6 % is seen on the needle
    "pressure_steady": lambda v: levels(v.state.oil.ripple, (0.06, "unsteady"), sound="steady") if v.motor else None,
    # 4 % by volume makes bubbles that keep coming
    "air_in_oil": lambda v: yes_no(v.state.oil.gas_share > 0.04 or not v.plant.oil_available) if v.motor else None,
    # two in. Hg off the sum of lift and length are told; high is over 6 in. Hg, over 10 with two pipes
    "vacuum_against_lift": _against_lift,
    # a leak of that size lets the vacuum down within five minutes
    "vacuum_hold": lambda v: levels(v.plant.line_air, (0.04, "falls"), sound="holds"),
    # sound gears draw over 19 in. Hg
    "pump_dead_end_vacuum": lambda v: ("weak" if v.state.oil.dead_end_vacuum_in_hg < 19.0 else "full")
    if v.motor else None,
    # a quarter of full leakage or delay is timed
    "oil_valve": lambda v: "none-fitted" if not v.plant.has_oil_valve else levels(
        v.plant.oil_valve_defect, (0.25, "faulty"), sound="works"),
    # no oil without pressure; gas or worn gears break the stream
    "oil_at_bleed_port": _bleed,
    # a screw can mend the setting, not gears, gas or a starved line
    "pressure_adjusts": _screw,
    # a motor short of a fifth of its torque hums or trips alone
    "motor_uncoupled": lambda v: "motor-fails" if v.plant.motor_runs < 0.8 else "runs",
    # our faults give no false light, so a dead control stays dead
    "false_flame": _false_flame,
    # from the computed light-off and what the sensor sees
    "start_behavior": _start,
    # energy at the igniter's own terminals
    "spark_strength": _strength,
    # computed from start, flutter, sensor and wiring
    "lockout_pattern": lambda v: v.cycle.lockout,
    # people press until it lights
    "resets_pressed": lambda v: "none" if v.cycle.lockout == "never" else (
        "many" if v.cycle.lockout == "at-start" else "once"),  # people press until it lights
    # voltage at the terminals
    "control_call": lambda v: "yes" if v.cycle.call_reaches >= 1.0 else (
        "no" if v.cycle.call_reaches == 0.0 else "comes-and-goes"),
    # wires joined at the wall do not close an open cable
    "thermostat_circuit": lambda v: "at-control" if v.cycle.call_reaches == 0.0 else "closes",
    # voltage at motor and ignition
    "control_output": lambda v: "yes" if v.cycle.control_output >= 1.0 else (
        "no" if v.cycle.control_output == 0.0 else "drops-out"),
    # computed from storage, limit and load
    "limit_cycling": lambda v: v.cycle.stopped_by,
    # bridging takes away the thermostat's own starts
    "thermostat_check": lambda v: "stops" if v.plant.thermostat_chatter > 3.0 else "no-change",
    # a quarter of the time missing is seen on the watch
    "purge": lambda v: "none-fitted" if not v.plant.has_purge else levels(v.plant.purge_defect, (0.25, "faulty"),
                                                                           sound="works"),
    # rumble of steam at three fifths, low flow felt at the pipes before
    "water_side": _water,
    # water or acid leaves rust and crust behind
    "condensate_signs": _signs_of_water,
    # a quarter of the pressure lost: the switch proves late
    "vent_fan": lambda v: "none-fitted" if v.plant.vent_fan == 0.0 else levels(
        v.plant.vent_fan_weak, (0.25, "faulty"), sound="works"),
    # smoke goes where the pressure pushes it
    "soot_place": _soot_place,
    # unburned oil wets it, a touched wall cokes it
    "soot_kind": _soot_kind,
    # slipping parts squeal, gas in the pump whines, flutter rumbles
    "run_noise": lambda v: _noise(v) if v.motor else None,
    # spilled gas first, then oil that drips or did not light
    "smell_kind": _smell,
    # a suction joint under the head of the tank weeps when it stands
    "oil_leak": lambda v: "seep" if v.plant.line_air > 0.08 and v.plant.tank_level == "above"
    and v.plant.oil_available else "none",
    # spray that did not light has to be somewhere
    "oil_in_chamber": _in_chamber,
    # oil gathered before lighting, ml
    "puffback": _puffback,
    # 70 ppm in the room for an hour is felt
    "symptoms": lambda v: yes_no(v.state.co_room_ppm > 70.0),
    # alarm limits of UL 2034, from memory
    "co_alarm": lambda v: levels(v.state.co_room_ppm, (150.0, "sounding"), (70.0, "sounded"), sound="no"),
    # an open cut-off feeds the fire on
    "afterfire": lambda v: yes_no(v.plant.cutoff_leak > 0.95),
    # not modelled: always in place
    "safety_bypassed": lambda v: "no",
    # overheated water at nine tenths of the defect opens it
    "relief_valve": lambda v: levels(v.plant.water_side_defect, (0.9, "discharging"), sound="sound"),
    # not modelled: always full
    "water_low": lambda v: "no",
    # spill and smoke together are seen in the room
    "room_smoke": lambda v: yes_no(v.state.spill_lb_h > 12.0 and v.state.smoke > 2.0),
    # not modelled: never delivered
    "gas_or_gasoline": lambda v: "no",
    # not modelled: always clear
    "combustibles_near": lambda v: "no",
}


def complaint(v: Scene) -> str:
    """What the customer would call about: the worst symptom first."""
    s, c, p = v.state, v.cycle, v.plant
    ranked = (
        (s.co_room_ppm > 70.0, "co-alarm"),
        (_start(v) == "nothing", "no-heat"),
        (c.lockout != "never", "lockout"),
        (c.lights and c.pressure_puff > 2.2, "bang-at-start"),
        (s.smoke > 2.0 and (s.spill_lb_h > 3.0 or s.draft_over_fire > 0.02) and not p.sealed, "soot"),
        (s.smoke > 3.0, "smoke-while-running"),
        (s.flame.flutter > 0.15 or (s.draft_over_fire > 0.03 and not p.sealed), "rumble"),
        (s.spill_lb_h > 4.0, "smell"),
        (c.afterdrip_ml > 1.0, "smoke-at-stop"),
        (c.starts_per_hour > 8.0, "short-cycling"),
        (s.smoke > 1.5, "soot"),
        (c.draft_minutes > 4.0 or c.back_at_start, "smoke-at-start"),
        (_signs_of_water(v) == "yes", "water-at-flue"),
        (p.chimney_leak_in2 > 12.0, "chimney-damage"),
        (_noise(v) in ("squeal", "whine"), "noise"),
        (_smell(v) in ("raw-oil", "fumes"), "smell"),
        (s.burning and s.efficiency < (79.5 if p.retention else 76.0), "high-fuel-use"),
    )
    return next((words for true, words in ranked if true), "routine")
