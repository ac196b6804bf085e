"""What can hurt people is recognized, named, and shown before all else, whatever stands beside it.

The table was written from the trade, before the hazard rules were read. Untagged rows are common practice.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from advisor.cli import HAZARD, main
from advisor.pages import screen
from advisor.pages.instructions import emergency_lines
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import Entry
from tests.trust.as_typed import COMMON, assessed, base, case_of

NAAQS = "us-naaqs-co"
NIOSH = "niosh-pocket-guide"

UNIT = "appliance: boiler, burner: retention-head, draft type: natural"
HARMLESS = ("age: 12 years, last service: 0.5 years, stack: 480 F, room: 68 F, co2: 11.8, smoke: trace, "
            "pressure: 140 psi, filter: clean, electrodes: right, gasket_look: sound")
"""Ten entries of a unit in good order."""


class Dangerous(NamedTuple):
    """A case with a hazard that must be named. `beside`: harmless entries that must not hide it."""

    going_on: str
    hazard: str
    typed: str
    beside: str = ""
    source: str = COMMON


DANGEROUS = [
    # --- people and carbon monoxide ---
    Dangerous("headaches that pass outdoors",
            "people-unwell", "symptoms: yes"),
    Dangerous("people unwell, room reads zero after airing",
            "people-unwell", "symptoms: yes, room co: 0 ppm", HARMLESS),
    Dangerous("people unwell, alarm silent, nothing else checked",
            "people-unwell", "people: yes, alarm: no, room co: could not check, spillage: could not check"),
    Dangerous("50 ppm in the room",
            "carbon-monoxide-in-the-room", "room co: 50 ppm", source=NAAQS),
    Dangerous("800 ppm in the room",
            "carbon-monoxide-high", "ambient co: 800 ppm", HARMLESS, NIOSH),
    Dangerous("room reading typed in per cent",
            "carbon-monoxide-high", "room co: 0.03 %", HARMLESS, NIOSH),
    Dangerous("36 ppm, a hair over the one-hour standard",
            "carbon-monoxide-in-the-room", "room co: 36 ppm, alarm: no", HARMLESS),
    Dangerous("34 ppm, nearer to the limit than the meter can tell",
            "carbon-monoxide-in-the-room", "room co: 34 ppm"),
    Dangerous("room reading by an analyzer with an offset",
            "carbon-monoxide-in-the-room", "room co: 60 ppm, fresh air co: 15 ppm", HARMLESS),
    Dangerous("room reading by a cold analyzer, everybody well",
            "carbon-monoxide-high", "room co: 90 ppm, analyzer_warm: no, symptoms: no, alarm: no"),
    Dangerous("alarm sounds now",
            "carbon-monoxide-alarm", "co_alarm: sounding", source="ul-2034, from memory"),
    Dangerous("alarm sounded in the night, room clean by now",
            "alarm-has-sounded", "alarm: sounded, room co: 0 ppm", HARMLESS),
    Dangerous("called for an alarm that the customer has taken down",
            "alarm-has-sounded", "complaint: co-alarm, alarm: could not check", HARMLESS),
    Dangerous("boiler runs on past its limit",
            "runaway-boiler", "appliance: boiler, boiler_over: yes"),
    Dangerous("relief valve blows and the gauge is past its setting",
            "runaway-boiler", "appliance: boiler, relief_valve: over-limit"),
    Dangerous("water line in the glass does not move",
            "water-level-unknown", "appliance: boiler, heat_medium: steam, gauge_glass: does-not-move"),
    Dangerous("glass stays empty after it was blown down",
            "water-level-unknown", "appliance: boiler, heat_medium: steam, glass_blowdown: does-not-return"),
    Dangerous("tap water scalds",
            "scalding-water", "tap_water: scalding"),
    Dangerous("146 degF at the tap",
            "scalding-water", "appliance: boiler, tap_temperature: 146 F"),
    Dangerous("crawl-space air to the burner of a mobile home",
            "mobile-home-vent-fault", "mobile home: yes, mobile_air: from-inside"),
    Dangerous("plain pipe through the roof of a mobile home",
            "mobile-home-vent-fault", "mobile home: yes, mobile_stack: wrong"),
    # --- fire ---
    Dangerous("gasoline delivered by mistake",
            "lighter-fuel", "gas_or_gasoline: yes"),
    Dangerous("smell of gasoline, sample looks clear",
            "lighter-fuel", "gasoline smell: yes, oil_look: clear, fuel: no-2-oil", HARMLESS),
    Dangerous("flame at the burner door",
            "flame-rollout", "flame_rollout: yes"),
    Dangerous("scorched inlet, drafts read well now",
            "flame-rollout", "rollout: yes, over fire: -.02, breech: -.04", HARMLESS),
    Dangerous("fire burns on with the switch off",
            "after-fire", "afterfire: yes"),
    Dangerous("fire burns on, cut-off said to hold",
            "after-fire", "afterfire: yes, cutoff: holds, afterdrip: no", HARMLESS),
    Dangerous("oil stands in the chamber",
            "flooded-chamber", "oil_in_chamber: pool"),
    Dangerous("oil stands in the chamber, yet it lights well",
            "flooded-chamber", "flooded chamber: pool, start: clean", HARMLESS),
    Dangerous("reset pressed again and again, oil sprayed, nobody looked in",
            "resets-unproven", "resets: many, start: spray-no-flame, oil_in_chamber: could not check",
            HARMLESS),
    Dangerous("soaked lining after many resets",
            "flooded-chamber", "resets: many, oil_in_chamber: damp"),
    Dangerous("door blown open",
            "puffback", "puffback: violent"),
    Dangerous("pipe moved last week, runs well today",
            "puffback", "puffback: violent, start: clean, smoke: 0", HARMLESS),
    Dangerous("lights late with a thump",
            "delayed-ignition", "start: delayed-puff"),
    Dangerous("five seconds of spray before the flame",
            "delayed-ignition", "ignition_delay: 5 s", HARMLESS),
    Dangerous("delay typed in minutes",
            "delayed-ignition", "delay: 0.1 min", HARMLESS),
    Dangerous("3.8 s by a wrist watch: it cannot tell that from four",
            "delayed-ignition", "ignition_delay: 3.8 s"),
    Dangerous("called for bangs, one good start seen",
            "delayed-ignition", "complaint: bang-at-start, ignition_delay: could not check", HARMLESS),
    Dangerous("metal glows",
            "overheating", "heat_damage: glowing"),
    Dangerous("joist over the pipe brown",
            "overheating", "scorching: scorched, smoke: 0", HARMLESS),
    Dangerous("stack of 900 degF",
            "overheating", "stack: 900 F, room: 70 F"),
    Dangerous("stack of 470 degC",
            "overheating", "stack: 470 C, co2: 12, thermometer_check: off"),
    Dangerous("797 degF: the thermometer cannot tell it from 800",
            "overheating", "stack: 797 F, smoke: 1"),
    # --- flue gas ---
    Dangerous("600 ppm in the flue",
            "very-high-flue-co", "co: 600 ppm"),
    Dangerous("CO typed in per cent",
            "very-high-flue-co", "co: 0.06 %", HARMLESS),
    Dangerous("CO hidden by dilution: 250 ppm at 13 % O2",
            "very-high-flue-co", "co: 250 ppm, o2: 13"),
    Dangerous("395 ppm: within what the cell can tell of 400",
            "very-high-flue-co", "co: 395 ppm, o2: 5", HARMLESS),
    Dangerous("CO by a cold analyzer with a leaking hose",
            "very-high-flue-co", "co: 900 ppm, o2: 6, analyzer_warm: no, hose: leaking"),
    Dangerous("CO and a white spot contradict each other",
            "very-high-flue-co", "co: 1500 ppm, smoke: 0, spot_look: clean, o2: 5"),
    Dangerous("gas blows out at the regulator",
            "flue-gas-spillage", "spillage: lasting"),
    Dangerous("spillage beside drafts that look good",
            "flue-gas-spillage", "spillage: lasting, over fire: -.02, breech: -.05", HARMLESS),
    Dangerous("spillage test not done, soot at the regulator and fumes in the room",
            "flue-gas-spillage", "spillage: could not check, soot_place: at-regulator, smell: fumes",
            HARMLESS),
    Dangerous("pressure at the breech",
            "no-draft", f"{UNIT}, breech: +.02"),
    Dangerous("pressure at the breech in pascal",
            "no-draft", f"{UNIT}, breech: +3 Pa, over fire: +5 Pa"),
    Dangerous("breech just at gauge_zero: no gauge can tell",
            "no-draft", f"{UNIT}, breech: -.001", HARMLESS),
    Dangerous("pressure at the breech by a gauge that was not zeroed",
            "no-draft", f"{UNIT}, breech: +.03, gauge_zero: no"),
    Dangerous("pull at the fire, pressure at the breech: they contradict, still stop",
            "no-draft", f"{UNIT}, breech: +.02, over fire: -.02", HARMLESS),
    Dangerous("chimney blows back",
            "no-draft", f"{UNIT}, chimney draft: +.02"),
    Dangerous("draft never comes up",
            "no-draft", f"{UNIT}, draft_over_time: never", HARMLESS),
    Dangerous("nest in the chimney",
            "blocked-flue", "chimney_look: obstructed"),
    Dangerous("tile in the flue, draft still reads",
            "blocked-flue", f"{UNIT}, chimney_look: obstructed, breech: -.04", HARMLESS),
    Dangerous("passages shut with soot",
            "blocked-flue", "passages_look: blocked, stack: 650 F"),
    Dangerous("pressure over the fire, good pull at the breech",
            "blocked-flue", f"{UNIT}, over fire: +.03, breech: -.07"),
    Dangerous("flue pipe fallen off",
            "vent-open", "vent_disconnected: yes"),
    Dangerous("flue pipe apart, drafts read before it fell",
            "vent-open", "vent_disconnected: yes, breech: -.04, over fire: -.02", HARMLESS),
    Dangerous("holes rusted in the pipe",
            "vent-open", "connector_look: perforated", HARMLESS),
    Dangerous("crack seen",
            "cracked-heat-exchanger", "appliance: furnace, exchanger_look: cracked",
            "stack: 480 F, smoke: 0, co2: 11.5"),
    Dangerous("rust line, and the flame moves as the fan starts",
            "cracked-heat-exchanger", "appliance: furnace, exchanger_look: suspect, blower_effect: yes"),
    Dangerous("rust line alone",
            "cracked-heat-exchanger", "appliance: furnace, exchanger_look: suspect", HARMLESS),
    Dangerous("tiles of the liner broken, draft still reads",
            "vent-open", f"{UNIT}, chimney_look: damaged, breech: -.04", HARMLESS),
    Dangerous("chamber blows out at a drop that is only high",
            "blocked-flue", f"{UNIT}, over fire: +.03, breech: -.05"),
    Dangerous("sealed unit, smoke pencil blown away at the door",
            "sealed-vent-fault", "draft type: sealed, joint_leaks: door", HARMLESS),
    Dangerous("lining damp, nobody pressed the reset",
            "flooded-chamber", "oil_in_chamber: damp, resets_pressed: none", HARMLESS),
    Dangerous("a little in the room and dirty gas",
            "room-co-raised", "room co: 20 ppm, co: 250 ppm"),
    Dangerous("a little in the room, soot at the regulator",
            "room-co-raised", "room co: 20 ppm, soot_place: at-regulator"),
    Dangerous("many resets, no light in the trial",
            "resets-unproven", "resets_pressed: many, ignition_delay: 90 s"),
    Dangerous("soot on the curtains",
            "smoke-in-living-space", "room_smoke: yes"),
    Dangerous("smoke in the rooms, spot white now",
            "smoke-in-living-space", "room_smoke: yes, smoke: 0, spillage: none", HARMLESS),
    # --- water, safety devices, oil ---
    Dangerous("relief valve plugged",
            "boiler-overpressure", "appliance: boiler, relief_valve: missing"),
    Dangerous("relief valve blows",
            "boiler-overpressure", "appliance: boiler, relief_valve: discharging", HARMLESS),
    Dangerous("glass low",
            "low-water", "appliance: boiler, water_low: low", HARMLESS),
    Dangerous("fired dry",
            "dry-fired-boiler", "appliance: boiler, water_low: dry"),
    Dangerous("limit bridged",
            "safety-device-defeated", "safety_bypassed: yes"),
    Dangerous("jumper on the control, everything else in order",
            "safety-device-defeated", "jumper: yes, control_output: yes", HARMLESS),
    Dangerous("oil drips",
            "oil-leak", "oil_leak: dripping"),
    Dangerous("oil on the floor, line looks sound, vacuum holds",
            "oil-leak", "leak: dripping, oil_line: sound, vacuum_hold: holds", HARMLESS),
    Dangerous("paint cans by the burner",
            "vapors-near", "combustibles_near: vapors"),
    Dangerous("gasoline for the mower in the burner room of a clean unit",
            "vapors-near", "combustibles_near: vapors, heat_damage: none", HARMLESS),
    Dangerous("firewood stacked against the pipe",
            "combustibles-near", "combustibles_near: yes"),
    Dangerous("papers on the pipe of a clean unit",
            "combustibles-near", "combustibles_near: yes, heat_damage: none", HARMLESS),
    # --- of each kind from two sides ---
    Dangerous("90 ppm in the room",
            "carbon-monoxide-high", "room co: 90 ppm"),
    Dangerous("some CO over outdoors",
            "room-co-raised", "room co: 14 ppm, outdoor co: 2 ppm"),
    Dangerous("flue burns, unit reads well",
            "chimney-fire", "chimney_fire: burning", HARMLESS),
    Dangerous("sparks out of the chimney",
            "chimney-fire", "chimney_fire: burning"),
    Dangerous("insulation smolders",
            "fire-in-the-house", "flame_rollout: burning"),
    Dangerous("joist burns, unit reads well",
            "fire-in-the-house", "rollout: burning", HARMLESS),
    Dangerous("flame at the inlet",
            "flame-at-the-air-inlet", "rollout: at-inlet"),
    Dangerous("flame at the inlet, drafts good",
            "flame-at-the-air-inlet", "rollout: at-inlet, over fire: -.02", HARMLESS),
    Dangerous("hole in the jacket",
            "burnt-through-casing", "heat_damage: burnt-through"),
    Dangerous("chamber burnt through, fire clean",
            "burnt-through-casing", "scorching: burnt-through", HARMLESS),
    Dangerous("fumes in the bedroom",
            "fumes-in-living-rooms", "room_smoke: fumes"),
    Dangerous("fumes upstairs, no meter",
            "fumes-in-living-rooms", "room_smoke: fumes, room co: could not check", HARMLESS),
    Dangerous("alarm last night",
            "alarm-has-sounded", "co_alarm: sounded"),
    Dangerous("alarm going off, room clean",
            "carbon-monoxide-alarm", "co_alarm: sounding, room co: 0 ppm", HARMLESS),
    Dangerous("pressure over the fire",
            "pressure-over-the-fire", "draft type: natural, over fire: +.02"),
    Dangerous("pressure over the fire of a venter",
            "pressure-over-the-fire", "draft type: power-vented, over fire: +.03"),
    Dangerous("intake under snow",
            "sealed-vent-fault", "draft type: sealed, vent_terminal: snow"),
    Dangerous("register shows 20",
            "co-at-register", "appliance: furnace, register co: 20 ppm"),
    Dangerous("register shows 40, furnace clean",
            "co-at-register", "appliance: furnace, register co: 40 ppm, smoke: 0"),
    Dangerous("lagging torn",
            "old-lagging", "lagging: torn"),
    Dangerous("lagging in the way",
            "old-lagging", "lagging: in-the-way", HARMLESS),
    Dangerous("gas smelled",
            "gas-smell", "vapor_smell: fuel-gas"),
    Dangerous("gas smelled, unit clean",
            "gas-smell", "vapor_smell: fuel-gas", HARMLESS),
    Dangerous("cellar under water",
            "flooded-house", "cellar_water: over-parts"),
    Dangerous("was under water last week, runs",
            "flooded-house", "cellar_water: over-parts", HARMLESS),
    Dangerous("bare lead",
            "live-part", "wiring_state: bare"),
    Dangerous("cover off",
            "live-part", "wiring_state: covers-off", HARMLESS),
    Dangerous("no ground",
            "supply-fault", "supply_state: no-ground"),
    Dangerous("lights swing",
            "supply-fault", "supply_state: open-neutral", HARMLESS),
    Dangerous("runs without a call",
            "cannot-be-stopped", "stops_on_call: not-by-thermostat"),
    Dangerous("limit does not stop it",
            "cannot-be-stopped", "stops_on_call: not-by-limit", HARMLESS),
    Dangerous("lockout late",
            "no-lockout", "lockout_time: late"),
    Dangerous("never locks out",
            "no-lockout", "lockout_time: never", HARMLESS),
    Dangerous("relief weeps",
            "relief-valve-weeps", "appliance: boiler, relief_valve: weeps"),
    Dangerous("relief weeps, burner clean",
            "relief-valve-weeps", "appliance: boiler, relief_valve: weeps", HARMLESS),
    Dangerous("relief valve piped uphill and reduced",
            "boiler-overpressure", "appliance: boiler, relief_valve: piped-wrong", HARMLESS),
    Dangerous("glass low, cutoff trips each night",
            "low-water", "appliance: boiler, water_low: low"),
    Dangerous("dry and hot, burner clean",
            "dry-fired-boiler", "appliance: boiler, water_low: dry", HARMLESS),
    Dangerous("float stuck",
            "cutoff-does-not-stop", "appliance: boiler, low_water_cutoff: does-not-stop"),
    Dangerous("cutoff bridged",
            "cutoff-does-not-stop", "appliance: boiler, low_water_cutoff: bridged", HARMLESS),
    Dangerous("water in the fire",
            "water-in-the-chamber", "appliance: boiler, chamber_water: leaking"),
    Dangerous("water in the fire, lights well",
            "water-in-the-chamber", "appliance: boiler, chamber_water: leaking, start: clean", HARMLESS),
    Dangerous("seam weeps",
            "tank-leak", "tank_look: weeping"),
    Dangerous("oil in the sump",
            "tank-leak", "tank_look: losing", HARMLESS),
    Dangerous("fitting wet",
            "oil-leak", "oil_leak: seep", HARMLESS),
    Dangerous("small puffs with soot each week",
            "puffback", "puffback: repeated", HARMLESS),
    Dangerous("spills for a minute at each start",
            "flue-gas-spillage", "spillage: at-start", HARMLESS),
    Dangerous("spills only with the dryer on",
            "flue-gas-spillage", "spillage: with-fans", HARMLESS),
    Dangerous("feels better at work",
            "people-unwell", "symptoms: better-outdoors", HARMLESS),
    Dangerous("solvent smelled at the burner",
            "vapors-near", "vapor_smell: solvent", HARMLESS),
    Dangerous("oil fog on the hot fire door", "oil-spill", "oil_leak: spill, scorching: scorched"),
    Dangerous("cellar carpet soaked from the old fill pipe", "oil-spill", "oil_leak: spill", HARMLESS),
    Dangerous("white fog from the peephole", "hot-oil-vapor", "oil_in_chamber: hot-vapor"),
    Dangerous("oil on a red lining, drafts good", "hot-oil-vapor", "oil_in_chamber: hot-vapor, breech: -.04", HARMLESS),
    # --- several at once: none hides another ---
    Dangerous("breaker trips again as soon as it is closed",
              "breaker-opens-again", "complaint: no-heat, start: nothing, breaker: keeps tripping"),
    Dangerous("third fuse this week, and nothing to smell",
              "breaker-opens-again", "fuse: keeps blowing, wiring_look: sound", HARMLESS),
    Dangerous("button of the spill switch was out, fire reads well",
              "vent-switch-tripped", "vent_switch: tripped, spillage: none", HARMLESS),
    Dangerous("no heat, blocked-vent switch open",
              "vent-switch-tripped", "complaint: no-heat, start: nothing, blocked vent switch: popped"),
    Dangerous("the cutoff holds a hot-water boiler off, and its gauge stands at zero",
              "low-water", "appliance: boiler, heat medium: water, hot_water_cutoff: open-low"),
    Dangerous("oil leak beside CO in the room",
            "oil-leak", "room co: 120 ppm, oil_leak: dripping, puffback: violent", HARMLESS),
    Dangerous("the least of all beside the greatest",
            "combustibles-near", "symptoms: yes, combustibles_near: yes, alarm: sounding"),
]


def _typed(row: Dangerous) -> str:
    """The row with the harmless entries that it does not name itself."""
    own = case_of(row.typed).latest
    beside = [part for part in row.beside.split(", ") if part and next(iter(case_of(part).latest)) not in own]
    return ", ".join([*beside, row.typed])


def _first_lines(assessment: Assessment) -> str:
    """What stands before the first blank line of the screen, as one line of words."""
    lines = screen.whole(base(), assessment)
    return " ".join(" ".join(lines[:lines.index("")]).split())


@pytest.mark.parametrize("row", DANGEROUS, ids=lambda row: row.going_on)
def test_the_hazard_is_recognized_and_shown_first(row: Dangerous) -> None:
    assessment = assessed(_typed(row))
    assert row.hazard in [found.name for found in assessment.hazards]
    if assessment.gate.emergency:
        assert screen.whole(base(), assessment) == emergency_lines(base(), assessment.gate)
        return
    shown = _first_lines(assessment)
    assert shown.startswith("HAZARD")
    first = base().hazards[assessment.hazards[0].name].title
    assert shown.index(f"! {first}") <= shown.index(f"! {base().hazards[row.hazard].title}")


def test_every_hazard_is_met_from_several_sides() -> None:
    assert len(DANGEROUS) >= 46
    for hazard in base().hazards:
        assert sum(row.hazard == hazard for row in DANGEROUS) >= 2, hazard


@pytest.mark.parametrize("row", DANGEROUS[::12], ids=lambda row: row.going_on)
def test_diagnose_ends_with_the_status_of_a_hazard(
    row: Dangerous, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "case.yaml"
    file.write_text(f"entries: {{{_typed(row)}}}\n", encoding="utf-8")
    assert main(["diagnose", str(file)]) == HAZARD
    assert capsys.readouterr().out.startswith(("HAZARD", "! "))


# What says which unit it is fixes the limits of its readings; the rows carry it where it matters.
_FIXED = frozenset(("appliance", "burner_type", "burner_fit", "draft_kind"))


@st.composite
def _further(draw: st.DrawFn) -> tuple[Entry, ...]:
    """Any entries of any other names: sound, faulty, absurd, or not checked."""
    out = []
    knowledge = base()
    names = sorted(name for name in (*knowledge.quantities, *knowledge.observations) if name not in _FIXED)
    for name in draw(st.lists(st.sampled_from(names), max_size=12, unique=True)):
        if name in knowledge.observations:
            out.append(Entry(name, "", draw(st.sampled_from(sorted(knowledge.observations[name].answers)))))
        elif not knowledge.quantities[name].derived:
            low, high = knowledge.quantities[name].plausible
            out.append(Entry(name, "", draw(st.none() | st.floats(low, high))))
    return tuple(out)


@settings(max_examples=37, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from(DANGEROUS), _further())
def test_no_further_entries_hide_a_hazard(row: Dangerous, further: tuple[Entry, ...]) -> None:
    case = case_of(row.typed)
    asked = {name for rule in base().rules.values() if rule.hazard == row.hazard for name in rule.when}
    limits = [limit for limit in base().limits.values() if limit.of in asked]
    asked |= {name for limit in limits for case in limit.cases for name in case.when}
    # what its own rules ask for may tell that it is none: a unit built to fire under pressure
    case = case.having(*(entry for entry in further if entry.name not in case.latest and entry.name not in asked))
    assert row.hazard in [found.name for found in assess(case, base(), look_ahead=False).hazards]
