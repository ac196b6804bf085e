"""The look-ahead: what is weighed again in part comes to the same as everything weighed anew."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.library.base import load
from advisor.reasoning.assess import assess, engine_of
from advisor.reasoning.case import Case
from advisor.reasoning.lookahead import NEGLIGIBLE, alone, conditions_touched, entropy, stands, values
from advisor.reasoning.odds import belief, decibans
from advisor.reasoning.tables import scale_of
from advisor.reasoning.weighing import View, soft_states, standing_at, start, total
from tests.reasoning.test_weighing import case_of, cases, entered


@settings(max_examples=20, deadline=None)
@given(cases(20), st.data())
def test_parts_weighed_again_come_to_the_same_as_the_whole(case: Case, data: st.DataObject) -> None:
    base, scale = load(), scale_of(load())
    found = assess(case, base, look_ahead=False)
    view = View(found.known, soft_states(scale, found.known), found.grounds)
    name = data.draw(st.sampled_from([one for one in entered(base) if one not in found.known
                                      and base.named[one].symbols and not conditions_touched(base).get(one)]))
    answer = data.draw(st.sampled_from(list(base.named[name].symbols)))
    then = View({**view.known, name: answer}, view.soft, view.grounds)
    for cause, groups in scale.groups_with.get(name, {}).items():
        now = stands(scale, cause, view)
        assert now.sum == pytest.approx(total(scale, cause, view) - start(scale, cause, view), abs=1e-9)
        for one, other in zip(now.parts, now.parts[1:], strict=False):
            assert not one.touches(other.behind, other.stories)
        moved = now.moved({group: standing_at(scale, group, group.key(then.known, then.soft), then)
                           for group in groups})
        assert moved == pytest.approx(total(scale, cause, then) - start(scale, cause, then), abs=1e-9)


def test_an_unlikely_cause_counts_by_what_the_answer_tells_of_it_alone() -> None:
    base, scale = load(), scale_of(load())
    found = assess(case_of(complaint="routine"), base, look_ahead=False)
    view = View(found.known, soft_states(scale, found.known), found.grounds)
    cause, name = "oil-line-kinked-or-shut", "oil_lines_seen"
    odds = decibans(NEGLIGIBLE / 10)
    worth = values(base, engine_of(base), found.findings, view, {cause: odds}, [name], found.causes)[name][cause]
    assert 0.0 < worth == pytest.approx(entropy(belief(odds)) * alone(scale, name, cause))
    assert 0.5 < alone(scale, name, cause) <= 1.0  # the sign that confirms it tells most of what there is to tell
    assert alone(scale, "fan_wheel", cause) == 0.0
