"""The words of the verb `record` that tell what the visits show together: a unit's trend, and what was learned."""

from __future__ import annotations

import argparse
from pathlib import Path

from advisor.library.base import Base
from advisor.pages.wording import wrapped
from advisor.physics import units as measure
from advisor.reasoning.case import local_time
from advisor.visit import drift, learning, record, transfer, trend
from advisor.visit.course import course_lines, events
from advisor.visit.documents import unit_document
from advisor.visit.record import RecordError, open_record
from advisor.visit.recordlines import drift_lines
from advisor.visit.recordwords import print_json, print_lines
from advisor.visit.trendpicture import svg


def trend_of(arguments: argparse.Namespace, base: Base, path: Path) -> int:
    """`record trend`."""
    with open_record(path, make=False) as kept:
        unit = record.find_unit(kept, " ".join(arguments.unit))
        seen = record.visits(kept, unit)
    moments, changed = trend.history(trend.own_visits(seen, unit), base), events(seen, unit, base)
    earlier = trend.history([visit for visit in seen if unit.began and local_time(visit.at).date() <= unit.began], base)
    drifts = drift.drift(moments)
    if arguments.svg:
        if not moments:
            raise RecordError(f"{unit.label} has no visit yet, so there is nothing to draw")
        transfer.write_over(Path(arguments.svg), (b"<svg", b"<?xml"), "a picture of ours",
                            svg(moments, base, unit.label, drifts, changed))
    if arguments.json:
        return print_json({
            "unit": unit_document(unit),
            "moments": [_moment_json(one) for one in moments],
            "began": unit.began.isoformat() if unit.began else None,
            "moments_of_what_was_there_before": [_moment_json(one) for one in earlier],
            "changed": [{"day": one.day.isoformat(), "what": one.words} for one in changed],
            "measured_in": {name: measure.symbol(base.quantities[name].kind) for name in trend.TRENDED},
            "drift": [drift_document(one, base) for one in drifts],
        })
    if not seen:
        return print_lines([unit.label, "  no visit yet; `record keep` keeps one"])
    lines = wrapped(f"{unit.label}: every visit by its date, as found, and as left where that was measured")
    if earlier:
        lines += [*wrapped(f"up to {unit.began}, with what was there before:"), *course_lines(earlier, base, changed),
                  *wrapped(f"since {unit.began}, a history of its own:")]
    drifted = drift_lines(drifts, base) or wrapped("nothing has drifted that the rules would notice")
    return print_lines([*lines, *(course_lines(moments, base, changed) or ["  no reading yet"]), *drifted])


def _moment_json(one: trend.Moment) -> dict[str, object]:
    return {"visit": one.visit, "at": one.at.isoformat(), "moment": "after" if one.left else "before",
            "numbers": {name: one.numbers[name] for name in trend.TRENDED if name in one.numbers}}


def drift_document(one: drift.Drift, base: Base) -> dict[str, object]:
    """A drift as a document."""
    return {"rule": one.rule.name, "says": drift.drift_text(one, base), "because": one.rule.because,
            "source": one.source, "since": one.then.at.isoformat(), "since_visit": one.then.visit}


def _of_other_rules(unknown: tuple[str, ...], base: Base) -> list[str]:
    """What to say of confirmed causes that the rules of now do not know."""
    if not unknown:
        return []
    where = "are not in the rules given with --rules either" if base.own_rules else \
        "are of rules of your own: give them with --rules FOLDER"
    return wrapped(f"Confirmed here, and unknown to the rules of now: {', '.join(unknown)}. They count for nothing; "
                   f"perhaps they {where}.")


def learned_of(arguments: argparse.Namespace, base: Base, path: Path) -> int:
    """`record learned`."""
    with open_record(path, make=False) as kept:
        found = learning.learned(kept, base, arguments.strength)
        unknown, counts = learning.unknown_causes(kept, base), learning.outcomes(kept)
    shown = sorted(((name, one) for name, one in found.items() if one.found or arguments.all),
                   key=lambda pair: (-pair[1].found, -pair[1].share, pair[0]))
    if arguments.json:
        return print_json({
            "strength_visits": arguments.strength, "method": learning.METHOD,
            "outcomes": {outcome or "not-told": count for outcome, count in counts.items()},
            "causes": [{"cause": name, "share_before": one.prior, "confirmed": one.found, "visits": one.visits,
                        "share_of_confirmed_visits": one.confirmed_alone, "share_corrected": one.rate,
                        "counts_like_visits": one.visits if one.worth is None else one.worth, "share": one.share}
                       for name, one in shown]})
    other = _of_other_rules(unknown, base)
    if not shown:
        return print_lines(other or ["no cause has been confirmed on a kept visit yet, so nothing was learned"])
    lines = wrapped(f"How common each cause is taken to be, as a share of visits. What was taken before counts like "
                    f"{arguments.strength:g} visits. Hazards are never touched.")
    lines += wrapped(learning.told_in_words(counts))
    lines += wrapped("Shares: taken before; confirmed on how many of the visits with an answer; of the visits with a "
                     "confirmed cause alone, which is too high; corrected; and what is taken now.")
    for name, one in shown:
        lines += wrapped(base.title(name))
        lines += wrapped(f"before {one.prior:.1%}; {one.found} of {one.visits}; confirmed alone "
                         f"{one.confirmed_alone:.1%}; corrected {one.rate:.1%}; now {one.share:.1%}", 4, 4)
    return print_lines([*lines, *other])
