"""From the first word to the first reading: few answers, few lines, on a unit with no hazard; and every turn fits."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from advisor.call.autosave import CaseFile
from advisor.call.conclude import begin
from advisor.call.hear import reply
from advisor.call.parts import GIVES_WAY, TEXT, fit
from advisor.call.prompt import opening
from advisor.call.turn import Turn
from advisor.library.base import load
from advisor.pages.wording import at_width
from advisor.reasoning.case import Case

MOST_ANSWERS, MOST_LINES = 7, 50
ANSWERS = {"look round": "clear", "co_room": "0", "start_behavior": "clean and no flame outside the chamber"}
CALLS = [
    ("sooting up", "boiler, water, retention head, chimney"),
    ("smokes when it starts", "boiler water retention chimney"),
    ("rumbles", "furnace, old style, chimney"),
    ("burns too much oil", "furnace, retention head, chimney"),
    ("tune-up", "boiler, water, retention, chimney"),
    ("smokes all the time", "boiler, steam, old style, chimney"),
    ("locks out", "furnace, retention, sealed"),
    ("smoke when it shuts off", "water heater, retention, chimney"),
    ("it squeals", "boiler water retention chimney"),
    ("no heat", "furnace, retention head, chimney"),
]


def looks(turn: Turn) -> bool:
    """Whether a combustion reading or a look at a part is asked for: nothing of safety, of the start, of the past."""
    base = load()
    if not turn.question.check:
        return False
    check = base.checks[turn.question.check]
    return not (check.safety or check.round or check.together or "start_behavior" in check.gives
                or check.title.startswith("ask"))


@pytest.mark.parametrize(("complaint", "unit"), CALLS)
def test_the_first_reading_is_few_answers_and_lines_away(file: CaseFile, complaint: str, unit: str) -> None:
    with at_width(80):
        turn = begin(load(), Case())
        lines = len(fit(opening(turn, file), 18)[0])
        answers = 0
        for line in (complaint, unit):
            turn, screen = reply(turn, line)
            lines, answers = lines + len(fit(screen, 18)[0]), answers + 1
        while not looks(turn):
            turn, screen = reply(turn, ANSWERS.get(turn.question.name, "cannot"))
            lines, answers = lines + len(fit(screen, 18)[0]), answers + 1
            assert answers <= MOST_ANSWERS, (turn.question, answers)
    assert lines <= MOST_LINES, lines


LINES = st.lists(st.sampled_from([
    "soot", "boiler, water, retention, chimney", "clear", "0", "clean", "stack 610, room 68", "smoke 4, spot dry",
    "co2 11.4", "o2 5", "draft .012 .075", "why", "next", "causes", "all", "help", "numbers", "entries", "more",
    "passages sooted", "remedy", "done", "done all", "retest", "test", "air", "skip", "undo", "redo", "why soot",
    "oil dripping at the filter", "1", "co room 12", "room co 2", "explain co2", "if smoke were 0", "close", "",
]), max_size=7)


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(LINES, st.sampled_from([(40, 20), (40, 12), (80, 24), (200, 50), (60, 15)]))
def test_every_turn_fits_the_screen(lines: list[str], size: tuple[int, int]) -> None:
    columns, rows = size
    with at_width(columns):
        turn = begin(load(), Case())
        for line in lines:
            turn, screen = reply(turn, line)
            shown, _ = fit(screen, rows - 6)
            assert all(len(one) <= max(columns, 40) for one in shown), shown
            stays = sum(len(one.forms[-1]) for one in screen if one.kind not in (TEXT,))
            assert len(shown) <= max(rows - 6, 8, stays + 1), (line, shown)


def test_kinds_of_parts_that_give_way_are_those_that_exist(file: CaseFile) -> None:
    turn = begin(load(), Case())
    kinds = set()
    for line in ("soot", "boiler, water, retention, chimney", "clear", "0", "clean", "stack 610, room 68, smoke 4",
                 "co2 11.4, draft .012 .075", "passages sooted", "co room 12", "stack 900"):
        turn, screen = reply(turn, line)
        kinds |= {one.kind for one in screen}
    assert kinds & set(GIVES_WAY) >= {"follows", "causes", "check", "noted", "question", "hazard", "remedy"}
