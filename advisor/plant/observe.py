"""The observer: looks up the rule for a question and errs now and then, as careful people do."""

from __future__ import annotations

import random
from functools import lru_cache

from advisor.plant.behavior import ALWAYS, RUNNING, complaint
from advisor.plant.burner import Plant, PlantError
from advisor.plant.ignition import cycle
from advisor.plant.instruments import SOUND, Kit, Scene
from advisor.plant.looks import EQUIPMENT, PARTS, TESTING
from advisor.plant.steady import State
from advisor.plant.trials import RUNNING_TRIALS, STOPPED_TRIALS

HUMAN_ERROR = 0.02
"""Share of answers about condition and behavior that are wrong (our estimate for careful work)."""

_ANSWERS: dict[str, tuple[str, ...]] = {}


def _answers(name: str, words: str) -> None:
    _ANSWERS[name] = tuple(words.split())


for _name, _words in {
    "spot_look": "clean dry-gray oily-yellow brown",
    "flame_look": "steady-bright dark-smoky lopsided white-short fluttering sparkling",
    "fan_wheel": "clean dirty loose", "air_inlet": "free blocked", "air_shutter": "as-tagged moved wide-open",
    "coupling": "sound slipping", "motor_start": "normal slow not", "head_look": "clean carboned burnt loose",
    "head_position": "right wrong", "tube_insertion": "right wrong",
    "nozzle_match": "right wrong-size wrong-angle-or-pattern",
    "chamber_look": "sound cracked oil-soaked carboned", "chamber_fit": "fits too-small no-target",
    "smoke_over_cycle": "never at-start throughout growing at-stop",
    "air_changes_smoke": "clears stays worse too-much-air-needed", "co_falls_with_air": "falls rises stays",
    "fans_effect": "none worse", "window_effect": "none better", "nozzle_look": "clean carboned plugged worn",
    "vacuum_against_lift": "in-order explained beyond below",
    "cutoff_hold": "holds falls-slowly falls-to-zero", "pressure_steady": "steady unsteady",
    "oil_filter": "clean dirty missing", "pump_strainer": "clean dirty", "oil_look": "clear cloudy dirty waxy",
    "vacuum_hold": "holds falls", "pump_dead_end_vacuum": "full weak",
    "oil_lines_seen": "sound kinked compression-fittings wet", "new_nozzle_effect": "cured better none",
    "start_behavior": "clean delayed-puff spray-no-flame lights-then-trips nothing",
    "electrodes": "right worn misplaced", "porcelain": "sound cracked tracked",
    "spark_strength": "strong weak none", "transformer_springs": "clean poor",
    "sensor_look": "clean dirty misaimed",
    "lockout_pattern": "never at-start during-run at-random cold-mornings", "resets_pressed": "none once many",
    "control_call": "yes no comes-and-goes", "control_output": "yes no drops-out",
    "limit_cycling": "thermostat limit safety",
    "thermostat_circuit": "closes at-wall at-control", "thermostat_check": "no-change stops",
    "wiring_look": "sound loose", "passages_look": "clean sooted scaled blocked",
    "joint_leaks": "tight door sections connector", "gasket_look": "sound broken",
    "exchanger_look": "sound suspect cracked", "water_side": "good kettling low-flow leaking fitting-leaks",
    "air_filter": "clean loaded", "regulator_state": "works misset stuck missing",
    "connector_look": "sound long-or-flat sooted perforated",
    "chimney_look": "clear obstructed damaged oversized", "thimble": "tight leaking too-deep",
    "draft_over_time": "at-once slow never back", "regulator_shut_effect": "rises little",
    "soot_place": "none passages room at-regulator at-burner outside",
    "soot_kind": "none dry-fluffy oily-wet hard-carbon", "run_noise": "normal rumble squeal whine",
    "smell_kind": "none raw-oil fumes hot-metal",
    "heat_switch": "works faulty", "fuel_sample": "alike off", "motor_uncoupled": "runs motor-fails pump-stiff",
    "oil_at_bleed_port": "full little none", "can_effect": "cured no-change", "new_filter_effect": "cured none",
    "pressure_adjusts": "right comes-up comes-down will-not-reach stays-high wanders",
    "motor_speed_match": "right slow", "air_reset_effect": "unchanged opened closed no-setting-good",
    **dict.fromkeys(("flame_touches", "flame_lifts", "head_matches", "afterdrip", "air_in_oil", "blower_effect",
                     "condensate_signs", "wind_effect", "other_appliance_effect"), "yes no"),
}.items():
    _answers(_name, _words)

_BURNING = {**RUNNING, **RUNNING_TRIALS}
_RULES = {**EQUIPMENT, **TESTING, **PARTS, **ALWAYS, **STOPPED_TRIALS, **_BURNING, "complaint": complaint}
OBSERVED = tuple(_RULES)
"""Names of the observations that can be asked."""


def observe(state: State, plant: Plant, name: str, rng: random.Random, kit: Kit = SOUND) -> str | None:
    """One answer of a careful person.

    Parameters
    ----------
    state : State
        Steady state of the plant.
    plant : Plant
    name : str
        One of :data:`OBSERVED`.
    rng : random.Random
    kit : Kit, optional

    Returns
    -------
    str or None
        None where it cannot be seen: no flame, or no such part.

    Raises
    ------
    PlantError
        Unknown observation.
    """
    return see(Scene(plant, state, cycle(plant, state), kit), name, rng)


def see(scene: Scene, name: str, rng: random.Random) -> str | None:
    """As :func:`observe`, from a scene at hand."""
    slip, which = rng.random(), rng.random()
    truth = true_answer(scene, name)
    others = [a for a in _ANSWERS.get(name, ()) if a != truth]
    if truth is None or slip >= HUMAN_ERROR or not others:
        return truth
    return others[int(which * len(others))]


@lru_cache(maxsize=4096)
def true_answer(scene: Scene, name: str) -> str | None:
    """The answer without human error."""
    if name not in _RULES:
        raise PlantError(f"{name!r} cannot be observed; the observations are {', '.join(OBSERVED)}")
    if name in _BURNING and not scene.runs:
        return None
    return _RULES[name](scene)
