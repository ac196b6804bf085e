"""Why, why not, how, what if: every statement is traced to its rules, sources and inputs."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.library.base import load
from advisor.pages import explain, suppose
from advisor.pages.wording import when_text
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import Case
from advisor.reasoning.casefile import parse_case, read_case
from advisor.reasoning.entries import read_entry
from advisor.reasoning.weighing import applies

DEMO = Path(__file__).parents[2] / "demo" / "sooting-boiler.yaml"


def said(lines: list[str]) -> str:
    assert lines
    assert max(map(len, lines)) <= 80
    return " ".join(" ".join(lines).split())


@pytest.fixture(scope="module")
def demo() -> Assessment:
    return assess(read_case(DEMO, load()), load())


def test_every_fired_rule_of_a_cause_is_named_with_its_mechanism_and_source(demo: Assessment) -> None:
    base = load()
    for ranked in demo.causes[:10]:
        text = said(explain.why_cause(base, demo, ranked.name))
        for piece in ranked.evidence:
            for rule in piece.rules:
                assert " ".join(base.rules[rule].because.split())[:60] in text


def test_what_speaks_against_stands_apart_from_what_speaks_for(demo: Assessment) -> None:
    ranked = demo.causes[0]
    text = said(explain.why_cause(load(), demo, ranked.name))
    if any(piece.decibans < 0 for piece in ranked.evidence):
        assert text.index("speaks for it") < text.index("speaks against it")
    else:
        assert "nothing known speaks against it" in text


def test_a_cause_that_cannot_be_on_this_equipment_says_so(demo: Assessment) -> None:
    base = load()
    barred = [name for name in base.causes if not applies(base, name, demo.known)]
    assert barred
    for name in barred:
        assert "not possible on this equipment" in said(explain.why_not(base, demo, name))
        assert explain.why_cause(base, demo, name) == explain.why_not(base, demo, name)


def test_why_not_names_what_would_speak_for_it() -> None:
    base = load()
    nothing = assess(Case(), base)
    for name in base.causes:
        text = said(explain.why_not(base, nothing, name))
        assert "what would speak for it" in text
        assert any(when_text(base, rule.when) in text for rule in base.rules_about[name])


def test_why_not_of_a_likely_cause_sends_to_why(demo: Assessment) -> None:
    first = demo.causes[0]
    assert first.word in ("likely", "confirmed")
    assert "is on the list" in said(explain.why_not(load(), demo, first.name))


def test_every_number_is_traced_to_what_was_typed(demo: Assessment) -> None:
    base = load()
    for name, number in demo.findings.numbers.items():
        text = said(explain.how_number(base, demo, name))
        for ground in number.grounds:
            assert f"entered as {demo.case.latest[ground].typed}" in text
        band = demo.findings.bands.get(name)
        if band is not None:
            assert any(" ".join(limit.because.split()) in text for limit in base.limits_of[name])


def test_a_maker_s_figure_is_shown_as_such() -> None:
    base = load()
    case = parse_case("manufacturer: {co2-high: 12 %}\nentries: {co2: 12.6}", "a.yaml", base)
    assert "the manufacturer's figure; it replaces ours of" in said(explain.how_number(base, assess(case, base), "co2"))


def test_a_check_tells_what_each_answer_would_do(demo: Assessment) -> None:
    base = load()
    for name, check in list(base.checks.items())[::4]:
        text = said(suppose.why_check(base, demo, name))
        for given in check.gives:
            if given in base.observations:
                assert all(f"{answer.replace('-', ' ')}:" in text for answer in base.observations[given].answers)


def test_possible_answers_lie_in_their_bands() -> None:
    from advisor.reasoning.derive import band_of

    base = load()
    for name, quantity in base.quantities.items():
        for symbol, entry in suppose.possible_answers(base, Case(), name):
            assert isinstance(entry.value, float)
            band = band_of(base, name, entry.value, base.quantities[name].accuracy, {}, {})
            assert band is not None
            assert band.symbol == symbol or band.neighbor == symbol, (name, symbol, entry, quantity.plausible)


def test_what_if_shows_before_and_after_and_keeps_nothing(demo: Assessment) -> None:
    base = load()
    before = demo.case
    text = said(suppose.what_if(base, demo.case, [read_entry(base, "passages_look", "clean")]))
    assert "soot in the flue passages: likely ->" in text
    assert demo.case == before
    same = said(suppose.what_if(base, demo.case, [read_entry(base, "smoke", str(demo.case.latest["smoke"].typed))]))
    assert "nothing would change" in same


def test_rules_conditions_and_hazards_explain_themselves(demo: Assessment) -> None:
    base = load()
    for name in base.rules:
        fired = any(firing.rule == name for firing in demo.firings)
        assert ("does not hold here" in said(explain.why_rule(base, demo, name))) is not fired
    for condition in demo.conditions:
        text = said(explain.why_found(base, demo, condition.name))
        assert all(" ".join(base.rules[firing.rule].because.split()) in text for firing in condition.firings)
    for name in base.hazards:
        assert "nothing known shows it" in said(explain.why_found(base, demo, name))


def test_why_a_question_of_the_intake_is_asked() -> None:
    base = load()
    for item in base.entered:
        assert said(explain.why_asked(base, item.name)).startswith(item.title)
