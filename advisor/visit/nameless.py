"""The record without names, to be given away: nothing is left that says who, where, or in whose words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from advisor.reasoning.case import Case, Entry
from advisor.visit.kept import Unit, Visit

PUT_RIGHT = "put right"


def nameless(units: Sequence[Unit], visits: Sequence[Visit]) -> tuple[tuple[Unit, ...], tuple[Visit, ...]]:
    """Units and visits without labels, customers, addresses and technicians, which get numbers, and without anything
    that somebody said in words of their own: titles, notes, remarks, lines as typed. Readings, answers, times, causes,
    remedies, parts and the uids, which are random, stay.

    >>> units, _ = nameless([Unit("Mill Lane boiler", "A. Tester", "1 Mill Lane", uid="7")], [])
    >>> units[0].label, units[0].customer, units[0].address
    ('unit 1', '', '')
    """
    hands = dict.fromkeys(visit.technician for visit in visits if visit.technician)
    numbers = {hand: f"technician {number}" for number, hand in enumerate(hands, 1)}
    bare = (replace(unit, label=f"unit {number}", customer="", address="", equipment=_entries(unit.equipment),
                    changes=tuple(replace(change, note="") for change in unit.changes))
            for number, unit in enumerate(sorted(units, key=lambda unit: unit.uid), 1))
    return tuple(bare), tuple(replace(
        visit, before=_case(visit.before), after=None if visit.after is None else _case(visit.after), note="",
        technician=numbers.get(visit.technician, ""), void="void" if visit.void else "") for visit in visits)


def _case(case: Case) -> Case:
    return replace(case, title="", entries=_entries(case.entries))


def _entries(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    return tuple(_bare(entry) for entry in entries if not entry.is_remark)


def _bare(entry: Entry) -> Entry:
    """An entry whose `typed` is its value, not the words in which it was told."""
    value = entry.value
    typed = f"{value:g}" if isinstance(value, float) else value or (PUT_RIGHT if entry.is_cure else entry.status)
    return replace(entry, typed=typed, note="", said="")
