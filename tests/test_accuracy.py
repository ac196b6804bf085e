"""A part of the accuracy benchmark: the advisor consulted about the physical burner, with floors under its results.

The floors lie somewhat below what tests/benchmarks/accuracy.py found; README.md says where it stands.
"""

from __future__ import annotations

from functools import cache

import pytest

from advisor.reasoning.turnout import ROUTINE
from tests.benchmarks import accuracy
from tests.benchmarks.accuracy import Result

pytestmark = pytest.mark.xdist_group("accuracy")  # run once, by one worker


@cache
def results() -> tuple[Result, ...]:
    return tuple(accuracy.run(range(60), "as advised", workers=2))


def test_the_cause_is_found_about_as_often_as_the_benchmark_says() -> None:
    assert accuracy.first_right(results(), 1) >= 62.0
    assert accuracy.first_right(results(), 3) >= 65.0


def test_a_service_takes_the_readings() -> None:
    """Common practice: no yearly service without a combustion test, but where nothing may be lit or nothing lights."""
    service = [one for one in results() if one.complaint == ROUTINE and not one.stopped]
    assert len(service) > 12
    read = [one for one in service if {"measure-stack", "measure-drafts", "measure-smoke"} <= set(one.checks)]
    assert len(read) >= 0.9 * len(service)


def test_no_burner_is_left_in_use_with_a_hazard_unseen() -> None:
    assert [one.seed for one in results() if one.unseen] == []


def test_it_takes_no_more_minutes_than_the_benchmark_says() -> None:
    """Minutes of the checks on the modeled visits, not of the computer."""
    assert accuracy.mean_minutes([one for one in results() if one.faults]) <= 140.0


def test_the_healthy_are_seldom_accused() -> None:
    assert accuracy.accused(results()) <= 12.0


def test_what_is_called_likely_is_likely() -> None:
    claimed, true, number = accuracy.calibration(results())["likely"]
    assert number > 30
    assert claimed - true < 12.0


def test_what_is_called_unlikely_is_unlikely() -> None:
    claimed, true, number = accuracy.calibration(results())["unlikely"]
    assert number > 1000
    assert abs(claimed - true) < 10.0
