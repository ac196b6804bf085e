"""Practice calls: what a look tells, what ends a call, what is said afterward, and every cause practiced."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from advisor.bench.benchfiles import BenchError
from advisor.bench.callfiles import our_calls
from advisor.bench.callitems import LEVELS, PracticeCall, practice_data
from advisor.bench.debrief import compared, debrief, judged, left_out
from advisor.bench.deeds import check_called, deeds
from advisor.bench.drawcall import draw
from advisor.bench.practice import State, begin, turn, work_order
from advisor.bench.world import World, answer, truth
from advisor.library.base import load
from advisor.library.items import Observation
from advisor.plant import FAULTS, SOUND
from advisor.reasoning.entries import EntryError

ROUND = ("ask-people", "measure-room-co", "look-round", "look-round-oil", "look-into-chamber", "check-safety-devices",
         "look-at-boiler")


def played(call: PracticeCall, *lines: str) -> State:
    state = begin(load(), call)
    for line in lines:
        state, said = turn(load(), state, line)
        assert max(map(len, said), default=0) <= 80
    return state


@lru_cache(maxsize=64)
def call(cause: str, level: int = 1, seed: int = 3) -> PracticeCall:
    return draw(load(), seed, level, "", cause)


# --- the words ---

@pytest.mark.parametrize(("line", "meant"), [
    ("smoke", "measure-smoke"), ("pull a smoke", "measure-smoke"), ("what's the stack?", "measure-stack"),
    ("draft over fire", "measure-drafts"), ("drafts", "measure-drafts"),
    ("take a look at the nozzle", "inspect-nozzle"),
    ("oil in the chamber", "look-into-chamber"), ("ask how people feel", "ask-people"),
    ("CO in the room", "measure-room-co"),
    ("check the electrodes", "inspect-electrodes"), ("pump pressure", "measure-pump-pressure"),
    ("smok", "measure-smoke"),
    ("air in the oil", "bleed-pump"), ("cad cell", "inspect-sensor"), ("start the burner", "watch-start"),
    ("look-round", "look-round"), ("spill test", "spillage-test"), ("watch the flame", "watch-flame"),
])
def test_a_check_is_asked_for_as_on_a_call(line: str, meant: str) -> None:
    (deed,) = deeds(load(), line, {"appliance": "boiler"})
    assert (deed.kind, deed.name) == ("check", meant)


@pytest.mark.parametrize(("line", "kind", "name"), [
    ("replace the nozzle", "mend", "renew-nozzle"), ("clean the flue passages", "mend", "clean-gas-passages"),
    ("mend dirty blower", "mend", "clean-fan-wheel"), ("set the air", "mend", "set-air-by-smoke-and-co2"),
    ("zero the draft gauge", "put-right", "gauge-check"), ("put right the analyzer", "put-right", "analyzer-check"),
    ("everyone out", "out", ""), ("press the reset", "reset", ""), ("give up", "give-up", ""), ("?", "help", ""),
])
def test_a_deed_is_told_from_a_look(line: str, kind: str, name: str) -> None:
    (deed,) = deeds(load(), line, {"appliance": "boiler"})
    assert (deed.kind, deed.name) == (kind, name)


def test_several_things_in_one_line_and_a_diagnosis_of_two() -> None:
    assert [one.name for one in deeds(load(), "smoke, stack and drafts")] == [
        "measure-smoke", "measure-stack", "measure-drafts"]
    (deed,) = deeds(load(), "diagnosis: dirty fan wheel and soot in the flue passages")
    assert deed.causes == ("fan-wheel-dirty", "sooted-gas-passages")
    assert [one.amount for one in deeds(load(), "close the air 10")] == [-10.0]
    assert deeds(load(), "  ") == ()


@pytest.mark.parametrize(("line", "said"), [
    ("banana", "is nothing that can be looked at"), ("stack 520", "here you ask for it"),
    ("diagnosis gremlins", "no cause is called 'gremlins'"), ("x" * 500, "more than a line holds"),
    ("mend the chimney", "Say which"),
])
def test_what_is_not_understood_is_asked_back(line: str, said: str) -> None:
    with pytest.raises(EntryError, match=said):
        deeds(load(), line, {"appliance": "boiler", "draft_kind": "natural"})


def test_every_check_can_be_asked_for_by_its_title_and_its_name() -> None:
    base = load()
    assert [check.name for check in base.checks.values() for word in (check.title, check.name)
            if check_called(base, word).name != check.name] == []


def test_every_remedy_can_be_asked_for_by_its_title() -> None:
    base = load()
    assert [one.name for one in base.remedies.values()
            if [(deed.kind, deed.name) for deed in deeds(base, one.title)] != [("mend", one.name)]] == []


def test_there_are_words_for_every_complaint_and_a_price_only_for_what_is_known() -> None:
    data = practice_data(load())
    assert set(data.says) == set(load().observations["complaint"].answers)
    subjects = [one for subject in data.subjects.values() for one in subject.of]
    assert {cause.subject for cause in load().causes.values()} <= set(subjects)


# --- what is there ---

@pytest.mark.parametrize("cause", sorted(load().causes)[::5])  # each takes a second; the whole list: drop the [::5]
def test_every_cause_can_be_practiced_and_is_truly_there(cause: str) -> None:
    """A look at everything, without any error, puts it among the likeliest causes."""
    drawn = call(cause)
    assert cause in drawn.hidden
    really = truth(load(), World(drawn))
    place = [one.name for one in really.causes].index(cause)
    assert place <= 5 or really.causes[place].confirmed, [(one.name, round(one.belief, 2)) for one in really.causes[:6]]
    lines = work_order(load(), begin(load(), drawn))
    assert max(map(len, lines)) <= 80


def test_the_same_seed_gives_the_same_call_and_another_gives_another() -> None:
    assert draw(load(), 5, 2, "oil") == draw(load(), 5, 2, "oil")
    assert len({draw(load(), seed, 1, "oil").hidden for seed in range(6)}) > 2


@pytest.mark.parametrize("level", LEVELS)
def test_levels_ask_what_they_say(level: int) -> None:
    drawn = draw(load(), 11, level)
    assert len(drawn.hidden) == (2 if level == 3 else 1)
    assert drawn.misread == (level == 4)
    assert (drawn.kit != SOUND) == (level == 4)
    sizes = [size for _, size in drawn.faults]
    assert all(size <= 0.6 for size in sizes) if level == 2 else all(size >= 0.6 for size in sizes)


@pytest.mark.parametrize("subject", sorted(practice_data(load()).subjects))
def test_a_subject_stays_within_its_causes(subject: str) -> None:
    drawn = draw(load(), 21, 1, subject)
    assert load().causes[drawn.hidden[0]].subject in practice_data(load()).subjects[subject].of


@pytest.mark.parametrize(("level", "subject", "cause", "said"), [
    (9, "", "", "wants 1 to 4"), (1, "plumbing", "", "wants one of air"), (1, "", "gremlins", "no cause is called"),
])
def test_what_cannot_be_drawn_is_said(level: int, subject: str, cause: str, said: str) -> None:
    with pytest.raises(BenchError, match=said):
        draw(load(), 1, level, subject, cause)


def test_instruments_have_their_noise_and_a_look_has_none_without_misreading() -> None:
    world = World(call("sooted-gas-passages"))
    stacks = {answer(load(), world, "stack_temperature", nth).value for nth in range(8)}
    assert len(stacks) > 2
    assert max(map(float, stacks)) - min(map(float, stacks)) < 25.0  # type: ignore[arg-type]
    assert {answer(load(), world, "passages_look", nth).value for nth in range(8)} == {"sooted"}


def test_what_a_mended_fault_showed_is_gone_and_what_was_told_stays() -> None:
    world = World(our_calls(load())["sunday-headache"])
    after = world.mended(frozenset(("blocked-flue",)))
    assert answer(load(), world, "co_room").value == 120.0
    assert float(answer(load(), after, "co_room").value or 0.0) < 9.0
    assert answer(load(), after, "complaint").value == answer(load(), world, "complaint").value == "soot"


def test_oil_in_the_chamber_stays_until_it_is_taken_out() -> None:
    world = World(our_calls(load())["three-presses"])
    mended = world.mended(frozenset(("weak-igniter",)))
    assert answer(load(), mended, "oil_in_chamber").value == "pool"
    assert answer(load(), replace(mended, dried=True), "oil_in_chamber").value == "probed-dry"


def test_nothing_is_read_of_a_fire_that_does_not_burn() -> None:
    state = played(our_calls(load())["three-presses"], *ROUND)
    state, said = turn(load(), state, "smoke")
    assert "nothing to be read" in " ".join(said) or state.over
    assert "smoke" not in state.case.latest or state.case.latest["smoke"].value is None


def test_no_line_tells_what_is_hidden() -> None:
    """Of a call nothing is shown but what was asked for: no name or title of the cause, no word of right or wrong."""
    state = begin(load(), call("electrodes-worn-or-misset"))
    title = load().causes["electrodes-worn-or-misset"].title
    for line in (*ROUND, "start it", "spill test", "smoke", "stack", "drafts", "help", "order", "notes"):
        state, said = turn(load(), state, line)
        text = " ".join(said)
        assert title not in text
        assert "unsafe" not in text


# --- what can go wrong ---

def test_lighting_over_raw_oil_ends_the_call() -> None:
    state = played(our_calls(load())["three-presses"], "start it")
    assert state.over
    assert "Nobody looked into the chamber first" in state.ended
    assert turn(load(), state, "smoke") == (state, ["This call is closed."])


def test_lighting_over_raw_oil_that_was_seen_ends_it_too() -> None:
    state = played(our_calls(load())["three-presses"], "ask the people", "look into the chamber", "start it")
    assert state.over
    assert "raw oil" in state.ended
    assert any("though you had found" in one for one in state.unsafe)


def test_a_second_press_of_the_reset_ends_the_call() -> None:
    drawn = replace(call("flame-sensor-dirty"), gives=())
    state = played(drawn, *ROUND, "ask about the reset", "reset")
    if not state.over:
        state = played(drawn, *ROUND, "ask about the reset", "reset", "reset")
    assert state.over
    assert any("reset" in one for one in state.unsafe)


def test_a_spray_that_did_not_light_leaves_its_oil() -> None:
    drawn = call("weak-igniter")
    clean = replace(drawn, gives=(*drawn.gives,))
    state = begin(load(), clean)
    state = replace(state, world=replace(state.world, sprayed=True))
    assert answer(load(), state.world, "oil_in_chamber").value == "pool"


def test_carbon_monoxide_that_nobody_looks_for_ends_the_call() -> None:
    state = played(our_calls(load())["sunday-headache"], "look at the nozzle", "electrodes", "wait 10")
    assert state.over
    assert "nobody looked for" in state.ended
    assert any(load().hazards[one].title in state.ended for one in ("people-unwell", "carbon-monoxide-high"))


def test_whoever_finds_it_and_clears_the_house_may_go_on() -> None:
    state = played(our_calls(load())["sunday-headache"], "ask the people", "everyone out", "look at the chimney")
    assert not state.over
    state = played(our_calls(load())["sunday-headache"], "ask the people", "look at the chimney")
    assert state.over  # found, and gone against


def test_a_sound_round_and_start_is_not_called_unsafe() -> None:
    state = played(call("nozzle-plugged"), *ROUND, "start it", "spill test", "smoke", "stack")
    assert state.unsafe == ()


def test_a_start_without_the_round_is_noted_and_told_only_afterward() -> None:
    state = played(call("nozzle-plugged"), "start it", "give up")
    assert any("flue pipe apart" in one for one in state.unsafe)
    assert "Unsafe" in debrief(load(), state)


# --- what is said afterward ---

def test_the_right_cause_is_right_and_the_work_is_told() -> None:
    state = played(call("nozzle-plugged"), *ROUND, "start it", "spill test", "smoke", "look at the nozzle",
                   "electrodes", "replace the nozzle", "smoke", "diagnosis plugged nozzle")
    assert judged(load(), state).word == "right"
    text = " ".join(" ".join(debrief(load(), state)).split())
    assert "you put it right; what would have proved it was not all read again" in text
    titles = {name: load().checks[name].title for name in ("inspect-nozzle", "inspect-electrodes")}
    assert f"The finding that decided - {titles['inspect-nozzle']}" in text
    assert f"Told nothing new - {titles['inspect-electrodes']}" in text
    assert "parts $9" in text
    assert "common practice" in text
    assert max(map(len, debrief(load(), state))) <= 80


def test_a_wrong_cause_a_wrong_part_and_a_shallow_one() -> None:
    wrong = played(call("nozzle-plugged"), "replace the igniter", "diagnosis weak igniter")
    assert judged(load(), wrong).word == "wrong"
    assert judged(load(), wrong).extra == ("weak-igniter",)
    assert any(one.needless for one in compared(load(), wrong))
    both = our_calls(load())["soot-comes-back"]
    half = played(both, "diagnosis soot in the flue passages")
    assert judged(load(), half).word == "partly"
    assert judged(load(), half).shallow == (("fan-wheel-dirty", "sooted-gas-passages"),)
    assert judged(load(), played(both, "diagnosis dirty fan wheel")).word == "right"  # it lies behind the soot
    assert judged(load(), played(both, "give up")).word == "wrong"


def test_the_advisor_asks_for_people_first_and_for_the_retest_after_the_work() -> None:
    state = played(call("nozzle-plugged"), "smoke", "replace the nozzle", "electrodes", "give up")
    steps = compared(load(), state)
    assert steps[0].advised == load().checks["ask-people"].title
    assert "retest" in steps[2].why


def test_what_was_left_out_for_safety_is_named() -> None:
    state = played(call("nozzle-plugged"), "give up")
    assert {"ask-people", "measure-room-co", "look-round"} <= set(left_out(load(), state))
    state = played(call("nozzle-plugged"), "ask the people", "give up")
    assert "ask-people" not in left_out(load(), state)


def test_a_unit_in_order_is_closed_as_such() -> None:
    in_order = replace(call("nozzle-plugged"), hidden=(), faults=(), gives=())
    assert judged(load(), played(in_order, "all in order")).word == "right"
    assert judged(load(), played(in_order, "diagnosis weak igniter")).word == "wrong"


def test_what_the_last_service_left_is_that_of_the_sound_unit() -> None:
    world = World(call("sooted-gas-passages"))
    was, now = answer(load(), world, "last_draft_over_fire").value, answer(load(), world, "draft_over_fire").value
    assert float(now or 0.0) - float(was or 0.0) > 0.02


def test_setting_the_air_finds_the_shutter_anew() -> None:
    state = played(call("air-shutter-too-closed"), *ROUND, "start it", "spill test", "smoke")
    before = float(state.case.latest["smoke"].value)  # type: ignore[arg-type]
    state = turn(load(), state, "set the air")[0]
    state = turn(load(), state, "smoke")[0]
    assert float(state.case.latest["smoke"].value) < before  # type: ignore[arg-type]


def test_the_shutter_moves_the_fire_and_what_was_read_counts_no_more() -> None:
    state = played(call("air-shutter-too-closed"), *ROUND, "start it", "spill test", "smoke")
    state, said = turn(load(), state, "open the air 10")
    assert "is opened by 10 %" in " ".join(said)
    assert "smoke" not in state.case.latest
    again = turn(load(), state, "smoke")[0]
    assert "smoke" in again.case.latest


def test_a_doubtful_gauge_is_found_and_put_right() -> None:
    written = our_calls(load())["it-reads-too-well"]
    state = played(written, "gauge check", "put right the draft gauge", "gauge check")
    looks = [one.value for one in state.case.entries if one.name == "gauge_zero"]
    assert looks == ["no", "yes"]
    told = "\n".join(debrief(load(), turn(load(), state, "give up")[0]))
    assert "found, put right" in " ".join(told.split())
    assert not any(one.needless for one in compared(load(), state))
    assert "not found, not put right" in " ".join("\n".join(debrief(load(), played(written, "give up"))).split())


# --- whatever is typed ---

@settings(deadline=None, max_examples=10, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.one_of(
    st.sampled_from(["smoke", "stack", "open the air", "close the air 20", "replace the nozzle", "start it", "reset",
                     "notes", "everyone out", "wait 5", "order", "look into the chamber", "help", "drafts",
                     "mend sooted passages"]),
    st.text(max_size=40)), max_size=5))
def test_any_lines_give_a_state_and_lines_and_never_less_time(lines: list[str]) -> None:
    state = begin(load(), call("sooted-gas-passages"))
    for line in lines:
        after, said = turn(load(), state, line)
        assert turn(load(), state, line)[1] == said  # the same line of the same state says the same
        assert after.minutes >= state.minutes
        assert len(after.done) >= len(state.done)
        assert all(isinstance(one, str) and len(one) <= 80 for one in said)
        state = after


def test_a_plant_fault_is_played_by_the_plant_and_others_by_their_knowledge() -> None:
    for cause in ("nozzle-plugged", "duct-apart"):
        drawn = call(cause)
        assert bool(drawn.faults) == (cause in FAULTS)
        assert bool([one for one in drawn.gives if one.cause == cause]) == (cause not in FAULTS)
        for one in drawn.gives:
            item = load().named[one.name]
            assert not isinstance(item, Observation) or one.typed in item.answers


# --- nothing wrong ---

def sound() -> PracticeCall:
    """The first drawn call of a class on which nothing is wrong."""
    return next(one for one in (draw(load(), seed, 4) for seed in range(1, 60)) if not one.hidden)


def test_some_drawn_calls_hide_nothing() -> None:
    drawn = [draw(load(), seed, 2) for seed in range(1, 41)]
    assert 1 <= sum(not one.hidden for one in drawn) <= 15
    assert all(draw(load(), seed, 1).hidden for seed in range(1, 11))


@pytest.mark.parametrize(("line", "word"), [
    ("nothing is wrong", "right"), ("diagnosis nothing wrong", "right"), ("diagnosis in order", "right"),
    ("give up", "wrong"), ("diagnosis nozzle plugged", "wrong"),
])
def test_whoever_finds_nothing_where_nothing_is_was_right(line: str, word: str) -> None:
    state = played(sound(), line)
    assert judged(load(), state).word == word
    text = " ".join(" ".join(debrief(load(), state)).split())
    assert "It was: nothing: the unit is in order" in text


def test_nothing_wrong_is_no_diagnosis_of_a_fault() -> None:
    assert judged(load(), played(call("nozzle-plugged"), "nothing is wrong")).word == "wrong"


def test_a_call_that_ended_is_not_said_to_have_a_diagnosis() -> None:
    state = played(our_calls(load())["three-presses"], "start the burner")
    assert state.ended
    assert "You said" not in " ".join(debrief(load(), state))
