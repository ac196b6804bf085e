"""Flue: resistance of the passages, connector, draft regulator, chimney or venter.

References
----------
.. [1] Theoretical draft 0.2554 B H (1/To - 1/Tm): ASHRAE Handbook, HVAC Systems and Equipment, chapter on
   chimneys (constant from memory; tests compare it with advisor.physics.draft).
.. [2] Velocity-head method for fittings, entrance and exit: same chapter, sizes from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from advisor.plant.air import orifice, velocity_heads
from advisor.plant.burner import Plant
from advisor.plant.exchanger import closing

_PIPE_IN2 = 28.3  # 6 in. round
_GATE_IN2 = 22.0  # regulator wide open
_GATE_BAND = 0.03  # in. w.c. from starting to open to wide open
_GATE_GAP_IN2 = 1.2  # round a shut gate


@dataclass(frozen=True)
class Vent:
    """What the flue gives at one gas flow."""

    draft: float  # in. w.c. against the room that the flue sustains at the regulator, suction negative
    regulator_lb_h: float  # room air in, negative: gas out into the room
    connector_leak_lb_h: float
    chimney_degf: float  # mean gas temperature
    top_degf: float  # gas at the top
    total_lb_h: float
    theoretical: float  # in. w.c., positive


def passage_drop(p: Plant, gas_lb_h: float, degf: float) -> float:
    """Pressure taken by the passages, in. w.c.: with flow squared, temperature, and the cube of the gap left."""
    density = (degf + 459.67) / (900.0 + 459.67)
    return p.passage_drop * (gas_lb_h / p.gas_flow_ref) ** 2 * density / (1.0 - closing(p)) ** 3


def connector_drop(p: Plant, gas_lb_h: float, degf: float) -> float:
    """Pressure taken from the breech to the regulator, in. w.c."""
    return velocity_heads(0.35 * p.connector_k, gas_lb_h, degf, _PIPE_IN2 * (1.0 - 0.7 * p.connector_sooted))


def gate_area(p: Plant, draft: float) -> float:
    """Open area of the draft regulator at a draft (negative: suction), in2."""
    if p.regulator_missing or not p.regulator_fitted:
        return 0.0
    if p.regulator_stuck_at is not None:
        return _GATE_GAP_IN2 + _GATE_IN2 * p.regulator_stuck_at
    opens = (-draft - p.regulator_set - p.regulator_off) / _GATE_BAND
    return _GATE_GAP_IN2 + _GATE_IN2 * min(1.0, max(0.0, opens))


def chimney(p: Plant, gas_lb_h: float, gas_degf: float, draft: float, room: float) -> Vent:
    """Draft that the flue can sustain when it stands at ``draft`` at the regulator.

    Parameters
    ----------
    p : Plant
    gas_lb_h, gas_degf : float
        Flue gas arriving at the regulator.
    draft : float
        Supposed pressure there against the room, in. w.c.
    room : float
        Pressure of the room against outdoors, in. w.c.

    Returns
    -------
    Vent
        Its ``draft`` equals the supposed one at the solution.
    """
    regulator = orifice(gate_area(p, draft), -draft, p.room_degf if draft < 0 else gas_degf)
    # Behind the regulator a draft hole, the thimble and broken joints let air in (or gas out).
    thimble = orifice(p.connector_holes_in2 + p.thimble_leak_in2, -draft, p.room_degf)
    joints = orifice(p.chimney_leak_in2, 0.5 * max(0.0, -draft), p.outdoor_degf)
    arriving = max(1.0, gas_lb_h + min(0.0, regulator) + min(0.0, thimble))
    extra = max(0.0, regulator) + max(0.0, thimble)
    shared = p.other_appliance_lb_h
    total = arriving + extra + joints + shared
    entering = (arriving * gas_degf + extra * p.room_degf + joints * p.outdoor_degf + shared * 300.0) / total
    perimeter = 4.0 * math.sqrt(p.chimney_area_in2) / 12.0
    around = p.outdoor_degf if p.chimney_place != "inside" else p.chimney_surround_degf
    length = p.chimney_height_ft + (8.0 + 18.0 * p.connector_long)
    loss = p.chimney_u * perimeter * length / (0.25 * total)
    decay = math.exp(-loss)
    mean = around + (entering - around) * (1.0 - decay) / loss
    top = around + (entering - around) * decay
    theory = 0.2554 * 29.92 * p.chimney_height_ft * (1.0 / (p.outdoor_degf + 459.67) - 1.0 / (mean + 459.67))
    free = p.chimney_area_in2 * (1.0 - 0.97 * p.chimney_blocked) * (1.0 - 0.55 * p.thimble_too_deep)
    taken = velocity_heads(2.5 + 0.12 * p.chimney_height_ft, total, mean, free)
    taken += velocity_heads(0.65 * p.connector_k * (1.0 + 4.0 * p.connector_long), arriving + extra, entering,
                            _PIPE_IN2 * (1.0 - 0.7 * p.connector_sooted))
    fan = p.vent_fan * (1.0 - p.vent_fan_weak)
    sustained = -theory + taken + p.wind_pressure - room - fan
    return Vent(sustained, regulator, thimble, mean, top, total, theory)
