"""Tomorrow's list, from the record and from the calls that lie open: whom to call, what is due, what to carry.

Every line says why it is on the list, and names the figures that it rests on with their unit and day. It is a pure
function of units, visits, open calls and the day.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final

from advisor.library.base import Base
from advisor.pages.wording import plain
from advisor.physics import units as measure
from advisor.reasoning.assess import assess
from advisor.reasoning.case import local_time
from advisor.reasoning.turnout import COMPLAINT, ROUTINE
from advisor.visit.drift import drift, drift_text, weather_text
from advisor.visit.kept import YEARLY, Unit, Visit
from advisor.visit.opencalls import CallFile
from advisor.visit.tomorrowcall import call_first
from advisor.visit.tomorrowitems import (
    SECTIONS,
    DayList,
    Figure,
    Known,
    Line,
    days_text,
    figure_of,
    known_of,
    likely,
    line_of,
    units_text,
)
from advisor.visit.tomorrowparts import parts
from advisor.visit.trend import Moment, history, in_our_units, own_visits

SERVICE_DAYS: Final = 365
"""From one service to the next: yearly (common practice, and what manufacturers of oil burners ask for)."""
AHEAD_DAYS: Final = 30
"""For how many days ahead a service is listed as due (our own choice)."""
SEASON_BEGINS: Final = 7
"""The month in which a heating season begins: July to June, as degree days are added up (common practice)."""
MOST: Final = 20
"""Lines of a section, where nobody says how many."""
_MOST_FAULTS: Final = 5


def day_list(
    base: Base, units: Sequence[Unit], visits: Iterable[Visit], calls: Sequence[CallFile], day: date,
    notes: Sequence[str] = (), most: int = MOST,
) -> DayList:
    """The list for a day.

    Parameters
    ----------
    base : Base
    units, visits
        Of the record.
    calls
        Call files that lie in the folder, closed ones too.
    day
        The day that it is for; what was kept later does not count.
    notes
        What else there is to say.
    most
        Lines of a section, but for those to call first, which are never left out; how many more there are is noted.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> day_list(load(), (), (), (), date(2026, 11, 28)).lines
    ()
    """
    seen: dict[str, list[Visit]] = {}
    for visit in sorted(visits, key=lambda visit: visit.at):
        if local_time(visit.at).date() <= day:
            seen.setdefault(visit.unit, []).append(visit)
    known = [known_of(base, unit, tuple(seen.get(unit.uid, ()))) for unit in units]
    unfinished = [call for call in calls if call.work.closed is None]
    season = _season(day)
    faults = list(_faults(base, known, season))
    lines = list(call_first(base, known, unfinished, day))
    due, worse = list(_service_due(base, known, day)), _worse(base, known)
    for section, found in (("service-due", due), ("getting-worse", worse)):
        lines += found[:most]
        if len(found) > most:
            notes = (*notes, f"{SECTIONS[section]}: {len(found) - most} more (--most {len(found)} lists all)")
    lines += [*faults, *parts(base, known, unfinished, lines, faults, day)]
    unkept = [call.path.name for call in calls if call.work.closed is not None and not call.work.kept]
    if unkept:
        notes = (*notes, f"Closed, but not in the record yet (open the call and `keep` it): {', '.join(unkept)}")
    return DayList(day, tuple(lines), len(units), sum(map(len, seen.values())), len(unfinished), season, tuple(notes))


def _season(day: date) -> date:
    return date(day.year if day.month >= SEASON_BEGINS else day.year - 1, SEASON_BEGINS, 1)


@dataclass(frozen=True, slots=True)
class _Served:
    """When a unit was last served, and the figure that tells."""

    on: date
    rests_on: Figure
    visit: int


def _last_service(base: Base, known: Known) -> _Served | None:
    """The last yearly service that is known of, by the complaint of a visit or by what was told of the last service."""
    out: list[_Served] = []
    for visit in known.visits:
        on = local_time(visit.at).date()
        entries = {entry.name: entry for entry in in_our_units(visit.before.latest.values(), visit.measured_in, base)}
        complaint, years = entries.get(COMPLAINT), entries.get("years_since_service")
        if complaint is not None and complaint.value == ROUTINE:
            out.append(_Served(on, figure_of(base, complaint, visit.at), visit.number))
        elif visit.kind == YEARLY:
            out.append(_Served(on, Figure("kind of call", plain(visit.kind), on), visit.number))
        elif years is not None and isinstance(years.value, float):
            out.append(_Served(on - timedelta(days=round(years.value * SERVICE_DAYS)),
                               figure_of(base, years, visit.at), visit.number))
    return max(out, key=lambda one: one.on, default=None)


def _service_due(base: Base, known: Sequence[Known], day: date) -> Iterator[Line]:
    due: list[tuple[date, Line]] = []
    for one in known:
        served = _last_service(base, one)
        if served is None:
            why = "no yearly service is in the record" if one.visits else "no visit is in the record"
            last = [Figure("yearly services in the record", f"0 of {len(one.visits)} visits", day)]
            due.append((date.max, line_of(one, "service-due", "not known when it was serviced", [why], last)))
            continue
        next_on = served.on + timedelta(days=SERVICE_DAYS)
        if next_on > day + timedelta(days=AHEAD_DAYS):
            continue
        days = (day - next_on).days
        state = f"overdue by {days_text(days)}" if days > 0 else f"due on {next_on}"
        figures = [Figure("since the last service", days_text((day - served.on).days), day), served.rests_on]
        due.append((next_on, line_of(one, "service-due", state,
                                   [f"last serviced on {served.on}; a service is due after {days_text(SERVICE_DAYS)}"],
                                   figures, served.visit)))
    return iter([line for _, line in sorted(due, key=lambda pair: (pair[0], pair[1].unit))])


def _now(moments: Sequence[Moment]) -> tuple[Moment, ...]:
    """The moments up to how a unit was last left, which counts as found: what was put right then is not worse now."""
    if not moments:
        return ()
    last = moments[-1]
    return (*(one for one in moments if one.at < last.at), replace(last, left=False))


def _worse(base: Base, known: Sequence[Known]) -> list[Line]:
    """The units of which most has drifted come first."""
    out = []
    for one in known:
        found = drift(_now(history(own_visits(one.visits, one.unit), base)))
        if not found:
            continue
        figures: dict[Figure, None] = {}
        for drifted in found:
            for name in drifted.rule.moved:
                kind = base.quantities[name].kind
                for side in (drifted.then, drifted.now):
                    figures[Figure(base.title(name), measure.format_value(side.numbers[name], kind),
                                   local_time(side.at).date())] = None
        why = [text for drifted in found for text in (drift_text(drifted, base), weather_text(drifted, base))]
        titles = dict.fromkeys(base.title(name) for drifted in found for name in drifted.rule.moved)
        out.append(line_of(one, "getting-worse", ", ".join(titles), dict.fromkeys(why), figures, found[0].now.visit))
    return sorted(out, key=lambda line: (-len(line.why), line.unit))


def _faults(base: Base, known: Sequence[Known], season: date) -> Iterator[Line]:
    """The faults of the season. Each unit counts once for a fault, by what the same rules make of what was read: so the
    count does not hang on who makes more visits to one unit, or ticks causes more freely.
    """
    read: dict[str, dict[str, date]] = {}
    ticked: dict[str, dict[str, date]] = {}
    visited = 0
    for one in known:
        ours = [visit for visit in one.visits if local_time(visit.at).date() >= season]
        visited += bool(ours)
        for visit in ours:
            entries = in_our_units(visit.before.entries, visit.measured_in, base)
            now = assess(replace(visit.before, entries=entries), base, look_ahead=False)
            for cause in likely(now):
                read.setdefault(cause, {})[one.unit.label] = local_time(visit.at).date()
            for cause in visit.confirmed:
                if cause in base.causes:
                    ticked.setdefault(cause, {})[one.unit.label] = local_time(visit.at).date()
    order = sorted(read.keys() | ticked.keys(),
                   key=lambda cause: (-len(read.get(cause, ())), -len(ticked.get(cause, ())), cause))
    for cause in order[:_MOST_FAULTS]:
        labels, sure = read.get(cause, {}), ticked.get(cause, {})
        figures = [Figure(what, units_text(len(units)), max(units.values())) for what, units in (
            ("units with this fault by the readings", labels), ("units where it was told as confirmed", sure)) if units]
        yield Line("faults", base.title(cause),
                   (f"likely or confirmed by the readings on {len(labels)} of {units_text(visited)} visited since "
                    f"{season}; told as confirmed on {len(sure)}",),
                   tuple(figures))
