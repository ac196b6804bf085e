"""What is shown after a line: only what it changed, hazards first."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace

from advisor.call.parts import Screen, part
from advisor.library.base import Base
from advisor.library.items import Step
from advisor.pages import screen
from advisor.pages.instructions import advice_lines, step_lines
from advisor.pages.wording import bar, columns, fact_text, plain, wrapped
from advisor.physics import units
from advisor.reasoning.assess import Assessment
from advisor.reasoning.case import Case, Entry
from advisor.reasoning.families import leading_family
from advisor.reasoning.gate import Gate
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
    clear = [entry for entry in entries if is_clear(base, entry) and entry.name not in old]
    several = clear if len(clear) > 3 else []
    noted = [f"{len(several)} things looked at and clear"] if several else []
    unit = [entry for entry in entries if entry.name in base.equipment and entry.value is not None
            and entry.name not in old and isinstance(entry.value, str)]
    if len(unit) > 1:
        noted.append(", ".join(_short(base, entry) for entry in unit))
    else:
        unit = []
    for entry in entries:
        if entry.is_remark or entry in several or entry in unit:
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


def is_clear(base: Base, entry: Entry) -> bool:
    """Whether an entry says that something of the list of the look round is clear."""
    item = base.observations.get(entry.name)
    return item is not None and bool(item.clear) and entry.value == item.clear


def _short(base: Base, entry: Entry) -> str:
    """An answer about the unit alone, where it says enough by itself; yes and no take the name of the thing."""
    value = plain(str(entry.value))
    return f"{base.title(entry.name)}: {value}" if value in ("yes", "no", "none", "other") else value


def folded(lines: list[str], most: int) -> list[str]:
    """The first lines of a text, with a mark where others follow.

    >>> folded(["one", "two", "three"], 2)
    ['one', 'two ...']
    """
    return lines if len(lines) <= most else [*lines[:most - 1], f"{lines[most - 1][:columns() - 4].rstrip()} ..."]


def warned(base: Base, before: Assessment | None, after: Assessment) -> Screen:
    """Hazards and doubts that were not there before, in full; those that still stand, or are gone, in a line each."""
    shown = before is not None and not before.gate.emergency  # nothing but its orders was said in an emergency
    had = {(one.name, one.borderline) for one in before.hazards} if before is not None and shown else set()
    new = tuple(one for one in after.hazards if (one.name, one.borderline) not in had)
    there = {one.name for one in after.hazards}
    told = [line for name in dict.fromkeys(name for name, _ in had if name not in there)
            for line in wrapped(f"No longer seen: {base.title(name)} (hazard)", 0, 2)]
    old = standing(base, after, [one.name for one in after.hazards if one not in new])
    full = screen.hazards(base, replace(after, hazards=new))
    brief = [line for one in new for line in
             wrapped(f"{base.hazards[one.name].title}: {first_sentence(base.hazards[one.name].because)}", 0, 2, "! ")]
    return (*part("said", told), *part("hazard", [*old, *full], [*old, *brief], whole=[*old, *full] if full else ()),
            *doubted(base, before, after))


def standing(base: Base, after: Assessment, names: Iterable[str]) -> list[str]:
    """The hazards that stand, and were told before, a line each."""
    return [line for name in names for line in wrapped(f"still open: {base.title(name)} (hazard)", 0, 2, first="! ")]


def doubted(base: Base, before: Assessment | None, after: Assessment) -> Screen:
    """What is newly in doubt."""
    had = {one.firing.rule: (one.open, one.because) for one in before.doubts} if before else {}
    doubts = tuple(one for one in after.doubts if had.get(one.firing.rule) != (one.open, one.because))
    troubles = tuple(one for one in after.findings.troubles if not before or one not in before.findings.troubles)
    conflicts = tuple(one for one in after.conflicts if not before or one not in before.conflicts)
    found = replace(after, doubts=doubts, conflicts=conflicts, findings=replace(after.findings, troubles=troubles))
    full = screen.doubts(base, found)
    brief = [line for one in doubts for line in
             folded(wrapped(f"{', '.join(map(base.title, one.readings))} in doubt: {first_sentence(one.because)}", 0, 2,
                            first="? "), 2)]
    return part("doubt", full, brief or full[:2])


def first_sentence(text: str) -> str:
    """A text up to the end of its first sentence.

    >>> first_sentence("Soot narrows the way. So it draws less.")
    'Soot narrows the way.'
    """
    end = re.search(r"[.:;](?=\s)", text)
    return text[: end.start()] + "." if end else text


def first_steps(gate: Gate, steps: Iterable[Step], gives: Iterable[str]) -> list[str]:
    """Steps in short: the first sentence of each, or why it is held back."""
    return step_lines(gate, [replace(step, text=first_sentence(step.text)) for step in steps], gives=tuple(gives))


def follows(base: Base, before: Assessment | None, after: Assessment, asking: bool = True) -> Screen:
    """What newly follows: numbers computed, conditions and advice; then the causes, where their order moved.

    `asking` is False while the unit is still being told of: then no cause is named yet.
    """
    out: list[str] = []
    old = before.findings.numbers if before else {}
    computed = [fact_text(base, after, name) for name, number in after.findings.numbers.items()
                if number.formula and not _says_the_same(after, name)]
    if before:
        computed = [text for text in computed if text not in {fact_text(base, before, name) for name in old}]
    if computed:
        out += wrapped("computed: " + "; ".join(computed), 2, 4)
    had = {(one.name, one.value) for one in before.conditions} if before else set()
    has = {(one.name, one.value) for one in after.conditions}
    for name, value in sorted(has - had):
        out += wrapped(f"{base.title(name)}: {plain(value)}", 2, first="= ")
    for name, value in sorted(had - has):
        out += wrapped(f"not so any more: {base.title(name)} {plain(value)}", 2, first="= ")
    advised = {one.rule for one in before.advice} if before else set()
    for firing in after.advice:
        advice = base.rules[firing.rule].advises
        if firing.rule not in advised and advice:
            out += advice_lines(after.gate, advice, firing.rule)
    return (*part("follows", folded(out, 6), folded(out, 2), [], whole=out),
            *(causes(base, before, after) if asking else ()))


def _says_the_same(after: Assessment, name: str) -> bool:
    """Whether a computed number is only the one that it was computed from."""
    numbers = after.findings.numbers
    behind = [numbers[one] for one in numbers[name].grounds if one in numbers]
    return len(behind) == 1 and behind[0].name != name and behind[0].value == numbers[name].value


def causes(base: Base, before: Assessment | None, after: Assessment) -> Screen:
    """The causes, where their order or words moved: three, or in a pinch one, each with why in half a line."""
    shown = [(one.name, one.word) for one in leading(base, before)] if before else []
    now = leading(base, after)
    family = leading_family(after.families, after.causes)
    was = leading_family(before.families, before.causes) if before else None
    out: list[str] = []
    if family and not base.panels.keys().isdisjoint(after.known) and (
            was is None or (was.name, was.word) != (family.name, family.word)):
        out += wrapped(base.families[family.name].title, 2, 24, f"{bar(family.belief)} {family.word:<10}")
    if now and [(one.name, one.word) for one in now] != shown:
        out += cause_lines(base, now, after)
    elif shown and not now:
        out += wrapped("No cause stands out any more.", 2)
    return part("causes", out, out[:1])


def leading(base: Base, assessment: Assessment) -> list[Ranked]:
    """The first three causes that are at least possible; none before anything but the equipment is known."""
    if all(name in base.equipment for name in assessment.known if name not in base.conditions):
        return []
    return [one for one in assessment.causes[:3] if one.word != "unlikely"]


def cause_lines(base: Base, causes: Iterable[Ranked], assessment: Assessment | None = None) -> list[str]:
    """Causes, a line each: a bar, the word, the title; and what speaks most for it, as far as the line has room."""
    out = []
    for one in causes:
        lead = f"{one.word:<10}" if columns() < 60 else f"{bar(one.belief)} {one.word:<10}"
        lines = wrapped(base.title(one.name), 2, 24, lead)
        why = next((piece for piece in one.evidence if piece.decibans > 1.0 and not piece.begun and not piece.shared),
                   None)
        room = columns() - len(lines[0]) - 2
        if assessment is not None and why is not None and len(lines) == 1 and room > 16:
            text = screen.evidence_text(base, assessment, why)
            lines = [f"{lines[0]}: {text if len(text) <= room else text[:room - 4].rstrip() + ' ...'}"]
        out += lines
    return out
