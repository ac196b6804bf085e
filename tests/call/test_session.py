"""The turns of a consultation: intake, follow-up, undo, skip, what-if, resume, and any junk typed."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from advisor.call import autosave
from advisor.call.autosave import CaseFile, new_path
from advisor.call.commands import COMMANDS
from advisor.call.completion import candidates, problem, state
from advisor.call.conclude import begin
from advisor.call.parts import entire, flat
from advisor.call.prompt import closing, opening, pasted
from advisor.call.questions import INTAKE, open_names
from advisor.call.round import ROUND, round_names
from advisor.call.turn import Question, Turn
from advisor.library.base import load
from advisor.reasoning.case import RECHECKED, SKIPPED, UNCHECKED, Case
from advisor.reasoning.casefile import read_case
from advisor.reasoning.entries import read_entry
from tests.call.playing import play, say


def answers(turn: Turn) -> dict[str, float | str | None]:
    return {name: entry.value for name, entry in turn.case.latest.items()}


def test_the_intake_asks_in_order_and_takes_bare_answers(file: CaseFile) -> None:
    turn = begin(load(), Case())
    asked = []
    for line in ("soot", "boiler", "water", "retention", "natural"):
        asked.append(turn.question.name)
        turn, _ = say(turn, line, file)
    assert asked == [*INTAKE]
    assert answers(turn)["burner_type"] == "retention-head"
    assert turn.question == Question(ROUND, "ask-people")


def test_the_kind_of_unit_is_taken_on_one_line(file: CaseFile) -> None:
    turn, _ = play(file, "soot", "boiler, retention, chimney")
    assert answers(turn) == {"complaint": "soot", "appliance": "boiler", "burner_type": "retention-head",
                             "draft_kind": "natural"}
    assert turn.question.name == "heat_medium"
    assert not turn.case.remarks


def test_words_that_only_resemble_a_complaint_are_none_in_a_line_that_names_the_unit(file: CaseFile) -> None:
    turn, _ = play(file, "old-style furnace on a chimney")
    assert "complaint" not in answers(turn)
    assert answers(turn)["appliance"] == "furnace"


def test_what_plates_tell_is_asked_when_a_check_needs_it(file: CaseFile) -> None:
    base = load()
    assert set(open_names(base, Case(), base.checks["measure-pump-pressure"])) >= {"pump_pressure_required",
                                                                                   "nozzle_size"}
    assert open_names(base, Case(), base.checks["measure-smoke"])[0] == "smoke"


def test_only_a_boiler_is_asked_whether_it_makes_steam(file: CaseFile) -> None:
    asked = {unit: play(file, "soot", unit)[0].question.name for unit in ("boiler", "skip", "furnace", "water-heater")}
    assert asked == {"boiler": "heat_medium", "skip": "heat_medium", "furnace": "burner_type",
                     "water-heater": "burner_type"}


def test_an_empty_line_passes_over_an_intake_question_and_enters_nothing_later(file: CaseFile) -> None:
    turn, _ = play(file, "", "skip", "cannot")
    assert [entry.status for entry in turn.case.entries] == [SKIPPED, SKIPPED, UNCHECKED]
    turn, _ = play(file, "soot", "skip all", turn=turn)
    before = turn.case
    turn, shown = play(file, "", turn=turn)
    assert turn.case == before
    assert "an empty line enters nothing" in shown


def test_a_question_passed_over_is_not_asked_again(file: CaseFile) -> None:
    turn, _ = play(file, "soot", "skip all")
    seen = set()
    for _ in range(40):
        if not turn.question.name:
            break
        assert turn.question.name not in seen
        seen.add(turn.question.name)
        turn, _ = say(turn, "cannot" if len(seen) % 2 else "skip", file)
    assert len(seen) > 10


def test_everything_passed_over_comes_to_an_end(file: CaseFile) -> None:
    turn, shown = play(file, "soot", "skip all")
    for _ in range(len(load().checks) + 1):
        if not turn.question.name:
            break
        turn, shown = play(file, "skip all", turn=turn)
    assert not turn.question.name
    assert "Nothing more is asked" in shown


def test_a_hazard_comes_first_and_in_full(file: CaseFile) -> None:
    turn, shown = play(file, "soot", "boiler", "room co 20, stack 500")
    assert shown.startswith("HAZARD")
    assert turn.question.name == "heat_medium"
    hazard = load().hazards[turn.assessment.hazards[0].name] if turn.assessment else None
    assert hazard is not None
    assert all(step.text.split()[0] in shown for step in hazard.do)
    assert "HAZARD still standing" in "\n".join(closing(turn, file))
    _, shown = play(file, "correct room co 0", turn=turn)
    assert "No longer seen" in shown


def test_only_what_changed_is_shown(file: CaseFile) -> None:
    turn, shown = play(file, "soot", "skip all", "draft .012 .075")
    assert "read as suction" in shown
    assert "draft drop from breech to fire 0.063 +/- 0.003 in. w.c. (high)" in shown
    _, shown = play(file, "smoke 0", turn=turn)
    assert "0.063" not in shown


def test_a_new_value_says_what_it_replaces(file: CaseFile) -> None:
    _, shown = play(file, "smoke 4", "smoke 1")
    assert "it was 4" in shown


def test_a_name_alone_asks_its_question_and_a_bare_number_answers_it(file: CaseFile) -> None:
    turn, shown = play(file, "stack", turn=None)
    assert "Stack temperature?" in shown
    turn, _ = play(file, "520", turn=turn)
    assert answers(turn) == {"stack_temperature": 520.0}
    assert turn.question.name == "complaint"


def test_the_question_follows_what_was_entered_out_of_order(file: CaseFile) -> None:
    turn, _ = play(file, "soot", "skip all", "clear")
    name = turn.question.name
    assert name == "co_room"
    turn, _ = play(file, "outdoor co 0, room co 0", turn=turn)
    assert turn.question.name not in (name, ROUND)


def test_the_look_round_is_one_list_answered_by_a_word_or_by_numbers(file: CaseFile) -> None:
    base = load()
    turn, shown = play(file, "boiler", "draft type natural", "soot", "skip all")
    assert "16. boiler full, gauge in its range" in shown
    names = round_names(base, turn.case, turn.assessment)
    for appliance, more in (("furnace", set()), ("boiler", {"relief_valve", "water_low"})):
        case = Case((read_entry(base, "appliance", appliance),))
        assert set(round_names(base, case)) & {"relief_valve", "water_low"} == more
    all_clear, _ = play(file, "clear", turn=turn)
    assert {name: answers(all_clear)[name] for name in names} == {name: base.observations[name].clear for name in names}
    assert all(entry.at for entry in all_clear.case.entries if entry.name in names)  # a look with a time
    some, _ = play(file, "clear but 4 15, 15 not looked, 4 solvent", turn=turn)
    assert answers(some)["vapor_smell"] == "solvent"
    assert next(entry.status for entry in some.case.entries if entry.name == "relief_valve") == SKIPPED
    assert set(names) <= set(answers(some))
    told, _ = play(file, "clear but 9 5, 9 pool of oil, 5 dripping at the filter", turn=turn)  # in people's own words
    assert (answers(told)["oil_in_chamber"], answers(told)["oil_leak"]) == ("pool", "dripping")
    asked, shown = play(file, "clear but 5", turn=turn)
    assert asked.question.name == "oil_leak"
    assert "oil_leak" not in answers(asked)
    asked, shown = play(file, "clear 1-3", turn=turn)
    assert set(answers(asked)) & set(names) == {"symptoms", "co_alarm", "room_smoke"}
    assert asked.question.name == ROUND
    left, shown = play(file, "not looked", turn=turn)
    assert all(answers(left)[name] is None for name in names)
    for wrong in ("99", "clear but", "clear but x", "5 purple", "hm"):
        same, shown = play(file, wrong, turn=turn)
        assert same.case == turn.case, wrong
    turn, shown = play(file, "it smells like gas down here", turn=turn)
    assert shown.startswith("! FUEL GAS OR STRONG VAPOR")


def test_what_was_not_looked_at_blocks_what_needs_it(file: CaseFile) -> None:
    turn, _ = play(file, "boiler", "draft type natural", "no-heat", "skip all", "clear but 15, 15 not looked")
    assert turn.assessment is not None
    checks = [one.check for one in (turn.assessment.checks.first, *turn.assessment.checks.others) if one]
    assert not [name for name in checks if "start" in load().acts_of_check(load().checks[name])]
    _, shown = play(file, "all", turn=turn)
    assert "held back: not to start the burner: relief valve and pressure: not looked at" in shown


def test_undo_takes_back_a_line_at_a_time_to_the_beginning(file: CaseFile) -> None:
    first = begin(load(), Case())
    turn, _ = play(file, "boiler", "smoke 3, o2 5", "manufacturer co2-high 12.5", "instruments none", turn=first)
    for _ in range(4):
        turn, shown = play(file, "undo", turn=turn)
        assert "taken back" in shown
    assert turn.case == Case()
    assert read_case(file.path, load()) == Case()
    assert "nothing to take back" in play(file, "undo", turn=turn)[1]


def test_undo_goes_on_behind_what_was_read_from_disk(file: CaseFile) -> None:
    play(file, "smoke 3", "stack 520")
    turn = begin(load(), read_case(file.path, load()))
    turn, _ = play(file, "undo", turn=turn)
    assert answers(turn) == {"smoke": 3.0}


def test_what_if_leaves_the_case_and_the_file_alone(file: CaseFile) -> None:
    turn, _ = play(file, "soot", "skip all", "smoke 5")
    on_disk = file.path.read_bytes()
    after, shown = play(file, "if room co were 250", turn=turn)
    assert after == turn
    assert file.path.read_bytes() == on_disk
    assert "hazard: carbon monoxide" in shown


@pytest.mark.parametrize("line", [
    "why", "steps", "steps smoke", "why not dirty retention head", "why soot in the flue passages", "entries",
    "numbers",
    "causes", "next", "all", "help", "explain draft drop", "if smoke were 0", "figure draft drop", "why look-round",
    "why stack", "explain", "steps measure-smoke", "more", "why flue passages restricted",
])
def test_asking_changes_nothing_and_answers_something(file: CaseFile, line: str) -> None:
    turn, _ = play(file, "soot", "skip all", "draft .012 .075, smoke 4, stack 610, room 68, co2 11")
    after, shown = play(file, line, turn=turn)
    assert after == turn
    assert len(shown) > 20


@pytest.mark.parametrize("line", ["why", "steps", "causes", "all", "numbers", "entries", "next", "explain", "undo",
                                  "trust", "trust smoke", "manufacturer", "if", "why not", "save", "figure net stack",
                                  "redo", "report", "close"])
def test_commands_before_anything_is_entered(file: CaseFile, line: str) -> None:
    turn, shown = play(file, line)
    assert turn.case == Case()
    assert shown


def test_why_names_rule_mechanism_and_source(file: CaseFile) -> None:
    _, shown = play(file, "soot", "skip all", "passages_look sooted", "why sooted-gas-passages")
    rules = [rule for rule in load().rules.values() if "sooted-gas-passages" in rule.confirms]
    assert any(" ".join(rule.because.split())[:40] in shown for rule in rules)
    assert "common practice" in shown
    assert "speaks for it" in shown


def test_a_confirmed_cause_brings_its_remedy_and_retest(file: CaseFile) -> None:
    _, shown = play(file, "soot", "skip all", "passages_look sooted")
    assert "REMEDY for soot in the flue passages" in shown
    assert "retest:" in shown


def test_the_maker_s_figure(file: CaseFile) -> None:
    turn, shown = play(file, "manufacturer co2-high 12 %", "co2 12.6")
    assert turn.case.manufacturer == {"co2-high": 12.0}
    assert "(high)" in shown or "(borderline high)" in shown
    assert read_case(file.path, load()).manufacturer == {"co2-high": 12.0}
    turn, _ = play(file, "manufacturer co2-high none", turn=turn)
    assert turn.case.manufacturer == {}
    for line, words in (("manufacturer co2-high 12 psi", "is a pressure unit"),
                        ("manufacturer hat 3", "nothing here is called"),
                        ("manufacturer co2-high 1200", "is not plausible"), ("manufacturer co2 12", "say which")):
        assert words in play(file, line, turn=turn)[1]


def test_instruments_at_hand(file: CaseFile) -> None:
    turn, _ = play(file, "instruments", "draft gauge, smoke tester")
    assert turn.case.instruments == ("draft-gauge", "smoke-tester")
    turn, _ = play(file, "instruments", "smoke 3", turn=turn)
    assert turn.case.latest["smoke"].value == 3.0
    assert "not an instrument" in play(file, "instruments hammer", turn=turn)[1]


def test_a_doubted_reading_is_taken_again_or_trusted(file: CaseFile) -> None:
    base = load()
    turn, shown = play(file, "soot", "skip all", "clear", "spillage none, smoke 0, spot_look dry")
    assert "IN DOUBT" in shown
    assert turn.assessment is not None
    assert turn.assessment.doubts[0].open
    trusted, _ = play(file, "trust smoke", turn=turn)
    assert trusted.case.latest["smoke"].how == RECHECKED
    again = turn
    for _ in range(30):
        doubts = again.assessment.doubts if again.assessment else ()
        if not any(one.open for one in doubts):
            break
        value = again.case.latest.get(again.question.name)
        symbols = base.named[again.question.name].symbols
        line = value.typed if value and value.value is not None else next(iter(symbols), "skip")
        again, _ = play(file, line if again.question.name in base.observations or value else "skip", turn=again)
    assert again.assessment is not None
    assert not any(one.open for one in again.assessment.doubts)


def test_two_looks_that_disagree_are_followed_by_a_third(file: CaseFile) -> None:
    turn, shown = play(file, "lockout", "skip all", "porcelain cracked", "right", "clean", "sound")
    assert "Two looks at the same thing" in shown
    assert (turn.question.name, turn.question.again) == ("porcelain", True)
    third, _ = play(file, "cracked", turn=turn)
    assert third.assessment is not None
    assert third.assessment.causes[0].name == "porcelain-cracked"
    assert third.assessment.causes[0].confirmed
    trusted, _ = play(file, "trust porcelain", turn=turn)
    assert trusted.assessment is not None
    assert not trusted.assessment.doubts
    assert trusted.case.latest["porcelain"].value == "sound"


def test_several_pasted_lines_are_taken_one_after_the_other(file: CaseFile) -> None:
    turn, screen = pasted(begin(load(), Case()), "stack 520\nsmoke 3\nrubbish\no2 5\n", file)
    shown = " ".join(flat(screen))
    assert answers(turn) == {"stack_temperature": 520.0, "smoke": 3.0, "o2": 5.0}
    assert "is not an answer" in shown or "neither a reading" in shown


@pytest.mark.parametrize("paste", ["x" * 100_000, "stack 520\n" * 10_000, "\n" * 100_000, "\x00\x1b[2J" * 20_000])
def test_a_paste_of_100_kilobytes_is_one_clear_line(file: CaseFile, paste: str) -> None:
    turn, screen = pasted(begin(load(), Case()), paste, file)
    assert turn.case == Case()
    assert len(" ".join(flat(screen))) < 400


def test_an_accepted_entry_is_on_disk_before_it_is_weighed(file: CaseFile, monkeypatch: pytest.MonkeyPatch) -> None:
    from advisor.call import conclude

    seen = []

    def spy(case: Case, base: object) -> object:
        seen.append(read_case(file.path, load()).latest.keys() == case.latest.keys())
        raise KeyboardInterrupt

    monkeypatch.setattr(conclude, "assess", spy)
    with pytest.raises(KeyboardInterrupt):
        say(begin(load(), Case()), "smoke 3, stack 520", file)
    assert seen == [True]


def test_a_full_disk_is_told_in_a_line_and_nothing_is_lost(file: CaseFile, monkeypatch: pytest.MonkeyPatch) -> None:
    turn, _ = play(file, "smoke 3")
    before = file.path.read_bytes()

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(autosave, "save_case", full)
        turn, shown = play(file, "stack 520", turn=turn)
        assert "NOT ON DISK: no space left on device" in shown
        turn, shown = play(file, "o2 5", turn=turn)
        assert "the last 2 lines" in shown
        assert "NOT ON DISK" in "\n".join(closing(turn, file))
        assert state(turn).startswith("NOT ON DISK")
    assert file.path.read_bytes() == before
    turn, shown = play(file, "room 68", turn=turn)
    assert "On disk again" in shown
    assert read_case(file.path, load()).latest.keys() == turn.case.latest.keys() == {
        "smoke", "stack_temperature", "o2", "room_temperature"}


def test_save_writes_a_copy_and_never_over_another_file(file: CaseFile, tmp_path: Path) -> None:
    other = tmp_path / "other.yaml"
    other.write_text("precious")
    turn, shown = play(file, "smoke 3", f"save {other}")
    assert "is there already" in shown
    assert other.read_text() == "precious"
    play(file, f"save {tmp_path / 'copy'}", turn=turn)
    assert read_case(tmp_path / "copy.yaml", load()).latest["smoke"].value == 3.0
    assert "not saved to" in play(file, f"save {tmp_path}/no/such/folder", turn=turn)[1]


def test_a_new_file_never_takes_the_name_of_another(tmp_path: Path) -> None:
    from datetime import datetime

    now = datetime(2026, 1, 5, 10, 30)
    names = [new_path(tmp_path, now).name for _ in range(3)]
    assert names == ["burner-case-20260105-1030.yaml", "burner-case-20260105-1030-2.yaml",
                     "burner-case-20260105-1030-3.yaml"]


def test_resuming_shows_what_stands(file: CaseFile) -> None:
    turn, _ = play(file, "soot", "skip all", "room co 12")
    shown = "\n".join(entire(opening(begin(load(), read_case(file.path, load())), file)))
    assert "Going on with" in shown
    assert "HAZARD" in shown
    play(file, "again room co 250", turn=turn)
    shown = "\n".join(entire(opening(begin(load(), read_case(file.path, load())), file)))
    assert shown.startswith("! CARBON MONOXIDE, 70 PPM OR MORE")
    assert "Going on with" not in shown


def test_completion_knows_names_answers_and_commands(file: CaseFile) -> None:
    turn, _ = play(file, "soot")
    assert next(candidates(turn, "boi")).text == "boiler"
    assert "stack" in [one.text for one in candidates(turn, "smoke 3, sta")]
    assert [one.text for one in candidates(turn, "spot look o")] == ["oily-yellow"]
    assert "sooted-gas-passages" in [one.text for one in candidates(turn, "why soot")]
    assert "undo" in [one.text for one in candidates(turn, "un")]
    assert all(one.meaning for one in candidates(turn, "st"))
    assert problem(turn, "stack 500 psi")
    assert not problem(turn, "sta")
    assert not problem(turn, "stack 520")


_WORDS = st.one_of(
    st.sampled_from([*COMMANDS, "stack", "520", "smoke", "draft", "-.02", "o2", ",", ";", "all", "soot", "co2 12",
                     "sooted-gas-passages", "co2-high", "look-round", "draft drop", "room co 90", "none", "yes"]),
    st.text(max_size=8),
)


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.lists(_WORDS, max_size=5).map(" ".join).filter(lambda line: "save" not in line), max_size=5))
def test_no_text_breaks_a_session_and_the_file_always_holds_the_case(tmp_path: Path, lines: list[str]) -> None:
    base = load()
    file = CaseFile(tmp_path / "case.yaml", base)
    turn = begin(base, Case())
    file.keep(turn.case)
    for line in lines:
        list(candidates(turn, line))
        problem(turn, line)
        turn, shown = say(turn, line, file)
        assert all(len(one) <= 80 for one in shown)
    again = read_case(file.path, base)
    assert {name: (one.value, one.status) for name, one in again.latest.items()} == {
        name: (pytest.approx(one.value) if isinstance(one.value, float) else one.value, one.status)
        for name, one in turn.case.latest.items()}
    assert again.instruments == turn.case.instruments


@pytest.mark.parametrize(("appliance", "asked"), [("furnace", False), ("boiler", True), ("water-heater", True)])
def test_only_what_the_unit_can_have_is_asked(appliance: str, asked: bool) -> None:
    """A furnace has no relief valve and no water; where the appliance is not known, both are asked."""
    base = load()
    check = base.checks["look-at-boiler"]
    names = open_names(base, Case((read_entry(base, "appliance", appliance),)), check)
    assert ("relief_valve" in names) is asked
    assert ("water_low" in names) is (appliance == "boiler")
    assert set(open_names(base, Case(), check)) == set(check.gives)
