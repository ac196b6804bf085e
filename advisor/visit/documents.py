"""Units and visits as plain documents, for JSON Lines, CSV and `--json`; read back strictly.

An export begins with the line `{"kind": "burner-advisor-record", "version": 6}`; then every line is one of

- `kind: unit`: `uid`, `label`, `customer`, `address`, and `equipment`, a list of entries; from version 6 on `installed`
  (a year, or null) and `changes` (each `uid`, `day`, `what`, `note`);
- `kind: visit`: `uid`, `unit` (its uid), `at`, `before` and `after` (each `title`, `instruments`, `manufacturer`
  (`maker` before version 3), `entries`, or null), `confirmed` (causes), `remedies`, `note`, `rules`; from version 4 on
  `outcome`, `technician`, `call` (the kind of call), `parts` (how many of each) and `minutes` (for each check); from
  version 5 on `void` (why it does not count, or empty);
- `kind: trace` (from version 5 on): `uid`, `at`, `what` was done to the `subject` (uid of a visit or a unit), the
  `reason`, `into` (the unit merged into) and `was`, the document of what was there before.

An entry has `name`, `typed`, `value` (a number, an answer or null), `measure` (the unit of the number), and where
they say something `status`, `note`, `how`, `at`, `said`. Times follow ISO 8601; those of visits are in UTC.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Final

from advisor.library.plaintext import plain_text
from advisor.reasoning.case import CURED, REMARK, SKIPPED, UNCHECKED, YEARS, Case, Entry, read_time
from advisor.reasoning.casefile import OLDER_KEY
from advisor.visit.kept import CHANGED, CHANGED_UNIT, MERGED, TRACED, Change, Trace, Unit, Visit, outcome_of
from advisor.visit.schema import RecordError

Document = dict[str, object]

VERSION: Final = 6
"""The version of the documents, told in the first line of an export."""


def unit_document(unit: Unit) -> Document:
    """A unit as a document.

    >>> unit_document(Unit("Mill Lane boiler", uid="7"))
    {'kind': 'unit', 'uid': '7', 'label': 'Mill Lane boiler', 'customer': '', 'address': '', 'equipment': [], \
'installed': None, 'changes': []}
    """
    return {"kind": "unit", "uid": unit.uid, "label": unit.label, "customer": unit.customer, "address": unit.address,
            "equipment": _entries(unit.equipment, unit.measured_in), "installed": unit.installed,
            "changes": [{"uid": one.uid, "day": one.day.isoformat(), "what": one.what, "note": one.note}
                        for one in unit.changes]}


def visit_document(visit: Visit) -> Document:
    """A visit as a document; its `number`, which counts within one file, is left out."""
    return {
        "kind": "visit", "uid": visit.uid, "unit": visit.unit, "at": visit.at.isoformat(),
        "before": _case(visit.before, visit.measured_in),
        "after": None if visit.after is None else _case(visit.after, visit.measured_in),
        "confirmed": list(visit.confirmed), "remedies": list(visit.remedies), "note": visit.note, "rules": visit.rules,
        "outcome": visit.outcome, "technician": visit.technician, "call": visit.kind, "parts": dict(visit.parts),
        "minutes": dict(visit.minutes), "void": visit.void,
    }


def _case(case: Case, measured_in: Mapping[str, str]) -> Document:
    return {"title": case.title, "instruments": None if case.instruments is None else list(case.instruments),
            "manufacturer": dict(case.manufacturer), "entries": _entries(case.entries, measured_in)}


def _entries(entries: Iterable[Entry], measured_in: Mapping[str, str]) -> list[Document]:
    out = []
    for entry in entries:
        document: Document = {"name": entry.name, "typed": entry.typed, "value": entry.value}
        if isinstance(entry.value, float):
            document["measure"] = measured_in.get(entry.name, "")
        for key in ("status", "note", "how", "said"):
            if getattr(entry, key):
                document[key] = getattr(entry, key)
        if entry.at:
            document["at"] = entry.at.isoformat()
        out.append(document)
    return out


def read_unit(document: Mapping[str, object], place: str) -> Unit:
    """The unit in a document; errors: `RecordError`, beginning with `place`."""
    _only(document, ("kind", "uid", "label", "customer", "address", "equipment", "installed", "changes"), place)
    equipment, measured_in = _read_entries(document.get("equipment", []), place)
    changes = document.get("changes", [])
    if not isinstance(changes, list) or not all(isinstance(one, dict) for one in changes):
        raise RecordError(f"{place}: `changes` must list mappings with `uid`, `day` and `what`")
    return Unit(_text(document, "label", place, needed=True), _text(document, "customer", place),
                _text(document, "address", place), equipment, measured_in, _text(document, "uid", place, needed=True),
                _year(document, place), tuple(_read_change(one, f"{place}: changes") for one in changes))


def _year(document: Mapping[str, object], place: str) -> int | None:
    year = document.get("installed")
    if year is not None and (type(year) is not int or year not in YEARS):
        raise RecordError(f"{place}: `installed` must be a year from {YEARS[0]} to {YEARS[-1]}, or null")
    return year if isinstance(year, int) else None


def _read_change(document: Mapping[str, object], place: str) -> Change:
    _only(document, ("uid", "day", "what", "note"), place)
    day, what = _text(document, "day", place, needed=True), _text(document, "what", place, needed=True)
    if what not in CHANGED:
        raise RecordError(f"{place}: `what` must be one of {', '.join(CHANGED)}")
    try:
        return Change(date.fromisoformat(day), what, _text(document, "note", place),
                      _text(document, "uid", place, needed=True))
    except ValueError:
        raise RecordError(f"{place}: `day` {day[:40]!r} is not a day such as 2026-11-25") from None


def read_visit(document: Mapping[str, object], place: str) -> Visit:
    """The visit in a document; errors: `RecordError`, beginning with `place`.

    >>> read_visit({"uid": "1", "unit": "7", "at": "yesterday"}, "a.jsonl:3")
    Traceback (most recent call last):
    advisor.visit.schema.RecordError: a.jsonl:3: `at` 'yesterday' is not a time such as 2026-11-25T10:30
    """
    _only(document, ("kind", "uid", "unit", "at", "before", "after", "confirmed", "remedies", "note", "rules",
                     "outcome", "technician", "call", "parts", "minutes", "void"), place)
    at = _time(document, place)
    if at is None:
        raise RecordError(f"{place}: a visit needs `at`, the time when it was")
    before, measured_in = _read_case(document.get("before"), f"{place}: before")
    after = None
    if document.get("after") is not None:
        after, more = _read_case(document["after"], f"{place}: after")
        for name in more.keys() & measured_in.keys():
            if more[name] != measured_in[name]:
                raise RecordError(f"{place}: {name}: stands in {measured_in[name]} before and in {more[name]} after; "
                                  "use one unit in one visit")
        measured_in = {**measured_in, **more}
    confirmed = _texts(document, "confirmed", place)
    try:
        outcome = outcome_of(_text(document, "outcome", place), confirmed)
    except RecordError as error:
        raise RecordError(f"{place}: {error}") from None
    return Visit(
        _text(document, "unit", place, needed=True), at, before, after, confirmed,
        _texts(document, "remedies", place), _text(document, "note", place), measured_in,
        _text(document, "uid", place, needed=True), rules=_text(document, "rules", place), outcome=outcome,
        technician=_text(document, "technician", place), kind=_text(document, "call", place),
        parts=_numbers(document, "parts", place), minutes=_numbers(document, "minutes", place),
        void=_text(document, "void", place),
    )


def trace_document(trace: Trace) -> Document:
    """A trace as a document."""
    return {"kind": "trace", "uid": trace.uid, "at": trace.at.isoformat(), "what": trace.what,
            "subject": trace.subject, "reason": trace.reason, "into": trace.into, "was": json.loads(trace.was)}


def read_trace(document: Mapping[str, object], place: str) -> Trace:
    """The trace in a document; errors: `RecordError`, beginning with `place`."""
    _only(document, ("kind", "uid", "at", "what", "subject", "reason", "into", "was"), place)
    what, at, was = _text(document, "what", place, needed=True), _time(document, place), document.get("was")
    if what not in TRACED:
        raise RecordError(f"{place}: `what` must be one of {', '.join(TRACED)}")
    if at is None:
        raise RecordError(f"{place}: a trace needs `at`, the time when it was")
    if not isinstance(was, dict):
        raise RecordError(f"{place}: `was` must be the document of what was there before")
    if what == MERGED:
        both = (was.get("gone"), was.get("into"))
        if not all(isinstance(one, dict) for one in both) or not isinstance(was.get("visits"), list):
            raise RecordError(f"{place}: was: two merged units have `gone`, `into` and `visits`")
        for one in both:
            read_unit(one if isinstance(one, dict) else {}, f"{place}: was")
    else:
        (read_unit if what == CHANGED_UNIT else read_visit)(was, f"{place}: was")
    return Trace(what, _text(document, "subject", place, needed=True), _text(document, "reason", place), at,
                 json.dumps(was, ensure_ascii=False), _text(document, "into", place),
                 _text(document, "uid", place, needed=True))


def _read_case(document: object, place: str) -> tuple[Case, dict[str, str]]:
    if not isinstance(document, dict):
        raise RecordError(f"{place}: must be a mapping with `entries`")
    _only(document, ("title", "instruments", "manufacturer", OLDER_KEY, "entries"), place)
    entries, measured_in = _read_entries(document.get("entries", []), place)
    manufacturer = document.get("manufacturer", document.get(OLDER_KEY, {}))
    if not isinstance(manufacturer, dict):
        raise RecordError(f"{place}: `manufacturer` must map limits to numbers")
    instruments = None if document.get("instruments") is None else _texts(document, "instruments", place)
    figures = {str(limit): _number(value, f"{place}: manufacturer: {limit}") for limit, value in manufacturer.items()}
    return Case(entries, figures, instruments, _text(document, "title", place)), measured_in


def _read_entries(documents: object, place: str) -> tuple[tuple[Entry, ...], dict[str, str]]:
    if not isinstance(documents, list):
        raise RecordError(f"{place}: entries must stand in a list")
    out: list[Entry] = []
    measured_in: dict[str, str] = {}
    for document in documents:
        if not isinstance(document, dict):
            raise RecordError(f"{place}: an entry must be a mapping with `name`, `typed` and `value`")
        name = _text(document, "name", place, needed=True)
        here = f"{place}: {name}"
        _only(document, ("name", "typed", "value", "measure", "status", "note", "how", "at", "said"), here)
        given, status = document.get("value"), _text(document, "status", here)
        value = given if given is None or isinstance(given, str) else _number(given, here)
        if value is None and status not in (states := (UNCHECKED, SKIPPED, CURED, REMARK)):
            raise RecordError(f"{here}: without a value its `status` must be {', '.join(map(repr, states[:-1]))} or "
                              f"{states[-1]!r}")
        measure = _text(document, "measure", here)
        if measure and measured_in.setdefault(name, measure) != measure:
            raise RecordError(f"{here}: stands in {measured_in[name]} and in {measure}; use one unit in one visit")
        out.append(Entry(name, _text(document, "typed", here), value, status, _text(document, "note", here),
                         _text(document, "how", here), _time(document, here), _text(document, "said", here)))
    return tuple(out), measured_in


def _only(document: Mapping[str, object], known: tuple[str, ...], place: str) -> None:
    for key in document:
        if key not in known:
            raise RecordError(f"{place}: `{key}` is not known here; known are {', '.join(known)}")


def _text(document: Mapping[str, object], key: str, place: str, needed: bool = False) -> str:
    value = document.get(key, "")
    if not isinstance(value, str) or (needed and not value.strip()):
        raise RecordError(f"{place}: `{key}` must be a text" + (", and not empty" if needed else ""))
    return plain_text(value)


def _texts(document: Mapping[str, object], key: str, place: str) -> tuple[str, ...]:
    value = document.get(key, [])
    if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
        raise RecordError(f"{place}: `{key}` must list texts")
    return tuple(dict.fromkeys(map(plain_text, value)))


def _numbers(document: Mapping[str, object], key: str, place: str) -> dict[str, float]:
    value = document.get(key, {})
    if not isinstance(value, dict):
        raise RecordError(f"{place}: `{key}` must map names to numbers")
    return {plain_text(str(name)): _number(number, f"{place}: {key}: {name}") for name, number in value.items()}


def _number(value: object, place: str) -> float:
    try:
        number = float(value) if isinstance(value, int | float) and not isinstance(value, bool) else math.nan
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise RecordError(f"{place}: {str(value)[:40]!r} is not a number")
    return number


def _time(document: Mapping[str, object], place: str) -> datetime | None:
    text = _text(document, "at", place)
    try:
        return read_time(text) if text else None
    except ValueError as error:
        raise RecordError(f"{place}: `at` {error}") from error
