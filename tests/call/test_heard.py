"""What people say of an emergency in their own words: kept, read again, and nothing else of the line is lost."""

from __future__ import annotations

import pytest

from advisor.call.autosave import CaseFile
from advisor.call.phrases import read_phrase
from advisor.library.base import load
from advisor.reasoning.case import Case
from advisor.reasoning.casefile import parse_case, read_case, write_case
from advisor.reasoning.entries import heard
from tests.call.playing import play
from tests.test_cli import run

SAID = [(item.name, answer, phrase) for item in load().observations.values()
        for answer, phrases in item.urgent.items() for phrase in phrases]


@pytest.mark.parametrize(("name", "answer", "phrase"), SAID)
def test_what_was_heard_is_read_again_from_the_file(name: str, answer: str, phrase: str) -> None:
    base = load()
    line = f"Listen:  {phrase} since this morning"
    case = Case(heard(base, line))
    assert (name, answer) in {(one.name, one.value) for one in case.entries}
    assert parse_case(write_case(case, base), "case.yaml", base) == case
    assert case.entries[0].said == " ".join(line.split())


def test_every_verb_goes_on_with_the_case_of_an_emergency(file: CaseFile) -> None:
    play(file, "boiler", "the wife has a headache and feels dizzy")
    assert read_case(file.path, load()).latest["symptoms"].value == "yes"
    for words in (("diagnose",), ("diagnose", "--json"), ("report",), ("call",)):
        status, _, errors = run(words[0], str(file.path), *words[1:], typed="")
        assert status in (0, 1), (words, errors)
        assert "is not an answer" not in errors


def test_readings_beside_an_emergency_are_taken_and_the_rest_is_told() -> None:
    phrase = read_phrase(load(), "co2 11.5, the wife has a headache; smoke 2, the dog is brown")
    assert [(one.name, one.value) for one in phrase.entries] == [("symptoms", "yes"), ("co2", 11.5), ("smoke", 2.0)]
    assert phrase.remarks == ("the dog is brown",)


def test_what_is_no_reading_beside_it_is_kept_as_a_remark(file: CaseFile) -> None:
    turn, shown = play(file, "boiler", "skip all", "oil is dripping on the floor, the dog is brown")
    assert "kept as a remark: the dog is brown" in shown
    assert read_case(file.path, load()).remarks == turn.case.remarks
    assert play(file, "undo", turn=turn)[0].case.remarks == ()


def test_a_failed_reading_at_the_look_round_says_its_own_fault(file: CaseFile) -> None:
    turn, shown = play(file, "no-heat", "skip all")
    assert turn.question.name == "look round", shown
    _, shown = play(file, "co room 99999", turn=turn)
    assert "carbon monoxide" in shown.lower()
    assert "answer the list" not in shown
    _, shown = play(file, "3 purple", turn=turn)
    assert "is not an answer" in shown
