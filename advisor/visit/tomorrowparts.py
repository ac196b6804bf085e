"""Tomorrow's list: the parts to carry, as the remedies name them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from typing import Final

from advisor.library.base import Base
from advisor.reasoning.assess import assess
from advisor.reasoning.case import Entry, local_time
from advisor.visit.opencalls import CallFile
from advisor.visit.remedy import finished
from advisor.visit.tomorrowitems import Figure, Known, Line, figure_of, likely, units_text
from advisor.visit.trend import in_our_units

_NAMED: Final = 12
"""Units that are named for a part; the others are counted."""


def parts(
    base: Base, known: Sequence[Known], calls: Sequence[CallFile], lines: Iterable[Line], faults: Iterable[Line],
    day: date,
) -> Iterator[Line]:
    """What the remedies of the units on the list take: of a cause that is likely there, or of a yearly service; and one
    of each for the most common faults.
    """
    wanted: dict[str, dict[tuple[str, str], Figure | None]] = {}

    def want(part: str, whose: str, because: str, equipment: Mapping[str, Entry], at: datetime | None) -> None:
        sizes = [entry for name, entry in equipment.items() if entry.value is not None
                 and part in getattr(base.named.get(name), "size_of", ())]
        figure = figure_of(base, sizes[-1], at) if sizes else None
        title = f"{part}, {figure.value}" if figure else part
        wanted.setdefault(title, {}).setdefault((whose, because), figure)

    sections: dict[str, set[str]] = {}
    for line in lines:
        sections.setdefault(line.unit, set()).add(line.section)
    for one in known:
        on = sections.get(one.unit.label, set())
        at = one.visits[-1].at if one.visits else None
        equipment = _equipment(base, one)
        if "service-due" in on:
            for remedy in base.remedies.values():
                for part in remedy.parts if remedy.yearly else ():
                    want(part, one.unit.label, "yearly service", equipment, at)
        if on:
            for cause in one.causes(base)[:1]:
                for part in base.remedies[base.causes[cause].remedy].parts:
                    want(part, one.unit.label, f"{base.title(cause)}, likely{_on(at)}", equipment, at)
    for call in calls:
        done = {job.cause for job in finished(base, call.work)}
        now = assess(call.at_hand(base), base, look_ahead=False)
        causes = [job.cause for job in call.work.jobs if job.cause not in done]
        causes = causes or list(likely(now, frozenset(done)))[:1]
        for cause in causes:
            for part in base.remedies[base.causes[cause].remedy].parts:
                want(part, call.work.unit or call.path.name, f"{base.title(cause)}{_on(call.since())}",
                     call.found.latest, call.since())
    titles = {base.title(name): name for name in base.causes}
    for fault in faults:
        for part in base.remedies[base.causes[titles[fault.what]].remedy].parts:
            if not any(title.partition(",")[0] == part for title in wanted):
                wanted[part] = {("", f"common this season: {fault.what}"): fault.rests_on[0]}
    for title, uses in sorted(wanted.items(), key=lambda pair: (-len(pair[1]), pair[0])):
        whose = {who for who, _ in uses}
        count = Figure("units that it is for", units_text(len(whose)), day)
        latest = max((one for one in uses.values() if one is not None), key=lambda one: one.on or day, default=None)
        yield Line("parts", f"{len(whose)} x {title}",
                   tuple(_why(because, [who for who, also in uses if also == because and who])
                         for because in dict.fromkeys(because for _, because in uses)),
                   ((latest,) if latest else ()) + (() if whose == {""} else (count,)))


def _equipment(base: Base, known: Known) -> dict[str, Entry]:
    """What is known of a unit, the latest last: by its last visit, or since then by a change."""
    of_unit = {entry.name: entry for entry in in_our_units(known.unit.equipment, known.unit.measured_in, base)}
    of_visit = known.left.latest if known.left else {}
    changed = max((change.day for change in known.unit.changes), default=date.min)
    since = bool(known.visits) and changed >= local_time(known.visits[-1].at).date()
    return {**of_visit, **of_unit} if since else {**of_unit, **of_visit}


def _why(because: str, whose: Sequence[str]) -> str:
    more = f" and {len(whose) - _NAMED} more" if len(whose) > _NAMED else ""
    return f"{because}: {', '.join(whose[:_NAMED])}{more}" if whose else because


def _on(at: datetime | None) -> str:
    return f" on {local_time(at):%Y-%m-%d}" if at else ""
