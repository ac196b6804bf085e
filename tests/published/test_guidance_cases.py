"""Patterns of readings for which guidance names the cause: it must be among the first three.

Drawn from the public-domain guideline EPA-600/2-75-069-a and the other sources of knowledge/sources.yaml,
from memory and in our own words; the rest is common practice. The sign that settles a cause is left out.
"""

from __future__ import annotations

from typing import NamedTuple

import pytest

from tests.trust.as_typed import COMMON, assessed, base

EPA = "epa-600-2-75-069-a, from memory"
NFPA = "nfpa-31, from memory"
FIRST = 3


class Guidance(NamedTuple):
    """Readings, and the causes that the guidance names for them."""

    pattern: str
    typed: str
    named: str
    source: str


GUIDANCE = [
    Guidance("net stack over 600 degF and a large draft drop: dirty flue passages",
            "stack: 700 F, room: 70 F, over fire: -.01, breech: -.08, smoke: 5, co2: 11.5",
            "sooted-gas-passages", EPA),
    Guidance("large draft drop with low CO2 and little smoke: air leaks into the appliance",
            "over fire: -.01, breech: -.07, co2: 6.5, smoke: trace, stack: 420 F, room: 70 F",
            "air-leak-in-appliance", EPA),
    Guidance("smoke that clears with a notch of air, at high CO2: too little air",
            "smoke: 6, co2: 13.6, air_changes_smoke: clears, over fire: -.02, breech: -.04, fan: clean, "
            "inlet: free", "air-shutter-too-closed", EPA),
    Guidance("white spot at low CO2 and tight joints: too much air",
            "smoke: 0, co2: 6.5, joint_leaks: tight, over fire: -.02, breech: -.04, stack: 560 F, "
            "room: 70 F", "air-shutter-too-open", EPA),
    Guidance("smoke that no air setting clears at a good CO2: oil and air do not mix",
            "smoke: 5, co2: 8.5, air_changes_smoke: too-much-air-needed, over fire: -.02, breech: -.04, "
            "pressure: 140 psi, required pressure: 140 psi",
            "dirty-retention-head burnt-or-loose-head head-or-nozzle-misplaced nozzle-plugged nozzle-worn "
            "nozzle-wrong-angle-or-pattern head-wrong-for-rate", EPA),
    Guidance("yellow oily spot: unburned oil from poor atomization or a chilled flame",
            "spot_look: oily-yellow, smoke: 2, co2: 9, flame: sparkling",
            "nozzle-plugged nozzle-worn pump-pressure-low cold-oil flame-impingement", EPA),
    Guidance("strong draft over the fire and at the breech: the regulator does not regulate",
            "over fire: -.06, breech: -.09, chimney draft: -.10, stack: 590 F, room: 70 F, co2: 8.5, "
            "smoke: trace", "draft-regulator-stuck draft-regulator-misset draft-regulator-missing", EPA),
    Guidance("good pull at the breech, none over the fire, smoke: passages choked",
            "over fire: 0, breech: -.06, smoke: 6, co2: 12", "sooted-gas-passages", EPA),
    Guidance("hot stack at good CO2, clean spot and passages, boiler rumbles inside: scaled water side",
            "appliance: boiler, stack: 690 F, room: 70 F, co2: 12, smoke: 0, passages_look: clean, "
            "run_noise: rumble, over fire: -.02, breech: -.04, nozzle: .85, pressure: 100 psi, "
            "plate rate: 0.9 gph", "boiler-water-side-poor", COMMON),
    Guidance("hot stack and a high air rise: the furnace moves too little air",
            "appliance: furnace, air rise: 115 F, stack: 640 F, room: 70 F, co2: 11.8, smoke: trace, "
            "over fire: -.02, breech: -.04, limit_cycling: limit", "furnace-filter-loaded", COMMON),
    Guidance("oil flow well over the plate: over-fired",
            "nozzle: 1.35 gph, pressure: 140 psi, required pressure: 140 psi, plate rate: 1.1 gph, "
            "stack: 740 F, room: 70 F, co2: 12.4, over fire: -.01, breech: -.04",
            "over-fired nozzle-wrong-size", EPA),
    Guidance("oil flow far under the plate and a cool stack: under-fired",
            "nozzle: .5 gph, pressure: 100 psi, plate rate: .85 gph, stack: 300 F, room: 68 F, co2: 9.5, "
            "smoke: 0", "under-fired nozzle-wrong-size", COMMON),
    Guidance("weak draft that an open window restores: the house lacks air",
            "over fire: -.002, breech: -.01, window_effect: better, fans_effect: worse, smoke: 4",
            "house-under-suction combustion-air-opening-small", NFPA),
    Guidance("closed burner room with far too small an opening, smoke that grows as it runs",
            "combustion air: enclosed-room, air_opening: 30 in2, nozzle: .85, pressure: 140 psi, "
            "smoke_over_cycle: growing, smoke: 4, window_effect: better",
            "combustion-air-opening-small house-under-suction", NFPA),
    Guidance("weak draft even with the regulator held shut, gas spills: the flue is in the way",
            "over fire: +.01, breech: -.002, chimney draft: -.004, regulator_shut_effect: little, "
            "spillage: lasting, outdoor: 20 F, smoke: 5, fans_effect: none, window_effect: none",
            "blocked-flue", COMMON),
    Guidance("outside chimney far too wide, draft slow to come, wet flue",
            "chimney_place: outside, chimney_lining: unlined, draft_over_time: slow, chimney draft: -.02, "
            "breech: -.015, spillage: at-start, condensate_signs: yes", "oversized-or-cold-chimney",
            COMMON),
    Guidance("trouble on windy days only, needle swings",
            "wind_effect: yes, smoke: 3, breech: -.01, flame: fluttering", "wind-downdraft", COMMON),
    Guidance("draft falls as the water heater on the same flue fires",
            "flue_sharing: shared, other_appliance_effect: yes, breech: -.012, smoke: 3",
            "shared-flue-interference", COMMON),
    Guidance("bubbles at the bleed, vacuum bleeds away, needle swings: air in the suction line",
            "bubbles: yes, pressure_steady: unsteady, flame: fluttering, lockout_pattern: at-random, "
            "vacuum: 3 in. Hg", "air-in-oil-line", COMMON),
    Guidance("high vacuum with a short lift and low pressure: filter, strainer or line plugged",
            "vacuum: 13 in. Hg, lift: above, piping: one-pipe, pressure: 85 psi, "
            "required pressure: 140 psi, run_noise: whine",
            "filter-or-strainer-plugged oil-line-kinked-or-shut", COMMON),
    Guidance("pressure under the manufacturer's, vacuum good, no air: pump set low or worn",
            "pressure: 90 psi, required pressure: 140 psi, vacuum: 3 in. Hg, bubbles: no, smoke: 5, "
            "co2: 8.5, pressure_steady: steady", "pump-pressure-low pump-worn", COMMON),
    Guidance("pressure creeps down and a puff at the stop: the pump does not cut off",
            "complaint: smoke-at-stop, afterdrip: yes, smoke_over_cycle: at-stop, smoke: trace",
            "weak-cut-off oil-valve-faulty", COMMON),
    Guidance("late thump at the start, oil and pressure right: spark side",
            "start: delayed-puff, ignition_delay: 4 s, pressure: 140 psi, required pressure: 140 psi, "
            "bubbles: no, smoke: trace, co2: 11.5, over fire: -.02",
            "electrodes-worn-or-misset weak-igniter porcelain-cracked igniter-contact-poor", COMMON),
    Guidance("lights well, then locks out; cell of high resistance: it does not see the flame",
            "start: lights-then-trips, sensor ohms: 3000 ohm, flame: steady-bright, lockout: during-run",
            "flame-sensor-dirty flame-sensor-misaimed flame-sensor-failed", COMMON),
    Guidance("outdoor tank, cold mornings, late light and smoke: thick oil",
            "tank: outdoor, outdoor: 5 F, oil temp: 20 F, lockout: cold-mornings, start: delayed-puff, "
            "smoke: 3", "cold-oil", COMMON),
    Guidance("water found in the tank, cloudy sample, sputtering flame",
            "water_in_tank: 3 in, oil_look: cloudy, flame: fluttering, lockout: at-random", "water-in-oil",
            COMMON),
    Guidance("cool return water and a wet, rusting boiler",
            "appliance: boiler, return: 95 F, stack: 320 F, room: 65 F, condensate_signs: yes, "
            "complaint: water-at-flue", "low-return-temperature", COMMON),
    Guidance("burner stops on its limit while the call goes on",
            "complaint: short-cycling, cycles: 12, limit_cycling: limit",
            "limit-short-cycling furnace-filter-loaded boiler-water-side-poor over-fired", COMMON),
    Guidance("motor labors, lights dim, low volts at the burner",
            "voltage: 98 V, motor: slow, start: delayed-puff", "supply-voltage-low", COMMON),
    Guidance("shutter wide open and still short of air: fan or inlet fouled",
            "air_shutter: wide-open, smoke: 6, co2: 13.2, over fire: -.02, breech: -.04, motor: normal",
            "fan-wheel-dirty air-inlet-blocked fan-wheel-or-coupling-slipping motor-speed-wrong", COMMON),
    Guidance("CO and a little smoke with the flame on the wall",
            "co: 260 ppm, smoke: 2, co2: 10.5, flame_touches: yes",
            "flame-impingement nozzle-wrong-angle-or-pattern chamber-damaged head-or-nozzle-misplaced "
            "air-tube-depth-wrong", COMMON),
    Guidance("set in autumn, in the cold the ducted air makes the flame lean and CO2 low",
            "combustion air: ducted-outdoor, outdoor: 0 F, room: 5 F, co2: 7.5, smoke: 0, "
            "joint_leaks: tight, over fire: -.02, breech: -.04", "cold-duct-air air-shutter-too-open",
            COMMON),
    Guidance("no call at the control, motor stands",
            "complaint: no-heat, start: nothing, control_call: no, voltage: 120 V",
            "thermostat-set-down thermostat-batteries-dead thermostat-failed operating-control-open", COMMON),
    Guidance("motor and spark run, no oil at the bleed, no vacuum leak",
            "complaint: no-heat, start: spray-no-flame, oil_at_bleed_port: none, lockout: at-start",
            "tank-empty-or-valve-shut oil-line-kinked-or-shut pump-worn filter-or-strainer-plugged "
            "fan-wheel-or-coupling-slipping", COMMON),
]


@pytest.mark.parametrize("row", GUIDANCE, ids=lambda row: row.pattern)
def test_the_named_cause_is_among_the_first_three(row: Guidance) -> None:
    leading = [one.name for one in assessed(row.typed).causes[:FIRST]]
    assert set(row.named.split()) & set(leading), leading


def test_the_guidance_is_broad() -> None:
    assert len(GUIDANCE) >= 25
    assert {name for row in GUIDANCE for name in row.named.split()} <= set(base().causes)
    assert len({base().causes[name].subject for row in GUIDANCE for name in row.named.split()}) >= 7
