"""What calls turn out to be: the causes' shares of the calls about a complaint, and none of them.

Plain probability: Bayes' rule for hypotheses of which one holds.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.library.base import load, with_common
from advisor.library.crosscheck import cross_check
from advisor.library.items import COMMON, NONE_OF_THESE
from advisor.pages.document import document
from advisor.pages.screen import causes
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import Case, Entry
from advisor.reasoning.odds import decibans
from advisor.reasoning.ranking import none_leads
from advisor.reasoning.tables import scale_of
from advisor.reasoning.turnout import BEHIND_A_CALL, ROUTINE, UNLISTED, explaining, share_the_call, turnout_of
from tests.reasoning.test_weighing import case_of

BASE = load()
COMPLAINTS = [name for name in BASE.observations["complaint"].answers if name != ROUTINE]


@cache
def told(complaint: str) -> Assessment:
    return assess(case_of(complaint=complaint), BASE, look_ahead=False)


@pytest.mark.parametrize("complaint", COMPLAINTS)
def test_after_the_complaint_alone_each_cause_is_as_likely_as_its_share_of_such_calls(complaint: str) -> None:
    found = told(complaint)
    for one in found.causes:
        assert one.belief == pytest.approx(BASE.causes[one.name].calls.get(complaint, UNLISTED), rel=1e-3)
    assert found.none.belief == pytest.approx(1.0 - sum(one.belief for one in found.causes), abs=1e-6)


def test_a_routine_call_moves_nothing() -> None:
    for case in (Case(), case_of(complaint=ROUTINE)):
        found = assess(case, BASE, look_ahead=False)
        for one in found.causes:
            cause = BASE.causes[one.name]
            assert one.belief == pytest.approx(cause.calls.get(ROUTINE, COMMON[cause.common]), rel=1e-6)
            assert one.evidence == ()


@pytest.mark.parametrize("complaint", ["no-heat", "soot", "high-fuel-use"])
def test_what_a_complaint_says_is_told_in_words_with_the_reasons_of_the_rules_on_it(complaint: str) -> None:
    pieces = {one.name: [piece for piece in one.evidence if piece.of_calls] for one in told(complaint).causes}
    for cause, found in pieces.items():
        listed = BASE.causes[cause].calls.get(complaint)
        if listed and listed != turnout_of(BASE).service[cause]:
            assert [piece.of_calls for piece in found] == [pytest.approx(listed)]
    named = {rule for found in pieces.values() for piece in found for rule in piece.rules}
    assert named
    assert all(set(BASE.rules[rule].when) == {"complaint"} for rule in named)


def test_a_cause_that_tells_no_shares_is_weighed_by_the_rules_on_the_complaint() -> None:
    cause = BASE.causes["sooted-gas-passages"]
    own = replace(BASE, causes={**BASE.causes, cause.name: replace(cause, calls={})})
    found = {one.name: one for one in assess(case_of(complaint="soot"), own, look_ahead=False).causes}[cause.name]
    assert found.prior == pytest.approx(decibans(COMMON[cause.common]))
    assert [piece.names for piece in found.evidence if piece.rules] == [("complaint",)]
    assert cause.name in explaining(own, "soot")


def test_what_the_shop_has_learned_scales_the_odds_of_all_shares() -> None:
    cause = BASE.causes["sooted-gas-passages"]
    share = COMMON[cause.common]
    twice = 2 * share / (1 - share)
    shop = turnout_of(with_common(BASE, {cause.name: twice / (1 + twice)}))
    for complaint, of_calls in cause.calls.items():
        odds = of_calls / (1 - of_calls)
        learned = shop.share(cause.name, None if complaint == ROUTINE else complaint)
        assert learned / (1 - learned) == pytest.approx(2 * odds, rel=0.05)  # less, where all would pass 99 in 100


def test_a_complaint_may_be_about_the_causes_with_a_part_in_it() -> None:
    for complaint in COMPLAINTS:
        assert explaining(BASE, complaint) == {
            name for name, cause in BASE.causes.items() if cause.calls.get(complaint, 0.0) >= BEHIND_A_CALL}
    assert explaining(BASE, ROUTINE) == explaining(BASE, None) == frozenset()


@settings(deadline=None)
@given(st.lists(st.floats(0.01, 10.0), min_size=2, max_size=6), st.data())
def test_sharing_the_call_is_bayes_rule(parts: list[float], data: st.DataObject) -> None:
    """One of them is there: each share times its likelihood, over the sum of all."""
    names = [f"cause-{place}" for place in range(len(parts) - 1)] + [NONE_OF_THESE]
    shares = {name: part / sum(parts) for name, part in zip(names, parts, strict=True)}
    likely = {name: data.draw(st.floats(0.001, 100.0)) for name in names}
    weights = {name: shares[name] * likely[name] for name in names}
    found = share_the_call(shares, weights, shares)
    for name in names:
        assert found[name] == pytest.approx(weights[name] / sum(weights.values()), rel=1e-6)


@settings(deadline=None)
@given(st.lists(st.floats(0.01, 0.9), min_size=1, max_size=5), st.data())
def test_without_a_complaint_nothing_is_gained_by_what_is_ruled_out(shares: list[float], data: st.DataObject) -> None:
    named = {f"cause-{place}": share for place, share in enumerate(shares)}
    weights = {name: share * data.draw(st.floats(0.0, 1.0)) for name, share in named.items()}
    assert all(0.0 <= share_the_call(named, weights, ())[name] <= share for name, share in named.items())


def test_what_is_ruled_out_is_left_to_the_others_and_to_none_of_them() -> None:
    """What cannot be on this equipment has no part in the call: Bayes' rule."""
    before, after = told("no-heat"), assess(case_of(complaint="no-heat", appliance="furnace"), BASE, look_ahead=False)
    gone = [one.name for one in before.causes if one.name not in {other.name for other in after.causes}]
    assert gone
    assert after.none.belief > before.none.belief
    shares = {one.name: one.belief for one in before.causes}
    assert all(one.belief >= shares[one.name] - 1e-9 for one in after.causes
               if not any(piece.names == ("appliance",) for piece in one.evidence))


