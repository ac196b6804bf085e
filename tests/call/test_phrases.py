"""What a typed line means: units as people type them, several readings to a line, commands, mistakes."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.call.commands import COMMANDS
from advisor.call.naming import meant, read_instruments
from advisor.call.phrases import LONGEST, Phrase, read_entries, read_phrase
from advisor.library.base import load
from advisor.reasoning.case import SKIPPED, UNCHECKED
from advisor.reasoning.entries import EntryError

_PA = 1 / 249.08891  # in. w.c. (conventional water at 4 degC, NIST SP 811 appendix B)


def taken(line: str, asked: str = "") -> list[tuple[str, float | str | None]]:
    return [(one.name, one.value) for one in read_phrase(load(), line, asked).entries]


@pytest.mark.parametrize(("asked", "line", "name", "value"), [
    ("stack_temperature", "520", "stack_temperature", 520.0),
    ("stack_temperature", "520F", "stack_temperature", 520.0),
    ("stack_temperature", "271 C", "stack_temperature", 271 * 9 / 5 + 32),
    ("draft_over_fire", "-.02", "draft_over_fire", -0.02),
    ("draft_over_fire", ".02", "draft_over_fire", -0.02),
    ("draft_over_fire", "+.02", "draft_over_fire", 0.02),
    ("draft_breech", "0.05 in wc", "draft_breech", -0.05),
    ("draft_breech", "5 Pa", "draft_breech", -5 * _PA),
    ("", "co2 12.1%", "co2", 12.1),
    ("", "co 180 ppm", "co", 180.0),
    ("", "co 1,200 ppm", "co", 1200.0),
    ("", "nozzle 0.85 gph", "nozzle_size", 0.85),
    ("", "pressure 140 psi", "pump_pressure", 140.0),
    ("", "pressure 10 bar", "pump_pressure", 10e5 / 6894.757),  # psi, NIST SP 811 appendix B
    ("smoke", "trace", "smoke", 0.5),
    ("", "smoke: trace", "smoke", 0.5),
    ("", "Stack = 520", "stack_temperature", 520.0),
    ("", "stack is 520 F", "stack_temperature", 520.0),
    ("", "over-fire -.02", "draft_over_fire", -0.02),
    ("", "last service 3 years", "years_since_service", 3.0),
    ("complaint", "smoke at start", "complaint", "smoke-at-start"),
    ("", "spot look oily", "spot_look", "oily-yellow"),
    ("", "stack five hundred", "stack_temperature", 500.0),
    ("", "co2 9,5", "co2", 9.5),
    ("", "stak 520", "stack_temperature", 520.0),
    ("", "520 stack", "stack_temperature", 520.0),
    ("chimney_height", "30", "chimney_height", 360.0),
    ("oil_leak", "no", "oil_leak", "none"),
    ("oil_leak", "ok", "oil_leak", "none"),
    ("appliance", "2", "appliance", "furnace"),
    ("fuel", "2", "fuel", "no-2-oil"),
])
def test_one_reading_as_people_type_it(asked: str, line: str, name: str, value: float | str) -> None:
    wanted = pytest.approx(value, rel=1e-5) if isinstance(value, float) else value
    assert taken(line, asked) == [(name, wanted)]


@pytest.mark.parametrize("line", [
    "stack 520, o2 5.5; smoke 3", "stack 520,o2 5.5,smoke 3", "stack 520 o2 5.5 smoke 3",
    "stack: 520; o2=5.5 smoke 3",
])
def test_several_readings_to_a_line(line: str) -> None:
    assert taken(line) == [("stack_temperature", 520.0), ("o2", 5.5), ("smoke", 3.0)]


@pytest.mark.parametrize("line", [
    "draft -.02 -.06", "draft -.02, -.06", "draft .02 in wc .06 in wc", "Draft 0.02 0.06",
])
def test_draft_takes_over_the_fire_then_breech(line: str) -> None:
    assert taken(line) == [("draft_over_fire", -0.02), ("draft_breech", -0.06)]


def test_a_bare_answer_may_be_followed_by_other_readings() -> None:
    assert taken("70 F, stack 520", "room_temperature") == [("room_temperature", 70.0), ("stack_temperature", 520.0)]


def test_a_draft_without_a_sign_says_how_it_was_read() -> None:
    assert read_phrase(load(), "breech .05").entries[0].note == "read as suction: -0.05 in. w.c."


@pytest.mark.parametrize(("asked", "line", "words"), [
    ("", "520", "a number of what?"),
    ("", "stack 500 psi", "psi is a pressure unit; a temperature wants degF or degC"),
    ("", "stack 5200", "is not plausible; it lies between"),
    ("", "o2 5 5", "more than one number"),
    ("", "draft", "draft over the fire or draft at the breech"),
    ("appliance", "flurble", "takes one of boiler, furnace, water-heater"),
    ("appliance", "hlep", "the command help?"),
    ("", "draft drop 0.05", "is computed, not entered"),
    ("", "undo everything", "undo stands alone"),
    ("", "x" * 100_000, "100,000 characters is more than a line holds"),
])
def test_a_mistake_gets_one_line_that_says_what_would_be_right(asked: str, line: str, words: str) -> None:
    with pytest.raises(EntryError) as caught:
        read_phrase(load(), line, asked)
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 1000


@pytest.mark.parametrize(("line", "command", "rest"), [
    ("why", "why", ""), ("Why?", "why", ""), ("why sooted gas passages", "why", "sooted gas passages"),
    ("why not worn nozzle?", "why", "not worn nozzle"), ("if o2 were 6.5", "if", "o2 were 6.5"),
    ("how do i", "steps", ""), ("how was net stack computed?", "figure", "net stack"), ("can't check", "cannot", ""),
    ("cannot check smoke", "cannot", "smoke"), ("skip all", "skip", "all"), ("not checked", "skip", ""),
    ("don't know", "cannot", ""), ("ask me", "next", ""), ("list of entries", "entries", ""), ("exit", "quit", ""),
    ("?", "steps", ""), ("report", "report", ""), ("save my copy.yaml", "save", "my copy.yaml"),
    ("manufacturer co2-high 12.5 %", "manufacturer", "co2-high 12.5 %"),
    ("stand by smoke", "trust", "smoke"), ("undo", "undo", ""),
])
def test_commands_in_their_variants(line: str, command: str, rest: str) -> None:
    assert read_phrase(load(), line, "smoke") == Phrase(command, rest)


def test_a_status_after_a_name_is_an_entry() -> None:
    assert [one.status for one in read_phrase(load(), "smoke skip; o2 cannot check").entries] == [SKIPPED, UNCHECKED]


def test_a_name_alone_asks_its_question_and_an_empty_line_means_nothing() -> None:
    assert read_phrase(load(), "stack").ask == "stack_temperature"
    assert read_phrase(load(), " \t ") == Phrase()


def test_no_command_is_the_word_of_a_reading() -> None:
    assert set(COMMANDS) & set(load().words) <= {"unit"}  # `unit boiler` still names the kind of appliance


def test_an_answer_wins_over_a_command_of_the_same_word() -> None:
    base = load()
    for name, item in base.observations.items():
        for answer in item.answers:
            assert taken(answer, name) == [(name, answer)]


@pytest.mark.parametrize(("asked", "line", "choices"), [
    ("complaint", "smoke", ["smoke-at-start", "smoke-while-running", "smoke-at-stop"]),
    ("", "draft -.02", [-0.02, -0.02, -0.02]),
    ("", "stack 500 to 520", [500.0, 520.0]),
])
def test_what_may_mean_several_things_is_asked_back(asked: str, line: str, choices: list[str | float]) -> None:
    phrase = read_phrase(load(), line, asked)
    assert phrase.entries == ()
    assert [one.entries[0].value for one in phrase.questions[0].choices] == choices


def test_every_reading_is_found_by_every_word_for_it() -> None:
    base = load()
    for word, name in base.words.items():
        assert word in COMMANDS or read_phrase(base, word).ask == name, word


def test_instruments() -> None:
    base = load()
    assert read_instruments(base, "all") == tuple(base.instruments)
    assert read_instruments(base, "none") == ()
    assert read_instruments(base, "draft gauge, smoke tester and multimeter") == (
        "draft-gauge", "smoke-tester", "multimeter")
    assert set(base.instruments) - set(read_instruments(base, "all but the vacuum gauge")) == {"vacuum-gauge"}
    with pytest.raises(EntryError, match="'hammer' is not an instrument"):
        read_instruments(base, "hammer")
    with pytest.raises(EntryError, match="say which"):
        read_instruments(base, "gauge")


def test_what_is_meant_by_part_of_a_title() -> None:
    base = load()
    assert meant(base, "soot in the gas passages", ["cause"])[1].name == "sooted-gas-passages"
    with pytest.raises(EntryError, match="say which"):
        meant(base, "nozzle", ["cause"])
    with pytest.raises(EntryError, match="nothing here is called"):
        meant(base, "zzz", ["cause"])
    with pytest.raises(EntryError, match="has no reading in it"):
        read_entries(base, "stack")


_PIECES = st.one_of(
    st.sampled_from([*COMMANDS, "stack", "520", "draft", "-.02", "o2", ",", ";", "%", "co2 12", "=", "not",
                     "all", "?"]),
    st.text(max_size=12),
)


@settings(max_examples=200, deadline=None)
@given(st.lists(_PIECES, max_size=8).map(" ".join), st.sampled_from(["", "smoke", "complaint", "draft_breech"]))
def test_any_text_is_taken_or_refused_in_one_line(line: str, asked: str) -> None:
    refused = ""
    try:
        phrase = read_phrase(load(), line, asked)
    except EntryError as error:
        phrase, refused = Phrase(), str(error)
    assert all(one.name in load().words.values() for one in phrase.entries)
    assert "\n" not in refused
    assert len(refused) <= LONGEST
