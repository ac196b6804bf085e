"""An assessment as one JSON document; DEVELOPERS.md says what each part means."""

from __future__ import annotations

from typing import Any, Final

from advisor.library.base import Base
from advisor.library.items import Origin, Rule
from advisor.pages.instructions import emergency_lines, stops_text
from advisor.pages.screen import evidence_text, none_text, spared_text, unexplained
from advisor.pages.wording import CAUTIONS
from advisor.physics import units
from advisor.reasoning.assess import Assessment
from advisor.reasoning.choice import Proposal
from advisor.reasoning.engine import Firing
from advisor.reasoning.hazards import OPEN, RELEASED, HazardFound
from advisor.reasoning.odds import belief
from advisor.reasoning.ranking import Ranked

VERSION: Final = 2


def document(base: Base, assessment: Assessment) -> dict[str, Any]:
    """Everything in an assessment as plain values for JSON.

    >>> from advisor.library.base import load
    >>> from advisor.reasoning.assess import assess
    >>> from advisor.reasoning.case import Case
    >>> sorted(document(load(), assess(Case(), load())))[:4]
    ['advice', 'answers', 'borderline', 'causes']
    """
    first = assessment.checks.first
    return {
        "version": VERSION,
        "title": assessment.case.title,
        "rules": {"ours": sum(not rule.own for rule in base.rules.values()),
                  "own": sum(rule.own for rule in base.rules.values()),
                  "own_folder": str(base.own_rules) if base.own_rules else "", "used": base.rules_used,
                  "case_written_with": assessment.case.rules},
        "hazards": [
            _hazard(base, assessment, found) for found in (*assessment.hazards, *assessment.released)
        ],
        "emergency": emergency_lines(base, assessment.gate),
        "held_back": {act: stops_text(base, stops) for act, stops in sorted(assessment.gate.forbidden.items())},
        "doubts": [
            {"readings": list(doubt.readings), "recheck": doubt.recheck, "open": doubt.open,
             "set_aside": doubt.open and not doubt.counts,
             "because": doubt.because, "firing": _firing(base, doubt.firing)}
            for doubt in assessment.doubts
        ],
        "numbers": [_number(base, assessment, name) for name in assessment.findings.numbers],
        "not_computed": list(assessment.findings.troubles),
        "fuel": {"fuel": assessment.findings.fuel.name, "assumed": assessment.findings.fuel_assumed},
        "answers": {name: entry.value if entry.value is not None else entry.status
                    for name, entry in sorted(assessment.case.latest.items()) if name in base.observations},
        "conditions": [
            {"condition": found.name, "value": found.value, "firings": [_firing(base, one) for one in found.firings]}
            for found in assessment.conditions
        ],
        "advice": [{"text": advice.text, "firing": _firing(base, one)} for one in assessment.advice
                   if (advice := base.rules[one.rule].advises) is not None and assessment.gate.allows(advice)],
        "causes": [_cause(base, assessment, one) for one in assessment.causes],
        "none_of_these": {
            "probability": round(assessment.none.belief, 6), "leads": assessment.none_fits,
            "share_of_such_calls": round(belief(assessment.none.prior), 6),
            "text": none_text(base, assessment) if assessment.none_fits else "",
        },
        "families": [{"family": one.name, "title": base.families[one.name].title, "word": one.word,
                      "probability": round(one.belief, 6), "members": list(one.members)}
                     for one in assessment.families],
        "close": list(assessment.close),
        "borderline": list(assessment.borderline),
        "unexplained": unexplained(base, assessment),
        "next_check": _proposal(base, first) if first else None,
        "why_no_check": assessment.checks.why_none,
        "other_checks": [_proposal(base, one) for one in assessment.checks.others],
        "spared": {name: spared_text(base, name) for name in assessment.checks.spared},
        "cautions": list(CAUTIONS),
    }


def _hazard(base: Base, assessment: Assessment, found: HazardFound) -> dict[str, Any]:
    hazard = base.hazards[found.name]
    return {
        "hazard": found.name, "title": hazard.title, "state": found.state, "borderline": found.borderline,
        "since": found.since.isoformat() if found.since else None, "entries": list(found.shown_by),
        "forbids": [act for act, stops in assessment.gate.forbidden.items()
                    if any(stop.hazard == found.name for stop in stops)],
        "do": [step.text for step in hazard.do if found.state == OPEN and assessment.gate.allows(step)],
        "call": hazard.call, "released_when": hazard.released_when,
        "put_right": list(found.cures), "proven": list(found.proven), "unproven": list(found.unproven),
        "released_by": [*found.cures, *found.proven] if found.state == RELEASED else [],
        "firings": [_firing(base, firing) for firing in found.firings],
    }


def _origin(base: Base, origin: Origin) -> dict[str, Any]:
    if origin.source is None:
        return {"kind": "common practice"}
    title = base.sources[origin.source].title
    return {"kind": "published", "id": origin.source, "title": title, "where": origin.where,
            "from_memory": origin.from_memory}


def _firing(base: Base, firing: Firing) -> dict[str, Any]:
    rule: Rule = base.rules[firing.rule]
    return {"rule": rule.name, "facts": dict(firing.facts), "because": rule.because,
            "source": _origin(base, rule.origin)}


def _number(base: Base, assessment: Assessment, name: str) -> dict[str, Any]:
    number, band = assessment.findings.numbers[name], assessment.findings.bands.get(name)
    quantity = base.quantities[name]
    return {
        "quantity": name, "title": quantity.title, "value": round(number.value, 6), "error": round(number.error, 6),
        "unit": units.symbol(quantity.kind),
        "computed_from": list(number.of), "formula": number.formula,
        "band": band.symbol if band else None, "borderline_with": band.neighbor or None if band else None,
        "limit": band.limit or None if band else None, "limit_is_manufacturers": band.manufacturer if band else False,
    }


def _cause(base: Base, assessment: Assessment, one: Ranked) -> dict[str, Any]:
    cause = base.causes[one.name]
    return {
        "cause": one.name, "title": cause.title, "word": one.word, "probability": round(one.belief, 6),
        "prior_decibans": round(one.prior, 3), "total_decibans": round(one.total, 3), "confirmed": one.confirmed,
        "evidence": [
            {"readings": list(piece.names), "decibans": round(piece.decibans, 3), "alone": round(piece.full, 3),
             "text": evidence_text(base, assessment, piece),
             "rules": [{"rule": name, "source": _origin(base, base.rules[name].origin)} for name in piece.rules],
             "looked_for": list(piece.looked_for), "open": list(piece.open),
             "share_of_such_calls": round(piece.of_calls, 6) if piece.of_calls else None}
            for piece in one.evidence
        ],
        "confirm_by": cause.confirm_check, "remedy": cause.remedy,
    }


def _proposal(base: Base, one: Proposal) -> dict[str, Any]:
    check = base.checks[one.check]
    return {"check": one.check, "title": check.title, "value_bits": round(one.value, 6), "minutes": one.minutes,
            "why": check.why, "why_now": one.reason, "bears_on": list(one.tells_apart), "gives": list(check.gives)}

