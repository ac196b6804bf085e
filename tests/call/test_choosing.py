"""What is asked back, what is kept as a remark, and that neither is ever lost."""

from __future__ import annotations

import pytest

from advisor.call.autosave import CaseFile
from advisor.call.completion import candidates, problem
from advisor.call.terminal import label
from advisor.call.turn import Turn
from advisor.library.base import load
from advisor.reasoning.case import SKIPPED
from advisor.reasoning.casefile import read_case
from tests.call.playing import play
from tests.test_cli import run


def values(turn: Turn) -> dict[str, float | str | None]:
    return {name: entry.value for name, entry in turn.case.latest.items()}


def test_what_was_understood_is_shown_in_one_line(file: CaseFile) -> None:
    _, shown = play(file, "520 stack, trace of smoke")
    assert shown.startswith("noted: stack temperature 520 degF (normal); smoke spot number 0.5 (trace)")


@pytest.mark.parametrize(("answer", "name"), [
    ("1", "draft_over_fire"), ("2", "draft_breech"), ("draft at the breech", "draft_breech"),
])
def test_a_number_or_a_word_answers_what_is_asked_back(file: CaseFile, answer: str, name: str) -> None:
    turn, shown = play(file, "draft -.02, o2 5")
    assert shown.endswith("3 draft at the chimney, past the regulator -0.02 in. w.c.")
    assert values(turn) == {"o2": 5.0}
    assert label(turn) == "which? "
    assert [one.text for one in candidates(turn, "")][:2] == ["1", "2"]
    turn, _ = play(file, answer, turn=turn)
    assert values(turn) == {"o2": 5.0, name: -0.02}
    assert turn.case.remarks == ()
    assert not turn.choosing
    assert read_case(file.path, load()) == turn.case


@pytest.mark.parametrize("answer", ["none", "no", "not sure", "smoke 2", "9"])
def test_what_is_not_answered_stays_as_a_remark(file: CaseFile, answer: str) -> None:
    turn, _ = play(file, "draft -.02")
    kept = read_case(file.path, load()).remarks  # on disk before the answer
    assert [one.typed for one in kept] == ["draft -.02"]
    turn, _ = play(file, answer, turn=turn)
    assert set(values(turn)) <= {"smoke"}
    assert [one.typed for one in turn.case.remarks] == ["draft -.02"]


def test_what_is_doubted_is_entered_once_it_is_sure(file: CaseFile) -> None:
    turn, shown = play(file, "i think the strainer is dirty")
    assert "Is it so: pump strainer: dirty?" in shown
    assert values(turn) == {}
    assert values(play(file, "yes", turn=turn)[0]) == {"pump_strainer": "dirty"}
    assert values(play(file, "no", turn=turn)[0]) == {}


def test_a_net_stack_waits_for_the_room(file: CaseFile) -> None:
    turn, shown = play(file, "net stack 410")
    assert shown.endswith("Net stack: at what room temperature?")
    turn, _ = play(file, "68", turn=turn)
    assert values(turn) == {"room_temperature": 68.0, "stack_temperature": 478.0}
    turn, _ = play(file, "room 70, net stack 400")
    assert values(turn)["stack_temperature"] == 470.0
    turn, _ = play(file, "net stack 420", turn=turn)
    assert values(turn)["stack_temperature"] == 490.0


def test_two_questions_are_asked_one_after_the_other(file: CaseFile) -> None:
    turn, _ = play(file, "draft -.02; maybe the filter is dirty")
    turn, shown = play(file, "1", turn=turn)
    assert "Is it so: oil filter cartridge: dirty?" in shown
    turn, _ = play(file, "1", turn=turn)
    assert values(turn) == {"draft_over_fire": -0.02, "oil_filter": "dirty"}


def test_a_remark_is_kept_with_its_time_shown_and_taken_back(file: CaseFile) -> None:
    turn, shown = play(file, "the neighbor came by, stack 520")
    assert "kept as a remark: the neighbor came by" in shown
    assert turn.case.remarks[0].at is not None
    assert "remark: the neighbor came by" in play(file, "entries", turn=turn)[1]
    assert read_case(file.path, load()) == turn.case
    assert play(file, "undo", turn=turn)[0].case.entries == ()


def test_a_remark_stands_in_the_report_and_in_the_record(file: CaseFile) -> None:
    play(file, "boiler", "skip all", "the neighbor came by", "smoke 3")
    assert "noted on the call: the neighbor came by" in run("report", str(file.path))[1]
    assert run("record", "add-unit", "Mill")[0] == 0
    assert run("record", "keep", str(file.path), "--unit", "Mill")[0] == 0
    assert "the neighbor came by" in run("record", "show", "1")[1]


def test_no_line_is_refused_whole(file: CaseFile) -> None:
    turn, shown = play(file, "stack 520, o2 99, smoke 2")
    assert values(turn) == {"stack_temperature": 520.0, "smoke": 2.0}
    assert "Not understood and not entered: o2 99" in shown


def test_an_open_question_is_no_problem_of_the_line(file: CaseFile) -> None:
    turn, _ = play(file, "draft -.02")
    assert problem(turn, "2") == ""


def test_a_safety_question_passed_over_is_told_and_kept_as_not_looked_at(file: CaseFile) -> None:
    turn, shown = play(file, "skip oil leak")
    assert "not looked at, and kept as that: oil" in shown
    assert turn.case.latest["oil_leak"].status == SKIPPED
