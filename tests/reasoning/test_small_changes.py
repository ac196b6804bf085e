"""A small change of a reading never flips the first cause without saying that it is close."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.library.base import load
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import Case
from tests.reasoning.test_weighing import cases


def nudged(case: Case, name: str, by: float) -> Case:
    return replace(case, entries=tuple(
        replace(entry, value=entry.value + by) if entry.name == name and isinstance(entry.value, float) else entry
        for entry in case.entries
    ))


def first(found: Assessment) -> str:
    return found.causes[0].name if found.causes[0].word != "unlikely" else ""


@settings(max_examples=37, deadline=None)
@given(cases(14), st.data())
def test_a_nudge_does_not_flip_the_first_cause_unsaid(case: Case, data: st.DataObject) -> None:
    base = load()
    numbers = [entry.name for entry in case.entries if isinstance(entry.value, float)
               and base.quantities[entry.name].accuracy and base.quantities[entry.name].bands]
    if not numbers:
        return
    name = data.draw(st.sampled_from(numbers))
    step = base.quantities[name].accuracy * data.draw(st.sampled_from([-0.05, 0.05]))
    low, high = base.quantities[name].plausible
    value = case.latest[name].value
    assert isinstance(value, float)
    if not low <= value + step <= high:
        return
    one, other = assess(case, base, False), assess(nudged(case, name, step), base, False)
    if one.doubts != other.doubts or first(one) == first(other) or not first(one) or not first(other):
        return
    assert {first(one), first(other)} <= {*one.close, *other.close}
