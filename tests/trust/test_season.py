"""Every third of the calls told by people who have not read the rules, with floors under what is made of them;
README.md says where all of them stand.

Common practice, from memory; see `calls.yaml`.
"""

from __future__ import annotations

from functools import cache

import pytest

from advisor.library.base import load
from tests.trust import season

pytestmark = pytest.mark.xdist_group("season")  # played once, by one worker


@cache
def found() -> tuple[season.Outcome, ...]:
    return tuple(season.run(season.calls()[::3]))


def test_every_call_names_what_the_knowledge_has() -> None:
    base = load()
    every = season.calls()
    assert len({call["call"] for call in every}) == len(every) == 120
    for call in every:
        assert set(call["truth"]) <= set(base.causes), call["call"]
        assert set(call["first_checks"]) <= set(base.checks), call["call"]
        assert {*call["finds"], *call["unit"]} <= set(base.named), call["call"]


@pytest.mark.parametrize(("figure", "least"), [
    ("as told, first", 15), ("as told, among three", 35), ("a master's check among the first three proposed", 35),
    ("at the end, first", 70), ("at the end, among three", 80),
])
def test_the_truth_is_found_as_often_as_it_was(figure: str, least: float) -> None:
    assert season.figures(found())[figure] >= least


def test_it_takes_no_more_minutes_than_it_did() -> None:
    assert season.figures(found())["minutes of checks"] <= 85
