"""What is shown after a line: only what it changed, hazards first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from advisor.library.base import Base
from advisor.pages import screen
from advisor.pages.instructions import advice_lines
from advisor.pages.wording import bar, fact_text, plain, wrapped
from advisor.physics import units
from advisor.reasoning.assess import Assessment
from advisor.reasoning.case import Case, Entry
from advisor.reasoning.families import leading_family
from advisor.reasoning.ranking import Ranked


def entry_text(base: Base, entry: Entry, assessment: Assessment | None = None) -> str:
    """An entry in words, with its level where that is known."""
    if entry.is_cure:
        return f"{base.title(entry.name)}: put right, {entry.typed}"
    if entry.is_remark:
        return f"remark: {entry.typed}"
    if entry.value is None:
        return f"{base.title(entry.name)}: {entry.status}"
    if assessment is not None and assessment.case.latest.get(entry.name) == entry:
        number = assessment.findings.numbers.get(entry.name)
        if number is not None or entry.name in assessment.known:
            return fact_text(base, assessment, entry.name)
    if isinstance(entry.value, float):
        return f"{base.title(entry.name)} {units.format_value(entry.value, base.quantities[entry.name].kind)}"
    return f"{base.title(entry.name)}: {plain(entry.value)}"


def entered(base: Base, before: Case, after: Assessment | None, entries: Iterable[Entry]) -> list[str]:
    """How the new entries were understood, and which ones they take the place of: in one line."""
    entries = tuple(entries)
    old = before.latest
    noted = []
    for entry in entries:
        if entry.is_remark:
            continue
        text = entry_text(base, entry, after)
        if entry.note.startswith("read as suction"):
            text += ", read as suction (a + before it means pressure)"
        if entry.how:
            text += f", {entry.how}"
        was = old.get(entry.name)
        if was is not None and was.value is not None and was.value != entry.value:
            text += f"; it was {entry_text(base, was).removeprefix(base.title(entry.name)).lstrip(': ')}"
        noted.append(text)
    remarks = "; ".join(entry.typed for entry in entries if entry.is_remark)
    return [*(wrapped("noted: " + "; ".join(noted), 2, 4) if noted else []),
            *(wrapped(f"kept as a remark: {remarks}", 2, 4) if remarks else [])]


def warnings(base: Base, before: Assessment | None, after: Assessment) -> list[str]:
    """Hazards and doubts that were not there before, in full; those that are gone, in a line."""
    shown = before is not None and not before.gate.emergency  # nothing but its orders was said in an emergency
    had = {(one.name, one.borderline) for one in before.hazards} if before is not None and shown else set()
    new = tuple(one for one in after.hazards if (one.name, one.borderline) not in had)
    out = screen.hazards(base, replace(after, hazards=new))
    there = {one.name for one in after.hazards}
    for name in dict.fromkeys(name for name, _ in had if name not in there):
        out += wrapped(f"No longer seen: {base.title(name)} (hazard)", 0, 2)
    doubted = {one.firing.rule: (one.open, one.because) for one in before.doubts} if before else {}
    doubts = tuple(one for one in after.doubts if doubted.get(one.firing.rule) != (one.open, one.because))
    troubles = tuple(one for one in after.findings.troubles if not before or one not in before.findings.troubles)
    conflicts = tuple(one for one in after.conflicts if not before or one not in before.conflicts)
    out += screen.doubts(base, replace(after, doubts=doubts, conflicts=conflicts,
                                       findings=replace(after.findings, troubles=troubles)))
    return out


def follows(base: Base, before: Assessment | None, after: Assessment) -> list[str]:
    """What newly follows: numbers computed, conditions, advice, and the causes where their order moved."""
    out: list[str] = []
    old = before.findings.numbers if before else {}
    computed = [fact_text(base, after, name) for name, number in after.findings.numbers.items() if number.formula]
    if before:
        computed = [text for text in computed if text not in {fact_text(base, before, name) for name in old}]
    if computed:
        out += wrapped("computed: " + "; ".join(computed), 2, 4)
    had = {(one.name, one.value) for one in before.conditions} if before else set()
    has = {(one.name, one.value) for one in after.conditions}
    for name, value in sorted(has - had):
        out += wrapped(f"{base.title(name)}: {plain(value)}", 2, first="= ")
    for name, value in sorted(had - has):
        out += wrapped(f"no longer concluded: {base.title(name)} {plain(value)}", 2, first="= ")
    advised = {one.rule for one in before.advice} if before else set()
    for firing in after.advice:
        advice = base.rules[firing.rule].advises
        if firing.rule not in advised and advice:
            out += advice_lines(after.gate, advice, firing.rule)
    shown = [(one.name, one.word) for one in leading(base, before)] if before else []
    now = leading(base, after)
    family = leading_family(after.families, after.causes)
    was = leading_family(before.families, before.causes) if before else None
    if family and not base.panels.keys().isdisjoint(after.known) and (
            was is None or (was.name, was.word) != (family.name, family.word)):
        out += wrapped(base.families[family.name].title, 2, 24, f"{bar(family.belief)} {family.word:<10}")
    if now and [(one.name, one.word) for one in now] != shown:
        out += cause_lines(base, now)
    elif shown and not now:
        out += wrapped("No cause stands out any more.", 2)
    return out


def leading(base: Base, assessment: Assessment) -> list[Ranked]:
    """The first three causes that are at least possible; none before anything but the equipment is known."""
    if all(name in base.equipment for name in assessment.known if name not in base.conditions):
        return []
    return [one for one in assessment.causes[:3] if one.word != "unlikely"]


def cause_lines(base: Base, causes: Iterable[Ranked]) -> list[str]:
    """Causes, a line each: a bar, the word, the title."""
    return [line for one in causes
            for line in wrapped(base.title(one.name), 2, 24, f"{bar(one.belief)} {one.word:<10}")]
