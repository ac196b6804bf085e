"""Every fifth of the calls told by people who have not read the rules, with floors under what is made of them;
README.md says where all of them stand.

Common practice, from memory; see `calls.yaml`.
"""

from __future__ import annotations

from advisor.library.base import load
from tests.trust import season

LEAST = {"as told, first": 12, "as told, among three": 25, "a master's check among the first three proposed": 30,
         "at the end, first": 65, "at the end, among three": 80}


def test_every_call_names_what_the_knowledge_has() -> None:
    base = load()
    every = season.calls()
    assert len({call["call"] for call in every}) == len(every) == 120
    for call in every:
        assert set(call["truth"]) <= set(base.causes), call["call"]
        assert set(call["first_checks"]) <= set(base.checks), call["call"]
        assert {*call["finds"], *call["unit"]} <= set(base.named), call["call"]


def test_the_truth_is_found_as_often_as_it_was() -> None:
    found = season.figures(season.run(season.calls()[::5]))
    assert {what: value for what, value in found.items() if value < LEAST.get(what, 0)} == {}
    assert found["minutes of checks"] <= 90
