"""The guided test: order, what a change asks for again, steady state, and the verb."""

import argparse
import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.library.base import load
from advisor.reasoning.case import UNCHECKED, Case, Entry
from advisor.reasoning.casefile import read_case
from advisor.reasoning.entries import read_entry
from advisor.visit import testverb
from advisor.visit.airguide import settings_of
from advisor.visit.procedure import (
    Kit,
    Progress,
    SteadyError,
    counting,
    is_done,
    next_step,
    passed_by,
    projection,
    regulator_moved,
    steps,
)

KITS: tuple[Kit, ...] = ("wet", "analyzer")


def case_of(*typed: str) -> Case:
    base = load()
    return Case(tuple(read_entry(base, *one.split("=")) for one in typed))


def due(progress: Progress) -> str:
    step = next_step(progress)
    return "" if step is None else step.name


BEFORE = frozenset({"instruments", "hole", "prepare", "steady"})


def test_every_step_names_what_the_knowledge_has() -> None:
    base = load()
    for kit in KITS:
        names = [step.name for step in steps(kit)]
        assert len(set(names)) == len(names)
        for step in steps(kit):
            assert step.reason
            assert step.lost
            for check in step.checks:
                assert check in base.checks
            for name in step.gives:
                assert name in base.quantities or name in base.observations
            for name in step.gives:  # somebody says how to get it
                assert any(name in base.checks[check].gives for check in step.checks) or name in {
                    "appliance", "burner_type", "draft_kind"}, name


@pytest.mark.parametrize("kit", KITS)
def test_order_of_a_manual_test(kit: Kit) -> None:
    # common practice: stack, draft, smoke, CO2 or O2, last stack, then efficiency; instruments and hole before
    names = [step.name for step in steps(kit)]
    assert names == ["instruments", "hole", "prepare", "steady", "draft", "smoke", "gas", "stack", "co", "efficiency",
                     "close"]


def test_smoke_comes_again_after_the_regulator() -> None:
    # common practice: after any change of the draft regulator, repeat the smoke test
    read = ("draft_breech=-.06", "draft_over_fire=-.03", "smoke=trace", "spot_look=clean", "fluid_state=fresh",
            "co2=12", "stack_temperature=480", "co=20")
    progress = Progress("wet", case_of(*read), BEFORE)
    assert due(progress) == "efficiency"
    moved = regulator_moved(progress)
    assert due(moved) == "draft"
    assert "smoke" not in counting(moved.case).latest
    assert {"room_temperature", "stack_temperature"} & {*counting(moved.case).latest} == {"stack_temperature"}
    again = Progress("wet", moved.case.having(*case_of("draft_breech=-.05", "draft_over_fire=-.02").entries), BEFORE)
    assert due(again) == "smoke"
    assert next(entry.value for entry in again.case.entries if entry.name == "smoke") == 0.5  # nothing is lost


def test_gas_and_last_stack_belong_to_the_latest_smoke() -> None:
    read = ("draft_breech=-.05", "draft_over_fire=-.02", "smoke=trace", "spot_look=clean", "fluid_state=fresh",
            "co2=12", "stack_temperature=480", "co=20")
    progress = Progress("wet", case_of(*read), BEFORE)
    later = Progress("wet", progress.case.having(*case_of("smoke=1").entries), BEFORE)
    assert due(later) == "gas"
    gas = Progress("wet", later.case.having(*case_of("fluid_state=fresh", "co2=12.4").entries), BEFORE)
    assert due(gas) == "stack"


def test_first_zero_leads_to_a_trace_and_back() -> None:
    # common practice: a first zero is not a finish
    passed = BEFORE | {"draft"}
    course = []
    case = Case()
    for smoke in ("0", "0", "trace", "trace", "0"):
        case = case.having(*case_of(f"smoke={smoke}", "spot_look=clean").entries)
        course.append(due(Progress("wet", case, passed)))
    assert course == ["trace", "trace", "back", "back", "gas"]


def test_a_first_trace_needs_no_closing() -> None:
    progress = Progress("wet", case_of("smoke=trace", "spot_look=clean"), BEFORE | {"draft"})
    assert due(progress) == "gas"


def test_smoke_keeps_the_analyzer_out_by_reason_not_by_force() -> None:
    # common practice: zero smoke first, electronic analyzer after
    progress = Progress("analyzer", case_of("smoke=4", "spot_look=dry-gray"), BEFORE | {"draft"})
    step = next_step(progress)
    assert step is not None
    assert step.name == "clear"
    assert "filter and cells" in step.lost
    assert due(passed_by(progress, step)) == "gas"
    assert due(Progress("wet", progress.case, progress.passed)) == "gas"


def test_everything_can_be_skipped_and_says_what_is_lost() -> None:
    for kit in KITS:
        progress = Progress(kit)
        count = 0
        while (step := next_step(progress)) is not None:
            assert step.lost
            progress = passed_by(progress, step)
            count += 1
        assert count == len(steps(kit))


