"""The work and its proof: readings from before prove nothing, bands decide, hazards are cured and then proven."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.library.base import load
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import UNCHECKED, Case, Entry
from advisor.reasoning.entries import read_entry
from advisor.visit.remedy import (
    Job,
    Work,
    choose,
    cures,
    finished,
    new_round,
    next_reading,
    open_steps,
    remedy_of,
    retest_names,
    step_done,
    under_retest,
    undone,
    verdict,
)

SOOT = "sooted-gas-passages"


def entries(*typed: str) -> tuple[Entry, ...]:
    return tuple(read_entry(load(), *one.split("=")) for one in typed)


FOUND = Case(entries("appliance=boiler", "draft_kind=natural", "burner_type=retention-head", "smoke=4",
                     "draft_over_fire=-.012", "draft_breech=-.075", "stack_temperature=610", "room_temperature=68",
                     "co2=11.4", "relief_valve=sound", "water_low=no", "vent_disconnected=no", "spillage=none"))
CLEAN = entries("draft_over_fire=-.02", "draft_breech=-.048", "smoke=0", "spot_look=clean", "stack_temperature=468",
                "room_temperature=70")


def done_work(found: Case = FOUND) -> Work:
    base = load()
    work = choose(base, Work(), SOOT)
    assert work.job is not None
    return step_done(base, work, found, open_steps(base, work.job))


def read(work: Work, *more: Entry, found: Case = FOUND) -> tuple[Work, Assessment]:
    work = Work(work.jobs, work.after.having(*more), work.unit, work.closed, work.kept)
    return work, assess(replace(work.after, earlier=found.entries), load(), look_ahead=False)


def test_every_retest_of_the_knowledge_can_be_read_and_can_prove() -> None:
    """Each expected name is asked for, or computed from what is asked for: no remedy can be left without proof."""
    base = load()
    for cause in base.causes.values():
        remedy = base.remedies[cause.remedy]
        names = set(retest_names(base, remedy))
        for name in remedy.retest.expect:
            behind = {"net_stack": {"stack_temperature", "room_temperature"},
                      "draft_drop": {"draft_over_fire", "draft_breech"}, "pump_pressure_ratio": {"pump_pressure"},
                      "firing_ratio": {"pump_pressure"}, "air_opening_ratio": {"air_opening"}}.get(name, {name})
            assert behind <= names, (remedy.name, name)


def test_steps_in_any_order_and_the_case_as_left_begins_with_the_last() -> None:
    base = load()
    work = choose(base, Work(), SOOT)
    for number in (3, 1, 2, 5, 4, 8, 7):
        work = step_done(base, work, FOUND, [number])
        assert not under_retest(base, work)
        assert work.after == Case()
    work = step_done(base, work, FOUND, [6])
    assert under_retest(base, work)
    assert {entry.name for entry in work.after.entries} == {"appliance", "draft_kind", "burner_type"}
    for wrong in (0, 9, -1):
        with pytest.raises(ValueError, match="the steps are 1 to 8"):
            step_done(base, work, FOUND, [wrong])
    with pytest.raises(ValueError, match="no remedy"):
        step_done(base, Work(), FOUND, [1])


def test_readings_from_before_the_work_prove_nothing() -> None:
    """A unit that reads clean already is not proven by that: its readings have to be taken after the work."""
    base = load()
    clean = Case((*FOUND.entries[:3], *CLEAN))
    work, after = read(done_work(clean))
    found = verdict(base, after, work.jobs[0])
    assert not found.proven
    assert len(found.open) == 4
    # a second remedy: what was read between the two does not prove it either
    work, after = read(work, *CLEAN)
    assert verdict(base, after, work.jobs[0]).proven
    work = choose(base, work, "nozzle-plugged")
    assert work.job is not None
    work = step_done(base, work, clean, open_steps(base, work.job))
    assert "smoke spot number: not retested yet" in " ".join(verdict(base, after, work.jobs[1]).open)
    assert verdict(base, after, work.jobs[0]).proven


def test_the_retest_proves_by_its_bands() -> None:
    base = load()
    work, after = read(done_work(), *CLEAN)
    found = verdict(base, after, work.jobs[0])
    assert (found.proven, found.left) == (True, ())
    assert len(found.shown) == len(remedy_of(base, work.jobs[0]).retest.expect)
    work, after = read(work, *entries("smoke=3"))
    found = verdict(base, after, work.jobs[0])
    assert found.left == ("smoke spot number 3 (some): expected is zero or trace",)
    work, after = read(work, *entries("smoke=0"))
    assert verdict(base, after, work.jobs[0]).proven


@pytest.mark.parametrize("name", ["draft_over_fire", "draft_breech", "smoke", "stack_temperature", "room_temperature"])
def test_each_reading_of_the_retest_is_needed(name: str) -> None:
    base = load()
    work, after = read(done_work(), *(entry for entry in CLEAN if entry.name != name))
    assert verdict(base, after, work.jobs[0]).open
    work, after = read(work, Entry(name, UNCHECKED, None, UNCHECKED))
    assert verdict(base, after, work.jobs[0]).open
    assert next_reading(base, work, FOUND, after)[0] != name  # said once that it cannot be had
    work, after = read(work, next(entry for entry in CLEAN if entry.name == name))
    assert verdict(base, after, work.jobs[0]).proven


def test_a_doubted_reading_proves_nothing() -> None:
    base = load()
    work, after = read(done_work(), *CLEAN, *entries("stack_rise_rate=70 F"))
    assert "in doubt" in " ".join(verdict(base, after, work.jobs[0]).open)


def test_what_was_read_on_arrival_is_asked_again_and_what_can_be_computed_is_not() -> None:
    base = load()
    work, after = read(done_work(), *CLEAN, *entries("stack_rise_rate=1 F"))
    assert next_reading(base, work, FOUND, after) == ("co2", "measure-co2")
    work, after = read(work, *entries("o2=5"))
    assert next_reading(base, work, FOUND, after) == ("", "")
    work = new_round(base, work)
    assert next_reading(base, work, FOUND, after)[0] == "draft_over_fire"
    assert not verdict(base, after, work.jobs[0]).proven


def hazards(after: Assessment) -> dict[str, str]:
    return {one.name: one.state for one in (*after.hazards, *after.released)}


def test_a_hazard_of_the_arrival_is_not_gone_by_reading_again() -> None:
    """To measure again is not to cure: it wants its source put right, then its proof."""
    found = FOUND.having(*entries("oil_leak=dripping"))
    work, after = read(done_work(found), *CLEAN, found=found)
    assert hazards(after) == {"oil-leak": "open"}
    work, after = read(work, *entries("oil_leak=none"), found=found)
    assert hazards(after) == {"oil-leak": "open"}


def test_a_remedy_of_its_source_cures_a_hazard_and_leaves_the_proof_to_be_read() -> None:
    base = load()
    hazard, cause = next((one.name, one.sources[0]) for one in base.hazards.values()
                         if one.sources and not one.emergency and one.name == "oil-leak")
    found = FOUND.having(*entries("oil_leak=dripping"))
    work = choose(base, Work(), cause)
    assert work.job is not None
    steps = remedy_of(base, work.job).steps
    trial = [number for number, step in enumerate(steps, 1)
             if base.acts_of(step.acts) & {"oil-open", "power", "start"}]
    arrival = assess(found, base, look_ahead=False)
    mending = [number for number in range(1, len(steps) + 1) if number not in trial]
    some = step_done(base, work, found, mending[:-1])
    assert cures(base, some, arrival.hazards, None) == ()
    mended = step_done(base, work, found, mending)
    marks = cures(base, mended, arrival.hazards, None)
    assert [mark.name for mark in marks] == [hazard]
    found = found.having(*marks)
    done = step_done(base, mended, found, trial)
    after = assess(replace(done.after, earlier=found.entries), base, look_ahead=False)
    assert hazards(after) == {hazard: "cured"}
    assert next_reading(base, done, found, after)[0] in {*base.hazards[hazard].proof, "relief_valve", "water_low"}


@settings(max_examples=100, deadline=None)
@given(st.lists(st.sampled_from(["choose", "other", "step", "all", "read", "round", "undo"]), max_size=12))
def test_any_course_of_work_keeps_its_figures_together_and_can_be_undone_to_nothing(course: list[str]) -> None:
    base = load()
    found, work = FOUND, Work()
    for act in course:
        left = open_steps(base, work.job) if work.job else ()
        if act in ("choose", "other"):
            work = choose(base, work, SOOT if act == "choose" else "nozzle-plugged")
        elif act in ("step", "all") and left:
            work = step_done(base, work, found, left[:1] if act == "step" else left)
        elif act == "read" and under_retest(base, work):
            work = Work(work.jobs, work.after.having(*CLEAN[:1]))
        elif act == "round":
            work = new_round(base, work)
        elif act == "undo":
            found, work = undone(base, found, work)
        assert len({job.cause for job in work.jobs}) == len(work.jobs)
        assert all(len(job.done) == len(job.times) == len(set(job.done)) for job in work.jobs)
        assert all(job.since <= len(work.after.entries) or job not in finished(base, work) for job in work.jobs)
    for _ in range(200):
        before = (found, work)
        found, work = undone(base, found, work)
        if (found, work) == before:
            break
    assert work.jobs == ()
    assert found == Case()


def test_a_cause_taken_up_again_keeps_its_steps() -> None:
    base = load()
    work = step_done(base, choose(base, Work(), SOOT), FOUND, [1, 2])
    work = choose(base, choose(base, work, "nozzle-plugged"), SOOT)
    assert [(job.cause, job.done) for job in work.jobs] == [(SOOT, (1, 2))]
    assert Job(SOOT) != work.jobs[0]
