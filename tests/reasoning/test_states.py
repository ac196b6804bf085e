"""The state of the burner that a check needs, and what a fault takes away."""

from __future__ import annotations

from dataclasses import replace

import pytest

from advisor.library.base import load
from advisor.reasoning.rulecheck import out_of_reach
from tests.reasoning.test_nextcheck import SAFE, in_turn
from tests.reasoning.test_weighing import case_of

BASE = load()


def test_every_cause_can_be_confirmed_in_the_state_that_it_brings_about() -> None:
    assert list(out_of_reach(BASE)) == []


@pytest.mark.parametrize("cause", ["burner-motor-failed", "tank-empty-or-valve-shut"])
def test_a_check_of_a_running_burner_cannot_confirm_what_keeps_it_from_running(cause: str) -> None:
    """Common practice: a motor that stands still is not judged by the flame."""
    running = replace(BASE.causes[cause], confirm_check="measure-smoke")
    problems = list(out_of_reach(replace(BASE, causes={**BASE.causes, cause: running})))
    assert problems
    assert all(cause in one.what and "measure-smoke" in one.what for one in problems)


def test_a_trial_of_a_remedy_may_bring_back_the_fire_that_it_needs() -> None:
    """Common practice: a plugged filter that let the fire go out is tried with a new cartridge, fire or not."""
    looked = {name: answer for name, answer in SAFE.items() if name not in ("spillage", "afterfire")}
    checks = in_turn(case_of(complaint="lockout", **looked, start_behavior="spray-no-flame"))
    running = [name for name in checks if BASE.checks[name].state == "running"]
    assert all("fire" in BASE.checks[name].brings for name in running)
    trial = BASE.checks["fit-new-filter"]
    assert not trial.lacks({"fire"})
    assert trial.lacks({"fire", "oil-flow"}) == {"oil-flow"}  # no cartridge turns a motor
    assert BASE.checks["measure-smoke"].lacks({"fire"}) == {"fire"}
