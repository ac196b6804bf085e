"""Several things asked on one line: each part answers its own question; what safety hangs on is never passed over."""

from __future__ import annotations

import pytest

from advisor.call.conclude import begin
from advisor.call.hear import reply
from advisor.call.parts import flat
from advisor.call.turn import Turn
from advisor.library.base import load
from advisor.reasoning.case import Case

ROUND = ["boiler, water, retention head, chimney", "clear", "0"]


def after(*lines: str) -> Turn:
    turn = begin(load(), Case())
    for line in lines:
        turn, _ = reply(turn, line)
    return turn


def told(turn: Turn, *names: str) -> dict[str, object]:
    return {entry.name: entry.value for entry in turn.case.latest.values() if entry.name in names and entry.value}


@pytest.mark.parametrize(("line", "gives"), [
    ("nothing", {"changed_lately": "nothing", "house_changed": "nothing"}),
    ("no", {"changed_lately": "nothing", "house_changed": "nothing"}),
    ("new windows", {"house_changed": "tightened"}),
    ("changed the nozzle", {"changed_lately": "nozzle"}),
    ("oil delivery last week, new windows", {"fuel_change": "fresh-delivery", "house_changed": "tightened"}),
])
def test_what_was_changed_is_one_question(line: str, gives: dict[str, str]) -> None:
    turn = after("sooting up", *ROUND)
    assert turn.question.check == "ask-what-was-changed"
    turn, _ = reply(turn, line)
    assert told(turn, "changed_lately", "house_changed", "fuel_change") == gives


@pytest.mark.parametrize(("line", "gives"), [
    ("lights clean, no flame outside", {"start_behavior": "clean", "flame_rollout": "no"}),
    ("late with a puff, 4 seconds, no flame outside",
     {"start_behavior": "delayed-puff", "ignition_delay": 4.0, "flame_rollout": "no"}),
    ("sprays but doesn't light", {"start_behavior": "spray-no-flame"}),
])
def test_the_start_is_one_question(line: str, gives: dict[str, object]) -> None:
    turn = after("sooting up", *ROUND, "nothing")
    assert turn.question.check == "watch-start"
    turn, _ = reply(turn, line)
    assert told(turn, "start_behavior", "ignition_delay", "flame_rollout") == gives
    assert turn.case.values["complaint"] == "soot"


@pytest.mark.parametrize("line", ["hit the reset", "sprays but won't light", "it smokes"])
def test_by_the_way_no_other_call_is_made_of_it(line: str) -> None:
    turn = after("no hot water", *ROUND[:1])
    turn, _ = reply(turn, line)
    assert turn.case.values["complaint"] == "no-hot-water"


def test_a_complaint_that_was_not_explained_is_not_closed_as_nothing_wrong() -> None:
    turn = after("locks out", *ROUND, "nothing")
    turn, screen = reply(turn, "close anyway")
    assert turn.work.closed is not None
    assert "what the call is about was not found" in "\n".join(flat(screen))


def test_a_look_that_shows_a_hazard_is_asked_for_still() -> None:
    turn = after("sooting up", *ROUND, "nothing", "clean")
    assert turn.question.name == "flame_rollout"


def test_resets_are_asked_for_still() -> None:
    turn = after("smokes when it starts", *ROUND, "nothing")
    assert turn.question.check == "ask-lockouts"
    turn, _ = reply(turn, "never")
    assert turn.question.name == "resets_pressed"
