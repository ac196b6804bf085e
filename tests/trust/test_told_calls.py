"""Calls told once the look round is done: the cause is among the first, the check of a master is proposed, and what it
shows settles the call. The rows stand in `told_calls.yaml`.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import Case, Entry
from advisor.reasoning.entries import read_entry
from tests.trust.as_typed import base, case_of

ROWS: dict[str, list[dict[str, Any]]] = yaml.safe_load(
    Path(__file__).with_name("told_calls.yaml").read_text(encoding="utf-8"))
LOOKED_ROUND = """
    symptoms: 'no', co_alarm: 'no', room_smoke: 'no', vapor_smell: none, oil_leak: none, puffback: none,
    wiring_state: sound, cellar_water: dry, vent_disconnected: 'no', vent_terminal: clear, heat_damage: none,
    lagging: none, combustibles_near: 'no', safety_bypassed: 'no', oil_in_chamber: none, flame_rollout: 'no',
    afterfire: 'no', spillage: none, resets_pressed: none, relief_valve: sound, water_low: 'no', co_room: 0 ppm,
    changed_lately: nothing, house_changed: nothing,
    last_co2: could not check, last_smoke: could not check, last_net_stack: could not check, last_draft_over_fire:
    could not check, last_draft_drop: could not check"""
"""The first look round, all clear, nothing changed before it began, and a tag on which nothing is written."""


def entries(typed: str) -> dict[str, str]:
    return {name.strip(): value.strip() for name, value in (entry.split(":", 1) for entry in typed.split(","))}


def case(told: str, look_ahead: bool = False) -> Assessment:
    """What is said of a call; what is told takes the place of a clear look, and `-` leaves it open."""
    latest = {**entries(LOOKED_ROUND), **entries(told)}
    if latest["appliance"] == "furnace":
        latest = {name: value for name, value in latest.items() if name not in ("relief_valve", "water_low")}
    if latest.get("draft_kind", "natural") == "natural":
        del latest["vent_terminal"]
    typed = ", ".join(f"{name}: {value}" for name, value in latest.items() if value != "-")
    return assess(case_of(typed), base(), look_ahead)


def names(row: dict[str, Any]) -> str:
    return f"{row.get('cause') or row.get('hazard') or row['parts'][0]}: {row['told'][-40:]}"


@pytest.mark.parametrize("row", ROWS["calls"], ids=names)
def test_the_cause_is_among_the_first_and_the_check_of_a_master_settles_it(row: dict[str, Any]) -> None:
    found = case(row["told"], look_ahead=True)
    assert row["cause"] in [one.name for one in found.causes[:4]]
    assert found.checks.first
    assert row["check"] in [one.check for one in (found.checks.first, *found.checks.others)][:4]
    after = case(f"{row['told']}, {row['shows']}")
    assert after.causes[0].name == row["cause"]


@pytest.mark.parametrize("row", ROWS["leads"], ids=names)
def test_what_is_seen_leads(row: dict[str, Any]) -> None:
    assert case(row["told"]).causes[0].name == row["cause"]


@pytest.mark.parametrize("row", ROWS["stops"], ids=names)
def test_what_must_keep_the_burner_off(row: dict[str, Any]) -> None:
    found = case(row["told"])
    assert row["hazard"] in [one.name for one in found.hazards]
    assert any(stop.hazard for stop in found.gate.stops(["start"]))


@pytest.mark.parametrize("row", ROWS["sound"], ids=names)
def test_what_is_sound_or_only_wasteful_stops_nothing(row: dict[str, Any]) -> None:
    found = case(row["told"])
    assert not found.hazards
    assert [one.name for one in found.causes if one.name.startswith(tuple(row["parts"])) and one.belief > 0.05] == []


def in_order(appliance: str) -> dict[str, Entry]:
    """A unit on its yearly service on which all but its own work was looked at, and nothing found."""
    own = {name for check in base().checks.values() if check.tune_up for name in check.gives}
    told = {"appliance": appliance, "complaint": "routine", "draft_kind": "natural", "smoke": "0", "co2": "12",
            "co": "10 ppm", "stack_temperature": "430 F", "room_temperature": "70 F", "draft_over_fire": "-0.02",
            "draft_breech": "-0.04", "co_room": "0 ppm", "last_co2": "could not check"}
    for item in base().observations.values():
        if item.name not in own:
            told.setdefault(item.name, item.clear or item.sound or max(item.answers, key=lambda one: item.answers[one]))
    return {name: read_entry(base(), name, value) for name, value in told.items()}


def test_a_yearly_service_asks_for_all_its_work() -> None:
    """Common practice: function tests, readings of pump and sensor, and the parts that are opened, each year."""
    held = in_order("furnace")
    asked = set()
    for _ in range(40):
        first = assess(Case(tuple(held.values())), base()).checks.first
        if not first:
            break
        asked.add(first.check)
        for name in base().checks[first.check].gives:
            item = base().observations.get(name)
            if item is None and base().quantities[name].derived:
                continue
            held.setdefault(name, read_entry(base(), name, (item and (item.clear or item.sound)) or "could not check"))
    assert {check.name for check in base().checks.values() if check.tune_up} <= asked
