"""No output of any verb asks for an act that an open hazard forbids: instructions are known by acts, not by words."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterator
from datetime import date
from functools import lru_cache
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from advisor.call.autosave import CaseFile
from advisor.call.conclude import begin
from advisor.call.parts import entire
from advisor.call.prompt import opening
from advisor.library.base import load
from advisor.library.items import Rule, Step
from advisor.pages.document import document
from advisor.pages.instructions import emergency_lines
from advisor.pages.screen import whole
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import CURED, Case, Entry
from advisor.reasoning.entries import read_entry
from advisor.report.handover import LEFT
from advisor.report.handover import SHOWN as SHOWN_AT_THE_END
from advisor.report.plainwords import HOUSEHOLD, LEFT_OFF
from advisor.report.render import Report, report_html, report_text
from tests.call.playing import say

SHOWN = 30
"""Letters from which on a text is long enough to be found again in an output."""


@lru_cache(maxsize=1)
def instructions() -> tuple[Step, ...]:
    """Everything known that asks somebody to do something, with its acts."""
    base = load()
    steps = [step for check in base.checks.values() for step in check.how]
    steps += [step for remedy in base.remedies.values() for step in remedy.steps]
    steps += [step for hazard in base.hazards.values() for step in hazard.do]
    steps += [rule.advises for rule in base.rules.values() if rule.advises]
    inside = [Step(step.text, (*step.acts, "inside")) for step in steps]
    return tuple(step for step in (*inside, *HOUSEHOLD, *LEFT, *LEFT_OFF, *SHOWN_AT_THE_END) if len(step.text) >= SHOWN)


def forbidden(now: Assessment) -> list[Step]:
    """The instructions that open hazards forbid, whose text is in no instruction that is allowed."""
    gate = now.gate
    stopped = [step for step in instructions() if any(stop.hazard for stop in gate.stops(step.acts))]
    allowed = " | ".join(step.text for step in instructions() if not any(
        stop.hazard for stop in gate.stops(step.acts)))
    return [step for step in stopped if step.text not in allowed]


def one_line(text: str) -> str:
    return " ".join(text.split())


def outputs(case: Case, now: Assessment) -> Iterator[tuple[str, str]]:
    """What each verb says of a case, by what was asked for."""
    base = load()
    yield "diagnose", "\n".join(whole(base, now))
    yield "diagnose --json", json.dumps(document(base, now), ensure_ascii=False)
    report = Report("unit", date(2026, 11, 26), now)
    yield "report", "\n".join(report_text(base, report))
    yield "report --html", report_html(base, report)
    with tempfile.TemporaryDirectory() as folder:
        file = CaseFile(Path(folder) / "case.yaml", base)
        begun = turn = begin(base, case)
        yield "call", "\n".join(entire(opening(turn, file)))
        leading = [one.name for one in now.causes[:2]]
        for line in ("next", "steps", "why", "all", "causes", *(f"remedy {name}" for name in leading), "next",
                     *(f"explain {name}" for name in leading), "explain measure-smoke", "steps measure smoke",
                     "steps watch-start", f"why {next(iter(base.rules))}", "stack 500"):
            turn, shown = say(turn, line, file)
            yield f"call: {line}", "\n".join(shown)
        for line in ("test", "test analyzer", "air"):
            _, shown = say(begun, line, file)
            yield f"call: {line}", "\n".join(shown)


@st.composite
def dangerous(draw: st.DrawFn) -> Case:
    """Entries with which a rule of a hazard fires, further ones of any kind, and perhaps a cure of some hazard."""
    base = load()
    rule: Rule = draw(st.sampled_from([rule for rule in base.rules.values() if rule.hazard]))
    example = next(one for one in rule.examples if one.fires)
    entries = [read_entry(base, name, typed) for name, typed in example.entries.items()]
    names = [name for name in base.asked_of if name not in example.entries]
    for name in draw(st.lists(st.sampled_from(names), max_size=8, unique=True)):
        if name in base.observations:
            entries.append(Entry(name, "", draw(st.sampled_from(sorted(base.observations[name].answers)))))
        else:
            low, high = base.quantities[name].plausible
            entries.append(Entry(name, "", draw(st.floats(low, high))))
    if draw(st.booleans()):
        entries.append(Entry(draw(st.sampled_from(sorted(base.hazards))), "put right", None, CURED))
    entries.append(read_entry(base, "complaint", draw(st.sampled_from(sorted(base.observations["complaint"].answers)))))
    if draw(st.booleans()):  # people out and let in again: the hazard itself stays
        entries.append(read_entry(base, "house_entry", "fire-service"))
    return Case(tuple(entries))


@settings(max_examples=10, deadline=None, suppress_health_check=list(HealthCheck))
@given(dangerous())
def test_no_output_of_any_verb_asks_for_what_an_open_hazard_forbids(case: Case) -> None:
    now = assess(case, load())
    bad = forbidden(now)
    for verb, text in outputs(case, now):
        said = one_line(text)
        for step in bad:
            assert step.text not in said, f"{verb}: {step.text} {step.acts}"
        if now.gate.emergency and verb in ("diagnose", "call"):
            assert one_line("\n".join(emergency_lines(load(), now.gate))) in said


@pytest.mark.parametrize("hazard", sorted(load().hazards))
def test_every_hazard_alone_holds_back_what_it_forbids(hazard: str) -> None:
    base = load()
    rule = next(rule for rule in base.rules.values() if rule.hazard == hazard)
    example = next(one for one in rule.examples if one.fires)
    for complaint in ("no-heat", "soot")[len(hazard) % 2:][:1]:  # one of the two: each takes all that can be said
        entries = [read_entry(base, name, typed) for name, typed in {"complaint": complaint, **example.entries}.items()]
        case = Case((*entries, read_entry(base, "house_entry", "fire-service")))
        now = assess(case, base)
        bad = forbidden(now)
        for verb, text in outputs(case, now):
            said = one_line(text)
            assert not [step.text for step in bad if step.text in said], verb
        checks = [one for one in (now.checks.first, *now.checks.others) if one]
        for proposal in checks:
            assert not [stop for stop in now.gate.stops_check(base.checks[proposal.check]) if stop.hazard]
