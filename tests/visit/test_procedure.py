"""The guided test: order, what a change asks for again, steady state."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.library.base import load
from advisor.reasoning.case import UNCHECKED, Case, Entry
from advisor.reasoning.entries import read_entry
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
