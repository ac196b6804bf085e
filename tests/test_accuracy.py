"""A tenth of the accuracy benchmark: the advisor consulted about the physical burner, with floors under its results.

The floors lie somewhat below what tests/benchmarks/accuracy.py found; README.md says where it stands.
"""

from __future__ import annotations

from functools import cache

from tests.benchmarks import accuracy
from tests.benchmarks.accuracy import Result


@cache
def results() -> tuple[Result, ...]:
    return tuple(accuracy.run(range(100), "as advised", workers=2))


def test_the_cause_is_found_about_as_often_as_the_benchmark_says() -> None:
    assert accuracy.first_right(results(), 1) >= 60.0
    assert accuracy.first_right(results(), 3) >= 63.0


def test_the_healthy_are_seldom_accused() -> None:
    assert accuracy.accused(results()) <= 12.0


def test_what_is_called_likely_is_likely() -> None:
    claimed, true, number = accuracy.calibration(results())["likely"]
    assert number > 60
    assert claimed - true < 20.0


def test_what_is_called_unlikely_is_unlikely() -> None:
    claimed, true, number = accuracy.calibration(results())["unlikely"]
    assert number > 1000
    assert abs(claimed - true) < 10.0