def test_could_not_check_is_an_answer() -> None:
    case = Case((Entry("co", UNCHECKED, None, UNCHECKED),))
    step = next(step for step in steps("wet") if step.name == "co")
    assert is_done(step, Progress("wet", case))


# --- steady state ------------------------------------------------------------------------------------------------

@pytest.mark.parametrize(("degf", "steady"), [([400, 403], True), ([400, 404], False), ([400, 397], True),
                                              ([400, 390], False)])
def test_three_degrees_a_minute(degf: list[float], steady: bool) -> None:
    # common practice: steady is a rise of no more than 3 degF a minute
    assert projection([0, 1], degf).steady is steady


@settings(max_examples=100, deadline=None)
@given(st.floats(350, 700), st.floats(80, 400), st.floats(1.0, 8.0), st.integers(4, 6))
def test_projection_finds_an_exponential_approach(end: float, height: float, tau: float, count: int) -> None:
    def at(minute: float) -> float:
        return end - height * math.exp(-minute / tau)

    times = [float(minute) for minute in range(count)]
    said = projection(times, [at(minute) for minute in times])
    if said.steady:
        assert at(times[-1]) - at(times[-2]) <= 3.0
        return
    minute = times[-1]
    while at(minute) - at(minute - 1.0) > 3.0:
        minute += 0.01
    assert said.minutes_to_go is not None
    assert said.minutes_to_go == pytest.approx(minute - times[-1], abs=0.35)
    assert said.final == pytest.approx(end, abs=4.0)


@pytest.mark.parametrize(("degf", "words"), [
    ([400], "again in a minute"), ([400, 430], "third reading"), ([300, 340, 380, 420], "cannot be told"),
    ([300, 320, 350, 400], "cannot be told"), ([500, 480, 450], "falls"), ([300, 420, 330, 440], "cannot be told"),
])
def test_it_says_when_it_cannot_tell(degf: list[float], words: str) -> None:
    said = projection(list(range(len(degf))), degf)
    assert words in said.why
    assert said.minutes_to_go is None


@pytest.mark.parametrize(("minutes", "degf", "words"), [
    ([0, 0], [1, 2], "must rise"), ([0, 1], [1], "one temperature"), ([0, math.nan], [1, 2], "no number")])
def test_clear_errors(minutes: list[float], degf: list[float], words: str) -> None:
    with pytest.raises(SteadyError, match=words):
        projection(minutes, degf)


# --- the verb ----------------------------------------------------------------------------------------------------

def verb(monkeypatch: pytest.MonkeyPatch, lines: list[str], *words: str) -> int:
    left = iter(lines)

    def one(prompt: str = "") -> str:
        for line in left:
            if line == "<ctrl-c>":
                raise KeyboardInterrupt
            return line
        raise EOFError

    monkeypatch.setattr("builtins.input", one)
    parser = argparse.ArgumentParser()
    testverb.add_arguments(parser)
    return testverb.run(parser.parse_args(words), load())


BEGIN = ["yes", "sound", "right", "right", "boiler", "retention", "natural", "none", "none", "no", "0", "68"]
LOOKS = ["sound", "no", "none"]
"""Relief valve, water and spill, which are asked for before the burner is run."""
WARM = ["0 300", "1 400", "2 450", "3 475", "4 488", "5 494", "6 496"]


def test_a_whole_test(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "unit.yaml"
    lines = [*BEGIN, *LOOKS, *WARM, "-.06", "-.03", "regulator", "-.05", "-.02", "0", "clean", "trace", "0", "fresh",
             "nonsense", "12", "495", "cannot"]
    assert verb(monkeypatch, lines, str(file)) == 0
    shown = capsys.readouterr().out
    assert all(len(line) <= 80 for line in shown.splitlines() if str(tmp_path) not in line)
    flowing = " ".join(shown.split())
    for words in ("THE TEST IS COMPLETE", "CLOSE THE AIR TO A TRACE", "min to go", "read drafts and smoke again",
                  "Not taken: carbon dioxide in the flue gas: 'nonsense'", "combustion efficiency"):
        assert words in flowing
    case = read_case(file, load())
    assert case.latest["draft_over_fire"].value == -0.02
    assert case.latest["warmed_up"].value == "yes"
    assert case.latest["stack_temperature"].value == 495.0


@pytest.mark.parametrize("end", [[], ["<ctrl-c>"], ["quit"]])
def test_leaving_loses_nothing_and_it_goes_on(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str], end: list[str]
) -> None:
    file = tmp_path / "unit.yaml"
    status = verb(monkeypatch, [*BEGIN, *LOOKS, "0 300", *end], str(file))
    assert status == (130 if end == ["<ctrl-c>"] else 0)
    kept = read_case(file, load())
    assert kept.latest["stack_temperature"].value == 300.0
    assert len(kept.entries) == len(BEGIN) + len(LOOKS) + 1
    capsys.readouterr()
    verb(monkeypatch, ["yes"], str(file))
    shown = capsys.readouterr().out
    assert "STEADY STATE" in shown
    assert "THE TEST HOLE" not in shown


