"""Kept visits in lines of text: a case, the course of the numbers over the visits, what has drifted."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from advisor.library.base import Base
from advisor.library.items import Quantity
from advisor.pages.wording import columns, plain, wrapped
from advisor.physics import units
from advisor.reasoning.assess import assess
from advisor.reasoning.case import Case, local_time
from advisor.visit.drift import Drift, drift_text
from advisor.visit.kept import OUTCOMES, Change, Visit
from advisor.visit.trend import as_left

_TWO_COLUMNS = 70
"""From so many columns on, names and values stand in two columns."""


def case_lines(case: Case, measured_in: Mapping[str, str], base: Base) -> list[str]:
    """The entries of a kept case, one a line, in the units of measure in which they stand.

    >>> from advisor.library.base import load
    >>> from advisor.reasoning.case import Entry
    >>> case = Case((Entry("stack_temperature", "271 C", 271.0), Entry("flame_look", "?", None, "could not check")))
    >>> print("\\n".join(case_lines(case, {"stack_temperature": "degC"}, load())))
      stack temperature                            271 degC
      look of the flame                            could not check
    """
    lines = []
    for entry in case.entries:
        item = base.named.get(entry.name)
        if isinstance(entry.value, float):
            stands_in = measured_in.get(entry.name, "")
            if isinstance(item, Quantity) and units.symbol(item.kind) == stands_in:
                value = units.format_value(entry.value, item.kind)
            else:
                value = f"{entry.value:g} {stands_in}".strip()
        elif entry.is_cure:
            value = f"put right: {entry.typed}"
        elif entry.is_remark:
            value = entry.typed
        else:
            value = plain(entry.value) if entry.value is not None else entry.status
        title = base.title(entry.name)
        lines += wrapped(value, 2, first=f"{title:<44} ") if columns() >= _TWO_COLUMNS else wrapped(
            f"{title}: {value}", 2, 4)
    return lines


def hazard_lines(visit: Visit, base: Base) -> list[str]:
    """The hazards of a visit, and where each stood when it was left."""
    left = assess(as_left(visit, base), base, look_ahead=False)
    lines = []
    for found in (*left.hazards, *left.released):
        cures = f", put right: {'; '.join(found.cures)}" if found.cures else ""
        state = {"cured": "put right and not proven"}.get(found.state, found.state)
        lines += wrapped(f"{base.title(found.name)}: {state}{cures}", 2)
    return ["", "hazards:", *lines] if lines else []


def visit_lines(visit: Visit, base: Base) -> list[str]:
    """A kept visit in a line or two: its number, its day, what was confirmed and done.

    >>> from datetime import UTC, datetime
    >>> from advisor.library.base import load
    >>> visit_lines(Visit("7", datetime(2026, 1, 5, 12, tzinfo=UTC), Case(), number=3), load())
    ['    3  2026-01-05  no cause confirmed']
    """
    said = [f"confirmed: {_titles(base, visit.confirmed)}" if visit.confirmed else OUTCOMES[visit.outcome]
            if visit.outcome else "no cause confirmed"]
    said += [f"done: {_titles(base, visit.remedies)}"] if visit.remedies else []
    said += [plain(visit.kind)] if visit.kind else []
    said = [f"VOID ({visit.void})", *said] if visit.void else said
    return wrapped("; ".join(said), first=f"{visit.number:5}  {local_time(visit.at):%Y-%m-%d}  ")


def _titles(base: Base, names: Iterable[str]) -> str:
    return ", ".join(base.title(name) for name in names)


def visit_words(visit: Visit, base: Base) -> list[tuple[str, str]]:
    """What a visit says beside its cases, each with what it is; what is not known is left out.

    >>> from datetime import UTC, datetime
    >>> from advisor.library.base import load
    >>> visit_words(Visit("7", datetime(2026, 1, 5, tzinfo=UTC), Case(), parts={"nozzle": 2.0}), load())
    [('parts', '2 x nozzle')]
    """
    told = (
        ("outcome", "" if visit.confirmed else OUTCOMES.get(visit.outcome, "")),
        ("confirmed", _titles(base, visit.confirmed)),
        ("done", _titles(base, visit.remedies)), ("call", plain(visit.kind)), ("technician", visit.technician),
        ("parts", ", ".join(f"{count:g} x {part}" for part, count in visit.parts.items())),
        ("minutes", ", ".join(f"{base.title(check)} {took:g} min" for check, took in visit.minutes.items())),
        ("note", visit.note), ("rules", visit.rules),
    )
    return [(what, words) for what, words in told if words]


def change_lines(change: Change) -> list[str]:
    """What of a unit was changed, and when.

    >>> from datetime import date
    >>> change_lines(Change(date(2026, 3, 1), "burner", "the old one had no parts any more"))
    ['    2026-03-01 new burner: the old one had no parts any more']
    """
    what = "changed" if change.what == "other" else f"new {change.what}"
    return wrapped(f"{change.day} {what}{f': {change.note}' if change.note else ''}", 4, 6)


def drift_lines(drifts: Iterable[Drift], base: Base) -> list[str]:
    """What has drifted, with the reason and where the rule comes from; empty where nothing has."""
    lines, found = [], ""
    for one in drifts:
        lines += wrapped(drift_text(one, base), 2, first="- ")
        lines += wrapped(f"because {one.rule.because} ({one.source})", 4)
        found = f"{local_time(one.now.at):%Y-%m-%d}"
    return [f"drifted, as found on {found}:", *lines] if lines else []
