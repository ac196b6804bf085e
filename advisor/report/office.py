"""The part of the report for the office: figures, limits with their sources, causes with their evidence."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from advisor.library.base import Base
from advisor.library.items import Limit, Origin
from advisor.pages import screen
from advisor.pages.wording import fact_text, plain, weight_word
from advisor.reasoning.assess import Assessment
from advisor.reasoning.derive import limit_value
from advisor.report.report import Report
from advisor.visit.beforeafter import Row

MOST_CAUSES: Final = 5
SURE: Final = ("confirmed", "likely")


@dataclass(frozen=True, slots=True)
class Advised:
    """A thing to do, why, and how soon; `short` says it where there is little room for all that it is about."""

    what: str
    why: str
    when: str = ""
    short: str = ""


@dataclass(frozen=True, slots=True)
class Figure:
    """A row of the office's table: the reading, and the limits that it is held against, with their sources."""

    row: Row
    limits: str
    errors: str = ""
    """How far what was computed may be off, and from which difference on it counts as changed."""


@dataclass(frozen=True, slots=True)
class CauseLine:
    """A cause as the office reads it."""

    title: str
    word: str
    evidence: tuple[str, ...]


def causes(base: Base, assessment: Assessment, report: Report) -> tuple[CauseLine, ...]:
    """The causes worth naming, each with its strongest evidence."""
    out: list[CauseLine] = []
    for one in assessment.causes:
        word = "confirmed" if one.name in report.confirmed else one.word
        if word == "unlikely" or (len(out) >= MOST_CAUSES and word not in SURE):
            continue
        pieces = [piece for piece in one.evidence if abs(piece.decibans) >= 0.5 and not piece.open][:2]
        evidence = tuple(f"{'for' if piece.decibans > 0 else 'against'}: "
                         f"{screen.evidence_text(base, assessment, piece)} ({weight_word(piece.decibans)})"
                         for piece in pieces)
        out.append(CauseLine(base.title(one.name), word, evidence))
    return tuple(out)


def office(base: Base, report: Report) -> tuple[Advised, ...]:
    """The advice of the rules and the next check, for whoever goes there next."""
    last = report.last
    out = [Advised(advice.text, base.rules[firing.rule].because) for firing in last.advice
           if (advice := base.rules[firing.rule].advises) is not None and last.gate.allows(advice)]
    if last.checks.first is not None:
        check = base.checks[last.checks.first.check]
        out.append(Advised(f"Next check: {check.title} ({last.checks.first.minutes:g} min).", check.why))
    return tuple(out)


def conclusions(base: Base, report: Report) -> tuple[str, ...]:
    """What the readings say together, what could not be computed, and what nothing explains."""
    out: list[str] = []
    for one, when in ((report.before, "as found"), (report.after, "as left")):
        if one is None:
            continue
        out += [f"{when}: {base.title(found.name)} {plain(found.value)}" for found in one.conditions]
        out += [f"{when}: {text}" for text in one.findings.troubles]
        out += [f"{when}: {base.title(name)}: the readings point two ways" for name in one.conflicts]
        out += [f"{when}: not explained by any cause named: {fact_text(base, one, name)}"
                for name in screen.unexplained(base, one)]
    return tuple(out)


def figures(base: Base, report: Report, rows: Iterable[Row]) -> tuple[tuple[Figure, ...], tuple[str, ...]]:
    """The rows with the limits used, and the numbered list of the sources of these limits."""
    sources: dict[str, int] = {}
    last = report.last
    answers = {name: symbol for name, symbol in last.findings.symbols.items() if name in base.observations}

    def cited(limit: Limit) -> str:
        value, manufacturer = limit_value(limit, answers, last.case.manufacturer)
        source = "the manufacturer's figure for this unit" if manufacturer else _source(base, limit.origin)
        return f"{value:g} [{sources.setdefault(source, len(sources) + 1)}]"

    rows_with_limits = []
    for row in rows:
        limits = base.limits_of.get(row.name, ())
        words = ""
        if limits:
            words = plain(limits[0].below) + "".join(f" | {cited(limit)} | {plain(limit.above)}" for limit in limits)
        rows_with_limits.append(Figure(row, words, _errors(row, report.after is not None)))
    fuel = last.findings.fuel
    listed = [f"[{number}] {source}" for source, number in sources.items()]
    assumed = ", assumed since it was not entered" if last.findings.fuel_assumed else ""
    listed.append(f"Fuel: {fuel.title}{assumed}; {fuel.hhv_btu_per_lb:,.0f} Btu/lb. Analysis and heating value: "
                  f"{_fuel_source(base, fuel.source)}")
    return tuple(rows_with_limits), tuple(listed)


def _errors(row: Row, twice: bool) -> str:
    """How far the figures of a row may be off, and their change; empty where nothing was computed."""
    sides = (("as found", row.before_error), ("as left", row.after_error))
    said = [f"+/- {off}{f' {when}' if twice else ''}" for when, off in sides if off]
    if row.change_error:
        said.append(f"a change counts from {row.change_error} on")
    return ", ".join(said)


def _source(base: Base, origin: Origin) -> str:
    """A source as it stands in the list: what is published by whom, and whether the value is from memory."""
    if origin.source is None:
        return "common practice of the trade"
    source = base.sources.get(origin.source)
    title = f"{source.publisher}, {source.title}" if source else origin.source
    return (f"{title}{f', {origin.where}' if origin.where else ''}"
            f"{' (value from memory)' if origin.from_memory else ''}")


def _fuel_source(base: Base, said: str) -> str:
    """The first part of a fuel's source, with the title of the publication for its name."""
    name, _, rest = said.split(";")[0].partition(",")
    return base.title(name.strip()) + (f",{rest}" if rest else "")
