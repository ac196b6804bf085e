"""The weighing: coherent tables, each piece of evidence once, order without effect.

The formulas are those of I. J. Good (weight of evidence in decibans, 1950) and plain probability.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from advisor.library.base import Base, load
from advisor.library.items import Observation, Quantity
from advisor.reasoning.assess import DISAGREE, Assessment, assess, engine_of
from advisor.reasoning.case import RECHECKED, SKIPPED, UNCHECKED, Case, Entry
from advisor.reasoning.entries import read_entry
from advisor.reasoning.lookahead import conditions_touched, predict, stands
from advisor.reasoning.odds import belief, decibans
from advisor.reasoning.stages import INCIPIENT_SHARE
from advisor.reasoning.tables import Group, Scale, more_specific, scale_of
from advisor.reasoning.weighing import View, evidence, soft_states, total

SOUND = {"smoke": "0.5", "co2": "12.0", "co": "30", "draft_over_fire": "-0.02", "draft_breech": "-0.04",
         "stack_temperature": "470"}


def case_of(**typed: str) -> Case:
    base = load()
    return Case(tuple(read_entry(base, name, value) for name, value in typed.items()))


@cache
def entered(base: Base) -> tuple[str, ...]:
    return tuple(item.name for item in base.entered if not (isinstance(item, Quantity) and item.derived))


@st.composite
def cases(draw: st.DrawFn, most: int = 12) -> Case:
    base = load()
    names = draw(st.lists(st.sampled_from(entered(base)), max_size=most, unique=True))
    out = []
    for name in names:
        item = base.named[name]
        if draw(st.integers(0, 9)) == 0:
            out.append(Entry(name, "?", None, draw(st.sampled_from([SKIPPED, UNCHECKED]))))
        elif isinstance(item, Quantity):
            low, high = item.plausible
            value = round(draw(st.floats(low, high, allow_nan=False)), 4)
            out.append(Entry(name, f"{value:+.4f}", value))
        else:
            assert isinstance(item, Observation)
            answer = draw(st.sampled_from(list(item.answers)))
            out.append(Entry(name, answer, answer))
    return Case(tuple(out))


def all_groups() -> list[Group]:
    return [group for groups in scale_of(load()).groups.values() for group in groups]


def test_every_table_is_coherent() -> None:
    for group in all_groups():
        assert math.isclose(sum(group.without.values()), 1.0, abs_tol=1e-9)
        assert math.isclose(sum(group.with_.values()), 1.0, abs_tol=1e-9)
        assert all(0.0 < share < 1.0 for share in (*group.without.values(), *group.with_.values()))


def test_no_entry_no_evidence() -> None:
    for ranked in assess(Case(), load(), look_ahead=False).causes:
        assert ranked.evidence == ()
        assert ranked.total == ranked.prior


def test_what_could_not_be_checked_is_no_evidence() -> None:
    base = load()
    entries = tuple(Entry(name, "?", None, UNCHECKED) for name in entered(base))
    for ranked in assess(Case(entries), base, look_ahead=False).causes:
        assert ranked.evidence == ()


def test_a_table_by_hand() -> None:
    """Likelihoods worked out by hand from the rule's weight and the answer's usual share."""
    usual_of = load().usual
    found = 0
    for group in all_groups():
        name, rule = group.names[0], group.rules[0]
        if len(group.names) > 1 or len(group.rules) > 1 or rule.confirms or rule.excludes or name not in usual_of:
            continue
        found += 1
        answers, ratio = rule.when[name], 10 ** (rule.weighs[group.cause] / 10)
        share = sum(usual_of[name][answer] for answer in answers) / sum(usual_of[name].values())
        whole = share * ratio + (1 - share)
        other = next(answer for answer in usual_of[name] if answer not in answers)
        assert group.decibans((answers[0],))[0] == pytest.approx(10 * math.log10(ratio / whole))
        assert group.decibans((other,))[0] == pytest.approx(10 * math.log10(1 / whole))
    assert found > 50


def test_the_order_of_answers_in_a_rule_says_nothing() -> None:
    """Two rules on the same answers, written in another order: neither is the more specific one, so both count."""
    base = load()
    one = next(rule for rule in base.rules.values() if len(rule.when) == 1 and len(next(iter(rule.when.values()))) > 1)
    turned = replace(one, name="turned", when={name: any_of[::-1] for name, any_of in one.when.items()})
    assert not more_specific(one, turned)
    assert not more_specific(turned, one)


def test_looked_for_and_not_found_speaks_against() -> None:
    base = load()
    found = assess(case_of(passages_look="clean"), base, look_ahead=False)
    sooted = next(one for one in found.causes if one.name == "sooted-gas-passages")
    assert sooted.total < sooted.prior - 5
    assert any(piece.looked_for and piece.decibans < 0 for piece in sooted.evidence)


def test_equipment_is_given_and_no_finding() -> None:
    """Only a rule on nothing but equipment speaks before anything is found on it."""
    base = load()
    for kind in base.observations["draft_kind"].answers:
        found = assess(case_of(draft_kind=kind), base, look_ahead=False)
        for ranked in found.causes:
            for piece in ranked.evidence:
                adjusted = piece.begun or piece.shared or piece.eliminated
                assert adjusted or piece.names == ("draft_kind",), (ranked.name, piece)


def test_a_fault_that_has_only_begun_is_ruled_out_by_a_look_at_it_alone() -> None:
    """Many signs not found elsewhere leave about the share that has only begun; a clean look leaves next to nothing."""
    base, scale = load(), scale_of(load())
    elsewhere = {"complaint": "routine", "flame_look": "steady-bright", "smoke": "0", "pump_pressure": "100",
                 "pump_pressure_required": "100", "pressure_steady": "steady", "run_noise": "normal",
                 "start_behavior": "clean", "oil_at_bleed_port": "full", "lockout_pattern": "never"}
    for cause, sign, sound in (("filter-or-strainer-plugged", "new_filter_effect", "none"),
                               ("dirty-retention-head", "head_look", "clean")):
        usual = belief(scale.priors[cause])
        totals = {one.name: one.alone for one in assess(case_of(**elsewhere), base, look_ahead=False).causes}
        # less where one that has only begun shows a little of it on the readings
        assert 0.25 * INCIPIENT_SHARE < belief(totals[cause]) / usual < 2 * INCIPIENT_SHARE
        looked = assess(case_of(**elsewhere, **{sign: sound}), base, look_ahead=False)
        assert belief({one.name: one.alone for one in looked.causes}[cause]) < 0.3 * belief(totals[cause])


def test_the_sign_itself_confirms() -> None:
    found = assess(case_of(complaint="soot", passages_look="sooted"), load(), look_ahead=False)
    first = found.causes[0]
    assert (first.name, first.word, first.confirmed) == ("sooted-gas-passages", "confirmed", True)
    assert first.belief > 0.9


def test_signs_that_tell_of_one_thing_are_one_witness() -> None:
    base = load()
    scale = scale_of(base)
    telling = {name: frozenset((name,)) for name, stories in scale.stories.items() if "smoke" in stories}
    heard = [one for cause in base.causes for one in scale.groups[cause] if len(one.names) == 1
             and one.names[0] in telling and not one.given[0] and max(one.decibans((symbol,))[0]
                                                                    for symbol in one.spaces[0]) > 1.0]
    cause = next(one.cause for one in heard if sum(other.cause == one.cause for other in heard) > 1)
    known = {one.names[0]: max(one.spaces[0], key=lambda symbol: one.decibans((symbol,))[0])
             for one in heard if one.cause == cause}
    pieces = [piece for piece in evidence(scale, cause, View(known, {}, telling)) if piece.full > 0 and piece.rules]
    pieces.sort(key=lambda piece: -piece.full)
    assert [round(piece.decibans / piece.full, 3) for piece in pieces[:2]] == [1.0, 0.5]


def test_a_rare_sign_alone_is_looked_at_twice_and_then_stood_by() -> None:
    once = assess(case_of(**SOUND, porcelain="cracked"), load(), look_ahead=False)
    assert [doubt.recheck for doubt in once.doubts if doubt.open] == ["inspect-electrodes"]
    case = case_of(**SOUND, porcelain="cracked")
    again = case.having(replace(case.latest["porcelain"], how=RECHECKED))
    assert assess(again, load(), look_ahead=False).causes[0].name == "porcelain-cracked"


def test_a_sign_that_waits_for_its_second_look_counts_but_proves_nothing() -> None:
    once = assess(case_of(**SOUND, porcelain="cracked"), load(), look_ahead=False)
    cracked = next(one for one in once.causes if one.name == "porcelain-cracked")
    assert not cracked.confirmed
    assert cracked.total > cracked.prior + 10
    assert "porcelain" in once.known


def test_two_looks_that_disagree_call_for_a_third_which_decides() -> None:
    base = load()

    def after(*looks: str) -> Assessment:
        case = case_of(**SOUND, porcelain=looks[0])
        first = case.latest["porcelain"]
        return assess(case.having(*(replace(first, typed=look, value=look, how=RECHECKED) for look in looks[1:])),
                      base, look_ahead=False)

    for seen in (("sound", "cracked"), ("cracked", "sound")):
        assert [(doubt.readings, doubt.because) for doubt in after(*seen).doubts] == [(("porcelain",), DISAGREE)]
        assert not any(one.confirmed for one in after(*seen).causes)
        assert after(*seen, "cracked").causes[0].name == "porcelain-cracked"
        assert not after(*seen, "sound").causes[0].confirmed
        assert not after(*seen, "tracked").doubts  # three answers in three looks: the last one stands
    assert not after("sound", "sound").doubts
    assert not after("cracked", "cracked").doubts


def test_a_sound_regulator_does_not_blame_the_regulator() -> None:
    found = assess(case_of(regulator_state="works"), load(), look_ahead=False)
    stuck = next(one for one in found.causes if one.name == "draft-regulator-stuck")
    assert stuck.total < stuck.prior


@settings(max_examples=20, deadline=None)
@given(cases(), st.randoms(use_true_random=False))
def test_the_order_of_entry_never_matters(case: Case, shuffler: object) -> None:
    base = load()
    entries = list(case.entries)
    shuffler.shuffle(entries)  # type: ignore[attr-defined]
    one, other = assess(case, base, look_ahead=False), assess(Case(tuple(entries)), base, look_ahead=False)
    assert ({(x.name, x.state, frozenset(x.firings)) for x in one.hazards}
            == {(x.name, x.state, frozenset(x.firings)) for x in other.hazards})
    assert {x.firing for x in one.doubts} == {x.firing for x in other.doubts}
    assert one.known == other.known
    assert [x.name for x in one.causes] == [x.name for x in other.causes]
    assert [x.total for x in one.causes] == pytest.approx([x.total for x in other.causes])


@settings(max_examples=13, deadline=None)
@given(cases())
def test_beliefs_are_probabilities_and_evidence_adds_up(case: Case) -> None:
    for ranked in assess(case, load(), look_ahead=False).causes:
        assert 0.0 < ranked.belief < 1.0
        if not ranked.confirmed:
            assert ranked.total == pytest.approx(
                ranked.prior + sum(piece.decibans for piece in ranked.evidence), abs=0.2)


@settings(max_examples=13, deadline=None)
@given(cases(6), st.data())
def test_belief_averaged_over_the_answers_is_the_belief_before(case: Case, data: st.DataObject) -> None:
    """The martingale of probability: no question can be expected to move a belief. Exact, with or without overlap."""
    base = load()
    found = assess(case, base, look_ahead=False)
    scale = scale_of(base)
    open_names = [name for name in entered(base) if name not in found.known and base.named[name].symbols]
    name = data.draw(st.sampled_from(open_names))
    causes = tuple(scale.groups_with.get(name, {}))
    with engine_of(base).session(found.findings.symbols.items()) as session:
        view = View(found.known, soft_states(scale, found.known), found.grounds)
        predicted = predict(base, scale, session, found.findings.symbols, view, name,
                            {cause: stands(scale, cause, view) for cause in causes})
    for cause in causes:
        before = belief(total(scale, cause, view))
        after = 0.0
        for without, with_ in predicted[cause].values():
            whole = before * with_ + (1 - before) * without
            after += whole * (before * with_ / whole)
        assert after == pytest.approx(before, abs=3e-4)  # a table that says less than 0.005 decibans is left out


def _touches(scale: Scale, cause: str, name: str) -> bool:
    """Whether a name bears on a cause by way of a condition too."""
    touched = conditions_touched(load()).get(name, ())
    return any(cause in scale.groups_with.get(condition, {}) for condition in touched)


@settings(max_examples=20, deadline=None)
@given(st.data())
def test_what_is_predicted_is_what_comes_where_no_tables_overlap(data: st.DataObject) -> None:
    """Averaged with the shares of the prediction, the beliefs after the real answers are the belief before."""
    base = load()
    scale = scale_of(base)
    alone = [(cause, group) for cause, groups in scale.groups.items() for group in groups
             if not any(set(group.names) & set(other.names) for other in groups if other is not group)
             and not any(name in base.conditions or _touches(scale, cause, name) for name in group.names)]
    cause, group = data.draw(st.sampled_from(alone))
    known: dict[str, str] = {}
    for name in data.draw(st.lists(st.sampled_from(group.names), unique=True, max_size=len(group.names) - 1)):
        known[name] = data.draw(st.sampled_from(list(base.named[name].symbols)))
    name = data.draw(st.sampled_from([one for one in group.names if one not in known]))
    assume(name not in scale.equipment)  # given and no finding: it is not weighed against what was found without it
    grounds = {one: frozenset((one,)) for one in (*known, name)}
    view = View(known, {}, grounds)
    before = belief(total(scale, cause, view))
    with engine_of(base).session(()) as session:
        stood = {cause: stands(scale, cause, view)}
        shares = predict(base, scale, session, known, view, name, stood)[cause]
    after = 0.0
    for answer, (without, with_) in shares.items():
        then = View({**known, name: answer}, {}, grounds)
        after += (before * with_ + (1 - before) * without) * belief(total(scale, cause, then))
    assert after == pytest.approx(before, abs=3e-4)  # a table that says less than 0.005 decibans is left out


def test_a_borderline_reading_moves_a_belief_without_a_jump() -> None:
    base = load()
    totals = []
    for drop in (x / 10000 for x in range(460, 545, 5)):
        found = assess(case_of(draft_over_fire="-0.01", draft_breech=str(-0.01 - drop), smoke="6"), base, False)
        totals.append(next(one.total for one in found.causes if one.name == "sooted-gas-passages"))
    steps = [abs(b - a) for a, b in pairwise(totals)]
    assert max(totals) - min(totals) > 3  # crossing the limit matters
    assert max(steps) < 0.35 * (max(totals) - min(totals))  # but never all at once


@pytest.mark.parametrize("probability", [0.001, 0.1, 0.5, 0.97])
def test_decibans_and_belief_are_inverse(probability: float) -> None:
    assert belief(decibans(probability)) == pytest.approx(probability)