def test_none_of_these_leads_once_the_known_causes_are_ruled_out_and_says_so() -> None:
    """Each cause that leads is told not to be there by what speaks most against it, until none is left."""
    complaint = "smoke-at-stop"
    case, scale = case_of(complaint=complaint), scale_of(BASE)
    found = assess(case, BASE, look_ahead=False)
    for _ in range(30):
        against = {}
        for group in scale.groups[found.causes[0].name]:
            if len(group.names) == 1 and group.names[0] in BASE.observations and group.names[0] not in case.latest:
                symbol = min(group.spaces[0], key=lambda symbol: group.decibans((symbol,))[1])
                against[group.decibans((symbol,))[1]] = Entry(group.names[0], symbol, symbol)
        if found.none_fits or not against:
            break
        case = case.having(against[min(against)])
        found = assess(case, BASE, look_ahead=False)
    assert found.none_fits, [(one.name, one.belief) for one in found.causes[:4]]
    assert "None of the causes known here fits well" in " ".join(causes(BASE, found))
    assert document(BASE, found)["none_of_these"]["leads"]
    assert found.none.belief > told(complaint).none.belief
    assert not none_leads(told("water-leak").none, told("water-leak").causes)  # a great share is no finding


def test_shares_that_leave_nothing_for_what_nobody_knows_are_refused() -> None:
    one = next(iter(BASE.causes.values()))
    for complaint, wrong in (("soot", True), (ROUTINE, False)):
        base = replace(BASE, causes={**BASE.causes, one.name: replace(one, calls={**one.calls, complaint: 0.9})})
        told = [problem.what for problem in cross_check(base) if "calls about" in problem.what]
        assert bool(told) == wrong
        assert all("0.97" in what for what in told)