def test_hazard_is_shown_at_once_and_gives_the_status(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert verb(monkeypatch, ["skip", "skip", "co_room 250"], str(tmp_path / "a.yaml")) == 1
    shown = capsys.readouterr().out
    assert "Passed by. A gauge off" in shown
    assert "CARBON MONOXIDE, 70 PPM OR MORE" in shown
    assert shown.rstrip().endswith(("says so.", "so."))  # and nothing behind the orders


def test_an_open_hazard_stops_the_test_and_says_what_releases_it(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    pool = [*BEGIN[:7], "pool", *BEGIN[8:]]
    assert verb(monkeypatch, [*pool, *LOOKS], str(tmp_path / "a.yaml")) == 1
    shown = " ".join(capsys.readouterr().out.split())
    assert "The test stops before steady state" in shown
    assert "raw oil in the chamber (until the oil was taken up" in shown
    assert "five to ten minutes" not in shown  # not how it would be run


def test_a_look_that_is_wanted_is_asked_before_the_burner_is_run(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert verb(monkeypatch, [*BEGIN, "cannot", "no", "none"], str(tmp_path / "a.yaml")) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "First: not to start the burner: relief valve and pressure: not looked at" in shown
    assert "The test stops before steady state" in shown  # it could not be looked at: what needs it stays held back


def test_air_alone(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file, picture = tmp_path / "air.yaml", tmp_path / "curve.svg"
    lines = ["retention", "no", "11", "5", "0", "7.4", "12", "", "0", "22", "4.6", "30", "2.9", "3", "3.0", "220", "",
             "0", "5.2", "20"]
    assert verb(monkeypatch, lines, "--air", "--kit", "analyzer", "--svg", str(picture), str(file)) == 0
    shown = capsys.readouterr().out
    assert "SETTING FOUND: mark 3.6" in shown
    assert "scale runs from 0 (shut) to 10 (open)" in shown
    assert "not plausible" in shown
    assert picture.read_text(encoding="utf-8").startswith("<svg")
    case = read_case(file, load())
    assert case.latest["air_reset_effect"].value == "closed"
    assert [one.shutter for one in settings_of(case, load())] == [5.0, 3.5, 2.9, 3.6]


def test_no_setting_turns_to_the_causes(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = ["retention", "no", "5", "5", "9.8", "cannot", "", "4.5", "8.6", "cannot"]
    verb(monkeypatch, lines, "--air", str(tmp_path / "air.yaml"))
    shown = capsys.readouterr().out
    assert "NO SETTING WILL DO" in shown
    assert "CAUSES" in shown
    assert read_case(tmp_path / "air.yaml", load()).latest["air_reset_effect"].value == "no-setting-good"


def test_air_setting_is_taken_up_again(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    file = str(tmp_path / "air.yaml")
    verb(monkeypatch, ["retention", "no", "5", "0", "10.1", "12", "", "0"], "--air", file)  # left in the second setting
    verb(monkeypatch, ["3.5", "0", "12.2", "30"], "--air", file)
    assert [one.co2 for one in settings_of(read_case(Path(file), load()), load())] == [10.1, 12.2]


def test_marks_off_the_scale_given_now(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = str(tmp_path / "air.yaml")
    verb(monkeypatch, ["retention", "no", "7", "0", "10.1", "12"], "--air", file)
    assert verb(monkeypatch, [], "--air", "--wide", "5", file) == 2
    assert "--shut and --wide" in capsys.readouterr().err


def test_air_setting_inside_of_the_test(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "a.yaml"
    lines = [*BEGIN, *LOOKS, "yes", "-.05", "-.02", "air", "5", "0", "10.1", "12", "", "0", "12.2", "30", "2.9", "3",
             "13.4", "220", "", "0", "11.8", "20", "clean", "fresh", "11.8"]
    verb(monkeypatch, lines, str(file))
    shown = capsys.readouterr().out
    assert "SETTING FOUND: mark 3.6" in shown
    assert "LAST STACK TEMPERATURE" in shown
    assert read_case(file, load()).latest["smoke"].value == 0.0


@pytest.mark.parametrize("words", [["--margin", "3"], ["--shut", "5", "--wide", "5"], ["--step", "-1"],
                                   ["--wide", "nan"]])
def test_bad_words_are_refused(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str], words: list[str]
) -> None:
    assert verb(monkeypatch, [], "--air", *words, str(tmp_path / "a.yaml")) == 2
    assert capsys.readouterr().err.strip()


def test_a_disk_that_refuses_is_told(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    verb(monkeypatch, ["yes", "sound"], str(tmp_path / "no-such-folder" / "a.yaml"))
    assert "NOT ON DISK" in capsys.readouterr().out
