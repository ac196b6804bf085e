"""Trials: something on the unit is changed, the plant is solved again, and the two states are compared."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from advisor.plant.builders import set_air
from advisor.plant.ignition import cycle
from advisor.plant.instruments import Scene
from advisor.plant.looks import Rule, yes_no
from advisor.plant.steady import State, solve


def _again(v: Scene, **changes: Any) -> State:
    """The plant solved with something changed."""
    return solve(replace(v.plant, **changes))


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
    # A sealed unit takes no air from the room: its draft against the room moves, its fire does not.
    if before.plant.sealed:
        return after.smoke > before.smoke + 0.5
    return after.draft_over_fire > before.draft_over_fire + 0.004 or after.smoke > before.smoke + 0.5


def _new_nozzle(v: Scene) -> str:
    s = _again(v, nozzle_worn=0.0, nozzle_plugged=0.0, spray_mismatch=0.0, nozzle_gph=v.plant.nozzle_gph_required)

    def bad(x: State) -> float:
        f = x.flame
        return max(x.smoke / 1.2, f.asymmetry / 0.3, f.impingement / 0.25, (f.excess_air - f.knee) / 55.0)

    before, after = bad(v.state), bad(s)
    if before > 1.0 and after <= 1.0:
        return "cured"
    return "better" if before > 1.0 and after < 0.75 * before else "none"


_GOOD_OIL: dict[str, Any] = {
    "lift_ft": 0.0, "line_kinked": 0.0, "filter_plugged": 0.0, "line_air": 0.0, "tank_air": 0.0, "sludge": 0.0,
    "water_in_oil": 0.0, "fuel_stale": 0.0, "viscosity_factor": 1.0, "line_vacuum": 1.0, "oil_available": True,
    "valve_open": True,
}


def _ails(s: State) -> bool:
    """Whether pressure, light-off or flame are visibly wrong on the oil side."""
    c = cycle(s.plant, s)
    return (not c.lights or c.delay_s > 1.5 or s.oil.psi < 0.9 * s.plant.pump_psi or s.oil.ripple > 0.06
            or s.smoke > 1.2 or s.flame.flutter > 0.15)


def _trial_oil(v: Scene, answer: str, otherwise: str, **changes: Any) -> str | None:
    if not v.motor:
        return None
    cured = _ails(v.state) and not _ails(_again(v, **changes))
    return answer if cured else otherwise


def _can(v: Scene) -> str | None:
    warm = max(v.plant.oil_degf, v.plant.room_degf - 5.0)
    return _trial_oil(v, "cured", "no-change", oil_degf=warm, **_GOOD_OIL)


def _reset_air(v: Scene) -> str:
    now = replace(v.plant, fan_dirty=0.0, inlet_blocked=0.0)
    after = solve(set_air(now))
    if after.smoke > 1.0 or after.co2 < (9.0 if now.retention else 8.0):
        return "no-setting-good"
    moved = after.plant.shutter / now.shutter - 1.0
    return "opened" if moved > 0.12 else ("closed" if moved < -0.12 else "unchanged")


def _other(v: Scene) -> str:
    p = v.plant
    if p.flue_sharing != "shared":
        return "no"
    running = p.other_appliance_lb_h or 80.0  # a water heater's gas and dilution, where it is off now
    return yes_no(_worse(_again(v, other_appliance_lb_h=0.0), _again(v, other_appliance_lb_h=running)))


def _blower(v: Scene) -> str | None:
    if not v.plant.furnace:
        return None
    still = _again(v, crack_in2=0.0)
    return yes_no(abs(still.draft_over_fire - v.state.draft_over_fire) > 0.003 or v.state.o2 - still.o2 > 0.6)


RUNNING_TRIALS: dict[str, Rule] = {
    # the air is opened step by step; clean only under 9 % CO2 is too much air
    "air_changes_smoke": _more_air_smoke,
    # a notch of 15 %; less than 8 % or 6 ppm is no change
    "co_falls_with_air": _more_air_co,
    # the house loses what its fans take
    "fans_effect": lambda v: "worse" if _worse(v.state, _again(
        v, house_pressure=v.plant.house_pressure - v.plant.fans_suction)) else "none",
    # the room comes to outdoor pressure
    "window_effect": lambda v: "better" if _worse(_again(v, house_pressure=0.0, air_opening_in2=3000.0), v.state)
    else "none",
    # right size, angle and pattern, unworn and clean
    "new_nozzle_effect": _new_nozzle,
    # 0.006 in. w.c. more pull over the fire is seen on the gauge
    "regulator_shut_effect": lambda v: None if not v.plant.regulator_fitted or v.plant.regulator_missing else (

        "rises" if _again(v, regulator_stuck_at=0.0).draft_over_fire < v.state.draft_over_fire - 0.006
        else "little"),
    # its gas is added to the flue
    "other_appliance_effect": _other,
    # the tuning procedure with fan and inlet clean; an eighth of the opening counts
    "air_reset_effect": _reset_air,
    # the same unit with the crack shut stands for the fan at rest
    "blower_effect": _blower,
}
"""Trials on a burning unit."""

STOPPED_TRIALS: dict[str, Rule] = {
    # good oil at pump height, line left out
    "can_effect": _can,
    # cartridge and strainer clean
    "new_filter_effect": lambda v: _trial_oil(v, "cured", "none", filter_plugged=0.0, strainer_plugged=0.0),
}
"""Trials that need only the motor."""
