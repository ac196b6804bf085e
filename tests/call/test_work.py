"""The consultation from the cause to the closed case: remedy, retest, comparison, the record, the guided test."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from dataclasses import replace
from datetime import datetime, timedelta
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from advisor.call import autosave
from advisor.call.autosave import CaseFile
from advisor.call.commands import COMMANDS
from advisor.call.completion import state
from advisor.call.conclude import begin, emergency_of, hazards_standing
from advisor.call.parts import entire
from advisor.call.prompt import closing, opening
from advisor.call.put import put
from advisor.call.turn import Turn
from advisor.library.base import load
from advisor.library.yamlfiles import LibraryError
from advisor.reasoning.case import Case
from advisor.reasoning.casefile import beside, read_case
from advisor.visit.record import Unit, add_unit, open_record, save_visit, visits
from advisor.visit.remedy import Job, Work
from advisor.visit.trend import measures
from advisor.visit.workfile import parse_work, read_work, write_work
from tests.call.playing import play, say

ROOT = Path(__file__).parents[2]
ARRIVAL = ("soot", "skip all", "appliance boiler", "burner retention-head", "draft type natural",
           "relief_valve sound, water_low no, vent_disconnected no, oil_in_chamber none, spillage none",
           "draft .012 .075, smoke 4, spot_look dry, stack 610, room 68, co2 11.4, co 40, passages_look sooted")
AFTER = ("draft .02 .048, smoke 0, spot look clean, stack 468, stack_rise_rate 1, room 70, co2 12.2, co 15",)


def resumed(file: CaseFile) -> tuple[CaseFile, Turn]:
    base = load()
    work = read_work(file.path, base)
    return CaseFile(file.path, base, work=work), begin(base, read_case(file.path, base), work=work)


def test_from_the_remedy_to_the_closed_case(file: CaseFile) -> None:
    turn, shown = play(file, *ARRIVAL)
    assert "REMEDY for soot in the flue passages" in shown
    turn, shown = play(file, "remedy", turn=turn)
    assert "(confirmed)" in shown
    assert "respirator" in shown  # the cautions
    assert "STEP 1 of 8" in shown
    turn, shown = play(file, "done", turn=turn)
    assert "STEP 2 of 8" in shown
    turn, shown = play(file, "done 3 to 5, 8", "done 2", "next", turn=turn)
    assert "STEP 6 of 8" in shown
    turn, shown = play(file, "done all", turn=turn)
    assert "Draft over the fire?" in shown
    turn, shown = play(file, ".02", turn=turn)
    assert "Draft at the breech?" in shown
    turn, shown = play(file, "close", turn=turn)
    assert shown.startswith("NOT CLOSED")
    assert "smoke spot number: not retested yet; expected is zero or trace" in shown
    turn, shown = play(file, *AFTER, turn=turn)
    assert "PROVEN: soot in the flue passages" in shown
    turn, shown = play(file, "gallons 860, price 3.85", "compare", turn=turn)
    assert "combustion efficiency 79.3 83.9 % +4.6 points better" in shown
    assert "smoke spot number 4 0 -4 better" in shown
    # oil saved = 1 - 79.3 / 83.9, from the definition of the efficiency: 5.4 % of 860 gal are 47 gal
    assert "Oil saved for the same heat: 5.4 +/- 0.5 %" in shown
    assert "47 +/- 5 gal, $180 +/- 18" in shown
    assert "assumed:" in shown
    turn, shown = play(file, "close", turn=turn)
    assert "CLOSED: soot in the flue passages" in shown
    assert "closed" in state(turn)
    assert "Closed already" in play(file, "close", turn=turn)[1]
    assert "Remedy of soot in the flue passages: closed" in "\n".join(closing(turn, file))
    turn, shown = play(file, "smoke 2", turn=turn)
    assert "open again" in shown
    assert "left: smoke spot number 2" in shown
    assert read_case(file.path, load()).latest["smoke"].value == 4.0
    assert read_case(beside(file.path, "after"), load()).latest["smoke"].value == 2.0


def test_it_stays_open_and_says_what_is_left(file: CaseFile) -> None:
    turn, _ = play(file, *ARRIVAL, "remedy", "done all", *AFTER, "smoke 3")
    turn, shown = play(file, "close", turn=turn)
    assert shown == "NOT CLOSED. What is left: - smoke spot number 3 (some): expected is zero or trace"
    assert turn.work.closed is None
    turn, shown = play(file, "retest", turn=turn)
    assert "A new round" in shown
    _, shown = play(file, "close", turn=turn)
    assert shown.count("not retested yet") == 4
    assert "not proven by the retest yet" in "\n".join(closing(turn, file))


def test_a_hazard_of_the_arrival_keeps_the_case_open(file: CaseFile) -> None:
    turn, shown = play(file, *ARRIVAL, "oil_leak dripping", "remedy sooted flue passages", "done 1-6", "done")
    assert "step 7 is held back: not to open an oil valve" in shown
    turn, shown = play(file, "oil_leak none", turn=turn)
    assert "Taken as measured again, which cures nothing: oil leaking stays open" in shown
    turn, shown = play(file, "done", turn=turn)
    assert "step 7 is held back" in shown
    turn, shown = play(file, "cured new flare at the filter", turn=turn)
    assert "To be proven by: oil leaking, how the burner lights" in shown
    turn, shown = play(file, "done 7-8", turn=turn)
    assert turn.question.name == "oil_leak"
    turn, shown = play(file, *AFTER, "close", turn=turn)
    assert "oil leaking (hazard): not released" in shown
    assert hazards_standing(turn)
    assert "HAZARD still standing" in "\n".join(closing(turn, file))
    turn, shown = play(file, "oil_leak none, start clean", "close", turn=turn)
    assert "CLOSED" in shown
    assert not hazards_standing(turn)
    earlier = read_case(beside(file.path, "after"), load()).earlier
    assert set(earlier) == set(read_case(file.path, load()).entries)


def test_a_mistyped_entry_is_taken_out_and_a_measured_one_is_not(file: CaseFile) -> None:
    turn, shown = play(file, "soot", "skip all", "co room 20", "co room 2")
    assert "If 20 was mistyped and never so, type: correct" in shown
    assert hazards_standing(turn) == ("room-co-raised",)
    turn, shown = play(file, "correct", turn=turn)
    assert not hazards_standing(turn)
    turn, shown = play(file, "co room 20", "again co room 2", turn=turn)
    assert hazards_standing(turn) == ("room-co-raised",)
    turn, shown = play(file, "correct co room 2", turn=turn)
    assert hazards_standing(turn) == ("room-co-raised",)  # the 20 before was measured


def test_an_emergency_is_all_that_is_said_until_people_are_out(file: CaseFile) -> None:
    turn, shown = play(file, "soot", "boiler", "he has a headache and feels dizzy")
    assert shown.startswith("! SOMEBODY SICK IN THE HOUSE 1. Everyone out now")
    assert turn.question.name == "house_entry"
    assert "HAZARD" not in shown
    turn, shown = play(file, "cured opened a window", turn=turn)
    assert "people must be out first" in shown
    turn, shown = play(file, "no", turn=turn)
    assert shown.startswith("! SOMEBODY SICK")
    assert entire(opening(turn, file))[0] == "! SOMEBODY SICK IN THE HOUSE"  # taken up again: still nothing else
    assert "Nobody goes back in" in " ".join(closing(turn, file))
    turn, shown = play(file, "everyone is out", turn=turn)
    assert turn.found.latest["house_entry"].value == "out"
    turn, shown = play(file, "fire-service", turn=turn)
    assert "HAZARD" in shown
    assert turn.question.name == "heat_medium"  # and it goes on where it was


def test_what_is_entered_while_steps_are_left_is_as_found_and_says_so(file: CaseFile) -> None:
    turn, shown = play(file, *ARRIVAL, "remedy", "done", "nozzle 0.85")
    assert "Entered as found on arrival" in shown
    assert turn.found.latest["nozzle_size"].value == 0.85
    assert turn.work.after == Case()


def test_undo_goes_back_through_work_and_arrival(file: CaseFile) -> None:
    turn, _ = play(file, *ARRIVAL, "remedy", "done 1-7", "done", "smoke 1")
    for expected in ("smoke spot number 1", "remedy", "remedy", "remedy"):
        turn, shown = play(file, "undo", turn=turn)
        assert "taken back" in shown
        assert expected in shown
    assert turn.work == Work()
    turn, _ = play(file, "undo", turn=turn)
    assert "smoke" not in turn.found.latest
    # and behind what was read from disk
    turn, _ = play(file, *ARRIVAL[-1:], "remedy", "done all", "smoke 1", turn=turn)
    file, turn = resumed(file)
    turn, shown = play(file, "undo", turn=turn)
    assert "smoke spot number 1" in shown
    turn, _ = play(file, "undo", turn=turn)
    assert turn.work.job is not None
    assert turn.work.job.done == (1, 2, 3, 4, 5, 6, 7)


@pytest.mark.parametrize(("line", "says"), [
    ("done", "no remedy is in hand"), ("done 3", "no remedy is in hand"), ("retest", "none is in hand"),
    ("compare", "there is no after yet"), ("close", "no remedy is in hand"), ("remedy hope", "nothing here is called"),
    ("remedy none", "there is no remedy to drop"), ("keep", "nothing is entered yet"), ("unit", "which unit?"),
    ("unit mill", "there is no record here yet"), ("test foo", "test takes wet or analyzer"),
    ("air up", "air takes the marks"), ("air 5 5", "two different marks"), ("air nan 3", "air takes the marks"),
    ("remedy", "no cause is likely yet"), ("unit new", "a unit needs a label"),
    ("close it down", "close stands alone"),
])
def test_before_anything_is_entered_each_command_says_what_is_missing(file: CaseFile, line: str, says: str) -> None:
    turn, shown = play(file, line)
    assert says in shown
    assert turn.found == Case()


@pytest.mark.parametrize(("line", "says"), [
    ("done 9", "the steps are 1 to 8"), ("done 0", "the steps are 1 to 8"), ("done 5-2", "names no step"),
    ("done -3", "names no step"), ("done " + "9" * 300, "names no step"), ("done x", "names no step"),
    ("done 1", "done already"), ("retest", "a retest comes after the work: steps 2, 3"),
    ("test", "the work is under way"), ("air", "the work is under way"), ("remedy none", "steps of it are done"),
])
def test_junk_while_working_is_one_clear_line(file: CaseFile, line: str, says: str) -> None:
    turn, _ = play(file, *ARRIVAL, "remedy", "done 1")
    after, shown = play(file, line, turn=turn)
    assert says in shown
    assert after.work == turn.work


def test_a_cause_that_was_chosen_can_be_dropped_or_changed(file: CaseFile) -> None:
    turn, _ = play(file, *ARRIVAL, "remedy plugged nozzle")
    assert turn.work.job == Job("nozzle-plugged", turn.work.jobs[0].chosen)
    turn, _ = play(file, "remedy clean-gas-passages", turn=turn)
    assert [job.cause for job in turn.work.jobs] == ["sooted-gas-passages"]
    turn, _ = play(file, "remedy none", turn=turn)
    assert turn.work.jobs == ()
    assert turn.question.name


def test_everything_is_picked_up_again(file: CaseFile) -> None:
    turn, _ = play(file, *ARRIVAL, "remedy", "done 2-3")
    again, resumed_turn = resumed(file)
    assert resumed_turn.work == turn.work
    assert "2 of 8 steps done" in "\n".join(entire(opening(resumed_turn, again)))
    turn, _ = play(again, "done all", "smoke 0", turn=resumed_turn)
    again, resumed_turn = resumed(file)
    assert resumed_turn.retesting
    assert (resumed_turn.question, resumed_turn.work.jobs) == (turn.question, turn.work.jobs)
    shown = "\n".join(entire(opening(resumed_turn, again)))
    assert "case.after.yaml" in shown.replace("\n  ", "")
    assert "not proven by the retest yet" in shown
    turn, shown = play(again, *AFTER, "close", turn=resumed_turn)
    assert "CLOSED" in shown
    assert resumed(file)[1].work.closed is not None


def test_a_full_disk_loses_nothing_of_the_work(file: CaseFile, monkeypatch: pytest.MonkeyPatch) -> None:
    turn, _ = play(file, *ARRIVAL, "remedy")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(autosave, "write_whole", full)
        turn, shown = play(file, "done all", turn=turn)
        assert "NOT ON DISK: no space left on device" in shown
        turn, _ = play(file, "smoke 0", turn=turn)
    _, shown = play(file, "stack 470", turn=turn)
    assert "On disk again" in shown
    _, again = resumed(file)
    assert again.work.jobs[0].done == tuple(range(1, 9))
    assert {"smoke", "stack_temperature"} <= again.work.after.latest.keys()


@pytest.mark.parametrize(("text", "says"), [
    ("remedies: [{cause: gremlins}]", "'gremlins' is not a cause known here"),
    ("remedies: [{cause: sooted-gas-passages, done: [{step: 1.5}]}]", "must be a whole number"),
    ("remedies: [{cause: sooted-gas-passages, done: [{step: 1, at: noon}]}]", "'noon' is not a time"),
    ("remedies: 3\nclosed: soon\nhammer: 1", "unknown key `hammer`"), ("kept: -1", "must be a whole number"),
    ("[]]", "is not YAML"),
])
def test_a_broken_work_file_is_refused_with_its_place(text: str, says: str) -> None:
    with pytest.raises(LibraryError, match=r"a\.work\.yaml:\d") as error:
        parse_work(text, "a.work.yaml", load())
    assert says in str(error.value)


@settings(max_examples=50, deadline=None)
@given(st.lists(st.integers(1, 8), unique=True), st.datetimes(datetime(2000, 1, 1), datetime(2099, 1, 1)),
       st.integers(0, 99), st.text("abc: #'\"-", max_size=12).map(lambda text: " ".join(text.split())))
def test_work_is_read_as_it_was_written(done: list[int], at: datetime, since: int, unit: str) -> None:
    at = at.replace(microsecond=0)
    work = Work((Job("sooted-gas-passages", at, tuple(done), (at,) * len(done), since),), Case(), unit, at, since)
    assert parse_work(write_work(work), "a.work.yaml", load()) == work


def test_a_unit_shows_its_history_and_what_drifted_and_completes_the_case(file: CaseFile, record: Path) -> None:
    base = load()
    with open_record(record) as kept:
        unit = add_unit(kept, Unit("Mill Lane boiler", "Miller", equipment=(read_case_of("nozzle: 0.85 gph"))
                                   .entries, measured_in=measures(base)))
        good = read_case_of("stack: 480 F, co2: 11.6 %, smoke: 0, room: 68 F")
        for years in (2, 1):
            save_visit(kept, unit, good, at=datetime.now() - timedelta(days=365 * years), measured_in=measures(base))
    turn, shown = play(file, "soot", "skip all", "unit mill")
    assert "UNIT Mill Lane boiler (Miller)" in shown
    assert shown.count("no cause confirmed") == 2
    assert "completed here: CO2 at the last service" in shown
    assert "nozzle size" in shown
    assert turn.found.latest["nozzle_size"].value == 0.85
    assert (turn.found.latest["last_co2"].value, turn.found.latest["last_smoke"].value) == (11.6, 0.0)
    # common practice: stack up 50 degF since last year at the same CO2 shows fouling
    turn, shown = play(file, "stack 500, co2 11.5", turn=turn)
    assert "drifted" not in shown
    turn, shown = play(file, "stack 540", turn=turn)
    assert "stack temperature up by 60 degF (480 degF to 540 degF), with about the same carbon dioxide" in shown
    assert "look for soot or scale" in shown
    assert "drifted" not in play(file, "breech -.05", turn=turn)[1]  # said once
    turn, shown = play(file, "unit", turn=turn)
    assert "480 to 540 degF" in shown
    turn, _ = play(file, "passages_look sooted", "remedy", "done all", *AFTER, "close", turn=turn)
    turn, shown = play(file, "keep brushed in the rain", turn=turn)
    assert shown.startswith("kept as visit 3 of Mill Lane boiler; confirmed: soot in the flue passages; done: brush")
    assert "in the record already, as visit 3" in play(file, "keep", turn=turn)[1]
    with open_record(record, make=False) as kept:
        visit = visits(kept, unit)[-1]
    assert (visit.confirmed, visit.remedies) == (("sooted-gas-passages",), ("clean-gas-passages",))
    assert visit.note == "brushed in the rain"
    assert visit.after is not None
    assert (visit.before.latest["stack_temperature"].value, visit.after.latest["stack_temperature"].value) == (540, 468)
    again, _ = play(file, "undo", turn=turn)
    assert again.work.kept == 3  # what is in the record is not taken back


def read_case_of(text: str) -> Case:
    from advisor.reasoning.casefile import parse_case

    return parse_case(f"entries: {{{text}}}", "a.yaml", load())


def test_a_cause_proven_by_its_retest_is_kept_as_confirmed_and_one_that_is_not_is_not(file: CaseFile, record: Path
                                                                                      ) -> None:
    turn, _ = play(file, "soot", "skip all", "smoke 4", "unit new Barn", "remedy sooted-gas-passages", "done all",
                   "smoke 4")
    _, shown = play(file, "keep", turn=turn)
    assert "no cause confirmed; done: brush" in shown
    _, shown = play(file, *AFTER, "keep", turn=turn)
    assert "confirmed: soot in the flue passages" in shown


@pytest.mark.parametrize("line", ["unit mill", "unit new Mill", "keep"])
def test_a_broken_record_is_one_line_and_work_goes_on(file: CaseFile, record: Path, line: str) -> None:
    record.write_bytes(b"not a database, but something else that was put there" * 100)
    turn, _ = play(file, "smoke 3")
    turn = begin(load(), turn.found, work=Work(unit="Mill"))
    after, shown = play(file, line, turn=turn)
    assert shown.startswith("the record: ")
    assert "the case itself is kept" in shown
    assert replace(after, path=turn.path) == turn
    assert play(file, "stack 520", turn=after)[0].found.latest["stack_temperature"].value == 520.0


def test_the_name_of_a_command_may_still_name_a_reading(file: CaseFile) -> None:
    turn, _ = play(file, "unit boiler", "air supply open-room", "air filter clogged")
    assert turn.found.latest["appliance"].value == "boiler"
    assert turn.found.latest["air_supply"].value == "open-room"


SURROUNDINGS = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8", "NO_COLOR": "1"}


def talk(typed: str, folder: Path) -> tuple[int, str]:
    done = subprocess.run([sys.executable, "-m", "advisor.cli", "call", "case.yaml"], input=typed.encode(),
                          capture_output=True, env={**SURROUNDINGS, "BURNER_ADVISOR_RECORD": str(folder / "r.sqlite3")},
                          cwd=folder, timeout=300, check=False)
    out = done.stdout.decode() + done.stderr.decode()
    assert "Traceback" not in out
    return done.returncode, out


def test_after_a_kill_between_remedy_and_retest_the_work_goes_on(tmp_path: Path) -> None:
    child = subprocess.Popen([sys.executable, "-m", "advisor.cli", "call", "case.yaml"], stdin=subprocess.PIPE,
                             stdout=subprocess.DEVNULL, env=SURROUNDINGS, cwd=tmp_path)
    assert child.stdin is not None
    child.stdin.write("\n".join([*ARRIVAL, "remedy", "done all", "draft .02 .048", ""]).encode())
    child.stdin.flush()
    after = tmp_path / "case.after.yaml"
    deadline = time.monotonic() + 60
    while not after.exists() or "draft_breech" not in read_case(after, load()).latest:
        assert time.monotonic() < deadline
        time.sleep(0.02)
    child.send_signal(signal.SIGKILL)
    child.wait()
    child.stdin.close()
    status, out = talk("\n".join(["close", *AFTER, "close", "quit", ""]), tmp_path)
    assert status == 0
    assert out.index("done, not proven by the retest yet") < out.index("NOT CLOSED") < out.index("CLOSED: soot")
    names = {one.name for one in tmp_path.iterdir() if not one.name.startswith(".")}
    assert names == {"case.yaml", "case.after.yaml", "case.work.yaml"}


_WORDS = st.one_of(
    st.sampled_from([*COMMANDS, "all", "1", "2-5", "99", "smoke 0", "smoke 4", "draft .02 .05", "none", "again", "new",
                     "sooted-gas-passages", "stack 470", "room co 90", "Mill", "cannot"]),
    st.text(max_size=6),
)


@lru_cache(maxsize=2)
def at_work(done: bool) -> tuple[Case, Work]:
    """A case with a remedy in hand, all steps of it done or one."""
    with TemporaryDirectory() as folder:
        turn, _ = play(CaseFile(Path(folder) / "case.yaml", load()), *ARRIVAL, "remedy",
                       "done all" if done else "done 2")
    return turn.found, turn.work


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.lists(_WORDS, max_size=3).map(" ".join).filter(lambda line: "save" not in line), max_size=6),
       st.booleans())
def test_no_text_breaks_the_work_and_the_files_always_hold_it(tmp_path: Path, lines: list[str], done: bool) -> None:
    for old in tmp_path.glob("case*"):
        old.unlink()
    file = CaseFile(tmp_path / "case.yaml", load())
    found, work = at_work(done)
    file.keep(found, work)
    turn = begin(load(), found, work=work)
    for line in lines:
        turn, shown = say(turn, line, file)
        assert all(len(one) <= 80 for one in shown)
    _, again = resumed(file)
    assert again.work.jobs == turn.work.jobs
    assert (again.work.unit, again.work.closed, again.work.kept) == (
        turn.work.unit, turn.work.closed, turn.work.kept)
    assert {name: (entry.value, entry.status) for name, entry in again.work.after.latest.items()} == {
        name: (pytest.approx(entry.value) if isinstance(entry.value, float) else entry.value, entry.status)
        for name, entry in turn.work.after.latest.items()}


@pytest.mark.parametrize("line", [
    "remedy sooted-gas-passages", "done all", "done 1", "retest", "compare", "close", "test", "air 1 8", "next", "all",
    "causes", "numbers", "explain watch-start", "steps watch-start", "why measure-smoke", "if co_room were 0",
    "why not sooted-gas-passages", "unit new A", "keep",
])
def test_while_people_must_be_out_the_orders_are_all_that_is_said(file: CaseFile, line: str) -> None:
    """A remedy told as done would end the emergency with people inside."""
    turn, _ = play(file, "boiler", "soot", "skip all", "remedy sooted-gas-passages", "co room 90")
    orders = emergency_of(turn)
    assert orders
    then, shown = play(file, line, turn=turn)
    assert shown == " ".join(" ".join(entire(put(turn))).split())
    assert (then.found, then.work) == (turn.found, turn.work)
    assert emergency_of(then) == orders
