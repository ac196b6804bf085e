"""From a typed line to entries: any order, any unit, nothing lost, nothing entered that was not told."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.library.base import load
from advisor.physics import units
from advisor.understanding.answers import meant_by
from advisor.understanding.lexicon import lexicon_of, spelled_right
from advisor.understanding.tokens import plain_line, tokens_of
from advisor.understanding.understand import Understood, understand

Values = list[tuple[str, float | str | None]]


def said(line: str, asked: str = "", known: dict[str, object] | None = None) -> Values:
    return [(one.name, one.value) for one in understand(load(), line, asked, known).entries]


@pytest.mark.parametrize(("line", "wanted"), [
    ("520 stack 5.5 o2 3 smoke", [("stack_temperature", 520.0), ("o2", 5.5), ("smoke", 3.0)]),
    ("stack temp was running five twenty", [("stack_temperature", 520.0)]),
    ("over fire minus point oh two, breech point oh six", [("draft_over_fire", -0.02), ("draft_breech", -0.06)]),
    ("over fire and breech -.02 and -.06", [("draft_over_fire", -0.02), ("draft_breech", -0.06)]),
    ("breech four hundredths", [("draft_breech", -0.04)]),
    ("draft -.02/-.06", [("draft_over_fire", -0.02), ("draft_breech", -0.06)]),
    ("breech 520", [("stack_temperature", 520.0)]),
    ("co2 10,5", [("co2", 10.5)]),
    ("co2 eleven and a half", [("co2", 11.5)]),
    ("400 ppm co in the room", [("co_room", 400.0)]),
    ("carbon monoxide in the kitchen 12", [("co_room", 12.0)]),
    ("co 1,200 ppm", [("co", 1200.0)]),
    (".85 80B", [("nozzle_size", 0.85)]),
    ("1.00 60 A @ 140", [("nozzle_size", 1.0), ("pump_pressure", 140.0)]),
    ("10 over trace", [("co2", 10.0), ("smoke", 0.5)]),
    ("smoke number three", [("smoke", 3.0)]),
    ("number 3 smoke", [("smoke", 3.0)]),
    ("a trace", [("smoke", 0.5)]),
    ("cad cell 1.2k", [("flame_sensor_resistance", 1200.0)]),
    ("net stack 410, room 68", [("stack_temperature", 478.0), ("room_temperature", 68.0)]),
    ("30 foot chimney", [("chimney_height", 360.0)]),
    ("20 year old unit", [("appliance_age", 20.0)]),
    ("stak 520", [("stack_temperature", 520.0)]),
    ("strainer is dirty", [("pump_strainer", "dirty")]),
    ("strainer is not dirty", [("pump_strainer", "clean")]),
    ("dirty strainer, clean filter", [("pump_strainer", "dirty"), ("oil_filter", "clean")]),
    ("stack 520 and the carpenter was here", [("stack_temperature", 520.0)]),
])
def test_lines_as_they_are_told(line: str, wanted: Values) -> None:
    assert said(line) == wanted


@pytest.mark.parametrize("line", [
    "520", "hello", "is the co high?", "stack was 400 last year", "if the stack goes over 700 call me",
    "maybe the strainer is dirty", "i think the stack is 520", "draft -.02",
    "old one ran at 100 psi until they took it out", "stack 5200", "stack 500 psi", "efficiency 82", "",
    "call her at 555 0140", "net stack 410", "what should the stack be", "stack 500 to 520",
])
def test_what_is_not_told_is_not_entered(line: str) -> None:
    assert said(line) == []


@pytest.mark.parametrize(("line", "choices"), [
    ("maybe the strainer is dirty", ["dirty"]), ("draft -.02", [-0.02, -0.02, -0.02]), ("300 ppm", [300.0]),
])
def test_what_is_doubtful_is_asked_back(line: str, choices: list[object]) -> None:
    question = understand(load(), line).questions[0]
    values = [one.entries[0].value for one in question.choices if one.entries]
    assert values[:len(choices)] == choices


def test_of_a_net_stack_the_room_is_asked_for_and_counts() -> None:
    question = understand(load(), "net stack 410").questions[0]
    assert question.name == "room_temperature"
    assert said(question.then, known={"room_temperature": 70.0}) == [("stack_temperature", 480.0)]
    assert said("net stack 230 C", known={"room_temperature": 68.0}) == [("stack_temperature", 482.0)]


def test_a_remark_beside_a_reading_is_kept_whole() -> None:
    found = understand(load(), "the carpenter was here yesterday; stack 520")
    assert found.remarks == ("the carpenter was here yesterday",)
    assert [one.value for one in found.entries] == [520.0]


@pytest.mark.parametrize(("name", "text", "meant"), [
    ("appliance", "2", ("furnace",)), ("fuel", "2", ("no-2-oil",)), ("oil_leak", "nothing", ("none",)),
    ("safety_bypassed", "y", ("yes",)), ("safety_bypassed", "nope", ("no",)), ("room_smoke", "ok", ("no",)),
])
def test_the_question_owns_the_answer(name: str, text: str, meant: tuple[str, ...]) -> None:
    assert meant_by(load().observations[name], text) == meant


def test_yes_to_whether_something_is_wrong_asks_what() -> None:
    leak = load().observations["oil_leak"]
    assert set(meant_by(leak, "yes")) == set(leak.answers) - {"none"}


@pytest.mark.parametrize(("typed", "meant"), [("stak", "stack"), ("smok", "smoke"), ("chimny", "chimney")])
def test_a_slip_of_the_fingers_is_read(typed: str, meant: str) -> None:
    lexicon = lexicon_of(load())
    assert spelled_right(lexicon, tokens_of(typed))[0].stem == tokens_of(meant)[0].stem


@pytest.mark.parametrize("typed", ["thanks", "unclean", "boot", "roof", "house", "stock"])
def test_another_word_is_no_misspelling(typed: str) -> None:
    token = tokens_of(typed)[0]
    assert spelled_right(lexicon_of(load()), [token])[0].stem == token.stem


_PARTS = st.sampled_from([
    "stack 520", "o2 5.5 %", "smoke trace", "breech -.06", "over fire minus point oh two", "co 40 ppm", "room co 3",
    "co2 eleven and a half", "pump pressure one forty", "strainer dirty", "filter is clean", "room 68",
    "the carpenter was here", "nozzle .85 80B",
])


@settings(deadline=None)
@given(st.lists(_PARTS, min_size=1, max_size=6, unique=True), st.randoms(), st.sampled_from(["; ", ", ", " and "]))
def test_the_order_of_the_parts_does_not_matter(parts: list[str], chance: object, between: str) -> None:
    mixed = list(parts)
    chance.shuffle(mixed)  # type: ignore[attr-defined]
    assert sorted(said(between.join(parts)), key=str) == sorted(said(between.join(mixed)), key=str)
    assert sorted(said(between.join(parts)), key=str) == sorted(
        (one for part in parts for one in said(part)), key=str)


def _words(found: Understood) -> set[str]:
    texts = [*(one.words for one in found.heard), *(one.words for one in found.questions), *found.remarks,
             *(one.words for one in found.left)]
    return {token.low for text in texts for token in tokens_of(plain_line(text))}


_WORDS = st.sampled_from([
    "stack", "520", "o2", "5.5", "smoke", "trace", "not", "dirty", "strainer", "the", "carpenter", "was", "here",
    "-.02", "breech", "room", "co", "ppm", "if", "maybe", "is", "?", ",", "and", ";", "but", "yesterday", "net",
    "oil", "leak", "two", "point", "draft", "no", "F", "half", "to", "#", "last", "year",
])


@settings(max_examples=300, deadline=None)
@given(st.lists(_WORDS, min_size=1, max_size=10).map(" ".join))
def test_nothing_typed_is_lost(line: str) -> None:
    """Every word stands in the words of an entry, a question, a remark, or what is not understood."""
    found = understand(load(), line)
    if found.ask:
        return
    told = _words(found)
    for token in tokens_of(plain_line(line)):
        if token.kind in ("word", "number") and not token.breaks:
            assert token.low in told, (line, token.text, found)


@settings(deadline=None)
@given(st.text(max_size=80), st.sampled_from(["", "smoke", "complaint", "oil_leak", "draft_breech"]))
def test_any_text_is_taken(line: str, asked: str) -> None:
    base = load()
    for one in understand(base, line, asked).entries:
        assert one.name in base.asked_of
        assert one.value is None or isinstance(one.value, float) or one.value in base.observations[one.name].answers


_MEASURED = st.sampled_from(["stack_temperature", "draft_breech", "pump_pressure", "pump_vacuum", "co2", "co"])


@settings(deadline=None)
@given(_MEASURED, st.floats(0.05, 0.95), st.data())
def test_a_number_in_any_unit_gives_the_same_entry(name: str, share: float, data: st.DataObject) -> None:
    quantity = load().quantities[name]
    low, high = quantity.plausible
    value = round(low + share * (high - low), 3)
    unit = data.draw(st.sampled_from(sorted(units.KINDS[quantity.kind].units)))
    typed = units.convert(value, units.symbol(quantity.kind), unit, quantity.kind)
    sign = "+" if typed > 0 else ""
    entry = understand(load(), f"{quantity.title} {sign}{typed:.6f} {unit}").entries[0]
    assert entry.name == name
    assert isinstance(entry.value, float)
    assert math.isclose(entry.value, value, rel_tol=1e-3, abs_tol=1e-3)


@pytest.mark.parametrize(("line", "name"), [
    ("no jumper on the limit", "safety_bypassed"), ("no oil leaks at the pump", "oil_leak"),
    ("no combustibles near the burner", "combustibles_near"), ("no oil in chamber", "oil_in_chamber"),
    ("no smoke in the rooms", "room_smoke"), ("no co alarm", "co_alarm"),
])
def test_denying_one_thing_is_no_look_on_which_safety_hangs_but_where_it_is_asked(line: str, name: str) -> None:
    said = understand(load(), line)
    assert name not in {entry.name for entry in said.entries}
    offered = [entry for question in said.questions for choice in question.choices for entry in choice.entries]
    assert name in {entry.name for entry in offered}
    assert name in {entry.name for entry in understand(load(), line, name).entries}


def test_denying_what_nobody_can_be_hurt_by_is_taken() -> None:
    assert [(one.name, one.value) for one in understand(load(), "strainer is not dirty").entries] == [
        ("pump_strainer", "clean")]


@pytest.mark.parametrize(("line", "wanted"), [
    ("fires up then cuts out after 15 seconds and it did that twice", {"start_behavior": "lights-then-trips"}),
    ("grandmother has a headache, feels fine when she goes out on the porch", {"symptoms": "better-outdoors"}),
    ("puddle of oil in the bottom of the chamber", {"oil_in_chamber": "pool"}),
    ("trace at 12.2", {"co2": 12.2, "smoke": 0.5}),
    ("stack 250 C, room 20", {"stack_temperature": 482.0, "room_temperature": 68.0}),
    ("carbon monoxide alarm sounded at 3 in the morning", {"co_alarm": "sounded"}),
    ("number 3 smoke, gray and dry", {"smoke": 3.0, "spot_look": "dry-gray"}),
    ("brown dry spot about a 2", {"smoke": 2.0, "spot_look": "brown"}),
    ("boiler and it soots up, chimney cap full of bird nest", {"appliance": "boiler", "chimney_look": "obstructed"}),
    ("co2 was 12 last year", {"last_co2": 12.0}),
    ("1.2 gal/h nozzle", {"nozzle_size": 1.2}),
])
def test_what_the_words_together_say(line: str, wanted: dict[str, object]) -> None:
    found = {name: value for name, value in said(line) if name != "complaint"}
    assert found == {name: pytest.approx(value) if isinstance(value, float) else value
                     for name, value in wanted.items()}


@pytest.mark.parametrize(("line", "name"), [
    ("spilling at the baro", "spillage"), ("#2", "fuel"), ("smoke 4 at startup", "smoke"),
    ("held the baro shut and breech draft jumped to .07", "draft_breech"), ("pressure is 20", "pump_pressure"),
    ("my cousin had a chimney fire last winter", "chimney_fire"), ("half a tank of oil", "valves_open"),
])
def test_what_may_mean_more_or_less_is_asked(line: str, name: str) -> None:
    found = understand(load(), line)
    assert name not in {entry.name for entry in found.entries}
    offered = {entry.name for question in found.questions for choice in question.choices for entry in choice.entries}
    assert name in offered


@pytest.mark.parametrize("line", [
    "my truck won't start, sending joe instead", "customer's selling the house in june", "flipped the breaker",
    "landlord says no more than 300 dollars", "had to bang on the door five minutes before she let me in",
    "carpenter was here yesterday",
])
def test_talk_of_other_things_enters_nothing(line: str) -> None:
    assert said(line) == []


@pytest.mark.parametrize(("line", "complaint", "remark"), [
    ("no heat, it locked out", "lockout", "no heat"),
    ("no heat it's locked out again", "lockout", ""),
    ("no heat and oil smell", "smell", "no heat"),
    ("no heat", "no-heat", ""),
    ("no heat and no hot water", "no-heat", "no hot water"),
])
def test_of_two_complaints_the_one_more_to_the_point_counts_and_the_other_is_kept(
    line: str, complaint: str, remark: str
) -> None:
    found = understand(load(), line, "complaint")
    assert [(one.name, one.value) for one in found.entries] == [("complaint", complaint)]
    assert found.remarks == ((remark,) if remark else ())


def test_no_says_nothing_of_the_clause_behind_it() -> None:
    found = understand(load(), "no heat it's locked out again")
    assert "lockout_pattern" not in [one.name for one in found.entries]
    denied = understand(load(), "no sign it is sooted up")
    assert not any(one.value == "soot" for one in denied.entries)


@pytest.mark.parametrize(("line", "gives"), [
    ("she pushed the red button twice", {"complaint": "lockout", "resets_pressed": "many"}),
    ("boiler bangs when it lights off", {"appliance": "boiler", "complaint": "bang-at-start"}),
    ("smoke from the chimney when it starts", {"complaint": "smoke-at-start"}),
    ("smokes all the time", {"complaint": "smoke-while-running", "smoke_over_cycle": "throughout"}),
    ("smells of oil", {"complaint": "smell", "smell_kind": "raw-oil"}),
])
def test_a_complaint_may_say_more_with_the_same_words(line: str, gives: dict[str, str]) -> None:
    assert {one.name: one.value for one in understand(load(), line, "complaint").entries} == gives


def test_what_only_some_units_have_is_not_read_out_of_a_word_or_two() -> None:
    assert "makeup_water" not in [one.name for one in understand(load(), "it bangs, twice a day").entries]
    steam = {"appliance": "boiler", "heat_medium": "steam"}
    assert [one.value for one in understand(load(), "twice a day", "makeup_water", steam).entries] == ["daily"]


def test_a_number_that_makes_no_entry_is_told() -> None:
    assert [one.words for one in understand(load(), "220 in the boiler and relief valve weeping").left] == ["220"]
