"""The lessons against the physical burner, which knows nothing of them: few go the other way, and each of those is
settled by a mechanism in writing."""

from __future__ import annotations

from collections import Counter
from functools import lru_cache

from advisor.library.base import load
from advisor.plant import FAULTS
from tests.benchmarks.lessons import AGAINST, HOLDS, SIZE, Lesson, settled, tried


@lru_cache
def lessons() -> tuple[Lesson, ...]:
    base = load()
    return tuple(tried(base, [name for name in base.causes if name in FAULTS]))


def test_what_goes_the_other_way_is_settled_by_mechanism_and_nothing_else_is() -> None:
    against = {(one.cause, one.moves) for one in lessons() if one.outcome == AGAINST}
    assert against == set(settled())
    assert all(len(reason.split()) > 15 for reason in settled().values())


def test_most_lessons_hold_on_the_burner() -> None:
    counts = Counter(one.outcome for one in lessons())
    assert counts.total() > 400
    assert counts[HOLDS] > 0.7 * counts.total()


def test_laws_that_need_no_model_come_out() -> None:
    """Less air to the same oil leaves less oxygen (mass balance); heat that the walls do not take stays in the gas
    (energy balance)."""
    found = {(one.cause, one.moves): one.outcome for one in lessons()}
    assert found["air-shutter-too-closed", "o2"] in (HOLDS, SIZE)
    assert found["sooted-gas-passages", "efficiency"] in (HOLDS, SIZE)
