"""What a careful person sees, hears and smells of a running unit, and the trials that change something.

Each answer follows from the solved state by a stated rule; a trial solves the plant again with the change made.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from advisor.plant.ignition import NEVER, spark
from advisor.plant.instruments import Scene
from advisor.plant.looks import Rule, _levels, _yes
from advisor.plant.steady import State, solve


def _again(v: Scene, **changes: Any) -> State:
    """The plant solved with something changed."""
    return solve(replace(v.plant, **changes))


def _spot(v: Scene) -> str:
    if v.state.flame.unburned > 0.004:
        return "oily-yellow"
    return _levels(v.state.smoke, (0.7, "dry-gray"), sound="clean")


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


def _more_air_smoke(v: Scene) -> str:
    before = v.state.smoke
    if before < 0.8:
        return "stays"
    for share in (0.15, 0.3, 0.45, 0.6, 0.8, 1.0):
        s = _again(v, shutter=v.plant.shutter + share * (1.0 - v.plant.shutter))
        if s.smoke <= 1.0:
            return "clears" if s.co2 >= 9.0 else "too-much-air-needed"
    after = _again(v, shutter=min(1.0, v.plant.shutter * 1.15)).smoke
    return "worse" if after > before + 0.3 else ("clears" if after < before - 0.7 else "stays")


def _more_air_co(v: Scene) -> str:
    before, after = v.state.co_ppm, _again(v, shutter=min(1.0, v.plant.shutter * 1.15)).co_ppm
    if abs(after - before) < max(6.0, 0.08 * before):
        return "stays"
    return "falls" if after < before else "rises"


def _worse(before: State, after: State) -> bool:
    return after.draft_over_fire > before.draft_over_fire + 0.004 or after.smoke > before.smoke + 0.5


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


def _new_nozzle(v: Scene) -> str:
    s = _again(v, nozzle_worn=0.0, nozzle_plugged=0.0, spray_mismatch=0.0, nozzle_gph=v.plant.nozzle_gph_required)

    def bad(x: State) -> float:
        f = x.flame
        return max(x.smoke / 1.2, f.asymmetry / 0.3, f.impingement / 0.25, (f.excess_air - f.knee) / 55.0)

    before, after = bad(v.state), bad(s)
    if before > 1.0 and after <= 1.0:
        return "cured"
    return "better" if before > 1.0 and after < 0.75 * before else "none"


def _motor(v: Scene) -> str:
    if v.cycle.motor <= 0.3 and v.cycle.control_output > 0.0:
        return "not"
    slow = v.cycle.motor < 0.8 or v.plant.motor_speed_factor < 0.88
    return "slow" if slow else ("normal" if v.cycle.control_output > 0.0 else "not")


def _draft_comes(v: Scene) -> str:
    if v.cycle.back_at_start:
        return "back"
    return _levels(v.cycle.draft_minutes, (1e6, "never"), (3.5, "slow"), sound="at-once")


def _other(v: Scene) -> str:
    p = v.plant
    if p.flue_sharing != "shared":
        return "no"
    running = p.other_appliance_lb_h or 80.0  # a water heater's gas and dilution, where it is off now
    return _yes(_worse(_again(v, other_appliance_lb_h=0.0), _again(v, other_appliance_lb_h=running)))


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


def _blower(v: Scene) -> str | None:
    if not v.plant.furnace:
        return None
    still = _again(v, crack_in2=0.0)
    return _yes(abs(still.draft_over_fire - v.state.draft_over_fire) > 0.003 or v.state.o2 - still.o2 > 0.6)


def _water(v: Scene) -> str | None:
    return None if v.plant.furnace else _levels(v.plant.water_side_defect, (0.6, "kettling"), (0.25, "low-flow"),
                                                sound="good")


def _strength(v: Scene) -> str:
    p = v.plant
    # The test draws the spark across a known gap: electrodes do not count.
    energy = spark(replace(p, electrode_worn=0.0, electrode_offset=0.0, head_dirty=0.0))
    return "none" if energy < 0.12 else ("weak" if energy < 0.65 else "strong")


def _in_chamber(v: Scene) -> str:
    if v.state.oil.gph > 0.0 and v.motor and not v.cycle.lights:
        return "pool" if v.cycle.pressure_puff > 12.0 else "damp"
    return "damp" if v.plant.chamber_oil > 0.4 or v.cycle.afterdrip_ml > 2.5 else "none"


def _puffback(v: Scene) -> str:
    if not v.cycle.lights:
        return "none"
    return _levels(v.cycle.pressure_puff, (7.0, "violent"), (2.2, "small"), sound="none")


def _signs_of_water(v: Scene) -> str:
    return _yes(v.state.exchange.condensate_lb_h > 0.15 or v.state.chimney_condenses)


# Seen only while it burns.
RUNNING: dict[str, Rule] = {
    "spot_look": _spot,  # unburned oil past 0.4 % of the oil colours and wets the paper
    "flame_look": _flame,  # the most striking sign names the flame
    "flame_touches": lambda v: _yes(v.state.flame.impingement > 0.15),
    "flame_lifts": lambda v: _yes(v.state.flame.lift > 0.25),
    "smoke_over_cycle": _over_cycle,  # late light-off and cold flues smoke at the start, drip at the stop
    "air_changes_smoke": _more_air_smoke,  # trial: open the air step by step
    "co_falls_with_air": _more_air_co,  # trial: a notch of 15 %
    "fans_effect": lambda v: "worse" if _worse(v.state, _again(
        v, house_pressure=v.plant.house_pressure - v.plant.fans_suction)) else "none",
    "window_effect": lambda v: "better" if _worse(_again(v, house_pressure=0.0, air_opening_in2=3000.0), v.state)
    else "none",
    "new_nozzle_effect": _new_nozzle,  # trial: right size, angle, pattern, unworn
    "regulator_shut_effect": lambda v: None if not v.plant.regulator_fitted else (
        "rises" if _again(v, regulator_stuck_at=0.0).draft_over_fire < v.state.draft_over_fire - 0.006
        else "little"),
    "other_appliance_effect": _other,
    "blower_effect": _blower,
    "wind_effect": lambda v: _yes(v.plant.wind_pressure > 0.012),
    "draft_over_time": _draft_comes,
    "flame_rollout": lambda v: _yes(v.state.draft_over_fire > 0.12 and not v.plant.sealed),
    "heat_damage": lambda v: _levels(v.state.stack_degf, (1100.0, "glowing"), (850.0, "scorched"), sound="none"),
    "spillage": _spillage,
}

# Seen whether it burns or not.
ALWAYS: dict[str, Rule] = {
    "motor_start": _motor,
    "cutoff_hold": lambda v: _levels(v.plant.cutoff_leak, (0.7, "falls-to-zero"), (0.2, "falls-slowly"),
                                     sound="holds") if v.motor else None,
    "afterdrip": lambda v: _yes(v.cycle.afterdrip_ml > 0.6),  # half a millilitre burns on visibly
    "pressure_steady": lambda v: _levels(v.state.oil.ripple, (0.06, "unsteady"), sound="steady") if v.motor else None,
    "air_in_oil": lambda v: _yes(v.state.oil.gas_share > 0.04 or not v.plant.oil_available) if v.motor else None,
    "vacuum_hold": lambda v: _levels(v.plant.line_air, (0.04, "falls"), sound="holds"),
    "pump_dead_end_vacuum": lambda v: ("weak" if v.state.oil.dead_end_vacuum_in_hg < 19.0 else "full")
    if v.motor else None,
    "oil_valve": lambda v: "none-fitted" if not v.plant.has_oil_valve else _levels(
        v.plant.oil_valve_defect, (0.25, "faulty"), sound="works"),
    "start_behaviour": _start,
    "spark_strength": _strength,
    "lockout_pattern": lambda v: v.cycle.lockout,
    "resets_pressed": lambda v: "none" if v.cycle.lockout == "never" else (
        "many" if v.cycle.lockout == "at-start" else "once"),  # people press until it lights
    "control_call": lambda v: "yes" if v.cycle.call_reaches >= 1.0 else (
        "no" if v.cycle.call_reaches == 0.0 else "comes-and-goes"),
    "control_output": lambda v: "yes" if v.cycle.control_output >= 1.0 else (
        "no" if v.cycle.control_output == 0.0 else "drops-out"),
    "limit_cycling": lambda v: v.cycle.stopped_by,
    "thermostat_check": lambda v: "stops" if v.plant.thermostat_chatter > 3.0 else "no-change",
    "purge": lambda v: "none-fitted" if not v.plant.has_purge else _levels(v.plant.purge_defect, (0.25, "faulty"),
                                                                           sound="works"),
    "water_side": _water,
    "condensate_signs": _signs_of_water,  # leaves rust and crust behind
    "vent_fan": lambda v: "none-fitted" if v.plant.vent_fan == 0.0 else _levels(
        v.plant.vent_fan_weak, (0.25, "faulty"), sound="works"),
    "soot_place": _soot_place,
    "soot_kind": _soot_kind,
    "run_noise": lambda v: _noise(v) if v.motor else None,
    "smell_kind": _smell,
    "oil_leak": lambda v: "seep" if v.plant.line_air > 0.08 and v.plant.tank_level == "above"
    and v.plant.oil_available else "none",
    "oil_in_chamber": _in_chamber,  # spray that did not light has to be somewhere
    "puffback": _puffback,  # oil gathered before lighting, ml
    "symptoms": lambda v: _yes(v.state.co_room_ppm > 70.0),
    "co_alarm": lambda v: _levels(v.state.co_room_ppm, (150.0, "sounding"), (70.0, "sounded"), sound="no"),
    "afterfire": lambda v: _yes(v.plant.cutoff_leak > 0.95),
    "safety_bypassed": lambda v: "no",
    "relief_valve": lambda v: _levels(v.plant.water_side_defect, (0.9, "discharging"), sound="sound"),
    "water_low": lambda v: "no",
    "room_smoke": lambda v: _yes(v.state.spill_lb_h > 12.0 and v.state.smoke > 2.0),
    "gas_or_petrol": lambda v: "no",
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
