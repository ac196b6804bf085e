"""The gate: what open hazards, missing looks and readings hold back; and hazards over the time of a call."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.library.base import load
from advisor.library.items import Step
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import CORRECTED, CURED, Case, Entry
from advisor.reasoning.entries import read_entry
from advisor.reasoning.gate import Gate


def case_of(*typed: tuple[str, str]) -> Case:
    """A case of entries in this order; the name `cured` marks a hazard, `correct NAME` a correction."""
    base = load()
    out = []
    for name, value in typed:
        if name in base.hazards and name not in base.named:
            out.append(Entry(name, value, None, CURED))
        elif name.startswith("cured "):
            out.append(Entry(name.removeprefix("cured "), value, None, CURED))
        elif name.startswith("correct "):
            entry = read_entry(base, name.removeprefix("correct "), value)
            out.append(Entry(entry.name, entry.typed, entry.value, how=CORRECTED))
        else:
            out.append(read_entry(base, name, value))
    return Case(tuple(out))


def found(*typed: tuple[str, str]) -> Assessment:
    return assess(case_of(*typed), load())


def state(hazard: str, *typed: tuple[str, str]) -> str:
    """The state of a hazard in a case; empty where it is none of it."""
    now = found(*typed)
    return next((one.state for one in (*now.hazards, *now.released) if one.name == hazard), "")


# --- a hazard stays open until it is cured and proven -----------------------------------------------------------------

def proof(hazard: str, appliance: str = "boiler") -> list[tuple[str, str]]:
    """What releases a hazard, as entries: an answer, or a number in the middle of the wanted band."""
    from advisor.pages.suppose import possible_answers

    base = load()
    unit = case_of(("appliance", appliance))
    out = []
    for name, wanted in base.hazards[hazard].proof.items():
        if name in base.conditions or not base.named[name]:
            continue
        only = getattr(base.named[name], "only", {})
        if any(appliance not in kinds for key, kinds in only.items() if key == "appliance"):
            continue
        for symbol, entry in possible_answers(base, unit, name):
            if symbol == wanted[0]:
                typed = entry.typed if not (isinstance(entry.value, float) and entry.value > 0
                                            and getattr(base.named[name], "suction", False)) else f"+{entry.typed}"
                out.append((name, typed))
    return out


@pytest.mark.parametrize(("hazard", "shown", "measured_again"), [
    ("carbon-monoxide-in-the-room", ("co_room", "50"), ("co_room", "0")),
    ("flue-gas-spillage", ("spillage", "lasting"), ("spillage", "none")),
    ("oil-leak", ("oil_leak", "dripping"), ("oil_leak", "none")),
    ("flooded-chamber", ("oil_in_chamber", "pool"), ("oil_in_chamber", "none")),
    ("puffback", ("puffback", "violent"), ("puffback", "none")),
    ("carbon-monoxide-alarm", ("co_alarm", "sounding"), ("co_alarm", "no")),
])
def test_to_measure_again_is_not_to_cure(
    hazard: str, shown: tuple[str, str], measured_again: tuple[str, str]
) -> None:
    assert state(hazard, shown) == "open"
    assert state(hazard, shown, measured_again) == "open"
    assert state(hazard, shown, measured_again, ("stack_temperature", "500")) == "open"
    assert state(hazard, shown, (f"correct {measured_again[0]}", measured_again[1])) == ""


@pytest.mark.parametrize("hazard", sorted(load().hazards))
def test_every_hazard_is_shown_cured_and_released_by_its_own_proof(hazard: str) -> None:
    base = load()
    rule = next(rule for rule in base.rules.values() if rule.hazard == hazard)
    example = next(one for one in rule.examples if one.fires)
    of_a_furnace = "exchanger" in hazard or "register" in hazard
    appliance = example.entries.get("appliance", "furnace" if of_a_furnace else "boiler")
    shown = [("appliance", appliance), *((name, typed) for name, typed in example.entries.items()
                                         if name != "appliance")]
    assert state(hazard, *shown) == "open"
    cured = (f"cured {hazard}", "put right")
    assert state(hazard, *shown, cured) == "cured"
    proven = proof(hazard, appliance)
    assert proven, "a proof that nobody can enter releases nothing"
    for at in range(len(proven)):
        assert state(hazard, *shown, cured, *proven[:at]) == "cured"
    assert state(hazard, *shown, cured, *proven) == "released"
    # it shows again: open, whatever was proven before
    again = [(name, typed) for name, typed in shown if getattr(base.named[name], "part", "") != "equipment"]
    assert state(hazard, *shown, cured, *proven, *again) == "open"


def test_the_proof_before_the_cure_counts_for_nothing() -> None:
    leak, cured = ("oil_leak", "dripping"), ("cured oil-leak", "new flare")
    assert state("oil-leak", *proof("oil-leak"), leak, cured) == "cured"
    assert state("oil-leak", leak, *proof("oil-leak"), cured) == "cured"


def test_a_stored_box_that_was_moved_is_gone_once_it_is_seen_gone() -> None:
    assert state("combustibles-near", ("combustibles_near", "yes")) == "open"
    assert state("combustibles-near", ("combustibles_near", "yes"), ("combustibles_near", "no")) == "released"


def test_what_was_found_stays_open_in_the_case_as_left() -> None:
    before = case_of(("oil_leak", "dripping"))
    after = Case(case_of(("oil_leak", "none")).entries, earlier=before.entries)
    assert [one.name for one in assess(after, load()).hazards] == ["oil-leak"]


# --- what it forbids -------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("hazard", sorted(load().hazards))
def test_an_open_hazard_forbids_what_it_says_and_a_released_one_nothing(hazard: str) -> None:
    base = load()
    item = base.hazards[hazard]
    rule = next(rule for rule in base.rules.values() if rule.hazard == hazard)
    example = next(one for one in rule.examples if one.fires)
    gate = found(*example.entries.items()).gate
    for act, may in item.may.items():
        if may == "no" or (may == "reentry" and gate.emergency):
            assert any(stop.hazard == hazard for stop in gate.stops([act])), act


@pytest.mark.parametrize("hazard", sorted(name for name, one in load().hazards.items() if one.emergency))
def test_an_emergency_is_ten_short_lines_and_nothing_else(hazard: str) -> None:
    from advisor.pages.instructions import emergency_lines
    from advisor.pages.screen import whole

    base = load()
    rule = next(rule for rule in base.rules.values() if rule.hazard == hazard)
    example = next(one for one in rule.examples if one.fires)
    now = found(*example.entries.items())
    assert hazard in now.gate.emergency
    lines = emergency_lines(base, Gate(base, {}, (hazard,)))
    assert 2 < len(lines) <= 10
    assert all(len(line) <= 40 for line in lines)
    assert whole(base, now) == emergency_lines(base, now.gate)
    assert now.checks.first is None
    assert now.checks.others == ()
    assert now.gate.stops(["inside"])
    ended = found(*example.entries.items(), ("house_entry", base.hazards[hazard].ends[-1]))
    assert hazard not in ended.gate.emergency
    assert any(one.name == hazard for one in ended.hazards)
    # that everyone was out before it showed ends nothing
    early = found(("house_entry", base.hazards[hazard].ends[-1]), *example.entries.items())
    assert hazard in early.gate.emergency


def test_a_cured_hazard_allows_the_acts_of_its_proof_only() -> None:
    pool, cured = ("oil_in_chamber", "pool"), ("cured flooded-chamber", "oil taken up, new igniter")
    assert found(pool).gate.stops(["start"])
    gate = found(pool, ("oil_in_chamber", "none"), cured).gate
    wanted = load().hazards["flooded-chamber"].proof_checks
    allowed = frozenset().union(*(load().acts_of_check(load().checks[name]) for name in wanted))
    for act, may in load().hazards["flooded-chamber"].may.items():
        stopped = any(stop.hazard == "flooded-chamber" for stop in gate.stops([act]))
        if may == "no" and not stopped:
            assert act in allowed


# --- looks before acts, and what would make it worse ------------------------------------------------------------------

def stops(acts: list[str], *typed: tuple[str, str]) -> set[str]:
    """The looks that stop acts in a case, and `reading` where a reading does."""
    return {stop.look or ("reading" if not stop.hazard else stop.hazard) for stop in found(*typed).gate.stops(acts)}


def test_the_chamber_is_looked_at_before_a_start_after_resets() -> None:
    """Common practice: each trial without flame has sprayed its whole length into the chamber."""
    assert "oil_in_chamber" in stops(["start"], ("resets_pressed", "once"))
    assert "oil_in_chamber" not in stops(["start"], ("resets_pressed", "none"))
    failed = ("start_behavior", "spray-no-flame")
    assert "oil_in_chamber" in stops(["reset"], ("oil_in_chamber", "none"), failed)
    assert "oil_in_chamber" in stops(["start"], ("resets_pressed", "once"), ("oil_in_chamber", "could not check"))


def test_a_boiler_is_not_fired_before_its_relief_valve_and_water_were_seen() -> None:
    assert {"relief_valve", "water_low"} <= stops(["start"], ("appliance", "boiler"))
    assert not {"relief_valve", "water_low"} & stops(["start"], ("appliance", "furnace"))
    assert not {"relief_valve", "water_low"} & stops(
        ["start"], ("appliance", "boiler"), ("relief_valve", "sound"), ("water_low", "no"))


@pytest.mark.parametrize(("typed", "stopped"), [
    ((("smoke", "4"),), True), ((("smoke", "0"),), False), ((("co", "400"),), True),
    ((("co", "400"), ("smoke", "0")), True),
    ((("co", "150"), ("smoke", "0"), ("o2", "11"), ("flame_touches", "no"), ("head_look", "clean")), False),
    ((("co", "150"), ("smoke", "0"), ("o2", "11"), ("flame_touches", "yes"), ("head_look", "clean")), True),
    ((("co", "20"), ("smoke", "0")), False),
])
def test_less_air_is_never_advised_where_it_would_make_it_worse(
    typed: tuple[tuple[str, str], ...], stopped: bool
) -> None:
    """Common practice: with smoke, or with CO that no thinned, chilled flame explains, the air is not closed."""
    assert ("reading" in stops(["less-air"], ("draft_kind", "sealed"), *typed)) == stopped


def test_a_check_that_looks_is_not_held_back_for_want_of_its_own_look() -> None:
    base = load()
    gate = found(("draft_kind", "natural")).gate
    assert "spillage" in {stop.look for stop in gate.stops(["run"])}
    assert "spillage" not in {stop.look for stop in gate.stops_check(base.checks["spillage-test"])}


@settings(max_examples=20, deadline=None)
@given(st.lists(st.sampled_from(sorted(load().acts)), max_size=4),
       st.lists(st.sampled_from(sorted(load().acts)), max_size=4))
def test_more_acts_never_pass_where_fewer_are_stopped(some: list[str], more: list[str]) -> None:
    gate = found(("oil_in_chamber", "pool"), ("appliance", "boiler"), ("co", "500")).gate
    assert set(gate.stops(some)) <= set(gate.stops([*some, *more]))
    if gate.stops(some):
        assert not gate.allows(Step("", tuple(some)))
